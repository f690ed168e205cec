package browser

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
)

const allSent = `[...document.querySelectorAll(".sending")].some((e) => e.innerText === "All sent")`

// stocked waits until the phone has what it needs without a network.
func (p *page) stocked() {
	p.s.t.Helper()
	p.wait("the service worker", `navigator.serviceWorker?.controller`)
	p.wait("progress and history to be kept", `(async () => {
		const name = (await indexedDB.databases()).find((d) => d.name.startsWith("fringework.")).name;
		const db = await new Promise((done) => { const r = indexedDB.open(name); r.onsuccess = () => done(r.result); });
		const n = await new Promise((done) => { const r = db.transaction("cache").objectStore("cache").count(); r.onsuccess = () => done(r.result); });
		db.close();
		return n >= 3;
	})()`)
}

// kept waits until the answer at the path that ends so is kept, with a text in it.
func (p *page) kept(path, text string) {
	p.s.t.Helper()
	p.wait(fmt.Sprintf("%s to be kept with %q", path, text), fmt.Sprintf(`(async () => {
		const name = (await indexedDB.databases()).find((d) => d.name.startsWith("fringework.")).name;
		const db = await new Promise((done) => { const r = indexedDB.open(name); r.onsuccess = () => done(r.result); });
		const all = await new Promise((done) => { const r = db.transaction("cache").objectStore("cache").getAll(); r.onsuccess = () => done(r.result); });
		db.close();
		return all.some((a) => a.path.endsWith(%q) && JSON.stringify(a.body).includes(%q));
	})()`, path, text))
}

// launch starts a browser of the test's own, anew with the same profile after a
// Kill.
func (s *setup) launch(dir string) *chrome.Browser {
	s.t.Helper()
	b, err := chrome.Launch(s.t.Context(), dir)
	s.must(err)
	s.profile = b.Kept()
	s.profile.Before(chrome.ClockOff(s.Clock.Off))
	return b
}

// TestOffline logs a session with the network cut, the page reloaded in the
// middle and the phone dead once, and finds it once on the coach's side.
func TestOffline(t *testing.T) {
	t.Parallel()
	s := serviceOf(t, template)
	dir := t.TempDir()
	browser := s.launch(dir)
	p := s.phone()
	p.signIn()
	p.stocked()
	s.Wire.Cut()
	s.must(p.Offline(true))
	p.start()
	p.tap("In", "Out", "In")
	p.see("1 session not sent", "3 balls: 2 in")
	p.reload()
	p.see("Block 1 of 5", "3 balls: 2 in")
	p.tap("Holed")
	p.see("Step passed: 2 in a row inside 5 ft")
	p.tap("Next")
	p.see("Block 2 of 5")
	p.tap("In")
	p.see("1 ball: 1 in")

	browser.Kill()
	browser = s.launch(dir)
	defer browser.Quit()
	p = s.phone()
	p.open("/green")
	p.see("Session in progress")
	p.tap("Go on")
	p.see("Block 2 of 5", "1 ball: 1 in", "of 12:00")
	p.tap("Out", "More", "End the session", "End it")
	p.see("Session summary", "Kept on this phone", "Counted on this phone", "Left out: Stations, Random, Test")
	p.tap("No room")
	p.see("Left out: Stations, Random, Test (no room).")
	if n := len(s.sessions()); n != 0 {
		t.Fatalf("the coach finds %d sessions while the network is cut", n)
	}
	p.place("#/progress")
	p.see("Progress")
	p.place("#/history")
	p.see("On this phone, not sent")

	s.Wire.Mend()
	p.tapUnless("All sent", "Send now") // or by itself
	// Chromium writes a cookie to its disk within half a minute; a phone that
	// died before that has to sign in again, is told why, and loses nothing else.
	p.wait("the session to be sent, or a sign-in to be asked for", allSent+` || document.body.innerText.includes("This browser has lost your sign-in")`)
	if text, err := p.Text(); err == nil && strings.Contains(text, "This browser has lost your sign-in") {
		p.tap("sign in again")
		p.fill("Password", fixture.Password)
		p.tap("Sign in")
	}
	p.wait("the session to be sent", allSent)
	got := s.only()
	if a, b := got.outcomes(0), got.outcomes(1); a != "ioih" || b != "io" {
		t.Errorf("the coach finds the balls %q and %q, want ioih and io", a, b)
	}
	if len(got.Milestones) != 1 {
		t.Errorf("milestones %+v, want one", got.Milestones)
	}
}

// hurried makes the timers of a page ten times as fast.
const hurried = `{ const later = setTimeout; globalThis.setTimeout = (fn, ms, ...a) => later(fn, (ms ?? 0) / 10, ...a); }`

// TestBackOnline sends by itself once the phone is told that it has a network, and
// also when it is told nothing, since its connections were accepted and silent. Then
// it plays out eighteen places without a network.
func TestBackOnline(t *testing.T) {
	s := newSetup(t)
	s.givePlaces(s.StudentID)
	p := s.phone()
	p.signIn()
	p.stocked()
	s.Wire.Cut()
	s.must(p.Offline(true))
	p.start()
	p.tap("In")
	p.see("1 session not sent: no answer yet, kept on this phone")
	p.logRound()
	s.Wire.Mend()
	s.must(p.Offline(false))
	p.wait("the session to be sent", allSent)
	if got := s.only(); got.outcomes(0) != "i" {
		t.Errorf("the coach finds %q, want i", got.outcomes(0))
	}

	_, err := chrome.Eval[bool](p.Tab, hurried+" true")
	s.must(err)
	p.place("#/now")
	p.tap("Go on")
	p.see("Block 1 of 5")
	s.Wire.Silence()
	p.tap("Out")
	p.see("1 session not sent: no answer yet, kept on this phone")
	s.Wire.Mend()
	p.wait("the session to be sent", allSent)
	if got := s.only(); got.outcomes(0) != "io" {
		t.Errorf("the coach finds %q, want io", got.outcomes(0))
	}
	p.tap("More", "End the session", "End it")
	p.see("What did not count")
	p.greenClosed()
	p.playOut()
	s.coachReadsRound()
}

// givePlaces gives a student a programme with places to play out.
func (s *setup) givePlaces(student string) {
	s.t.Helper()
	spot := object{"text": "Back to one spot.", "lies": array{"fairway"}, "distances_m": array{12.0}, "radius_m": 1.524}
	places := object{"text": "Chip it, then putt until it is holed.", "lies": array{"fairway", "rough"}, "distances_m": array{9.0, 12.0, 15.0}, "radius_m": 1.524}
	var made written
	s.call(s.Owner, "POST", "/v1/programmes", object{"name": "To the hole", "weeks": array{object{"skill_id": s.ChipID, "plans": array{object{
		"name": "Eighteen places", "minutes": 50, "times": 2, "blocks": array{object{"kind": "playout", "share": 80, "drill": places}, object{"kind": "test", "share": 20, "drill": spot}},
	}}}}}, &made)
	s.call(s.Owner, "POST", "/v1/programmes/"+made.ID+"/versions", nil, nil)
	s.call(s.Owner, "POST", "/v1/assignments", object{"programme_id": made.ID, "student_ids": array{student}, "start_date": clock.Now().Format(time.DateOnly)}, nil)
}

// greenClosed has a left-hander with wedges of their own play their plan on a carpet,
// chosen with one touch and without a network: no run and no odds are shown, and the session
// is sent as what it was.
func (p *page) greenClosed() {
	s := p.s
	s.t.Helper()
	clubs := array{object{"name": "Plum 51", "loft_deg": 51}, object{"name": "Plum 45", "loft_deg": 45}, object{"name": "Plum 57", "loft_deg": 57}}
	s.call(s.Owner, "PUT", "/v1/students/"+s.StudentID+"/bag", object{"hand": "left", "clubs": clubs}, nil)
	p.place("#/now")
	p.reload()
	p.see("Today is different?")
	p.stocked()
	p.kept("/days", "Plum 51")
	s.Wire.Cut()
	s.must(p.Offline(true))
	p.tap("Green closed: carpet")
	p.see("Soft practice balls only", "No step is passed and no odds are shown", "What to bring", "Plum", "Lay a towel")
	p.tap("Start practice")
	p.see("Block 1 of", "No balls yet")
	for range 6 {
		p.tap("In")
	}
	p.see("6 in")
	if text := p.value(`document.querySelector(".play").innerText`); strings.Contains(text, "in a row") || strings.Contains(text, "chance") {
		s.t.Errorf("on a carpet the phone shows %q", text)
	}
	p.tap("More", "End the session", "End it")
	p.see("green closed: carpet", "No step is passed and no odds are shown")
	s.Wire.Mend()
	s.must(p.Offline(false))
	p.tapUnless("Details", "Send now") // or by itself
	p.gone("Kept on this phone")
	var kept struct {
		Items []struct{ Variant, Surface string }
	}
	s.call(s.Owner, "GET", "/v1/sessions?limit=1&student_id="+s.StudentID, nil, &kept)
	if len(kept.Items) != 1 || kept.Items[0].Variant != "closed_green" || kept.Items[0].Surface != "carpet" {
		s.t.Errorf("the coach finds %+v", kept.Items)
	}
	p.place("#/history")
	p.see("green closed: carpet")
}

// playOut plays eighteen places without a network, in two taps each or one, and finds
// them told once there is one.
func (p *page) playOut() {
	s := p.s
	s.t.Helper()
	p.place("#/now")
	p.tap("Eighteen places")
	p.see("Before the first ball", "40 min, about 20 places")
	s.Wire.Cut()
	s.must(p.Offline(true))
	p.tap("Start practice")
	p.see("Place 1", "No place played out yet")
	_, err := chrome.Eval[bool](p.Tab, `globalThis.taps = 0; addEventListener("pointerdown", () => taps++, true); true`)
	s.must(err)
	taps := func(want int) {
		s.t.Helper()
		if got, err := chrome.Eval[int](p.Tab, "taps"); err != nil || got != want {
			s.t.Errorf("%d taps (%v), want %d", got, err, want)
		}
	}
	p.tap("Holed", "In")
	p.see("up and down")
	p.shows("holing out", ".targets.strokes .target", ".walk")
	p.tap("Holed in 3", "Undo", "Holed in 2")
	p.see("3\nstrokes, 2 places of 18", "2 of 2 up and down", "Place 3", "walk on")
	taps(5)
	p.reload()
	p.see("Place 3", "2 of 2 up and down")
	p.fits("the next place", ".walk")
	_, err = chrome.Eval[bool](p.Tab, `globalThis.taps = 0; addEventListener("pointerdown", () => taps++, true); true`)
	s.must(err)
	for i := range 16 {
		p.tap([]string{"In", "Out"}[i%2], []string{"Holed in 2", "Holed in 3"}[i%2])
	}
	p.see("43\nstrokes, 18 places of 18", "10 of 18 up and down", "All 18 places are played.")
	taps(32)
	p.tap("Next", "End", "End it")
	p.see("18 places played out in 43 strokes, 10 up and down.")
	s.Wire.Mend()
	s.must(p.Offline(false))
	p.tapUnless("Details", "Send now") // or by itself
	p.gone("Kept on this phone")
	p.place("#/progress")
	p.see("Played out", "18 places in 1 session: 2.4 strokes each, 10 up and down (56 %).", "Where strokes are lost is told from 3 sessions on.")
	s.elsewhere()
	q := s.laptop()
	q.signInDesk(s.OwnerEmail)
	q.place("#/student/" + s.StudentID)
	q.see("Played out", "18 places in 1 session: 2.4 strokes each, 10 up and down (56 %).")
}

// logRound logs the shots of two holes of a round: an up and down, and a ball left in
// the sand that then was holed, the second corrected.
func (p *page) logRound() {
	p.s.t.Helper()
	p.place("#/rounds")
	p.tap("Log a round", "Rough", "20 yd", "On the green", "5 ft", "1", "Save the shot")
	p.see("1 shot", "1: rough, 20 yd, left 5 ft, 1 putt", "Hole 2")
	p.tap("Fairway or fringe", "30 yd", "In the sand", "Save the shot")
	p.see("Choose how far it now is to the hole.")
	p.tap("30 ft", "Save the shot")
	p.see("2 shots", "Hole 2")
	p.tap("Holed", "Save the shot")
	p.see("3 shots", "2: sand, 10 yd, holed", "Hole 3")
	p.tap("2: sand, 10 yd, holed", "Rough", "Save the change")
	p.see("2: rough, 10 yd, holed")
	p.reload()
	p.see("3 shots", "Hole 3")
	p.tap("Done")
	p.see("On this phone, not sent", "3 shots")
}

// coachReadsRound finds the round on the coach's side, once.
func (s *setup) coachReadsRound() {
	s.t.Helper()
	s.elsewhere()
	q := s.laptop()
	q.signInDesk(s.OwnerEmail)
	q.place("#/student/" + s.StudentID)
	q.see("And on the course", "1 round, 2 of 2 up and down: too few to say more.", "Strokes gained:", "1 round, 3 shots: too few to say more.")
	q.press("Rounds")
	q.see("3 shots · 2 of 2 up and down", "strokes gained")
	q.press("3 shots · 2 of 2 up and down")
	q.see("1: rough, 20 yd, left 5 ft, 1 putt", "2: rough, 10 yd, holed")
	q.place("#/students")
	q.see("Course", "2 of 2")
}

// TestBadNetwork goes on with one session while uploads fail in every way: replies
// are lost, the service is busy, it stops and starts again, every answer takes a
// second. Each ball is stored once.
func TestBadNetwork(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	s.Wire.LoseReplies(2)
	p.start()
	p.tap("In", "In")
	stored := func(balls, want string) {
		t.Helper()
		p.wait("the session to be sent", allSent+fmt.Sprintf(` && document.body.innerText.includes(%q)`, balls))
		if got := s.only(); got.outcomes(0) != want {
			t.Errorf("the coach finds %q, want %s", got.outcomes(0), want)
		}
	}
	stored("2 balls", "ii")
	if n := s.Wire.Uploads(); n < 3 {
		t.Errorf("%d uploads came through, want at least the two lost and one more", n)
	}

	// It backs off while the service cannot answer, and gets through once it can.
	s.Wire.Answer(http.StatusServiceUnavailable)
	p.tap("In")
	p.see("1 session not sent: no answer yet, kept on this phone")
	s.Wire.Answer(0)
	stored("3 balls", "iii")

	s.must(s.Restart(t.Context()))
	p.tap("Out", "In")
	stored("5 balls", "iiioi")

	// Taps at a man's pace while every answer takes a second.
	s.Wire.Slow(time.Second)
	for range 6 {
		p.tap("In", "Out")
	}
	p.see("17 balls: 10 in")
	stored("17 balls", "iiioi"+strings.Repeat("io", 6))
}

// TestTwoTabs practises one session in two tabs: both see every ball, and it is
// sent once.
func TestTwoTabs(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.start()
	q := s.phone()
	q.open("/green")
	q.see("Session in progress")
	q.tap("Go on")
	q.see("Block 1 of 5")
	p.tap("In")
	q.see("1 ball: 1 in")
	q.tap("Out")
	p.see("2 balls: 1 in")
	p.tap("In")
	q.see("3 balls: 2 in")
	q.tap("More", "End the session", "End it")
	p.see("Session summary")
	p.wait("the session to be sent", allSent)
	q.wait("the session to be sent", allSent)
	if got := s.only(); got.outcomes(0) != "ioi" {
		t.Errorf("the coach finds %q, want ioi", got.outcomes(0))
	}
}

// TestWrongClock practises on a phone whose clock is three hours fast: the
// student is warned, and the session is stored with the right time.
func TestWrongClock(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	s.must(p.Before(chrome.ClockOff(3 * time.Hour)))
	p.signIn()
	p.see("This phone's clock is 3 hours fast")
	before := s.Clock.Now()
	p.start()
	p.tap("In", "More", "End the session", "End it")
	p.see("Session summary")
	p.wait("the session to be sent", allSent)
	s.checkStart(before)
}

// TestWrongClockOffline does the same before the phone could know.
func TestWrongClockOffline(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.stocked()
	s.Wire.Cut()
	s.must(p.Before(chrome.ClockOff(-48 * time.Hour)))
	p.reload()
	before := s.Clock.Now()
	p.start()
	p.tap("In", "More", "End the session", "End it")
	p.see("Kept on this phone")
	s.Wire.Mend()
	p.tapUnless("All sent", "Send now") // or by itself
	p.wait("the session to be sent", allSent)
	s.checkStart(before)
}

// checkStart holds the one session's start to the time since before, give or take
// a minute, which is what two clocks may be apart.
func (s *setup) checkStart(before time.Time) {
	s.t.Helper()
	got := s.only()
	start, err := time.Parse(time.RFC3339, got.StartedAt)
	s.must(err)
	if now := s.Clock.Now(); start.Before(before.Add(-time.Minute)) || start.After(now.Add(time.Minute)) {
		s.t.Errorf("the session is stored as started at %v, want between %v and %v", start, before, now)
	}
}

// TestExpiredSignIn ends the sign-in while the phone is offline: the student is
// told why, and the queue is kept. Somebody else who uses the phone then is told of
// it, and it is sent once the student has signed in again.
func TestExpiredSignIn(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.stocked()
	s.Wire.Cut()
	p.start()
	p.tap("In", "Out")
	p.see("2 balls: 1 in", "1 session not sent")
	// Changing the password elsewhere ends this phone's sign-in.
	s.must(s.Student.Call(t.Context(), "PUT", "/v1/me/password", map[string]any{"current_password": fixture.Password, "new_password": fixture.Password + "!"}, nil))
	s.Wire.Mend()
	p.open("/green")
	p.see("You are signed out", "Your password was changed", "1 session not sent: sign in again", "Session in progress")
	p.tap("sign in again")
	p.fill("E-mail", s.OwnerEmail)
	p.fill("Password", fixture.Password)
	p.tap("Sign in")
	p.see("Maren Holt, who is no student")
	p.open("/desk#/settings")
	unsent := s.StudentName + ", Saltmarsh Short Game: 1 session not sent"
	p.see(unsent, "Sign in as "+s.StudentName)
	p.tap("Sign out")
	p.see(unsent+".", "Throw away and sign out")
	p.tap("Stay signed in", "Sign in as "+s.StudentName)
	p.fill("Password", fixture.Password+"!")
	p.tap("Sign in")
	p.see("You are signed in as " + s.StudentName)
	p.open("/green")
	p.wait("the session to be sent", allSent)
	if got := s.only(); got.outcomes(0) != "io" {
		t.Errorf("the coach finds %q, want io", got.outcomes(0))
	}
}

// TestWaitsForConsent has a junior practise before a guardian has agreed: the page
// says why the session waits, keeps it, and sends it by itself once they have.
func TestWaitsForConsent(t *testing.T) {
	s := newSetup(t)
	s.must(s.Owner.Call(t.Context(), "PATCH", "/v1/members/"+s.StudentID, map[string]any{"junior": true}, nil))
	p := s.phone()
	p.signIn()
	p.see("A guardian's consent is missing")
	p.start()
	p.tap("In", "More", "End the session", "End it")
	p.see("Kept on this phone", "no guardian has agreed yet", "It goes by itself then.", "1 session not sent: see History")
	p.place("#/history")
	p.see("no guardian has agreed yet", "It goes by itself then.")
	p.reload()
	p.see("no guardian has agreed yet", "1 session not sent: see History")
	p.place("#/rounds")
	p.tap("Log a round", "Rough", "20 yd", "On the green", "5 ft", "1", "Save the shot", "Done")
	p.see("no guardian has agreed yet: the round was not kept", "2 sessions not sent: see History")
	s.must(s.Owner.Call(t.Context(), "PUT", "/v1/students/"+s.StudentID+"/consent", map[string]any{"given": true}, nil))
	p.reload()
	p.wait("the session to be sent", allSent)
	p.gone("It goes by itself then.")
	if got := s.only(); got.outcomes(0) != "i" {
		t.Errorf("the coach finds %q, want i", got.outcomes(0))
	}
}

// TestRefused has the service refuse a card that is dated tomorrow: the page says
// why in its words, keeps the data, and sends it once the reason is gone.
func TestRefused(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.tap("Long session", "Card on paper", "Type it in afterwards")
	p.see("Store the card")
	p.fill("Practised on", s.Clock.Now().AddDate(0, 0, 1).Format(time.DateOnly))
	p.fill("Balls", "40")
	p.fill("In or holed", "22")
	p.tap("Store the card")
	p.place("#/history")
	p.see("The service has not taken this session", "in the future", "1 session refused: see History", "It is kept on this phone.")
	p.reload()
	p.see("in the future", "It is kept on this phone.")
	s.Clock.Off += 24 * time.Hour
	s.must(s.Restart(t.Context()))
	p.tap("Send again")
	p.wait("the card to be sent", allSent)
	p.gone("The service has not taken this session")
	var err error
	s.Owner, err = s.SignIn(t.Context(), s.OwnerEmail) // the day before's has run out
	s.must(err)
	if a := s.only().Blocks[0].Attested; a == nil || a.Balls != 40 || a.Inside != 22 {
		t.Errorf("the coach finds %+v, want 40 balls, 22 inside", a)
	}
}

// TestConflict edits a session on the phone while the coach has edited it, too.
func TestConflict(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.stocked()
	p.start()
	p.tap("In", "More", "End the session", "End it")
	p.see("All sent")
	got := s.ended()
	// The coach's correction takes the very next revision.
	s.must(s.Owner.Call(t.Context(), "PUT", "/v1/sessions/"+got.ID, map[string]any{
		"student_id": s.StudentID, "started_at": got.StartedAt, "revision": got.Revision + 1,
		"blocks": []any{map[string]any{"kind": "test", "skill_id": s.PitchID, "radius_m": 1.524, "seconds": 60, "balls": []any{map[string]any{"outcome": "holed"}}}},
	}, nil))
	s.Wire.Cut()
	p.tap("Ball by ball, and corrections")
	p.tap("Ball 1 In", "Out", "Change it", "Save")
	p.see("No changes")
	s.Wire.Mend()
	p.place("#/history")
	p.tapUnless("was stored with other content", "Send now") // or by itself
	p.see("The service has not taken this session", "was stored with other content")
	p.tap("Let this phone's version stand")
	p.wait("the session to be sent", allSent)
	if got := s.only(); got.outcomes(0) != "o" {
		t.Errorf("the coach finds %q, want the phone's o", got.outcomes(0))
	}
}

// TestSuperseded drops what was overtaken, with a note.
func TestSuperseded(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.stocked()
	p.start()
	p.tap("In", "More", "End the session", "End it")
	p.see("All sent")
	got := s.ended()
	s.must(s.Owner.Call(t.Context(), "DELETE", fmt.Sprintf("/v1/sessions/%s?revision=%d", got.ID, got.Revision+50), nil, nil))
	s.Wire.Cut()
	p.tap("Ball by ball, and corrections")
	p.tap("Ball 1 In", "Out", "Change it", "Save")
	p.see("No changes")
	s.Wire.Mend()
	p.place("#/history")
	p.tapUnless("The session was deleted at revision", "Send now") // or by itself
	p.see("The session was deleted at revision")
	p.wait("nothing to be left to send", allSent)
	p.tap("Understood")
	p.see("No sessions yet")
}

// TestNewerVersion offers a newer version of the pages to whoever is using them,
// and takes it with the session that goes on.
func TestNewerVersion(t *testing.T) {
	s := firstVisit(t)
	p := s.phone()
	p.signIn()
	p.stocked()
	p.start()
	p.tap("In")
	p.see("1 ball: 1 in")
	p.place("#/now")
	p.see("Session in progress")
	// A page that has just been opened would take it without a question.
	_, err := chrome.Eval[bool](p.Tab, chrome.ClockOff(3*time.Second)+"; true")
	s.must(err)
	s.Wire.Renew()
	// Browsers look for a newer worker on their own now and then, and the page
	// whenever it comes back into view.
	_, err = chrome.Eval[bool](p.Tab, `navigator.serviceWorker.getRegistration().then((r) => r.update()).then(() => true)`)
	s.must(err)
	p.see("A newer version of these pages is ready")
	p.tap("Use it now")
	p.gone("A newer version of these pages is ready")
	p.see("Session in progress")
	p.tap("Go on", "Out")
	p.see("2 balls: 1 in")
}

// TestSignOut warns of what is unsent, and wipes the phone, which needs no network;
// nobody is signed in again by it, and the service is told when there is one.
func TestSignOut(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.stocked()
	s.Wire.Cut()
	p.start()
	p.tap("In", "More", "End the session", "End it")
	p.see("Kept on this phone")
	p.place("#/settings")
	p.tap("Sign out")
	p.see("1 session not sent.", "Send first")
	s.Wire.Mend()
	p.tapUnless("Everything is sent.", "Send first") // or by itself
	p.see("Everything is sent.")
	s.Wire.Cut()
	if _, err := chrome.Eval[bool](p.Tab, `[...document.querySelectorAll("dialog button")].find((b) => b.innerText === "Sign out").click() ?? true`); err != nil {
		t.Fatal(err)
	}
	p.see("The work done around the fringe of the green", "E-mail", "You have signed out on this device")
	left := func(want string) {
		t.Helper()
		p.wait("the phone to keep nothing but "+want, `(async () => {
			const db = await new Promise((done) => { const r = indexedDB.open("fringework"); r.onsuccess = () => done(r.result); });
			const keys = await new Promise((done) => { const r = db.transaction("device").objectStore("device").getAllKeys(); r.onsuccess = () => done(r.result); });
			db.close();
			return JSON.stringify([(await indexedDB.databases()).map((d) => d.name), keys, Object.keys(localStorage), document.cookie]) === `+"`"+want+"`"+`;
		})()`)
	}
	left(`[["fringework"],["leaving"],[],"__Host-fringework-kept=1"]`)
	s.Wire.Mend()
	p.open("/green")
	p.see("Once signed in, everything works without a network", "E-mail")
	left(`[["fringework"],[],[],""]`)
	p.reload()
	p.see("Once signed in, everything works without a network", "E-mail")
	s.only()
}
