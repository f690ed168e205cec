package academy

import (
	"context"
	"fmt"
	"slices"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// ProspectSessions is within how many sessions a step is looked at: two weeks or
// so of a usual programme.
const ProspectSessions = 4

// MaxProspectBalls is the most balls that a session is taken to offer for a step.
const MaxProspectBalls = 500

// Prospect is what students' present rates say of one step of a ladder. Passed,
// Known and Unknown sum to the students looked at.
type Prospect struct {
	Tier streak.Tier
	// Passed have passed it, or a harder one. Of the others Known have struck enough
	// balls to tell and Unknown have not.
	Passed, Known, Unknown int
	// Expected is how many of Known may be expected to pass it within
	// ProspectSessions: the sum of their chances.
	Expected float64
}

// Prospects says of each step of a ladder, which need not be the skill's own yet,
// how many of the students whom the actor sees would pass it at the skill, in
// sessions of so many balls that count. What is not known of a rate is averaged
// over; see [progress.State.Passing].
func (s ReadService) Prospects(ctx context.Context, a domain.Actor, skill domain.ID, l streak.Ladder, balls int) (steps []Prospect, err error) {
	var p domain.Problems
	l.Check(&p, "/tiers")
	if balls < 1 || balls > MaxProspectBalls {
		p.Add("/balls", "is %d; give 1 to %d balls a session", balls, MaxProspectBalls)
	}
	if err := p.Err("ladder_invalid", "The ladder was not looked at."); err != nil {
		return nil, err
	}
	err = s.Store.Read(ctx, a.Academy, func(tx ReadStore) error {
		known, err := tx.SkillsByID(ctx, []domain.ID{skill})
		if err != nil {
			return err
		}
		if _, ok := known[skill]; !ok {
			return domain.ErrNotFound("skill")
		}
		stored, members, err := storedOfAll(ctx, tx, a)
		if err != nil {
			return err
		}
		steps = nil
		states := stored.at(skill)
		for _, t := range l.Tiers {
			steps = append(steps, prospect(t, states, len(members), balls))
		}
		return nil
	})
	return steps, err
}

// storedOfAll gives what is stored of the students whom the actor sees, under
// what they taught.
func storedOfAll(ctx context.Context, tx ReadStore, a domain.Actor) (Stored, []Member, error) {
	members, err := Students(ctx, tx, a, MemberFilter{})
	if err != nil {
		return Stored{}, nil, err
	}
	ids := make([]domain.ID, len(members))
	for i, m := range members {
		ids[i] = m.ID
	}
	stored, err := tx.Stored(ctx, ids)
	stored.learn()
	return stored, members, err
}

// at gives the students' states at a skill.
func (s Stored) at(skill domain.ID) (states []progress.State) {
	for _, state := range s.States {
		if state.Skill == skill {
			states = append(states, state)
		}
	}
	return states
}

func prospect(t streak.Tier, states []progress.State, students, balls int) Prospect {
	p := Prospect{Tier: t, Unknown: students}
	for _, s := range states {
		if s.Passed(t) {
			p.Passed++
			p.Unknown--
		} else if chance, ok := s.Passing(t, balls, ProspectSessions); ok {
			p.Known++
			p.Unknown--
			p.Expected += chance
		}
	}
	return p
}

// OutOfReach warns of what most of the students cannot pass in a programme's draft:
// a ladder whose next step is out of reach at the rates of those whose balls tell,
// followers of the programme or, while none of them is known, all whom the actor
// sees; and a test in a circle that most of the followers have outgrown. Each
// warning points at the place and says what to do. Software is told nothing of
// students here. Lengths are written by write.
func (s ReadService) OutOfReach(ctx context.Context, a domain.Actor, p curriculum.Programme, write func(domain.Length) string) (warnings []domain.Field, err error) {
	if a.Software() {
		return nil, nil
	}
	err = s.Store.Read(ctx, a.Academy, func(tx ReadStore) error {
		skills, err := tx.SkillsByID(ctx, p.Draft.SkillIDs())
		if err != nil {
			return err
		}
		stored, _, err := storedOfAll(ctx, tx, a)
		if err != nil {
			return err
		}
		var found domain.Problems
		for _, id := range p.Draft.SkillIDs() {
			skill, ok := skills[id]
			if !ok {
				continue
			}
			followers := stored.followers(p.ID, id)
			warnOfCircles(&found, p.Draft.TestCircles(id), skill, followers, write)
			if week := slices.IndexFunc(p.Draft.Weeks, func(w curriculum.Week) bool { return w.Skill == id }); week >= 0 {
				reach := reachOf(skill.Ladder, followers.orAll(stored.at(id)), p.Draft.TestBalls(skill))
				reach.warn(&found, week, skill, write)
			}
		}
		warnings = found.Fields()
		return nil
	})
	return warnings, err
}

// followers are the states at a skill of those who follow a programme.
type followers []progress.State

func (s Stored) followers(programme, skill domain.ID) (theirs followers) {
	for _, state := range s.at(skill) {
		follows := func(as Assignment) bool { return as.Programme == programme && as.Student == state.Student }
		if slices.ContainsFunc(s.Assignments, follows) {
			theirs = append(theirs, state)
		}
	}
	return theirs
}

// orAll gives all states instead while no follower has struck a ball lately.
func (f followers) orAll(all []progress.State) []progress.State {
	if slices.ContainsFunc(f, func(s progress.State) bool { return s.Recent.Balls() > 0 }) {
		return f
	}
	return all
}

// nextStep is the first step of a ladder, from 0, that a student has not passed,
// and none that is harder; the number of steps once all are passed.
func nextStep(l streak.Ladder, s progress.State) int {
	next := 0
	for i, t := range l.Tiers {
		if s.Passed(t) {
			next = i + 1
		}
	}
	return next
}

// warnOfCircles tells of tests in which most of the followers who have a step left
// cannot pass it.
func warnOfCircles(found *domain.Problems, tests []curriculum.TestCircle, skill curriculum.Skill, theirs followers, write func(domain.Length) string) {
	for _, test := range tests {
		left, cannot := 0, 0
		for _, s := range theirs {
			if next := nextStep(skill.Ladder, s); next < len(skill.Ladder.Tiers) {
				left++
				if !test.CanPass(skill.Ladder.Tiers[next]) {
					cannot++
				}
			}
		}
		if 2*cannot > left {
			found.AddAt(test.Pointer, test.Place, "for %s on this programme the next step of %s needs a circle smaller than %s, so no step can be passed here. Use a smaller circle or give them another version", ofStudents(cannot, left), skill.Name, write(test.Radius))
		}
	}
}

// reach is how a ladder suits some students.
type reach struct {
	balls int
	// known are those whose balls tell and who have a step left, and out those of
	// them whose next step is more likely not passed in a season.
	known int
	out   []progress.State
	// steps counts, by the step from 0, for whom it is the next and out of reach.
	steps []int
}

func reachOf(l streak.Ladder, states []progress.State, balls int) reach {
	r := reach{balls: balls, steps: make([]int, len(l.Tiers))}
	if balls == 0 {
		return r
	}
	for _, s := range states {
		next := nextStep(l, s)
		if next == len(l.Tiers) {
			continue
		}
		chance, ok := s.Passing(l.Tiers[next], balls, advice.Season)
		if !ok {
			continue
		}
		r.known++
		if chance < 0.5 {
			r.out = append(r.out, s)
			r.steps[next]++
		}
	}
	return r
}

// warn tells of a ladder that is out of reach for more than half of the students.
func (r reach) warn(found *domain.Problems, week int, skill curriculum.Skill, write func(domain.Length) string) {
	if 2*len(r.out) <= r.known {
		return
	}
	most := slices.Index(r.steps, slices.Max(r.steps))
	tier := skill.Ladder.Tiers[most]
	remedy := "Widen the circle"
	if run := r.within(tier); run > 0 {
		remedy = fmt.Sprintf("Put %d in a row before it, or widen the circle", run)
	}
	mostly := ""
	if r.steps[most] < len(r.out) {
		mostly = "mostly "
	}
	found.AddAt(fmt.Sprintf("/weeks/%d/skill_id", week), fmt.Sprintf("week %d", week+1),
		"the next step of %s is unlikely within 30 sessions for %s with enough balls to tell (%sstep %d: %d in a row inside %s). %s",
		skill.Name, ofStudents(len(r.out), r.known), mostly, most+1, tier.Run, write(tier.Radius), remedy)
}

// ofStudents says how many of some students: "the one student", "both students",
// "all 3 students", "2 of the 3 students".
func ofStudents(n, all int) string {
	switch {
	case all == 1:
		return "the one student"
	case n == all && all == 2:
		return "both students"
	case n == all:
		return fmt.Sprintf("all %d students", all)
	}
	return fmt.Sprintf("%d of the %d students", n, all)
}

// shortestRun is the fewest in a row worth a step.
const shortestRun = 2

// within is the longest run in a tier's circle that those out of reach pass within
// ProspectSessions as often as not; 0 when there is none.
func (r reach) within(t streak.Tier) int {
	for run := t.Run - 1; run >= shortestRun; run-- {
		sum := 0.0
		for _, s := range r.out {
			chance, _ := s.Passing(streak.Tier{Run: run, Radius: t.Radius}, r.balls, ProspectSessions)
			sum += chance
		}
		if sum >= float64(len(r.out))/2 {
			return run
		}
	}
	return 0
}
