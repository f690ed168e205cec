package practice_test

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// TestFarBackGivenUp: a coach corrects an early session that holds the best run
// and the first pass, long after it, when only the latest periods are at hand.
// While it keeps both, nothing more is read; once it gives them up, everything
// ever done at the skill is, and the next best takes their place.
func TestFarBackGivenUp(t *testing.T) {
	const early, later, sessions = 2, 60, 80 // one every three days
	h := openWith(t, streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: ft5}, {Run: 9, Radius: ft5}}})
	h.mem.Retry(0) // calls are counted
	id := func(i int) domain.ID { return domain.ID(fmt.Sprintf("s-%02d", i)) }
	on := func(i, revision int, outcomes string) practice.Session {
		s := session(id(i), revision, block(curriculum.Test, h.pitch, outcomes))
		s.StartedAt = s.StartedAt.AddDate(0, 0, 3*(i-sessions+1))
		s.EndedAt = s.StartedAt.Add(time.Hour)
		return s
	}
	for i := range sessions {
		outcomes := "oiioi"
		switch i {
		case early:
			outcomes = "oiiiiioo" // five in a row
		case later:
			outcomes = "oooiiiio" // four in a row
		}
		h.put(ada, on(i, 1, outcomes))
	}
	edit := func(revision int, outcomes string) (calls int) {
		h.mem.FailAt(0)
		h.put(coach, with(on(early, revision, outcomes), adaID))
		calls = h.mem.Calls()
		if _, found := h.rebuild(false); found != nil {
			t.Errorf("revision %d: %v", revision, found)
		}
		return calls
	}
	stands := func(what string, best int, session domain.ID, ball int) {
		t.Helper()
		k := h.kept(adaID)
		passed := milestones(k)
		if len(passed) != 1 || passed[0].Session != session || passed[0].Ball != ball || k.States[0].Tiers[0].Best.Length != best {
			t.Errorf("%s: passed %+v, best %+v, want ball %d of %s and a run of %d", what, passed, k.States[0].Tiers[0].Best, ball, session, best)
		}
	}
	stands("as played", 5, id(early), 5)
	kept := edit(2, "oiiiiioi")
	stands("another ball corrected", 5, id(early), 5)
	if less := edit(3, "oiiiiooi"); less != kept+1 {
		t.Errorf("giving up the best run made %d calls of the store, keeping it %d: want one more, for all periods", less, kept)
	}
	stands("the best run given up", 4, id(early), 5)
	if none := edit(4, "oiioioio"); none != kept+2 {
		t.Errorf("giving up the first pass made %d calls of the store, keeping it %d: want two more, for all periods and the milestone's event", none, kept)
	}
	stands("the first pass given up", 4, id(later), 7)
}

// saves notes the changes that are saved.
type saves struct {
	domain.Transactor[practice.Store]
	changes []practice.Change
}

func (s *saves) Write(ctx context.Context, academy domain.ID, fn func(practice.Store) error) error {
	return s.Transactor.Write(ctx, academy, func(tx practice.Store) error { return fn(savesOf{tx, s}) })
}

type savesOf struct {
	practice.Store
	to *saves
}

func (s savesOf) Save(ctx context.Context, c practice.Change) error {
	s.to.changes = append(s.to.changes, c)
	return s.Store.Save(ctx, c)
}

// TestGrownSession: a revision that only adds to a session in progress waits for
// its event; any other is told of at once.
func TestGrownSession(t *testing.T) {
	for _, c := range []struct {
		why    string
		change func(h *fixture, s *practice.Session)
		grown  bool
	}{
		{"the same again", func(*fixture, *practice.Session) {}, true},
		{"a block more", func(h *fixture, s *practice.Session) {
			s.Blocks = append(s.Blocks, block(curriculum.Random, h.pitch, "i"))
		}, true},
		{"a ball more in the last block", func(_ *fixture, s *practice.Session) {
			s.Blocks[1].Balls = append(slices.Clone(s.Blocks[1].Balls), balls("h")...)
		}, true},
		{"a second more in the last block", func(_ *fixture, s *practice.Session) { s.Blocks[1].Seconds++ }, true},
		{"a ball more in the first block", func(_ *fixture, s *practice.Session) {
			s.Blocks[0].Balls = append(slices.Clone(s.Blocks[0].Balls), balls("h")...)
		}, true},
		{"a second less in the first block", func(_ *fixture, s *practice.Session) { s.Blocks[0].Seconds-- }, false},
		{"a ball of the last block corrected", func(_ *fixture, s *practice.Session) { s.Blocks[1].Balls = balls("oo") }, false},
	} {
		h := open(t)
		store := &saves{Transactor: h.s.Store}
		h.s.Store = store
		h.mem.Retry(0)
		first := session("s", 1, block(curriculum.Warmup, h.pitch, "oi"), block(curriculum.Test, h.pitch, "ii"))
		first.EndedAt = time.Time{}
		h.put(ada, first)
		next := first
		next.Revision, next.Blocks = 2, slices.Clone(first.Blocks)
		c.change(h, &next)
		h.put(ada, next)
		if len(store.changes) != 2 {
			t.Fatalf("%s: %d changes were saved, want two", c.why, len(store.changes))
		}
		if got := store.changes[0]; got.Known || got.Untold {
			t.Errorf("%s: at first known %v, untold %v, want a new session that is told of", c.why, got.Known, got.Untold)
		}
		if got := store.changes[1]; !got.Known || got.Untold != c.grown {
			t.Errorf("%s: known %v, untold %v, want %v", c.why, got.Known, got.Untold, c.grown)
		}
		if got := must(h.s.Get(ctx, ada, "s"))(t).Session; len(got.Blocks) != len(next.Blocks) {
			t.Errorf("%s: %d blocks stand, want %d", c.why, len(got.Blocks), len(next.Blocks))
		}
	}
}
