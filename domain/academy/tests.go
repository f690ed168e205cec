package academy

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/greenside"
	"fringework/domain/progress"
)

// endTestDays is how many days after a programme's last its end tests are asked for
// still; our choice.
const endTestDays = 28

// TestDue is a first test or an end test that a student is asked for.
type TestDue struct {
	Assignment domain.ID
	Purpose    curriculum.Purpose
	Skill      curriculum.Skill
	// Drill is the spot that it is struck from, and Drill.Radius the circle: for an end
	// test those of the first, whatever was adjusted since.
	Drill curriculum.Drill
	// Struck are the balls of it that were struck today, so that Left are missing.
	Struck, Left int
	// Tomorrow says that other balls of the skill were struck today, so that it shows
	// what the student comes with on another day only.
	Tomorrow bool
}

// testsDue lists the tests that an assignment asks for on a day: a first test of every
// skill before the first week and, once it has begun, of those of the present week and
// the next that were not practised yet; and from the last week on the end test of a skill
// that had a first one.
func testsDue(w Work, states []progress.State, m Member, on domain.Date) (due []TestDue) {
	if !w.Assignment.Tests {
		return nil
	}
	for _, skill := range w.Version.Skills {
		state := progress.State{Skill: skill.ID}
		if i := slices.IndexFunc(states, func(s progress.State) bool { return s.Skill == skill.ID && s.Student == m.ID }); i >= 0 {
			state = states[i]
		}
		first, done := state.First()
		d := TestDue{Assignment: w.Assignment.ID, Skill: skill, Drill: testDrill(w.Version, skill)}
		switch {
		case !done && state.Unmeasured() == 0 && w.firstTestOf(skill.ID):
			d.Purpose = curriculum.FirstTest
		case done && w.endTestOn(on):
			if _, again := state.End(w.lastWeek()); again || !first.Day.Before(w.lastWeek()) {
				continue
			}
			d.Purpose, d.Drill.Radius = curriculum.EndTest, first.Radius
		default:
			continue
		}
		d.today(state, m, on)
		due = append(due, d)
	}
	return due
}

// firstTestOf says whether the time of a skill's first test has come.
func (w Work) firstTestOf(skill domain.ID) bool {
	switch w.Position.Phase {
	case Upcoming:
		return true
	case Running:
		near := w.Version.Content.Weeks[:min(w.Position.Week+1, len(w.Version.Content.Weeks))]
		return slices.Contains(curriculum.Content{Weeks: near}.SkillIDs(), skill)
	}
	return false
}

// lastWeek is the first day of the programme's last week.
func (w Work) lastWeek() domain.Date { return w.Assignment.WeekStart(len(w.Version.Content.Weeks)) }

// endTestOn says whether end tests are asked for on a day.
func (w Work) endTestOn(on domain.Date) bool {
	first := w.lastWeek()
	switch w.Position.Phase {
	case Running:
		return !on.Before(first)
	case Finished:
		return on.Before(first.AddDays(7 + endTestDays))
	}
	return false
}

// today counts what was struck of the test today.
func (d *TestDue) today(state progress.State, m Member, on domain.Date) {
	d.Left = progress.TestBalls
	for _, t := range state.Measurements(d.Purpose) {
		if t.Day == on && !t.Warm && t.Left() > 0 {
			d.Struck, d.Left = t.Balls, t.Left()
			d.Drill.Radius = t.Radius
		}
	}
	practised := !state.LastAt.IsZero() && domain.DateOf(state.LastAt, m.Zone()) == on
	own := slices.ContainsFunc(state.Parts, func(p progress.Part) bool { return p.StartedAt.Equal(state.LastAt) && !p.Warm })
	d.Tomorrow = practised && !own
}

// testDrill is what the programme first asks for at a skill in a test or else on one
// spot, or the skill's ladder's first circle.
func testDrill(v curriculum.Version, skill curriculum.Skill) (found curriculum.Drill) {
	best := 0
	for _, w := range v.Content.Weeks {
		for _, plan := range w.Plans {
			for _, b := range plan.Blocks {
				worth := 0
				switch {
				case w.SkillOf(b) != skill.ID || !b.Kind.OneSpot():
				case b.Kind == curriculum.Test:
					worth = 2
				default:
					worth = 1
				}
				if worth > best {
					best, found = worth, b.Drill
				}
			}
		}
	}
	found.Text = "Twenty balls from one spot with one club, each as if it counted." // the plan's are of a test for a run
	if found.Radius == 0 && len(skill.Ladder.Tiers) > 0 {
		found.Radius = skill.Ladder.Tiers[0].Radius
	}
	return found
}

// SkillTests are a student's first test and end test at a skill.
type SkillTests struct {
	Skill curriculum.Skill
	// First and End are those that are held against each other; zero without one.
	First, End progress.Measured
	// Change is from First to End, known when there are both.
	Change  estimate.Change
	Changed bool
	// Unfinished is the latest test of either purpose that lacks balls, and Warm the
	// latest that came after other balls of the skill; nil when there is none, or when
	// one that counts came after it.
	Unfinished, Warm *progress.Measured
}

// testsOf gives the tests of the skills that have any, in order of the states.
func testsOf(states []progress.State, skills map[domain.ID]curriculum.Skill) (all []SkillTests) {
	for _, s := range states {
		if len(s.Parts) == 0 {
			continue
		}
		t := SkillTests{Skill: skills[s.Skill]}
		if t.First, t.End, t.Change, t.Changed = s.Change(); !t.Changed {
			t.First, _ = s.First()
		}
		for _, purpose := range []curriculum.Purpose{curriculum.FirstTest, curriculum.EndTest} {
			for _, m := range s.Measurements(purpose) {
				switch {
				case m.Left() > 0:
					t.Unfinished = &m
				case m.Warm:
					t.Warm = &m
				default:
					t.Unfinished, t.Warm = nil, nil
				}
			}
		}
		all = append(all, t)
	}
	return all
}

// StudentTests are what first tests and end tests say of a student.
type StudentTests struct {
	Student Member
	Due     []TestDue
	Skills  []SkillTests
}

// Tests gives what a student is asked to be tested in, and what was measured.
func (s ReadService) Tests(ctx context.Context, a domain.Actor, student domain.ID) (out StudentTests, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx ReadStore) error {
		m, err := Student(ctx, tx, a, student)
		if err != nil {
			return err
		}
		stored, err := tx.Stored(ctx, []domain.ID{student})
		if err != nil {
			return err
		}
		n := Now{Student: m, On: domain.DateOf(s.Env.Now(), m.Zone())}
		if n.Work, err = works(ctx, tx, stored, n.On); err != nil {
			return err
		}
		bag, err := tx.Bag(ctx, student)
		if err != nil {
			return err
		}
		out = StudentTests{Student: m, Due: n.testsDue(stored.States, bag)}
		var ids []domain.ID
		for _, state := range stored.States {
			ids = append(ids, state.Skill)
		}
		skills, err := tx.SkillsByID(ctx, ids)
		out.Skills = testsOf(stored.States, skills)
		return err
	})
	return out, err
}

// testsDue lists the tests that the student's programmes ask for today, each skill
// once, with the student's own clubs.
func (n Now) testsDue(states []progress.State, bag greenside.Bag) (due []TestDue) {
	for _, w := range n.Work {
		for _, d := range testsDue(w, states, n.Student, n.On) {
			if slices.ContainsFunc(due, func(x TestDue) bool { return x.Skill.ID == d.Skill.ID }) {
				continue
			}
			d.Drill = ownDrill(bag, d.Drill)
			due = append(due, d)
		}
	}
	return due
}

// starts proposes where to begin at the skills of an assignment whose first test is
// done, for as long as no ball has counted towards a step. measured are those skills, answered
// already or not.
func (p proposer) starts(as Assignment, v curriculum.Version, m Member, today domain.Date) (items []Proposed, measured []domain.ID) {
	for _, state := range p.states[as.Student] {
		first, ok := state.First()
		skill, trained := v.SkillByID(state.Skill)
		if !ok || !trained || !as.Tests || state.Tried() {
			continue
		}
		week, ok := p.firstWeek(as, v, state.Skill, today)
		if !ok {
			continue
		}
		measured = append(measured, state.Skill)
		for _, x := range advice.Place(advice.Placing{State: state, Test: first, Week: week, Habit: p.habits[as.Student], Challenge: float64(p.academy.Challenge) / 100, Reader: p.reader}) {
			if p.answered(as, x, first.Day.Start(m.Zone())) {
				continue
			}
			if x.From.Before(today) {
				x.From = domain.Date{}
			}
			items = append(items, Proposed{Proposal: x, Assignment: as.ID, Skill: skill})
		}
	}
	return items, measured
}

// answered says whether a change of the sort stands at the skill since the test.
func (p proposer) answered(as Assignment, x advice.Proposal, since time.Time) bool {
	return slices.ContainsFunc(p.adjustments[as.Student], func(a Adjustment) bool {
		return a.HoldsFor(as.ID) && a.Skill == x.Skill && a.Kind == x.Adjustment.Kind && !a.CreatedAt.Before(since)
	})
}

// firstWeek is the first of an assignment's weeks to come, the present one among them,
// that trains a skill, as the student plays it; ok is false when none does.
func (p proposer) firstWeek(as Assignment, v curriculum.Version, skill domain.ID, today domain.Date) (w advice.WeekAhead, ok bool) {
	at := as.On(today, len(v.Content.Weeks))
	if at.Phase == Finished || at.Phase == Ended {
		return w, false
	}
	for i := max(1, at.Week); i <= len(v.Content.Weeks); i++ {
		week := v.Content.Weeks[i-1]
		if !slices.Contains(curriculum.Content{Weeks: []curriculum.Week{week}}.SkillIDs(), skill) {
			continue
		}
		monday := as.WeekStart(i)
		day := monday
		if day.Before(today) {
			day = today
		}
		return p.weekOf(as, v, i, monday, day), true
	}
	return w, false
}
