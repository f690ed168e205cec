package domaintest

import (
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
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
