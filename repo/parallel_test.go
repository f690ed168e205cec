package repo

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
)

// crowd is how many write at once.
const crowd = 20

// together runs fn as many goroutines at once and gives their errors.
func together(n int, fn func(i int) error) []error {
	errs := make([]error, n)
	var all sync.WaitGroup
	for i := range n {
		all.Go(func() { errs[i] = fn(i) })
	}
	all.Wait()
	return errs
}

// consistent holds an academy to what its log implies, and its events to having
// no gap; wantEvents leaves out those of milestones.
func consistent(t *testing.T, w *fixture, wantEvents int) {
	t.Helper()
	r := practice.Rebuilder{Store: w.db.Rebuilding(), Env: env(monday)}
	_, found, err := r.Rebuild(w.ctx, w.academy, false)
	for _, d := range found {
		t.Error(d)
	}
	w.read(func(a *store) error {
		events, eventsErr := a.Events(w.ctx, 0, 10_000)
		for i, e := range events {
			if e.Seq != int64(i)+1 {
				t.Fatalf("event %d has number %d", i+1, e.Seq)
			}
		}
		if n := len(withoutMilestones(events)); n != wantEvents {
			t.Errorf("got %d events, want %d", n, wantEvents)
		}
		return errors.Join(err, eventsErr)
	})
}

// sessionOf is a session of the filled fixture for a student, at an hour of its
// own.
func (f *filled) sessionOf(student, id domain.ID, hour, revision int) practice.Session {
	s := f.plannedSession(id, revision, 9+revision%3)
	s.Student, s.StartedAt = student, start.Add(-time.Duration(hour)*time.Hour)
	s.EndedAt = s.StartedAt.Add(time.Hour)
	if student != f.student {
		s.Assignment, s.Week, s.Plan = "", 0, 0
		for i := range s.Blocks {
			s.Blocks[i].PlanBlock = 0
		}
	}
	return s
}

// Many sessions of one student at once: each is counted, once.
func TestParallelSessionsOfOneStudent(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		before := eventCount(f.fixture)
		errs := together(crowd, func(i int) error {
			_, err := f.practice(monday).Put(f.ctx, f.asOwner(), f.sessionOf(f.student, newID(), i+1, 1))
			return err
		})
		if err := errors.Join(errs...); err != nil {
			t.Fatal(err)
		}
		consistent(t, f.fixture, before+crowd)
		f.read(func(a *store) error {
			n, err := a.sessionCount(f.ctx, f.student)
			as, asErr := a.Assignment(f.ctx, f.assignment)
			if n != crowd+1 || as.Sessions != crowd+1 {
				t.Errorf("got %d sessions, %d of them of the plan, want %d", n, as.Sessions, crowd+1)
			}
			return errors.Join(err, asErr)
		})
	})
}

// withoutMilestones leaves out what depends on who comes first: how often a
// milestone moves.
func withoutMilestones(events []domain.Event) []domain.Event {
	return slices.DeleteFunc(events, func(e domain.Event) bool { return strings.HasPrefix(e.Kind, "milestone.") })
}

func (a *store) sessionCount(ctx context.Context, student domain.ID) (int, error) {
	kept, err := a.Stored(ctx, []domain.ID{student})
	return kept.Habits[student].Sessions, err
}

// eventCount counts the events but those of milestones.
func eventCount(w *fixture) (n int) {
	w.read(func(a *store) error {
		events, err := a.Events(w.ctx, 0, 10_000)
		n = len(withoutMilestones(events))
		return err
	})
	return n
}

// Sessions of many students at once, while versions are assigned and moved and
// students are changed.
func TestParallelStudents(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		students := make([]domain.ID, crowd)
		for i := range students {
			students[i] = f.member(domain.Student)
		}
		before := eventCount(f.fixture)
		const each = 4
		name := "Changed"
		errs := together(2*crowd+2, func(i int) error {
			switch {
			case i < crowd:
				for j := range each {
					if _, err := f.practice(monday).Put(f.ctx, f.asOwner(), f.sessionOf(students[i], newID(), j+1, 1)); err != nil {
						return err
					}
				}
				return nil
			case i < 2*crowd:
				_, err := f.people(monday).ChangeMember(f.ctx, f.asOwner(), students[i-crowd], 0, academy.MemberChange{Name: &name})
				return err
			}
			// Two assign to everybody; the second finds them assigned.
			_, err := f.people(monday).Assign(f.ctx, f.asOwner(), academy.AssignRequest{Programme: f.programme, Version: 1, Students: students, Start: someDay})
			return err
		})
		refused := 0
		for _, err := range errs {
			switch domain.KindOf(err) {
			case domain.Conflict:
				refused++
			default:
				if err != nil {
					t.Error(err)
				}
			}
		}
		if refused != 1 {
			t.Errorf("%d of two assignments of the same version were refused, want 1", refused)
		}
		consistent(t, f.fixture, before+crowd*each+crowd+crowd)
	})
}

// One session uploaded by many at once: the highest revision stands, whatever
// arrives last, and a replay is no second session.
func TestParallelRevisions(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		id := newID()
		errs := together(crowd, func(i int) error {
			_, err := f.practice(monday).Put(f.ctx, f.asOwner(), f.sessionOf(f.student, id, 1, i/2+1)) // each revision twice
			return err
		})
		for i, err := range errs {
			if err != nil && domain.KindOf(err) != domain.Conflict {
				t.Errorf("upload %d: %v", i, err)
			}
		}
		if errs[crowd-1] != nil || errs[crowd-2] != nil {
			t.Errorf("the highest revision was refused: %v, %v", errs[crowd-1], errs[crowd-2])
		}
		f.read(func(a *store) error {
			s, err := a.Session(f.ctx, id)
			if s.Revision != crowd/2 {
				t.Errorf("revision %d stands, want %d", s.Revision, crowd/2)
			}
			n, countErr := a.sessionCount(f.ctx, f.student)
			if n != 2 {
				t.Errorf("got %d sessions, want 2", n)
			}
			return errors.Join(err, countErr)
		})
		consistent(t, f.fixture, eventCount(f.fixture))
	})
}

// Many change one programme: each change builds on the one before, and of those
// that say what they had read, one wins.
func TestParallelChanges(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		programme, _, err := f.curriculum(monday).Programme(f.ctx, f.asOwner(), f.programme, domain.Length.String)
		if err != nil {
			t.Fatal(err)
		}
		errs := together(crowd, func(i int) error {
			draft := programme.Draft
			draft.Name = fmt.Sprintf("Draft %d", i)
			_, err := f.curriculum(monday).SaveDraft(f.ctx, f.asOwner(), f.programme, programme.Revision, draft)
			return err
		})
		won := 0
		for _, err := range errs {
			if err == nil {
				won++
			} else if domain.KindOf(err) != domain.Stale {
				t.Error(err)
			}
		}
		if won != 1 {
			t.Errorf("%d of %d changes of one revision won, want 1", won, crowd)
		}
		consistent(t, f.fixture, eventCount(f.fixture))
	})
}

// The last two owners cannot both leave.
func TestParallelOwnersLeaving(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		owners := []domain.ID{w.owner, w.member(domain.Owner)}
		errs := together(2, func(i int) error {
			return w.people(monday).RemoveMember(w.ctx, w.actor(owners[i], domain.Owner), owners[i])
		})
		if (errs[0] == nil) == (errs[1] == nil) {
			t.Errorf("got errors %v, want one of the two refused", errs)
		}
		w.read(func(a *store) error {
			left, err := a.Members(w.ctx, academy.MemberFilter{Role: domain.Owner}, domain.Page{Limit: 9})
			if len(left) != 1 {
				t.Errorf("got %d owners, want 1", len(left))
			}
			return err
		})
	})
}

// Of keys made at once no more are kept than an academy may have.
func TestParallelKeysStayWithinTheLimit(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		keys, err := auth.Ephemeral()
		if err != nil {
			t.Fatal(err)
		}
		hasher, err := auth.NewHasher(auth.CheapHashParams(), 1)
		if err != nil {
			t.Fatal(err)
		}
		service, err := auth.New(auth.Config{
			Store: db.Auth(), Keys: keys, Hasher: hasher, Limiter: auth.NewStoreLimiter(db.Auth()), Env: env(monday), Issuer: "i", Audience: "a",
		})
		if err != nil {
			t.Fatal(err)
		}
		owner := domain.Actor{Academy: w.academy, Member: w.owner, Role: domain.Owner}
		makeOne := func(i int) error {
			_, _, err := service.CreateKey(w.ctx, owner, fmt.Sprint("key ", i), auth.Scopes{auth.AllScopes()[0]})
			return err
		}
		for i := range auth.MaxKeys - 2 {
			if err := makeOne(i); err != nil {
				t.Fatal(err)
			}
		}
		made := 0
		for _, err := range together(crowd, makeOne) {
			switch {
			case err == nil:
				made++
			case domain.KindOf(err) != domain.Conflict:
				t.Error(err)
			}
		}
		if made != 2 {
			t.Errorf("%d keys were made where two were left", made)
		}
	})
}
