package repo

import (
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// same tells how what came back differs from what was put in.
func same(t testing.TB, what string, got, want any) {
	t.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
		t.Errorf("%s (-want +got)\n%s", what, d)
	}
}

// Whatever is kept comes back, with every field filled in; the rest of the
// stores' contract is the exam.
func TestKeptAsGiven(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		ctx := f.ctx
		track := filledValue[progress.Track]()
		track.Student, track.Skill = f.student, f.pitch
		state := filledValue[progress.State]()
		state.Student, state.Skill = f.student, f.pitch
		state.Recent.Judged = state.Recent.Inside + 1
		periods := []progress.Period{filledPeriod(f.student, f.pitch), filledPeriod(f.student, f.pitch)}
		periods[1].Number++
		var times []progress.SessionTime
		for range 3 {
			times = append(times, filledValue[progress.SessionTime]())
		}
		k := practice.Kept{
			States: []progress.State{state}, Periods: periods, Habit: progress.HabitOf(f.student, 7, times),
			Counts: []practice.AssignmentCount{{Assignment: f.assignment, Sessions: 7}},
		}
		f.write(func(a *store) error {
			return errors.Join(a.ReplaceRecord(ctx, progress.Record{Track: track, State: progress.State{Student: f.student, Skill: f.pitch}}), a.ReplaceKept(ctx, f.student, k))
		})
		f.read(func(a *store) error {
			got, err := a.Kept(ctx, f.student)
			same(t, "Kept", got, k)
			tracks, err1 := a.Tracks(ctx, f.student, []domain.ID{f.pitch, newID()})
			same(t, "Tracks", tracks, map[domain.ID]progress.Track{f.pitch: track})
			all, err2 := a.Periods(ctx, f.student, f.pitch)
			same(t, "Periods", all, periods)
			kept, err3 := a.Stored(ctx, []domain.ID{f.student, f.spare})
			same(t, "Habits", kept.Habits, map[domain.ID]progress.Habit{f.student: k.Habit, f.spare: {Student: f.spare}})
			same(t, "States", kept.States[0], state)
			return errors.Join(err, err1, err2, err3)
		})
		nothing := practice.Kept{Habit: progress.Habit{Student: f.student}}
		f.write(func(a *store) error { return a.ReplaceKept(ctx, f.student, nothing) })
		f.read(func(a *store) error {
			got, err := a.Kept(ctx, f.student)
			same(t, "Kept after nothing", got, nothing)
			return err
		})
	})
}

// Freshness tells of a student of the academy, and of nobody else's.
func TestFreshnessKnowsTheStudent(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w, other := newFixture(t, db), newFixture(t, db)
		coach, guardian := w.member(domain.Coach), w.member(domain.Guardian)
		w.write(func(a *store) error { return a.SetLink(w.ctx, coach, w.student, true) })
		for _, c := range []struct {
			why             string
			student, member domain.ID
			linked          bool
			want            domain.Kind
		}{
			{"nobody's asking", w.student, "", false, 0},
			{"a coach's", w.student, coach, true, 0},
			{"no coach's", w.student, guardian, false, 0},
			{"of another academy", other.student, "", false, domain.NotFound},
			{"of nobody", newID(), coach, false, domain.NotFound},
		} {
			err := db.Freshness().ReadOnce(w.ctx, w.academy, func(tx academy.FreshStore) error {
				f, err := tx.Freshness(w.ctx, c.student, c.member)
				if err == nil && (f.Student.ID != c.student || f.Linked != c.linked || len(f.Zones) != 1 || f.Zones[0] != f.Student.TimeZone) {
					t.Errorf("%s: got %+v", c.why, f)
				}
				return err
			})
			if (err != nil) != (c.want != 0) || err != nil && domain.KindOf(err) != c.want {
				t.Errorf("%s: got error %v, want kind %d", c.why, err, c.want)
			}
		}
	})
}

// What cannot be an event is none.
func TestEventsThatCannotBe(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		if err := w.attempt(func(a *store) error {
			return a.Record(w.ctx, domain.Event{Kind: "bad", Data: map[string]any{"f": func() {}}})
		}); err == nil {
			t.Error("an event that JSON cannot write was recorded")
		}
		nowhere := &fixture{t: t, db: db, ctx: w.ctx, academy: newID()}
		wantKind(t, "event of no academy", nowhere.attempt(func(a *store) error {
			return a.Record(w.ctx, domain.Event{At: monday, Kind: "x", Subject: newID()})
		}), domain.NotFound)
	})
}
