package practice_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
)

func (h *fixture) imported(a domain.Actor, dry bool, sessions ...practice.Session) (practice.ImportResult, []practice.ImportFault) {
	h.t.Helper()
	r, faults, err := h.s.Import(ctx, a, sessions, dry)
	if err != nil {
		h.t.Fatal(err)
	}
	return r, faults
}

// An import stores all sessions at once, and the same one again changes nothing.
func TestImportIsIdempotent(t *testing.T) {
	h := open(t)
	first := session(h.mem.NewID(), 0, block(curriculum.Test, h.pitch, "iio"))
	first.Student, first.TimeZone = adaID, ""
	first.StartedAt, first.EndedAt = first.StartedAt.Add(-24*time.Hour), first.EndedAt.Add(-24*time.Hour)
	second := session(h.mem.NewID(), 0, block(curriculum.Test, h.pitch, "ih"))
	second.Student, second.Assignment, second.Week, second.Plan = adaID, h.work, 1, 1
	if r, faults := h.imported(coach, true, second, first); r != (practice.ImportResult{New: 2}) || faults != nil {
		t.Errorf("a dry run: %+v, %v", r, faults)
	}
	if k := h.kept(adaID); k.Habit.Sessions != 0 {
		t.Errorf("a dry run stored %d sessions", k.Habit.Sessions)
	}
	if r, faults := h.imported(coach, false, second, first); r != (practice.ImportResult{New: 2}) || faults != nil {
		t.Errorf("the import: %+v, %v", r, faults)
	}
	want := h.kept(adaID)
	if want.Habit.Sessions != 2 {
		t.Errorf("the import stored %d sessions; want 2", want.Habit.Sessions)
	}
	events := len(h.events())
	if e := h.mem.Events(domaintest.Hollow)[len(h.mem.Events(domaintest.Hollow))-1]; e.Kind != "import.made" || e.Actor != coach.Member || e.Subject != domaintest.Hollow || e.Data["new"] != 2 || e.Data["replaced"] != 0 || e.Data["unchanged"] != 0 {
		t.Errorf("the log ends with %+v; want the import", e)
	}
	// A revision from elsewhere does not make it another.
	later := first
	later.Revision = 7
	if r, faults := h.imported(coach, false, later, second); r != (practice.ImportResult{Unchanged: 2}) || faults != nil {
		t.Errorf("again: %+v, %v", r, faults)
	}
	if n := len(h.events()); n != events {
		t.Errorf("again wrote %d events", n-events)
	}
	second.Blocks[0].Balls = balls("ihi")
	_, faults := h.imported(coach, false, second)
	if len(faults) != 1 || faults[0].Pointer != "/revision" || !strings.Contains(faults[0].Detail, "stored with other content, as revision 1") {
		t.Errorf("other content: %+v", faults)
	}
	second.Revision = 2
	if r, faults := h.imported(coach, false, second); r != (practice.ImportResult{Replaced: 1}) || faults != nil {
		t.Errorf("replaced: %+v, %v", r, faults)
	}
	if err := h.s.Delete(ctx, ada, second.ID, adaID, 3); err != nil {
		t.Fatal(err)
	}
	if _, faults = h.imported(coach, false, second); len(faults) != 1 || !strings.Contains(faults[0].Detail, "was deleted, at revision 3; to replace it, give revision 4") {
		t.Errorf("a deleted one: %+v", faults)
	}
	// A student's own needs no name.
	mine := session(h.mem.NewID(), 0, block(curriculum.Test, h.pitch, "i"))
	if r, faults := h.imported(ben, false, mine); r.New != 1 || faults != nil {
		t.Errorf("a student's own: %+v, %v", r, faults)
	}
}

// With anything wrong, nothing is stored, and everything wrong is told.
func TestImportIsAllOrNothing(t *testing.T) {
	h := open(t)
	good := session(h.mem.NewID(), 0, block(curriculum.Test, h.pitch, "i"))
	good.Student = adaID
	hidden := session(h.mem.NewID(), 0, block(curriculum.Test, h.pitch, "i"))
	hidden.Student = benID
	broken := session(h.mem.NewID(), 0, block(curriculum.Test, "no-skill", "i"))
	broken.Student = adaID
	late := session(h.mem.NewID(), 0, block("nap", h.pitch, "i"))
	late.Student, late.StartedAt, late.EndedAt = adaID, now.Add(time.Hour), time.Time{}
	junior := session(h.mem.NewID(), 0, block(curriculum.Test, h.pitch, "i"))
	junior.Student = juneID
	_, faults := h.imported(coach, false, good, hidden, broken, late, junior)
	want := []struct {
		session int
		pointer string
	}{{1, "/student_id"}, {2, "/blocks/0/skill_id"}, {3, "/started_at"}, {3, "/blocks/0/kind"}, {4, ""}}
	for i, w := range want {
		if i >= len(faults) || faults[i].Session != w.session || faults[i].Pointer != w.pointer || faults[i].Detail == "" {
			t.Fatalf("faults %+v; want %v", faults, want)
		}
	}
	if len(faults) != len(want) {
		t.Errorf("%d faults; want %d: %+v", len(faults), len(want), faults)
	}
	if k := h.kept(adaID); k.Habit.Sessions != 0 {
		t.Errorf("%d sessions were stored", k.Habit.Sessions)
	}
	for n := 1; n <= 2; n++ {
		h.mem.FailAt(n)
		if _, _, err := h.s.Import(ctx, coach, []practice.Session{good}, false); !errors.Is(err, domaintest.ErrFault) {
			t.Errorf("failing at call %d: %v", n, err)
		}
	}
}
