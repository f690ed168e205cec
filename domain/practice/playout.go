package practice

import (
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// PlayedOut gives the places that the session played out on a green, skill by skill in
// order of first use; those that were not finished are left out. Lies are as near as
// the student's word tells; putts are told from a skill's kind, not here.
func (s Session) PlayedOut() []course.Outing {
	if s.Deleted() || s.Surface.Off() {
		return nil
	}
	var all []course.Outing
	at := map[domain.ID]int{}
	for _, b := range s.Blocks {
		if b.Kind != curriculum.Playout {
			continue
		}
		for _, x := range b.Balls {
			if x.Strokes == 0 {
				continue
			}
			i, known := at[b.Skill]
			if !known {
				i = len(all)
				at[b.Skill] = i
				all = append(all, course.Outing{Session: s.ID, Skill: b.Skill, StartedAt: s.StartedAt})
			}
			all[i].Places = append(all[i].Places, course.Place{
				Lie: greenside.LieOf(x.Lie), Distance: x.Distance, Radius: b.Radius, Inside: x.Outcome != streak.Out, Holed: x.Outcome == streak.Holed,
				Left: x.Leave, Measured: x.Measured, Strokes: x.Strokes,
			})
		}
	}
	return all
}

// AddDealt adds the balls for which the session dealt a task, by their block of the
// plan.
func (s Session) AddDealt(dealt map[academy.PlanBlock]int) {
	for _, b := range s.Blocks {
		if b.PlanBlock > 0 && b.Kind.Dealt() {
			dealt[academy.PlanBlock{Plan: s.Plan, Block: b.PlanBlock, Variant: s.Variant}] += max(len(b.Balls), b.Counts.Balls)
		}
	}
}
