package repo

import (
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"fringework/domain"
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
			kept, err3 := a.Standings(ctx, []domain.ID{f.student, f.spare})
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
