package main

import (
	"math/rand/v2"
	"slices"
	"strconv"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Programme is what a student plays: the same week again and again.
type Programme struct {
	Name   string
	Ladder streak.Ladder
	Week   curriculum.Week
	Limits []curriculum.Limit
	// PerMinute is how many balls are struck in a minute, and Weeks how long it goes
	// on.
	PerMinute float64
	Weeks     int
}

const chips domain.ID = "chips"

// hour is a week of three hours in four parts, whose drills follow the next step.
func hour() curriculum.Week {
	part := func(kind curriculum.BlockKind, skill domain.ID) curriculum.Block {
		return curriculum.Block{Kind: kind, Share: 25, Skill: skill}
	}
	return curriculum.Week{Skill: chips, Plans: []curriculum.Plan{{Minutes: 60, Times: 3, Blocks: []curriculum.Block{
		part(curriculum.Warmup, "putts"), part(curriculum.Technique, ""), part(curriculum.Random, ""), part(curriculum.Test, ""),
	}}}}
}

func ladder(testOnly bool, steps ...streak.Tier) streak.Ladder {
	return streak.Ladder{Tiers: steps, TestOnly: testOnly}
}

func inRow(run int, metres float64) streak.Tier {
	radius, _ := domain.Metres(metres)
	return streak.Tier{Run: run, Radius: radius}
}

// season is one student's time with a programme.
type season struct {
	Programme
	student Student
	trial   *Trial // nil for the programme as it is written

	track   progress.Track
	plays   []progress.Play
	said    []progress.SessionSummary
	habit   progress.Habit
	extra   []streak.Tier
	week    []curriculum.Adjustment // of the present week
	steps   []int                   // the session that passed each step of the programme's ladder, 0 while none has
	session int                     // planned so far
	moves   map[advice.Move]int
}

// monday is the first day of the first week.
var monday = domain.Date{Year: 2026, Month: time.March, Day: 2}

// play gives the planned session, from 1, in which each step of the ladder was
// passed, or one more than there are when it was not.
func (p Programme) play(s Student, luck uint64, trial *Trial) *season {
	t := season{Programme: p, student: s, trial: trial, steps: make([]int, len(p.Ladder.Tiers)), moves: map[advice.Move]int{}}
	t.judgeBy(p.Ladder)
	for week := range p.Weeks {
		first := monday.AddDays(7 * week)
		if t.week = nil; trial != nil && len(t.said) > 0 {
			t.accept(first)
		}
		planned := t.Week.Adjusted(t.week)
		for i := range planned.Sessions() {
			t.session++
			// The same luck for both programmes, as far as they strike the same balls.
			r := rand.New(rand.NewPCG(luck, uint64(t.session)))
			if !t.student.comes(r) {
				continue
			}
			t.practise(planned, first.AddDays(2*i), r)
		}
	}
	for i, at := range t.steps {
		if at == 0 {
			t.steps[i] = t.session + 1
		}
	}
	return &t
}

// judgeBy lets the student be judged by a ladder, and what was done before as well.
func (t *season) judgeBy(l streak.Ladder) {
	t.track.Student, t.track.Skill = "student", chips
	t.track, _ = t.track.Assigned(l, monday.Start(time.UTC))
	for i, p := range t.plays {
		t.said[i] = t.track.Summarise(p)
	}
}

// practise plays a session of a plan.
func (t *season) practise(w curriculum.Week, day domain.Date, r *rand.Rand) {
	plan := w.Plans[0]
	form := t.student.Form * r.NormFloat64()
	next := t.next()
	play := progress.Play{Session: domain.ID(strconv.Itoa(t.session)), Skill: chips, StartedAt: day.Start(time.UTC).Add(10 * time.Hour), Day: day}
	struck, inside := 0, 0
	for i, minutes := range plan.BlockMinutes() {
		b := plan.Blocks[i]
		if w.SkillOf(b) != chips {
			continue
		}
		circle := b.Drill.Radius
		if circle == 0 {
			circle = next.Radius // as on the phone
		}
		block := progress.PlayedBlock{Position: i + 1, Kind: string(b.Kind), Seconds: 60 * minutes, StruckAt: func(n int) time.Time {
			return play.StartedAt.Add(time.Duration(15*i)*time.Minute + time.Duration(n)*time.Second)
		}}
		for range int(float64(minutes) * t.PerMinute) {
			ball := streak.Ball{Radius: circle}
			switch distance := t.student.strike(circle.Metres(), form, r); {
			case distance < greenside.HoleRadius:
				ball.Outcome = streak.Holed
			case distance <= circle.Metres():
				ball.Outcome = streak.In
			}
			struck++
			if ball.Outcome != streak.Out {
				inside++
			}
			block.Balls = append(block.Balls, ball)
		}
		play.Blocks = append(play.Blocks, block)
	}
	t.plays = append(t.plays, play)
	t.said = append(t.said, t.track.Summarise(play))
	t.habit = progress.HabitOf("student", len(t.said), append(slices.Clone(t.habit.Recent), progress.SessionTime{Session: play.Session, StartedAt: play.StartedAt}))
	t.student.felt(float64(inside)/float64(struck), t.note())
}

// next is the step that the student plays for.
func (t *season) next() streak.Tier {
	tiers := t.track.Ladder.Tiers
	for i, tier := range slices.Backward(tiers) {
		if t.passed(tier) {
			return tiers[min(i+1, len(tiers)-1)]
		}
	}
	return tiers[0]
}

func (t *season) passed(tier streak.Tier) bool {
	return slices.ContainsFunc(t.said, func(s progress.SessionSummary) bool {
		return slices.ContainsFunc(s.Results, func(r progress.TierResult) bool { return r.Tier == tier && r.Passed != nil })
	})
}

// note notes the steps that the last session passed, and says whether it passed any
// for the first time.
func (t *season) note() (passed bool) {
	last := len(t.said) - 1
	before := season{said: t.said[:last]}
	for _, r := range t.said[last].Results {
		if r.Passed == nil || before.passed(r.Tier) {
			continue
		}
		passed = true
		if at := slices.Index(t.Ladder.Tiers, r.Tier); at >= 0 {
			for i := range at + 1 { // who passes a harder step has passed the easier ones
				if t.steps[i] == 0 {
					t.steps[i] = t.session
				}
			}
		}
	}
	return passed
}

// accept accepts the proposals for the week that begins, of the kinds that are.
func (t *season) accept(first domain.Date) {
	t.extra = slices.DeleteFunc(t.extra, t.passed)
	t.judgeBy(t.Ladder.With(t.extra...))
	state := progress.Recompute(t.track, t.said).State
	for _, p := range advice.Propose(advice.Ahead{
		Practice:  advice.Practice{Habit: t.habit, Today: first.AddDays(-1), Zone: time.UTC, Expected: true, Since: monday, PerWeek: float64(t.Week.Sessions())},
		Weeks:     []advice.WeekAhead{{Week: t.Week, Monday: first, Limits: t.Limits}},
		Skills:    []progress.State{state},
		Challenge: t.trial.Challenge,
		Reader:    advice.Reader{Metric: true},
	}) {
		t.moves[p.Move]++
		switch k := p.Adjustment.Kind; {
		case !slices.Contains(t.trial.Accept, k):
		case k == curriculum.ExtraStep:
			t.extra = append(t.extra, p.Adjustment.Tier)
			t.judgeBy(t.Ladder.With(t.extra...))
		default:
			t.week = append(t.week, p.Adjustment)
		}
	}
}
