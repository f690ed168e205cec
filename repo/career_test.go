package repo

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// careers are many students with long histories, put in behind the use cases'
// back, as they would have ended.
type careers struct {
	*filled
	students []domain.ID
}

// fillCareers makes students with so many sessions each, two a week up to now.
func fillCareers(t testing.TB, db *DB, students, sessions int) *careers {
	t.Helper()
	c := &careers{filled: fill(t, db)}
	rng := rand.New(rand.NewPCG(1, 2))
	for range students {
		student := c.member(domain.Student)
		c.students = append(c.students, student)
		assignment := c.assign(student, 1)
		c.career(rng, student, assignment, sessions)
	}
	return c
}

func (c *careers) career(rng *rand.Rand, student, assignment domain.ID, n int) {
	c.t.Helper()
	log := make([]practice.Session, n)
	for i := range log {
		log[i] = c.randomSession(rng, student, assignment)
		log[i].StartedAt = monday.Add(-time.Duration(n-i) * 84 * time.Hour).Truncate(time.Second)
		log[i].EndedAt = log[i].StartedAt.Add(time.Hour)
	}
	c.write(func(a *store) error {
		tracks, err := a.AllTracks(c.ctx, student)
		if err != nil {
			return err
		}
		var sessions []sessionRow
		for _, s := range log {
			sessions = append(sessions, a.sessionRow(s, s.Fingerprint()))
		}
		for part := range slices.Chunk(sessions, perInsert) {
			if err := a.insert(c.ctx, part, len(part), "session"); err != nil {
				return err
			}
		}
		return a.ReplaceKept(c.ctx, student, practice.Recompute(student, log, tracks))
	})
}

// randomSession is an hour of four blocks of two skills.
func (c *careers) randomSession(rng *rand.Rand, student, assignment domain.ID) practice.Session {
	s := practice.Session{ID: newID(), Student: student, Assignment: assignment, Week: 1 + rng.IntN(2), Plan: 1, TimeZone: "Europe/Dublin", Revision: 1, By: student, ReceivedAt: monday}
	for i, kind := range []curriculum.BlockKind{curriculum.Warmup, curriculum.Technique, curriculum.Random, curriculum.Test} {
		b := practice.Block{PlanBlock: i + 1, Kind: kind, Skill: c.pitch, Radius: 5 * domain.Foot, Seconds: 900, Planned: 900}
		if i == 0 {
			b.Skill, b.Radius = c.chip, 3*domain.Foot
		}
		for range 15 {
			ball := practice.Ball{Club: "wedge", Lie: "fairway", Distance: 20 * domain.Metre}
			switch p := rng.Float64(); {
			case p < 0.05:
				ball.Outcome = streak.Holed
			case p < 0.6:
				ball.Outcome, ball.Measured, ball.Leave = streak.In, true, domain.Length(rng.IntN(int(b.Radius)))
			}
			b.Balls = append(b.Balls, ball)
		}
		s.Blocks = append(s.Blocks, b)
	}
	return s
}

// fresh is a session that one of the students begins now, as uploaded.
func (c *careers) fresh(rng *rand.Rand, student, assignment domain.ID) practice.Session {
	s := c.randomSession(rng, student, assignment)
	s.StartedAt = monday.Add(-time.Hour)
	for i := range s.Blocks {
		s.Blocks[i].Planned = 0
	}
	return s
}

// The careers are what the log implies, or the tests on them would mean little.
func TestCareersAreConsistent(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		c := fillCareers(t, db, 2, 30)
		r := practice.Rebuilder{Store: db.Rebuilding(), Env: env(monday)}
		_, found, err := r.Rebuild(c.ctx, c.academy, false)
		if err != nil || len(found) > 0 {
			t.Errorf("got differences %v and error %v, want none", found, err)
		}
		c.read(func(a *store) error {
			states, err := a.States(c.ctx, c.students)
			if len(states) != 4 || states[0].Totals == (progress.Tally{}) {
				t.Errorf("got states %+v, want two of each student", states)
			}
			return err
		})
	})
}
