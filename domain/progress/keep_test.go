package progress_test

import (
	"context"
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"

	"pgregory.net/rapid"
)

const ada = domaintest.AdaID

// keeper is a student's progress kept in a store, and beside it what the store
// was told.
type keeper struct {
	t        require
	w        *domaintest.World
	sessions map[domain.ID]practice.Session
	tracks   map[domain.ID]progress.Track
}

// require is what tests and property tests have in common.
type require interface {
	Helper()
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

func newKeeper(t require) *keeper {
	return &keeper{t: t, w: domaintest.Populated(day1), sessions: map[domain.ID]practice.Session{}, tracks: map[domain.ID]progress.Track{}}
}

func (k *keeper) write(change func(tx practice.Store) error) {
	k.t.Helper()
	if err := k.w.Practice().Write(context.Background(), domaintest.Hollow, change); err != nil {
		k.t.Fatal(err)
	}
}

// put stores a session, or a deletion when it has no blocks.
func (k *keeper) put(s practice.Session) {
	k.t.Helper()
	s.Student, s.TimeZone = ada, "UTC"
	delta := 0
	if old, ok := k.sessions[s.ID]; ok && len(old.Blocks) > 0 {
		delta--
	}
	if len(s.Blocks) == 0 {
		s.DeletedAt = day1
	} else {
		delta++
	}
	k.sessions[s.ID] = s
	k.write(func(tx practice.Store) error {
		if err := tx.SaveSession(context.Background(), s, s.Fingerprint()); err != nil {
			return err
		}
		if err := progress.Update(context.Background(), tx, ada, s.ID, k.digests(s)); err != nil {
			return err
		}
		return progress.UpdateHabit(context.Background(), tx, ada, delta)
	})
}

func (k *keeper) digests(s practice.Session) (digests []progress.SessionSummary) {
	for _, p := range s.Plays() {
		digests = append(digests, k.tracks[p.Skill].Summarise(p))
	}
	return digests
}

// assign judges a skill by a ladder from an instant on.
func (k *keeper) assign(skill domain.ID, l streak.Ladder, at time.Time) {
	k.t.Helper()
	t := k.tracks[skill]
	t.Student, t.Skill = ada, skill
	t, changed := t.Assigned(l, at)
	if !changed {
		return
	}
	k.tracks[skill] = t
	k.write(func(tx practice.Store) error { return progress.Rederive(context.Background(), tx, t) })
}

// kept reads what the store keeps.
func (k *keeper) kept() (kept practice.Kept) {
	k.t.Helper()
	err := k.w.Rebuilding().Read(context.Background(), domaintest.Hollow, func(tx practice.RebuildStore) (err error) {
		kept, err = tx.Kept(context.Background(), ada)
		return err
	})
	if err != nil {
		k.t.Fatal(err)
	}
	return kept
}

// check holds what is kept to what a recomputation gives.
func (k *keeper) check() {
	k.t.Helper()
	kept := k.kept()
	byState := map[domain.ID]progress.State{}
	for _, s := range kept.States {
		byState[s.Skill] = s
	}
	weeks := map[practice.SkillWeek]progress.Tally{}
	sessions := 0
	digests := map[domain.ID][]progress.SessionSummary{}
	for _, s := range k.sessions {
		if len(s.Blocks) > 0 {
			sessions++
		}
		for _, d := range k.digests(s) {
			digests[d.Skill] = append(digests[d.Skill], d)
			week := practice.SkillWeek{Skill: d.Skill, Week: d.Week}
			weeks[week] = weeks[week].Plus(d.Tally)
		}
	}
	var milestones []progress.Milestone
	for _, skill := range []domain.ID{"chip", "pitch"} {
		t, judged := k.tracks[skill]
		t.Student, t.Skill = ada, skill
		want, ms := progress.Recompute(t, digests[skill])
		milestones = append(milestones, ms...)
		got, ok := byState[skill]
		if wanted := judged || len(digests[skill]) > 0; ok != wanted {
			k.t.Fatalf("%s: a state is kept: %v, want %v", skill, ok, wanted)
		}
		if ok && !reflect.DeepEqual(got, want) {
			k.t.Fatalf("%s:\nkept %+v\nwant %+v", skill, got, want)
		}
	}
	if !reflect.DeepEqual(kept.Milestones, milestones) {
		k.t.Fatalf("milestones:\nkept %+v\nwant %+v", kept.Milestones, milestones)
	}
	for _, w := range kept.Weeks {
		if got := weeks[practice.SkillWeek{Skill: w.Skill, Week: w.Week}]; got != w.Tally {
			k.t.Fatalf("week %v at %s:\nkept %+v\nwant %+v", w.Week, w.Skill, w.Tally, got)
		}
	}
	if len(kept.Weeks) != len(weeks) || kept.Habit.Sessions != sessions {
		k.t.Fatalf("kept %d weeks and %d sessions, want %d and %d", len(kept.Weeks), kept.Habit.Sessions, len(weeks), sessions)
	}
}

// TestUpdateEqualsRecompute is the rule that the incremental state equals the
// recomputed one, for random histories of uploads, edits, deletions and
// ladders, in any order of time.
func TestUpdateEqualsRecompute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := newKeeper(t)
		for range rapid.IntRange(1, 14).Draw(t, "steps") {
			switch rapid.IntRange(0, 5).Draw(t, "step") {
			case 0:
				l := rapid.SampledFrom([]streak.Ladder{ladder(three), ladder(three, nine), ladder(tight),
					{Tiers: []streak.Tier{three, nine}, TestOnly: true}}).Draw(t, "ladder")
				k.assign(drawSkill(t), l, day1.AddDate(0, 0, rapid.IntRange(0, 20).Draw(t, "from")))
			case 1:
				k.put(practice.Session{ID: drawID(t), StartedAt: day1})
			default:
				k.put(drawSession(t))
			}
		}
		k.check()
	})
}

func drawSkill(t *rapid.T) domain.ID {
	return rapid.SampledFrom([]domain.ID{"pitch", "chip"}).Draw(t, "skill")
}

func drawID(t *rapid.T) domain.ID {
	return rapid.SampledFrom([]domain.ID{"s1", "s2", "s3", "s4", "s5"}).Draw(t, "id")
}

func drawSession(t *rapid.T) practice.Session {
	s := practice.Session{ID: drawID(t), StartedAt: day1.AddDate(0, 0, rapid.IntRange(0, 20).Draw(t, "day"))}
	for range rapid.IntRange(1, 3).Draw(t, "blocks") {
		b := practice.Block{
			Kind:  rapid.SampledFrom(curriculum.BlockKinds()).Draw(t, "kind"),
			Skill: drawSkill(t), Radius: rapid.SampledFrom([]domain.Length{ft3, ft5}).Draw(t, "radius"),
			Seconds: rapid.IntRange(0, 900).Draw(t, "seconds"),
		}
		if rapid.IntRange(0, 5).Draw(t, "card") == 0 {
			b.Attested = &progress.Attested{Balls: 9, Inside: 7, Holed: 1, BestRun: 5}
		}
		for range rapid.IntRange(0, 14).Draw(t, "balls") {
			ball := practice.Ball{Outcome: rapid.SampledFrom([]streak.Outcome{streak.Out, streak.In, streak.In, streak.In, streak.Holed}).Draw(t, "outcome")}
			if b.Attested == nil {
				b.Balls = append(b.Balls, ball)
			}
		}
		s.Blocks = append(s.Blocks, b)
	}
	return s
}

// TestTakenBack: a session that is deleted, or that turns out to be of another
// skill, leaves nothing behind.
func TestTakenBack(t *testing.T) {
	k := newKeeper(t)
	empty := k.w.Snapshot(domaintest.Hollow)
	of := func(skill domain.ID) practice.Session {
		return practice.Session{ID: "s1", StartedAt: day1, Blocks: []practice.Block{{Kind: curriculum.Test, Skill: skill, Radius: ft5, Balls: make([]practice.Ball, 3)}}}
	}
	k.put(of("pitch"))
	k.put(of("chip"))
	kept := k.kept()
	if len(kept.States) != 1 || kept.States[0].Skill != "chip" || len(kept.Weeks) != 1 {
		t.Errorf("after the skill was corrected: kept %+v, want the chip alone", kept)
	}
	k.put(practice.Session{ID: "s1", StartedAt: day1})
	k.check()
	if kept := k.kept(); len(kept.States)+len(kept.Weeks)+len(kept.Digests) != 0 {
		t.Errorf("after the deletion: kept %+v, want nothing", kept)
	}
	k.assign("pitch", ladder(three), day1)
	if kept := k.kept(); len(kept.States) != 1 || reflect.DeepEqual(empty, k.w.Snapshot(domaintest.Hollow)) {
		t.Errorf("a ladder assigned without a ball: kept %+v, want its state", kept)
	}
}

// TestUpdateReadsNoHistory: an upload after many costs the same few store calls
// as one after few.
func TestUpdateReadsNoHistory(t *testing.T) {
	k := newKeeper(t)
	k.w.Retry(0)
	k.assign("pitch", ladder(three, nine), day1)
	cost := func(i int) int {
		k.w.FailAt(0)
		k.put(practice.Session{ID: domain.ID(rune('a' + i)), StartedAt: day1.AddDate(0, 0, i), Blocks: []practice.Block{
			{Kind: curriculum.Test, Skill: "pitch", Radius: ft5, Balls: make([]practice.Ball, 3)}}})
		return k.w.Calls()
	}
	first, last := cost(0), 0
	for i := range 25 {
		last = cost(i + 1)
	}
	if first != last {
		t.Errorf("the first upload took %d store calls, the last %d", first, last)
	}
}

// TestEveryFault: whichever store call fails, the failure comes out.
func TestEveryFault(t *testing.T) {
	k := newKeeper(t)
	k.assign("pitch", ladder(three, nine), day1)
	s := practice.Session{ID: "s1", Student: ada, StartedAt: day1, TimeZone: "UTC", Blocks: []practice.Block{
		{Kind: curriculum.Test, Skill: "pitch", Radius: ft5, Balls: make([]practice.Ball, 3)},
		{Kind: curriculum.Test, Skill: "chip", Radius: ft5, Balls: make([]practice.Ball, 3)}}}
	k.put(s)
	ctx := context.Background()
	for what, do := range map[string]func(practice.Store) error{
		"Update":      func(tx practice.Store) error { return progress.Update(ctx, tx, ada, "s1", k.digests(s)) },
		"Rederive":    func(tx practice.Store) error { return progress.Rederive(ctx, tx, k.tracks["pitch"]) },
		"UpdateHabit": func(tx practice.Store) error { return progress.UpdateHabit(ctx, tx, ada, 0) },
	} {
		err := domaintest.EveryFault(t, k.w, domaintest.Hollow, func() error {
			return k.w.Practice().Write(ctx, domaintest.Hollow, do)
		})
		if err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	k.check()
}
