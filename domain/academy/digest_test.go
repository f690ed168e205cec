package academy_test

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/domaintest"
)

const day = 24 * time.Hour

// digests is a fixture whose people have shown their addresses to be theirs.
type digests struct {
	*fixture
	academy.DigestService
	read int // letters
}

func openDigests(t *testing.T) *digests {
	t.Helper()
	h := &digests{fixture: open(t)}
	h.DigestService = h.mem.Digests()
	for _, m := range must(h.people.Members(ctx, owner, academy.MemberFilter{}, domain.Page{Limit: 99}))(t) {
		h.mem.VerifyEmail(m.Account)
	}
	return h
}

// sent writes what is due to some members, and gives the letters.
func (h *digests) sent(members ...domain.ID) []academy.DigestLetter {
	h.t.Helper()
	n := must(h.Send(ctx, hollow, members))(h.t)
	all := h.mem.DigestLetters(hollow)
	fresh := all[h.read:]
	h.read = len(all)
	if len(fresh) != n {
		h.t.Errorf("%d letters are said, and %d were written", n, len(fresh))
	}
	return fresh
}

// one is the only letter that is due to a member.
func (h *digests) one(member domain.ID) academy.DigestLetter {
	h.t.Helper()
	all := h.sent(member)
	if len(all) != 1 || all[0].To.ID != member {
		h.t.Fatalf("%d letters; want one to %s", len(all), member)
	}
	return all[0]
}

func (h *digests) none(what string, members ...domain.ID) {
	h.t.Helper()
	if all := h.sent(members...); len(all) != 0 {
		h.t.Errorf("%s: %d letters, the first %+v", what, len(all), all[0].Digest)
	}
}

func TestDigestDue(t *testing.T) {
	at := func(zone, text string) (time.Time, *time.Location) {
		z := must(domain.Zone(zone))(t)
		return must(time.ParseInLocation("2006-01-02 15:04:05", text, z))(t), z
	}
	for _, c := range []struct {
		zone, at string
		due      bool
	}{
		{"Europe/Lisbon", "2026-05-03 23:59:59", false}, {"Europe/Lisbon", "2026-05-04 06:59:59", false}, {"Europe/Lisbon", "2026-05-04 07:00:00", true},
		{"Europe/Lisbon", "2026-05-04 19:59:59", true}, {"Europe/Lisbon", "2026-05-04 20:00:00", false}, {"Europe/Lisbon", "2026-05-05 06:00:00", false},
		{"Europe/Lisbon", "2026-05-06 19:59:00", true}, {"Europe/Lisbon", "2026-05-07 09:00:00", false}, {"Pacific/Kiritimati", "2026-05-04 07:00:00", true},
		{"Pacific/Pago_Pago", "2026-05-06 19:00:00", true}, {"Europe/Lisbon", "2026-03-30 07:00:00", true}, // the day after the clocks went forward
	} {
		now, zone := at(c.zone, c.at)
		week, due := academy.DigestDue(now, zone)
		if want := domain.DateOf(now, zone).Monday(); due != c.due || week != want {
			t.Errorf("%s in %s: week %s, due %v; want %s, %v", c.at, c.zone, week, due, want, c.due)
		}
	}
	// Wherever a letter is due at one instant, it is due on the same Monday.
	for hour := range 7 * 24 {
		now := time.Date(2026, 5, 3, hour, 30, 0, 0, time.UTC)
		met := map[domain.Date]bool{}
		for _, zone := range []string{"Pacific/Kiritimati", "Asia/Kathmandu", "Europe/Lisbon", "America/New_York", "Pacific/Pago_Pago"} {
			if week, due := academy.DigestDue(now, must(domain.Zone(zone))(t)); due {
				met[week] = true
			}
		}
		if len(met) > 1 {
			t.Errorf("at %v letters are due on %v", now, met)
		}
	}
}

// TestCoachsDigest: what a coach is told of the week before.
func TestCoachsDigest(t *testing.T) {
	h := openDigests(t)
	longer := h.assign(ada, -3)                                       // Monday 27 April
	h.practised(ada, "before", now.Add(-8*day), h.pitch.ID, 4, "", 0) // on Sunday of the week before
	h.practised(ada, "s1", now.Add(-5*day), h.pitch.ID, 9, longer.ID, 1)
	h.practised(ada, "s2", now.Add(-3*day), h.pitch.ID, 2, longer.ID, 1)
	h.practised(ada, "today", now.Add(-time.Hour), h.chip.ID, 3, "", 0)
	must(h.mem.Messages().Write(ctx, who(ada), ada, "Windy."))(t)

	l := h.one(domaintest.CoachID)
	w := l.Digest.Coach
	if w == nil || l.Digest.Student != nil || l.Digest.Week != may(4) || l.Academy != "Hollow Green" || l.To.Email != "Carl@example.org" || l.Token == "" || !l.At.Equal(now) {
		t.Fatalf("got %+v", l)
	}
	if want := time.Date(2026, 5, 6, 23, 0, 0, 0, time.UTC); !l.Expires.Equal(want) {
		t.Errorf("worth nothing at %v; want the end of Wednesday, %v", l.Expires, want)
	}
	name := academy.DigestName{ID: ada, Name: "Ada"}
	if want := []academy.DigestPractice{{DigestName: name, Sessions: 2, Minutes: 30}}; !reflect.DeepEqual(w.Practised.Items, want) {
		t.Errorf("practised %+v; want %+v", w.Practised, want)
	}
	if want := []academy.DigestStep{{DigestName: name, Skill: "Pitch", Step: "9 in a row inside 5 ft"}}; !reflect.DeepEqual(w.Passed.Items, want) {
		t.Errorf("passed %+v; want %+v", w.Passed, want)
	}
	if want := []academy.DigestThread{{DigestName: name, Messages: 1}}; !reflect.DeepEqual(w.Wrote.Items, want) {
		t.Errorf("wrote %+v; want %+v", w.Wrote, want)
	}
	if want := []academy.DigestEnd{{DigestName: name, Programme: "Two weeks", On: may(10)}}; !reflect.DeepEqual(w.Ends.Items, want) {
		t.Errorf("ends %+v; want %+v", w.Ends, want)
	}
	// June has no programme; what ends of Ada's is told once.
	row := must(h.reading.Progress(ctx, coach, june))(t)
	evidence, do := row.Attention[0].Words(advice.Reader{})
	want := academy.DigestReason{DigestName: academy.DigestName{ID: june, Name: "June"}, Label: row.Attention[0].Reason.Label(), Evidence: evidence, Advice: do, More: len(row.Attention) - 1}
	if !slices.Contains(w.Stuck.Items, want) || slices.ContainsFunc(w.Stuck.Items, func(r academy.DigestReason) bool { return r.Label == advice.Ending.Label() }) {
		t.Errorf("stuck %+v; want %+v in it, and nothing that ends", w.Stuck, want)
	}
	h.none("again", domaintest.CoachID)
	h.mem.Pass(6 * time.Hour)
	h.none("later that day", domaintest.CoachID)

	// What was seen is not told, and units are the reader's.
	must(h.people.ChangeMember(ctx, coach, domaintest.CoachID, 0, academy.MemberChange{Units: new(academy.InMetres)}))(t)
	must(h.seen.Acknowledge(ctx, coach, academy.Acknowledgement{Student: june, Reason: row.Attention[0].Reason}, 30))(t)
	h.mem.Set(now.Add(7 * day))
	must(h.people.Consent(ctx, guardian, june, agreed))(t)
	h.assign(june, 4)
	h.practised(june, "s3", now.Add(5*day), h.pitch.ID, 9, "", 0)
	w = h.one(domaintest.CoachID).Digest.Coach
	if len(w.Passed.Items) != 1 || w.Passed.Items[0].Step != "9 in a row inside 1.52 m" {
		t.Errorf("passed %+v; want it in metres", w.Passed)
	}
	for _, r := range w.Stuck.Items {
		if r.ID == june && r.Label == want.Label {
			t.Errorf("told of what was seen: %+v", r)
		}
	}
	if len(row.Attention) == 0 || len(w.Stuck.Items) == 0 {
		t.Error("nobody is stuck")
	}
}

// TestOwnersDigest: an owner is told of those they coach; of everybody only where
// nobody else does.
func TestOwnersDigest(t *testing.T) {
	h := openDigests(t)
	h.practised(ben, "s1", now.Add(-2*day), h.pitch.ID, 3, "", 0)
	h.none("an owner who coaches nobody", domaintest.OwnerID)
	must(0, h.people.Link(ctx, owner, domaintest.OwnerID, ben, true))(t)
	h.mem.Set(now.Add(7 * day))
	h.practised(ada, "s2", now.Add(5*day), h.pitch.ID, 3, "", 0)
	h.practised(ben, "s3", now.Add(5*day), h.pitch.ID, 3, "", 0)
	if w := h.one(domaintest.OwnerID).Digest.Coach; len(w.Practised.Items) != 1 || w.Practised.Items[0].ID != ben {
		t.Errorf("got %+v; want Ben, whom the owner coaches", w.Practised)
	}
	must(0, h.people.Link(ctx, owner, domaintest.OwnerID, ben, false))(t)
	for _, c := range []domain.ID{domaintest.CoachID, domaintest.Coach2ID} {
		must(0, h.people.RemoveMember(ctx, owner, c))(t)
	}
	h.mem.Set(now.Add(14 * day))
	h.practised(ada, "s4", now.Add(12*day), h.pitch.ID, 3, "", 0)
	h.practised(ben, "s5", now.Add(12*day), h.pitch.ID, 3, "", 0)
	if w := h.one(domaintest.OwnerID).Digest.Coach; len(w.Practised.Items) != 2 {
		t.Errorf("got %+v; want everybody, since there is no coach", w.Practised)
	}
	h.none("coaches who left", domaintest.CoachID, domaintest.Coach2ID)
}

// TestStudentsDigest: the week against the plan, and the next.
func TestStudentsDigest(t *testing.T) {
	h := openDigests(t)
	as := h.assign(ada, -1) // Wednesday 29 April, so that its weeks change on Wednesdays
	h.practised(ada, "s1", now.Add(-3*day), h.pitch.ID, 9, as.ID, 1)
	l := h.one(ada)
	w := l.Digest.Student
	hour := []academy.DigestSession{{Name: "Hour", Times: 2, Minutes: 60}}
	want := &academy.StudentWeek{
		Done:    academy.DigestPractice{DigestName: academy.DigestName{ID: ada, Name: "Ada"}, Sessions: 1, Minutes: 15},
		Planned: 1, Last: may(1), Passed: []academy.DigestStep{{DigestName: academy.DigestName{ID: ada, Name: "Ada"}, Skill: "Pitch", Step: "9 in a row inside 5 ft"}},
		Next: []academy.DigestPlan{
			{Programme: "Two weeks", Number: 1, Weeks: 2, Title: "First", Skill: "Pitch", Sessions: hour, Step: "18 in a row with 1 holed inside 5 ft"},
			{Programme: "Two weeks", Number: 2, Weeks: 2, From: may(6), Title: "Second", Skill: "Chip", Sessions: hour, Step: "9 in a row inside 3 ft"},
		},
	}
	if !reflect.DeepEqual(w, want) || l.Digest.Coach != nil {
		t.Errorf("got  %+v\nwant %+v", w, want)
	}

	// A pause is neither planned nor ahead.
	must(h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(8), Until: may(14)}))(t)
	h.mem.Set(now.Add(7 * day))
	w = h.one(ada).Digest.Student
	if w.Done.Sessions != 0 || w.Planned != 1 || len(w.Next) != 1 || w.Next[0].Number != 2 || w.Next[0].From != may(14) {
		t.Errorf("with a pause until Thursday: %+v", w)
	}

	// Ben, in New York, is due when it is Monday morning there.
	h.assign(ben, 18)
	h.mem.Set(time.Date(2026, 5, 18, 10, 59, 0, 0, time.UTC))
	h.none("before seven in New York", ben)
	h.mem.Pass(time.Minute)
	if w = h.one(ben).Digest.Student; len(w.Next) != 1 || w.Next[0].Number != 1 || w.Planned != 0 || w.Last != (domain.Date{}) {
		t.Errorf("about to begin: %+v", w)
	}
}

// A student who passed every step, and one with more sessions than are kept at hand.
func TestBusyStudentsDigest(t *testing.T) {
	h := openDigests(t)
	h.assign(ada, 4)
	for i := range 14 {
		h.practised(ada, domain.ID(fmt.Sprintf("s%d", i)), now.Add(-3*day+time.Duration(i)*2*time.Hour), h.pitch.ID, 1, "", 0)
	}
	w := h.one(ada).Digest.Student
	if w.Done.Sessions != 12 || !w.Done.AtLeast {
		t.Errorf("got %+v; want at least 12", w.Done)
	}
}

// TestQuietWeeks: while nothing happens a letter comes every fourth week at most, and
// none at all once there is nothing ahead.
func TestQuietWeeks(t *testing.T) {
	h := openDigests(t)
	long := domaintest.Programme(h.pitch.ID, h.chip.ID)
	for range 5 {
		long.Weeks = append(long.Weeks, long.Weeks[:2]...)
	}
	programme := must(h.curriculum.CreateProgramme(ctx, coach, long))(t).ID
	must(h.curriculum.Publish(ctx, coach, programme, 0))(t)
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: programme, Version: 1, Students: []domain.ID{ada}, Start: may(4)}))(t)
	h.practised(ada, "s1", now.Add(-time.Hour), h.pitch.ID, 3, "", 0)
	var student, coachs []int
	for week := range 20 {
		h.mem.Set(now.Add(time.Duration(week) * 7 * day))
		for _, l := range h.sent(ada, domaintest.CoachID) {
			if l.To.ID == ada {
				student = append(student, week)
			} else {
				coachs = append(coachs, week)
			}
		}
		h.none("twice", ada, domaintest.CoachID)
	}
	// Begun, practised, missed one week; then every fourth while the twelve weeks run.
	if want := []int{0, 1, 2, 6, 10}; !slices.Equal(student, want) {
		t.Errorf("the student is written to in weeks %v; want %v", student, want)
	}
	// There is something waiting at once; then Ada practised; then every fourth week
	// but for the end of the programme.
	if want := []int{0, 1, 5, 9, 10, 11, 15, 19}; !slices.Equal(coachs, want) {
		t.Errorf("the coach is written to in weeks %v; want %v", coachs, want)
	}
}

// TestWhoGetsDigests: none to juniors and guardians, to unproven addresses, to those
// who left, and to those who want none.
func TestWhoGetsDigests(t *testing.T) {
	h := &digests{fixture: open(t)}
	h.DigestService = h.mem.Digests()
	for _, id := range []domain.ID{ada, june, gone, domaintest.GuardianID, ben} {
		if id != ada {
			h.mem.VerifyEmail("acc-" + id)
		}
	}
	must(h.people.Consent(ctx, guardian, june, agreed))(t)
	for _, id := range []domain.ID{ada, june, ben} {
		h.practised(id, "s-"+id, now.Add(-2*day), h.pitch.ID, 3, "", 0)
	}
	must(h.Want(ctx, who(ben), false))(t)
	all := []domain.ID{ada, ben, june, gone, domaintest.GuardianID, "nobody"}
	h.mem.Set(now.Add(4 * time.Hour)) // in New York, too
	h.none("to nobody", all...)
	h.mem.VerifyEmail("acc-" + ada)
	must(h.Want(ctx, who(ben), true))(t)
	if letters := h.sent(all...); len(letters) != 2 || letters[0].To.ID != ada || letters[1].To.ID != ben {
		t.Errorf("got %+v; want letters to Ada and Ben", letters)
	}
	if n := must(h.Send(ctx, hollow, nil))(t); n != 0 {
		t.Errorf("%d letters to nobody", n)
	}
}

// TestStoppedDigest: by the account and by the address of the letter, and for good.
func TestStoppedDigest(t *testing.T) {
	h := openDigests(t)
	h.practised(ada, "s1", now.Add(-2*day), h.pitch.ID, 3, "", 0)
	still := func(email string) bool { return must(h.Still(ctx, hollow, ada, email))(t) }
	l := h.one(ada)
	if !still("Ada@example.org") || still("old@example.org") || must(h.Still(ctx, "no-academy", ada, "Ada@example.org"))(t) || must(h.Still(ctx, hollow, june, "June@example.org"))(t) {
		t.Error("who gets the letter at which address is mixed up")
	}
	if ac := must(h.Addressed(ctx, hollow, l.Token))(t); ac.Name != "Hollow Green" || !still("Ada@example.org") {
		t.Errorf("got %+v; want it named and nothing stopped", ac)
	}
	events := len(h.mem.Events(hollow))
	for range 2 {
		if ac := must(h.Stop(ctx, hollow, l.Token))(t); ac.Name != "Hollow Green" {
			t.Errorf("got %+v", ac)
		}
	}
	h.wantEvent(who(ada), "digest.stopped", ada, ada, nil)
	if n := len(h.mem.Events(hollow)); n != events+1 {
		t.Errorf("%d events; want one", n-events)
	}
	if r := must(h.Own(ctx, who(ada)))(t); r.Stopped.IsZero() || r.Gets() || still("Ada@example.org") {
		t.Errorf("got %+v; want it stopped", r)
	}
	h.mem.Set(now.Add(7 * day))
	h.practised(ada, "s2", now.Add(5*day), h.pitch.ID, 3, "", 0)
	h.none("stopped", ada)
	must(h.Want(ctx, who(ada), true))(t)
	h.wantEvent(who(ada), "digest.wanted", ada, ada, nil)
	if again := h.one(ada); again.Token != l.Token {
		t.Errorf("the address changed from %s to %s", l.Token, again.Token)
	}
	must(h.Want(ctx, coach, false))(t)
	h.wantEvent(coach, "digest.stopped", domaintest.CoachID, "", nil)

	wantError(t, "no token", failure(h.Stop(ctx, hollow, "")), domain.NotFound, "not_found")
	wantError(t, "another academy's", failure(h.Stop(ctx, domaintest.Other, l.Token)), domain.NotFound, "not_found")
	wantError(t, "look at another academy's", failure(h.Addressed(ctx, domaintest.Other, l.Token)), domain.NotFound, "not_found")
	wantError(t, "of no member", failure(h.Own(ctx, who("nobody"))), domain.NotFound, "not_found")
	wantError(t, "by no member", failure(h.Want(ctx, who("nobody"), false)), domain.NotFound, "not_found")
}

// What goes wrong is told, and keeps no other letter back.
func TestDigestFaults(t *testing.T) {
	h := openDigests(t)
	h.practised(ada, "s1", now.Add(-2*day), h.pitch.ID, 3, "", 0)
	for what, do := range map[string]func() error{
		"student": func() error { return failure(h.Send(ctx, hollow, []domain.ID{ada})) },
		"coach":   func() error { return failure(h.Send(ctx, hollow, []domain.ID{domaintest.CoachID})) },
		"owner":   func() error { return failure(h.Send(ctx, hollow, []domain.ID{domaintest.OwnerID})) },
		"own":     func() error { return failure(h.Own(ctx, coach)) },
		"stop":    func() error { return failure(h.Want(ctx, coach, false)) },
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	token := h.mem.DigestLetters(hollow)[0].Token
	for what, do := range map[string]func() error{
		"still":     func() error { return failure(h.Still(ctx, hollow, ada, "Ada@example.org")) },
		"addressed": func() error { return failure(h.Addressed(ctx, hollow, token)) },
		"by token":  func() error { return failure(h.Stop(ctx, hollow, token)) },
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	h.mem.Set(now.Add(7 * day))
	must(h.Want(ctx, who(ada), true))(t)
	h.practised(ada, "s2", now.Add(5*day), h.pitch.ID, 3, "", 0)
	h.practised(ben, "s3", now.Add(5*day), h.pitch.ID, 3, "", 0)
	broken := errors.New("no random numbers")
	s := h.DigestService
	s.NewToken = func(domain.ID) (string, error) { return "", broken }
	if n, err := s.Send(ctx, hollow, []domain.ID{ada}); n != 0 || !errors.Is(err, broken) {
		t.Errorf("got %d, %v", n, err)
	}
	// A coach's week cannot be worked out, and the student's letter goes. Who is due
	// takes two calls, which are made twice here.
	h.mem.FailAt(5)
	n, err := h.Send(ctx, hollow, []domain.ID{domaintest.Coach2ID, ada})
	if h.mem.FailAt(0); n != 1 || !errors.Is(err, domaintest.ErrFault) {
		t.Errorf("got %d letters, %v; want the student's, and the fault told", n, err)
	}
	h.read = len(h.mem.DigestLetters(hollow))
	if l := h.one(domaintest.Coach2ID); l.Digest.Coach == nil {
		t.Errorf("got %+v; want the coach's, later", l)
	}
}
