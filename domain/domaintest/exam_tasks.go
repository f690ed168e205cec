package domaintest

import (
	"cmp"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// taskCounts: the balls of random blocks alone, of the last sessions before an
// instant, those deleted left out.
func (e *exam) taskCounts() {
	student := e.Join(e, domain.Student)
	bunker := curriculum.Task{Lie: "bunker", Distance: 9 * domain.Metre, Club: "58°"}
	fringe := curriculum.Task{Lie: "fringe", Distance: 6 * domain.Metre, Club: "8"}
	ball := func(o streak.Outcome, t curriculum.Task) practice.Ball {
		return practice.Ball{Outcome: o, Lie: t.Lie, Distance: t.Distance, Club: t.Club}
	}
	for day, balls := range [][]practice.Ball{
		{ball(streak.Out, bunker)},
		{ball(streak.In, bunker), ball(streak.Out, bunker), ball(streak.Holed, fringe), {Outcome: streak.In}},
		{ball(streak.In, fringe)},
		{ball(streak.In, fringe)},
	} {
		s := practice.Session{
			ID: examID(), Student: student, TimeZone: "Europe/Oslo", StartedAt: examStart.AddDate(0, 0, day), Revision: 1,
			Blocks: []practice.Block{
				{Kind: curriculum.Random, Skill: e.Chip, Radius: domain.Metre, Balls: balls},
				{Kind: curriculum.Test, Skill: e.Chip, Radius: domain.Metre, Balls: []practice.Ball{ball(streak.In, bunker)}},
				{Kind: curriculum.Random, Skill: e.Pitch, Radius: domain.Metre, Balls: balls[:1]},
			},
		}
		e.save(bare(s))
		if day == 2 {
			s.Revision, s.Blocks, s.DeletedAt = 2, nil, examNow
			e.save(bare(s))
		}
	}
	counts := func(whose domain.ID, before time.Time, sessions int) map[domain.ID][]curriculum.TaskCount {
		return get(e, e.s.Reading, func(tx academy.ReadStore) (map[domain.ID][]curriculum.TaskCount, error) {
			return tx.TaskCounts(e.ctx, whose, before, sessions)
		})
	}
	day := func(n int) time.Time { return examStart.AddDate(0, 0, n) }
	e.same("all", counts(student, day(9), 9), map[domain.ID][]curriculum.TaskCount{
		e.Chip:  {{Balls: 1, Inside: 1}, {Task: bunker, Balls: 3, Inside: 1}, {Task: fringe, Balls: 2, Inside: 2}},
		e.Pitch: {{Task: bunker, Balls: 2, Inside: 1}, {Task: fringe, Balls: 1, Inside: 1}},
	})
	e.same("the last", counts(student, day(9), 1), map[domain.ID][]curriculum.TaskCount{
		e.Chip: {{Task: fringe, Balls: 1, Inside: 1}}, e.Pitch: {{Task: fringe, Balls: 1, Inside: 1}},
	})
	e.same("before the second", counts(student, day(1), 9), map[domain.ID][]curriculum.TaskCount{
		e.Chip: {{Task: bunker, Balls: 1}}, e.Pitch: {{Task: bunker, Balls: 1}},
	})
	e.same("before the first", counts(student, day(0), 9), map[domain.ID][]curriculum.TaskCount{})
	e.same("of nobody", counts(examID(), day(9), 9), map[domain.ID][]curriculum.TaskCount{})
}

// dealt: the balls of blocks that deal them, by their block of the plan, in the
// sessions of the week that stand, counted or not.
func (e *exam) dealt() {
	student := e.Join(e, domain.Student)
	as := e.Assign(e, student)
	for day, balls := range []int{3, 2, 4} {
		s := practice.Session{
			ID: examID(), Student: student, TimeZone: "Europe/Oslo", StartedAt: examStart.AddDate(0, 0, day), Revision: 1,
			Assignment: as, Week: 1, Plan: 2, Version: 1,
			Blocks: []practice.Block{
				{PlanBlock: 3, Kind: curriculum.Random, Skill: e.Chip, Radius: domain.Metre, Balls: make([]practice.Ball, balls)},
				{PlanBlock: 4, Kind: curriculum.Playout, Skill: e.Chip, Radius: domain.Metre, Balls: make([]practice.Ball, 1)},
				{PlanBlock: 1, Kind: curriculum.Test, Skill: e.Chip, Radius: domain.Metre, Balls: make([]practice.Ball, 9)},
				{Kind: curriculum.Random, Skill: e.Chip, Radius: domain.Metre, Balls: make([]practice.Ball, 9)},
			},
		}
		e.save(bare(s))
		if day == 2 {
			s.Revision, s.Blocks, s.DeletedAt = 2, nil, examNow
			e.save(bare(s))
		}
	}
	of := func(week int) map[academy.PlanBlock]int {
		return get(e, e.s.Reading, func(tx academy.ReadStore) (academy.WeekDone, error) {
			return tx.DoneInWeek(e.ctx, academy.Assignment{ID: as}, week)
		}).Dealt
	}
	e.same("dealt", of(1), map[academy.PlanBlock]int{{Plan: 2, Block: 3}: 5, {Plan: 2, Block: 4}: 2})
	e.same("dealt in another week", of(2), map[academy.PlanBlock]int{})
}

// playedOut: the places of the last sessions that have any on a green and stand,
// latest first, skill by skill.
func (e *exam) playedOut() {
	student := e.Join(e, domain.Student)
	played := func(day int, surface curriculum.Surface, strokes ...int) practice.Session {
		s := practice.Session{ID: examID(), Student: student, TimeZone: "Europe/Oslo", StartedAt: examStart.AddDate(0, 0, day), Revision: 1, Surface: surface, Variant: curriculum.InRain, Match: examID()}
		for _, skill := range []domain.ID{e.Chip, e.Pitch} {
			b := practice.Block{Kind: curriculum.Playout, Skill: skill, Radius: domain.Metre}
			for _, n := range strokes {
				b.Balls = append(b.Balls, practice.Ball{Outcome: streak.In, Strokes: n, Lie: "bunker", Distance: 9 * domain.Metre, Measured: true, Leave: domain.Metre / 2})
			}
			s.Blocks = append(s.Blocks, b, practice.Block{Kind: curriculum.Test, Skill: skill, Radius: domain.Metre, Quiet: true, Purpose: curriculum.Retest})
		}
		e.save(bare(s))
		return s
	}
	first, latest := played(0, "", 2, 0, 3), played(4, "", 4)
	played(5, curriculum.OnMat, 2)
	played(6, "", 0)
	gone := played(7, "", 2)
	gone.Revision, gone.Blocks, gone.DeletedAt = 2, nil, examNow
	e.save(bare(gone))
	of := func(sessions int) []course.Outing {
		return get(e, e.s.Reading, func(tx academy.ReadStore) ([]course.Outing, error) { return tx.PlayedOut(e.ctx, student, sessions) })
	}
	e.same("places played out", of(9), slices.Concat(latest.PlayedOut(), first.PlayedOut()))
	e.same("the latest", of(1), latest.PlayedOut())
	kept := get(e, e.s.Sessions, func(tx practice.ReadStore) (practice.Session, error) { return tx.Session(e.ctx, latest.ID) })
	e.same("version and match", []any{kept.Variant, kept.Match}, []any{latest.Variant, latest.Match})
	e.same("the quiet test", []any{kept.Blocks[1].Quiet, kept.Blocks[1].Purpose, kept.Blocks[0].Quiet}, []any{true, curriculum.Retest, false})
	if n := len(first.PlayedOut()[0].Places); n != 2 {
		e.Errorf("%d places are finished, want 2", n)
	}
}

// sessionStarts: of the students asked for, from an instant on, in order, those
// deleted left out.
func (e *exam) sessionStarts() {
	first, second, other := e.Join(e, domain.Student), e.Join(e, domain.Student), e.Join(e, domain.Student)
	for i, whose := range []domain.ID{first, second, first, other, first, first} {
		s := practice.Session{ID: examID(), Student: whose, TimeZone: "UTC", StartedAt: examStart.AddDate(0, 0, -i), Revision: 1}
		e.save(bare(s))
		if i == 4 {
			s.Revision, s.DeletedAt = 2, examNow
			e.save(bare(s))
		}
	}
	starts := func(since time.Time, students ...domain.ID) map[domain.ID][]time.Time {
		return get(e, e.s.Cohorts, func(tx academy.CohortStore) (map[domain.ID][]time.Time, error) {
			return tx.SessionStarts(e.ctx, students, since)
		})
	}
	day := func(n int) time.Time { return examStart.AddDate(0, 0, -n).UTC() }
	e.same("all", starts(day(9), first, second), map[domain.ID][]time.Time{first: {day(5), day(2), day(0)}, second: {day(1)}})
	e.same("from the very start of one", starts(day(2), first), map[domain.ID][]time.Time{first: {day(2), day(0)}})
	e.same("from after it", starts(day(2).Add(time.Millisecond), first), map[domain.ID][]time.Time{first: {day(0)}})
	e.same("of nobody", starts(day(9)), map[domain.ID][]time.Time{})
}

// periodsOfAll: those of all skills, from a period on, as they are kept.
func (e *exam) periodsOfAll() {
	kept := get(e, e.s.Rebuilding, func(tx practice.RebuildStore) (practice.Kept, error) { return tx.Kept(e.ctx, e.Student) }).Periods
	if len(kept) < 2 || kept[0].Skill == kept[len(kept)-1].Skill {
		e.Fatalf("%d periods are too few to say anything", len(kept))
	}
	periods := func(student domain.ID, since int) []progress.Period {
		return get(e, e.s.Reading, func(tx academy.ReadStore) ([]progress.Period, error) { return tx.PeriodsOf(e.ctx, student, since) })
	}
	slices.SortFunc(kept, func(a, b progress.Period) int {
		return cmp.Or(cmp.Compare(a.Skill, b.Skill), cmp.Compare(a.Number, b.Number))
	})
	last := slices.MaxFunc(kept, func(a, b progress.Period) int { return cmp.Compare(a.Number, b.Number) }).Number
	e.same("all", periods(e.Student, 0), kept)
	e.same("from the last on", periods(e.Student, last), slices.DeleteFunc(slices.Clone(kept), func(p progress.Period) bool { return p.Number < last }))
	e.same("from after it", periods(e.Student, last+1), []progress.Period{})
	e.same("of another", periods(e.Spare, 0), []progress.Period{})
}
