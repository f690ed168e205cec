package practice

import (
	"cmp"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// TaskCounts counts, by skill, what came of the balls of random blocks at each task,
// in order of lie, distance and club. A ball whose task the student did not say
// counts at the empty one.
func TaskCounts(sessions []Session) map[domain.ID][]curriculum.TaskCount {
	type key struct {
		skill domain.ID
		task  curriculum.Task
	}
	counts := map[key]curriculum.TaskCount{}
	for _, s := range sessions {
		for _, b := range s.Blocks {
			if b.Kind != curriculum.Random {
				continue
			}
			for _, ball := range b.Balls {
				at := key{b.Skill, curriculum.Task{Lie: ball.Lie, Distance: ball.Distance, Club: ball.Club}}
				c := counts[at]
				c.Task = at.task
				c.Balls++
				if ball.Outcome != streak.Out {
					c.Inside++
				}
				counts[at] = c
			}
		}
	}
	bySkill := map[domain.ID][]curriculum.TaskCount{}
	for at, c := range counts {
		bySkill[at.skill] = append(bySkill[at.skill], c)
	}
	for _, of := range bySkill {
		slices.SortFunc(of, func(a, b curriculum.TaskCount) int {
			return cmp.Or(cmp.Compare(a.Task.Lie, b.Task.Lie), cmp.Compare(a.Task.Distance, b.Task.Distance), cmp.Compare(a.Task.Club, b.Task.Club))
		})
	}
	return bySkill
}
