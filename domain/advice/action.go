package advice

import (
	"fmt"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// Action is an adjustment that does what a reason advises, ready to be given.
type Action struct {
	// Label says to the coach what it does.
	Label string
	// Text tells the student.
	Text       string
	Adjustment curriculum.Adjustment
	// Weeks is how long it lasts; 0 for until it is passed or undone.
	Weeks int
}

// Plan is what a student works by at present.
type Plan struct {
	// Student is how sentences call them.
	Student string
	// Week is the present week of the first running programme; nil without one.
	Week *curriculum.Week
	// Limits bound the division of its time.
	Limits []curriculum.Limit
	// Shot is what the skill of the reason trains, if it is about one.
	Shot curriculum.SkillKind
	// Standing are the changes that nothing more of their kind, at their skill, comes on
	// top of: those in force, and steps given since the last session of their skill.
	Standing []curriculum.Adjustment
}

// actor is a reason that can be acted on.
type actor interface {
	actions(Reader, Plan) []Action
}

// Actions are the adjustments behind the advice, most useful first; none without
// a plan to adjust. What stands already, or would leave the programme's limits, is
// left out.
func (s Stall) Actions(r Reader, p Plan) []Action {
	a, ok := s.numbers.(actor)
	if !ok || p.Week == nil {
		return nil
	}
	return slices.DeleteFunc(a.actions(r, p), func(x Action) bool {
		_, _, breaks := x.Adjustment.OutOfLimits(*p.Week, p.Limits)
		return breaks || slices.ContainsFunc(p.Standing, func(s curriculum.Adjustment) bool {
			return s.Kind == x.Adjustment.Kind && s.Skill == x.Adjustment.Skill
		})
	})
}

// How long a change of the time or the pace lasts, and how much of the time is
// moved, in percentage points. Both are our choice: long enough to see what it
// does, and small enough to take back.
const (
	actionWeeks = 3
	shiftedBy   = 10
)

// before puts steps between what the student has done and the next one.
func (f flag) before(r Reader, p Plan) (all []Action) {
	for _, t := range f.worth(r) {
		if _, fits := f.state.Ladder.Place(t); fits {
			all = append(all, Action{
				Label:      fmt.Sprintf("Give %s %s until passed", p.Student, tierIn(r, t)),
				Text:       fmt.Sprintf("Next, on the way to %s: %s.", tierIn(r, f.Tier), tierIn(r, t)),
				Adjustment: curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: f.state.Skill, Tier: t},
			})
		}
	}
	return all
}

// shift moves some of the time of the first plan that has both kinds of block from
// one to the other.
func shift(p Plan, from, to curriculum.BlockKind) []Action {
	const left = 5 // is always left of a block's share
	for _, plan := range p.Week.Plans {
		had := map[curriculum.BlockKind]int{}
		for _, b := range plan.Blocks {
			had[b.Kind] += b.Share
		}
		by := min(shiftedBy, had[from]-left)
		for _, l := range p.Limits {
			switch l.Kind {
			case from:
				by = min(by, had[from]-l.AtLeast)
			case to:
				by = min(by, l.AtMost-had[to])
			}
		}
		if by < left || had[to] == 0 {
			continue
		}
		return []Action{timed(p, curriculum.KindShare{Kind: to, Share: had[to] + by}, curriculum.KindShare{Kind: from, Share: had[from] - by})}
	}
	return nil
}

// timed gives two kinds of block other shares of the time.
func timed(p Plan, more, less curriculum.KindShare) Action {
	split := fmt.Sprintf("%s %d %%, %s %d %%", kindLabel(more.Kind), more.Share, kindLabel(less.Kind), less.Share)
	return Action{
		Label:      fmt.Sprintf("Plan %s for %s, for %d weeks", split, p.Student, actionWeeks),
		Text:       fmt.Sprintf("For %d weeks your practice time changes: %s.", actionWeeks, split),
		Adjustment: curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{more, less}}, Weeks: actionWeeks,
	}
}

// kindLabel names a kind of block without an article.
func kindLabel(k curriculum.BlockKind) string {
	switch k {
	case curriculum.Warmup:
		return "warm-up"
	case curriculum.Random:
		return "random practice"
	case curriculum.Playout:
		return "balls played out"
	}
	return string(k)
}

// nearer moves the drills of the skill in.
func (f flag) nearer(r Reader, p Plan) []Action {
	distances, part := nearer(distancesOf(p.Week, f.state.Skill), p.Shot)
	if part == 0 {
		return nil
	}
	from := r.awayAll(distances)
	return []Action{{
		Label:      fmt.Sprintf("Move %s in: from %s, for %d weeks", p.Student, from, actionWeeks),
		Text:       fmt.Sprintf("For %d weeks, play it from closer in: %s.", actionWeeks, from),
		Adjustment: curriculum.Adjustment{Kind: curriculum.OtherDistances, Skill: f.state.Skill, DistancePart: part}, Weeks: actionWeeks,
	}}
}

// nearerPart is the part of its distance, in per cent, that a shot is moved in to, and
// leastNearer the greatest part that is worth a word: two thirds, and five sixths. Our
// choice.
const nearerPart, leastNearer = 67, 83

// shortest is the distance that a kind of shot is not moved in under, by the common
// practice of coaches; 0 where there is none.
func shortest(shot curriculum.SkillKind) domain.Length {
	switch shot {
	case curriculum.Pitch, curriculum.Lob:
		return 10 * domain.Yard
	case curriculum.ChipAndRun:
		return 5 * domain.Yard
	}
	return 0
}

// nearer moves the distances of a shot in, the shortest first, and says to which part
// of each, in per cent; 0 where they are not known or cannot be much nearer.
func nearer(distances []domain.Length, shot curriculum.SkillKind) (moved []domain.Length, part int) {
	if len(distances) == 0 {
		return nil, 0
	}
	part = nearerPart
	if floor := shortest(shot); floor > 0 {
		part = max(part, int((100*floor+distances[0]-1)/distances[0]))
	}
	moved = curriculum.Adjustment{DistancePart: part}.Nearer(distances)
	if part > leastNearer || slices.Equal(moved, distances) {
		return nil, 0
	}
	return moved, part
}

// awayAll writes distances to the hole: "12 yd, 15 yd and 18 yd".
func (r Reader) awayAll(distances []domain.Length) string {
	words := make([]string, len(distances))
	for i, d := range distances {
		words[i] = r.away(d)
	}
	return listed(words)
}

// distancesOf are those of the week's drills at a skill, of some kinds of block or of
// all when none is given, shortest first.
func distancesOf(w *curriculum.Week, skill domain.ID, kinds ...curriculum.BlockKind) (all []domain.Length) {
	for _, plan := range w.Plans {
		for _, b := range plan.Blocks {
			if w.SkillOf(b) == skill && (len(kinds) == 0 || slices.Contains(kinds, b.Kind)) {
				all = append(all, b.Drill.Distances...)
			}
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

func (f level) actions(r Reader, p Plan) []Action {
	if judgedElsewhere(f.state) {
		where := r.exact(f.Radius)
		return []Action{{
			Label:      fmt.Sprintf("Judge %s's drills at %s", p.Student, where),
			Text:       fmt.Sprintf("Judge every ball inside %s from now on: that is where your next step is.", where),
			Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: f.state.Skill, Radius: f.Radius},
		}}
	}
	return append(f.before(r, p), shift(p, curriculum.Technique, curriculum.Random)...)
}

func (f slip) actions(r Reader, p Plan) []Action {
	return append(shift(p, curriculum.Test, curriculum.Technique), f.before(r, p)...)
}

func (f reach) actions(r Reader, p Plan) []Action {
	if f.BallsPerTest < f.Tier.Run {
		return shift(p, curriculum.Technique, curriculum.Test)
	}
	if steps := f.before(r, p); len(steps) > 0 {
		return append(steps, shift(p, curriculum.Test, curriculum.Technique)...)
	}
	return append(f.nearer(r, p), shift(p, curriculum.Test, curriculum.Technique)...)
}

// longestOffered is the longest run that is offered as a harder step; beyond it only
// the circle gets smaller. Our choice: a longer one tires more than it teaches.
const longestOffered = 12

func (f ease) actions(r Reader, p Plan) (all []Action) {
	for _, t := range []streak.Tier{
		{Run: f.Tier.Run, Radius: r.rounded(float64(f.EvenRadius), down), Holed: f.Tier.Holed},
		{Run: min(f.EvenRun, longestOffered), Radius: f.Tier.Radius, Holed: f.Tier.Holed},
	} {
		if _, fits := f.state.Ladder.Place(t); fits && t.Radius > 0 && t.AsHardAs(f.Tier) {
			all = append(all, Action{
				Label:      fmt.Sprintf("Let %s go on to %s", p.Student, tierIn(r, t)),
				Text:       fmt.Sprintf("After %s, go for %s.", tierIn(r, f.Tier), tierIn(r, t)),
				Adjustment: curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: f.state.Skill, Tier: t},
			})
		}
	}
	return append(all, shift(p, curriculum.Technique, curriculum.Test)...)
}

func (l lapse) actions(_ Reader, p Plan) []Action {
	planned := p.Week.Sessions()
	if planned < 2 {
		return nil
	}
	fewer := (planned + 1) / 2
	return []Action{{
		Label:      fmt.Sprintf("Plan %s a week for %s, for %d weeks", count(fewer, "session"), p.Student, actionWeeks),
		Text:       fmt.Sprintf("For %d weeks, %s a week will do.", actionWeeks, count(fewer, "session")),
		Adjustment: curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: fewer}, Weeks: actionWeeks,
	}}
}

// actions meet the student half way between the plan and what they do.
func (s split) actions(_ Reader, p Plan) []Action {
	const step = 5 // shares are planned in fives
	half := func(spent, planned int) int {
		return step * int((share(spent, s.spent)+share(planned, s.planned))/2/step+0.5)
	}
	more := curriculum.KindShare{Kind: curriculum.BlockKind(s.most.Kind), Share: half(s.most.Spent, s.most.Planned)}
	less := curriculum.KindShare{Kind: curriculum.BlockKind(s.least.Kind), Share: max(step, half(s.least.Spent, s.least.Planned))}
	a := timed(p, more, less)
	a.Label = "Meet half way: " + kindLabel(more.Kind) + fmt.Sprintf(" %d %%, %s %d %% for %d weeks", more.Share, kindLabel(less.Kind), less.Share, actionWeeks)
	return []Action{a}
}
