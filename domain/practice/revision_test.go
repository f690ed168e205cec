package practice_test

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
)

func stored(revision int, deleted bool) *domain.Standing {
	return &domain.Standing{Revision: revision, Deleted: &deleted}
}

// detailOf gives the sentence of an error.
func detailOf(err error) string {
	var e *domain.Error
	errors.As(err, &e)
	return e.Detail
}

// TestRevisions follows one session through uploads, replays, conflicts,
// deletion and return.
func TestRevisions(t *testing.T) {
	h := open(t)
	rev := func(n int, outcomes string) practice.Session {
		return session("s", n, block(curriculum.Test, h.pitch, outcomes))
	}
	first := h.put(ada, rev(2, "iiii"))
	kept := h.mem.Snapshot(hollow)
	h.mem.Pass(time.Minute)

	replay := h.put(ada, rev(2, "iiii"))
	if first.Created = false; !reflect.DeepEqual(replay, first) {
		t.Errorf("a replay got %+v\nwant %+v", replay, first)
	}
	// The coach's copy of it is the same upload.
	if again := h.put(coach, with(rev(2, "iiii"), adaID)); !reflect.DeepEqual(again, first) {
		t.Errorf("a replay by the coach got %+v\nwant %+v", again, first)
	}
	// So is what was read, with the time zone filled in.
	if filled := first.Session; filled.TimeZone == "" {
		t.Error("the time zone was not filled in")
	} else if again := h.put(ada, filled); !reflect.DeepEqual(again, first) {
		t.Errorf("what was read, sent back, got %+v\nwant %+v", again, first)
	}
	_, err := h.s.Put(ctx, ada, rev(2, "iiio"))
	wantError(t, "other content", err, domain.Conflict, "revision_conflict", stored(2, false))
	if want := "Revision 2 of this session was stored with other content. Read what is stored, merge, and send revision 3."; detailOf(err) != want {
		t.Errorf("got %q, want %q", detailOf(err), want)
	}
	_, err = h.s.Put(ctx, ada, rev(1, "ii"))
	wantError(t, "a lower revision", err, domain.Conflict, "revision_superseded", stored(2, false))
	if want := "Revision 2 is stored, so revision 1 was not; drop it, or read what is stored and send revision 3."; detailOf(err) != want {
		t.Errorf("got %q, want %q", detailOf(err), want)
	}
	err = h.s.Delete(ctx, ada, "s", "", 2)
	wantError(t, "deleting at the revision that stands", err, domain.Conflict, "revision_conflict", stored(2, false))
	if want := "Revision 2 of this session is stored. To delete the session, send the deletion with revision 3."; detailOf(err) != want {
		t.Errorf("got %q, want %q", detailOf(err), want)
	}
	if !reflect.DeepEqual(h.mem.Snapshot(hollow), kept) {
		t.Error("replays and conflicts changed what is kept")
	}

	if out := h.put(ada, rev(5, "iiiiiiiiio")); out.Created || out.Session.Revision != 5 || len(out.Milestones) != 1 {
		t.Errorf("revision 5: got %+v, want it to stand with a milestone", out)
	}
	if err := h.s.Delete(ctx, ada, "s", "", 6); err != nil {
		t.Fatal(err)
	}
	if k := h.kept(adaID); milestones(k) != nil || k.Habit.Sessions != 0 {
		t.Errorf("deleted: kept %+v, want nothing", k)
	}
	if err := h.s.Delete(ctx, ada, "s", "", 6); err != nil {
		t.Errorf("deleting again: %v, want a replay", err)
	}
	if _, err := h.s.Get(ctx, ada, "s"); domain.KindOf(err) != domain.NotFound {
		t.Errorf("reading it: got %v, want NotFound", err)
	}
	_, err = h.s.Put(ctx, ada, rev(5, "iiiiiiiiio"))
	wantError(t, "an upload that comes after the deletion", err, domain.Conflict, "revision_superseded", stored(6, true))
	if want := "The session was deleted at revision 6, so revision 5 was not saved; drop it, or send revision 7 to bring the session back."; detailOf(err) != want {
		t.Errorf("got %q, want %q", detailOf(err), want)
	}
	_, err = h.s.Put(ctx, ada, rev(6, "i"))
	wantError(t, "an upload at the deletion's revision", err, domain.Conflict, "revision_conflict", stored(6, true))
	wantError(t, "an older deletion", h.s.Delete(ctx, ada, "s", "", 4), domain.Conflict, "revision_superseded", stored(6, true))

	if out := h.put(ada, rev(7, "iiiiiiiii")); out.Created || len(out.Milestones) != 1 || out.Session.Deleted() {
		t.Errorf("brought back: got %+v, want it to stand", out)
	}
	if err := h.s.Delete(ctx, coach, "s", "", 8); err != nil {
		t.Errorf("the coach deleting it, without saying whose it is: %v", err)
	}
	if err := h.s.Delete(ctx, coach, "s", adaID, 9); err != nil {
		t.Errorf("deleting what is deleted, at a higher revision: %v", err)
	}
	want := []string{"session.stored", "session.extended", "session.deleted", "session.restored", "session.deleted", "session.deleted"}
	if got := h.events(); !slices.Equal(got, want) {
		t.Errorf("events: got %v, want %v", got, want)
	}
}

// TestDeletionOvertakes: a deletion may come before what it deletes.
func TestDeletionOvertakes(t *testing.T) {
	h := open(t)
	if err := h.s.Delete(ctx, ada, "s", "", 3); err != nil {
		t.Fatal(err)
	}
	_, err := h.s.Put(ctx, ada, session("s", 2, block(curriculum.Test, h.pitch, "i")))
	wantError(t, "what was deleted", err, domain.Conflict, "revision_superseded", stored(3, true))
	if k := h.kept(adaID); k.Periods != nil || k.Habit.Sessions != 0 {
		t.Errorf("kept %+v, want nothing", k)
	}
	out := h.put(ada, session("s", 4, block(curriculum.Test, h.pitch, "i")))
	if out.Created || !out.Session.StartedAt.Equal(now.Add(-2*time.Hour)) {
		t.Errorf("got %+v, want the session as it says", out)
	}
	if e := h.sessionEvents(); e[0].Kind != "session.deleted" || e[0].Data["before"] != nil || e[1].Kind != "session.restored" {
		t.Errorf("got %+v, want a deletion of nothing and a return", e)
	}
	err = h.s.Delete(ctx, coach, "unknown", "", 1)
	wantFields(t, "deleting the unknown for nobody", err, "/student_id", "is missing; there is no such session yet, so say whose it would be")
	for _, n := range []int{0, -1, 1<<30 + 1} {
		err := h.s.Delete(ctx, ada, "bad", "", n)
		if f := domain.FieldsOf(err); len(f) != 1 || f[0].Pointer != "/revision" {
			t.Errorf("deleting at revision %d: got %v, want it refused", n, err)
		}
	}
}

// TestIDInUse: an ID belongs to the student it was first used for; others learn
// no more than that it is taken.
func TestIDInUse(t *testing.T) {
	h := open(t)
	h.put(ada, session("s", 1))
	_, err := h.s.Put(ctx, ben, session("s", 2))
	wantError(t, "Ben with Ada's ID", err, domain.Conflict, "id_taken", nil)
	if strings.Contains(err.Error(), "student") {
		t.Errorf("got %v, which tells of another student", err)
	}
	wantError(t, "Ben deleting it", h.s.Delete(ctx, ben, "s", "", 2), domain.NotFound, "not_found", nil)
	_, err = h.s.Put(ctx, owner, with(session("s", 2), benID))
	wantError(t, "an owner for Ben", err, domain.Conflict, "other_student", nil)
	_, err = h.s.Put(ctx, coach, with(session("s", 2), benID))
	wantError(t, "Ada's coach for Ben", err, domain.Conflict, "other_student", nil)
	// Whoever may not see Ada is told what they would be told of an unknown ID.
	_, err = h.s.Put(ctx, domaintest.AsCoach2, session("s", 2))
	wantFields(t, "another coach, for whoever it is", err, "/student_id", "is missing; say whose session this is")
	err = h.s.Delete(ctx, domaintest.AsCoach2, "s", "", 2)
	wantFields(t, "another coach, deleting it", err, "/student_id", "is missing; there is no such session yet, so say whose it would be")
	// Academies share no IDs.
	if _, err := h.s.Put(ctx, domaintest.AsStranger, session("s", 1)); err != nil {
		t.Errorf("the same ID next door: %v", err)
	}
	if got := must(h.s.Get(ctx, ada, "s"))(t); got.Session.Revision != 1 {
		t.Errorf("got %+v, want Ada's first revision", got.Session)
	}
}

// TestZoneNotByChance: whether an earlier revision arrived does not decide in
// which zone a later one is read.
func TestZoneNotByChance(t *testing.T) {
	h := open(t)
	first, second := session("s", 1), session("s", 2)
	first.TimeZone, second.TimeZone = "Pacific/Auckland", ""
	h.put(ada, first)
	if got := h.put(ada, second).Session.TimeZone; got != "Europe/Lisbon" {
		t.Errorf("read in %q, want the student's own zone", got)
	}
}
