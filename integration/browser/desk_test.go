package browser

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"fringework/cmd/fringework/client"
	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
)

type (
	object = map[string]any
	array  = []any
)

// signInDesk signs a coach in on the desk.
func (p *page) signInDesk(email string) {
	p.s.t.Helper()
	p.open("/desk")
	p.fill("E-mail", email)
	p.fill("Password", fixture.Password)
	p.press("Sign in")
	p.see("Today")
}

// heading waits until a page has opened.
func (p *page) heading(text string) {
	p.s.t.Helper()
	p.wait(fmt.Sprintf("the page %q", text), fmt.Sprintf("document.querySelector('h1')?.innerText === %q", text))
}

// value evaluates an expression to a text.
func (p *page) value(script string) string {
	p.s.t.Helper()
	v, err := chrome.Eval[string](p.Tab, script)
	p.s.must(err)
	return v
}

// choose picks the option that begins with a text in the choice called name.
func (p *page) choose(name, text string) {
	p.s.t.Helper()
	p.wait(fmt.Sprintf("the option %q of %q", text, name), fmt.Sprintf(`(() => {
		const all = [...document.querySelectorAll("select")].filter((e) => e.checkVisibility() && e.labels[0]?.innerText === %q);
		const found = all.flatMap((e) => [...e.options]).find((o) => o.text.startsWith(%q));
		if (!found) return false;
		const select = found.closest("select");
		select.value = found.value;
		select.dispatchEvent(new Event("input", { bubbles: true }));
		return select.dispatchEvent(new Event("change", { bubbles: true }));
	})()`, name, text))
}

// call is a call of the API beside the browser that must succeed.
func (s *setup) call(c client.Client, method, path string, in, out any) {
	s.t.Helper()
	s.must(c.Call(context.Background(), method, path, in, out))
}

// live is a session that a student sends ball by ball.
type live struct {
	s       *setup
	student client.Client
	id      string
	skill   string
	started time.Time
	balls   array
	// landings are balls of which it was said where they landed, on a green of 9 ft.
	landings array
	revision int
}

// newSession begins a session of now on a skill.
func (s *setup) newSession(student client.Client, skill string) *live {
	return &live{s: s, student: student, id: uuid.Must(uuid.NewV7()).String(), skill: skill, started: s.Clock.Now().Add(-10 * time.Minute)}
}

// strike sends the session with further balls, judged inside 5 ft.
func (l *live) strike(outcomes ...string) {
	l.s.t.Helper()
	for _, o := range outcomes {
		l.balls = append(l.balls, object{"outcome": o, "after_s": 10 * (len(l.balls) + 1)})
	}
	l.revision++
	body := object{
		"revision": l.revision, "started_at": l.started.UTC().Format(time.RFC3339),
		"blocks": array{object{"kind": "test", "skill_id": l.skill, "radius_m": 1.524, "seconds": 10 * len(l.balls), "balls": l.balls}},
	}
	if l.landings != nil {
		body["green"], body["landings"] = object{"stimp_ft": 9, "slope_deg": 1}, l.landings
	}
	l.s.call(l.student, "PUT", "/v1/sessions/"+l.id, body, nil)
}

// TestCoach is the coach's main job by clicks, from an empty academy: a skill
// and a programme with their previews, publishing, inviting, assigning; a
// session as it happens; a reason seen; a comment.
func TestCoach(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.open("/")
	p.press("Make an academy")
	p.fill("Name of the academy", "Heather Banks")
	p.fill("Your name", "Ines Duarte")
	p.fill("Your e-mail", "ines.duarte@example.org")
	p.fill("Your password", fixture.Password)
	p.press("Make the academy")
	p.see("Four steps; you can invite")

	skill := p.authorSkill()
	programme := p.authorProgramme()
	student := p.inviteStudent()

	// One who has joined and has no programme is seen, and the reason waits.
	p.press("Today")
	p.see("1 of 1 student", "No programme")
	p.press("Why, Tomas Brandt", "Seen: No programme, Tomas Brandt")
	p.see("Remind me in")
	p.fill("Note for the coaches", "After the holiday; look again in two weeks.")
	p.press("2 weeks", "Remind me then")
	p.gone("Remind me in")
	p.see("No student needs attention", "Seen: 1")

	p.place("#/assign")
	p.see("To these students (0 chosen)")
	p.press("Tomas Brandt")
	p.fill("First day of week 1", s.Clock.Now().AddDate(0, 0, -20).Format(time.DateOnly))
	p.press("Assign from")
	p.see("Assigned to 1 student")

	// Twenty days of the programme have passed, but not for one who has just come.
	p.press("Today")
	p.see("No student needs attention", "Nobody has been away for 7 days")

	// A session appears ball by ball.
	p.see("Live: each ball appears")
	l := s.newSession(student, skill)
	l.strike("in")
	p.see("Test, block 1", "1 ball in", "Next: 2 in a row inside 5 ft")
	l.strike("out", "in")
	p.wait("one in a row", `document.querySelector(".live-run-number")?.innerText === "1"`)
	p.see("2 of 3 inside")
	l.strike("in")
	p.see("Passed 2 in a row inside 5 ft", "3 of 4 inside")
	p.gone("Next: 2 in a row inside 5 ft")
	p.see("Tomas Brandt passed 2 in a row inside 5 ft") // among the milestones

	p.press("The whole green")
	p.heading("On the green")
	p.press("Tomas Brandt")
	p.see("Block 1: Test", "What it showed")
	p.fill("Comment", "Well kept. Next time start with the test.")
	p.press("Send the comment")
	p.see("You, " + s.Clock.Now().Format("2 January 2006"))
	var comments struct {
		Items []struct {
			Text string `json:"text"`
		} `json:"items"`
	}
	s.call(student, "GET", "/v1/sessions/"+l.id+"/comments", nil, &comments)
	if len(comments.Items) != 1 || comments.Items[0].Text != "Well kept. Next time start with the test." {
		t.Errorf("the student reads %+v, want the coach's comment", comments.Items)
	}

	// What changed between two versions.
	p.place("#/programme/" + programme)
	p.see("Publish version 2")
	p.fill("Title", "From the fringe")
	p.see("Saved.")
	p.press("Publish version 2")
	p.see("1 change", "Week 1", "From the fringe", "1 student on version 1: Tomas Brandt")
	p.press("Publish it")
	p.see("Version 2 is published")
	p.press("Keep editing", "Versions and differences")
	p.see("1 change", "From the fringe")
}

// authorSkill makes a skill with a short ladder; it gives its ID.
func (p *page) authorSkill() string {
	p.s.t.Helper()
	p.press("Describe a skill", "New skill")
	p.see("What each step takes", "Even odds at")
	p.fill("Name", "Pitch to a landing spot")
	p.fill("In a row", "2")
	// A run of 2 in 30 balls at 50 %: 1 - F(32)/2^30, F(32) = 2178309 being the
	// ways to have no two in a row (Feller, vol. 1, XIII.7), is over 99 %.
	p.wait("the preview of a run of 2", `[...document.querySelectorAll(".chances title")].some((e) => e.textContent === "50 % inside: over 99 %")`)
	p.press("Create the skill")
	p.see("Save the skill", "Nothing yet. It is worked out every hour")
	return strings.TrimPrefix(p.value("location.hash"), "#/skill/")
}

// authorProgramme writes a programme, sees what is wrong, and publishes it; it
// gives its ID.
func (p *page) authorProgramme() string {
	p.s.t.Helper()
	p.press("Programmes")
	p.see("No programmes yet")
	p.fill("Name", "Eight weeks of pitching")
	p.press("Begin")
	p.see("Publish version 1", "1 thing to do")
	p.press("Before publication: 1 thing to do", "week 1: has no skill; choose what the week trains")
	p.wait("the focus on what is missing", `document.activeElement.labels?.[0]?.innerText === "Skill"`)
	p.choose("Skill", "Pitch")
	p.see("Ready to publish", "Fitted 4 drills to Pitch to a landing spot.")
	p.fill("Minutes", "50")
	p.fill("Share in per cent", "10")
	p.see("Shares: 85 of 100 %", "15 % still to give", "Shares sum to 85; add 15.")
	p.press("Publish version 1")
	p.see("To do before it can be published:")
	p.press("Close")
	p.fill("Share in per cent", "25")
	// Quotas 12.5 each of 50 minutes: the earlier of equal remainders first.
	p.see("Shares: 100 of 100 %. 50 of 50 minutes: Technique 13 min, Stations 13 min, Random 12 min, Test 12 min.")
	p.see("Ready to publish")
	p.press("Ladder of Pitch to a landing spot")
	p.see("Even odds at")
	for range 7 {
		p.press("Add a week like the last")
	}
	p.see("Week 8", "Saved.")
	p.press("Publish version 1")
	p.see("8 weeks, 8 plans.", "None yet.")
	p.press("Publish it")
	p.see("Version 1 is published")
	p.press("Assign it")
	p.see("Nobody to assign to yet")
	var list struct {
		Items []struct {
			ID string `json:"id"`
		} `json:"items"`
	}
	p.s.must(p.asCoach().Call(context.Background(), "GET", "/v1/programmes", nil, &list))
	return list.Items[0].ID
}

// asCoach is the coach of Heather Banks beside the browser.
func (p *page) asCoach() client.Client {
	p.s.t.Helper()
	c, err := p.s.SignIn(context.Background(), "ines.duarte@example.org")
	p.s.must(err)
	return c
}

// inviteStudent invites Tomas, who joins elsewhere.
func (p *page) inviteStudent() client.Client {
	p.s.t.Helper()
	p.press("Invite your students first")
	p.see("Invite a person")
	p.fill("Name", "Tomas Brandt")
	p.choose("Their coach", "Ines Duarte")
	p.press("Make the invitation")
	p.see("Invitation made for Tomas Brandt", "/join#")
	_, code, _ := strings.Cut(p.value(`document.querySelector("a.secret").href`), "#")
	var in client.SignedIn
	c := p.s.Anybody()
	p.s.call(c, "POST", "/v1/invitations/accept", object{
		"code": code, "name": "Tomas Brandt", "email": "tomas.elsewhere@example.org", "password": fixture.Password, "time_zone": "Europe/Lisbon",
	}, &in)
	c.Token = in.AccessToken
	return c
}

// TestLiveAgain loses the stream, as when a replica stops, and finds what
// happened meanwhile once there is a service again.
func TestLiveAgain(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.see("Live: each ball appears")
	s.Student.Base = s.URL
	l := s.newSession(s.Student, s.PitchID)
	l.strike("in", "out")
	p.see("2 balls", "1 of 2 inside")

	s.must(s.Restart(t.Context()))
	l.strike("in", "in")
	p.see("4 balls", "3 of 4 inside", "Live: each ball appears")
	l.strike("in")
	p.see("Passed 3 in a row inside 5 ft", "Next: 5 in a row inside 5 ft, 1 of them holed")
}

// TestStudents sorts and filters the table of students.
func TestStudents(t *testing.T) {
	s := newSetup(t)
	for i, name := range []string{"Anouk Brenner", "Zita Okoro"} {
		code, err := s.Invite(t.Context(), "student", name)
		s.must(err)
		s.call(s.Anybody(), "POST", "/v1/invitations/accept", object{
			"code": code, "name": name, "email": fmt.Sprintf("student%d@example.org", i), "password": fixture.Password, "time_zone": "Europe/Lisbon",
		}, nil)
	}
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.press("Students")
	order := func(want string) {
		t.Helper()
		p.wait("the order "+want, fmt.Sprintf(`[...document.querySelectorAll("tbody th")].map((e) => e.innerText.split(" ")[0]).join(" ") === %q`, want))
	}
	order("Anouk Tomas Zita")
	p.press("Name ▲")
	order("Zita Tomas Anouk")
	p.wait("the order to be told", `document.querySelector('th[aria-sort="descending"]')`)
	// What there is most of comes first, and is said to.
	p.press("Attention")
	p.wait("the order to be told", `document.querySelector('th[aria-sort="descending"]').innerText.startsWith("Attention")`)
	p.press("Attention ▼")
	p.wait("the other order to be told", `document.querySelector('th[aria-sort="ascending"]').innerText.startsWith("Attention")`)
	p.press("Name", "More filters")
	p.choose("Programme", "Six weeks")
	order("Tomas")
	p.see("1 of 3 students; the programme is Six weeks around the green.")
	p.choose("Programme", "All")
	p.fill("Name", "zi")
	order("Zita")
	p.fill("Name", "nobody")
	p.see("Nobody matches")
	p.press("Show everybody")
	order("Anouk Tomas Zita")
	p.wait("an empty filter", `document.querySelector("input[type=search]").value === ""`)
	// Letters that come faster than the address follows are all kept.
	p.value(`(() => { const field = document.querySelector("input[type=search]"); for (const text of ["t", "to", "tom", "toma"]) { field.value = text; field.dispatchEvent(new Event("input", { bubbles: true })); } return ""; })()`)
	order("Tomas")
	p.wait("the address to follow", `location.hash.endsWith("name=toma")`)
	p.wait("every letter", `document.querySelector("input[type=search]").value === "toma"`)

	// A coach who opens the students' pages is shown the way.
	p.open("/green")
	p.see("For students")
	p.press("Go to the desk")
	p.heading("Today")
}
