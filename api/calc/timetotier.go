package calc

import (
	"slices"

	"fringework/domain"
	"fringework/domain/estimate"
)

var timeToTier = define[timeToTierIn, TimeToTierOut]("time-to-tier",
	"Estimates from many students how long a tier takes, those who have not passed it included: the share still waiting at each time, the median, and whether groups differ. Times are in days or in sessions, the same for all; a student who has not passed is given with the time they were followed.",
	`{"groups":[{"name":"version 1","students":[{"time":9,"passed":true},{"time":16,"passed":true},{"time":16,"passed":true},{"time":23,"passed":false},{"time":30,"passed":true},{"time":41,"passed":false}]},`+
		`{"name":"version 2","students":[{"time":5,"passed":true},{"time":8,"passed":true},{"time":12,"passed":true},{"time":12,"passed":false},{"time":19,"passed":true}]}]}`, answerTimeToTier)

// timeToTierIn is the input of time-to-tier.
type timeToTierIn struct {
	// Groups are the groups to compare.
	Groups *[]waitGroupIn `json:"groups" validate:"required"`
}

// waitGroupIn is the students of one group.
type waitGroupIn struct {
	// Name is given back; it may be left out.
	Name string `json:"name"`
	// Students are the waits of the group's students.
	Students *[]waitIn `json:"students" validate:"required"`
}

// waitIn is how long one student was followed, and whether the step was passed.
type waitIn struct {
	// Time is how long the student was followed, in days or in sessions.
	Time *float64 `json:"time" validate:"required"`
	// Passed is true when the step was passed at that time, and false when the student was
	// followed no longer.
	Passed *bool `json:"passed" validate:"required"`
}

// TimeToTierOut is the answer of time-to-tier.
type TimeToTierOut struct {
	// Groups are the groups, in the order given.
	Groups []WaitGroupOut `json:"groups"`
	// LogRank is null with a single group.
	LogRank *LogRankOut `json:"log_rank"`
}

// WaitGroupOut is the course of waiting in one group.
type WaitGroupOut struct {
	Name     string `json:"name"`
	Students int    `json:"students"`
	// Passed is how many of them passed.
	Passed int `json:"passed"`
	// Median is the first time by which half have passed, null where they have not;
	// so are the ends of its interval.
	Median *float64 `json:"median"`
	// MedianInterval95 holds the median with a probability of 95 %.
	MedianInterval95 [2]*float64 `json:"median_interval95"`
	// Steps are the times at which somebody passed.
	Steps []WaitStepOut `json:"steps"`
}

// WaitStepOut is what happened at one time.
type WaitStepOut struct {
	Time float64 `json:"time"`
	// AtRisk had not passed before and were still followed; Passed of them passed at
	// the time, and Left were followed no longer.
	AtRisk int `json:"at_risk"`
	Passed int `json:"passed"`
	Left   int `json:"left"`
	// Waiting is the share that has not passed by the time, itself included. SE is
	// null once all have passed; so is the interval, which is null as well before
	// anybody has.
	Waiting float64 `json:"waiting"`
	// SE is the standard error of waiting.
	SE         *float64    `json:"se"`
	Interval95 [2]*float64 `json:"interval95"`
}

// LogRankOut compares the groups.
type LogRankOut struct {
	// Passed and Expected, if all groups passed alike, are in the order of groups.
	Passed   []int     `json:"passed"`
	Expected []float64 `json:"expected"`
	// ChiSquare, DF and P are null when CannotTell says why.
	ChiSquare  *float64 `json:"chi_square"`
	DF         *int     `json:"df"`
	P          *float64 `json:"p"`
	CannotTell *string  `json:"cannot_tell"`
}

func answerTimeToTier(in timeToTierIn, p *domain.Problems) (any, error) {
	given := need(p, "/groups", in.Groups)
	groups := make([][]estimate.Wait, len(given))
	for i, g := range given {
		at := at("/groups", i) + "/students"
		groups[i] = readWaits(p, at, need(p, at, g.Students))
	}
	onceNamed(p, given)
	if estimate.CheckWaits(p, "/groups", groups); len(p.Fields()) > 0 {
		return nil, nil
	}
	out := TimeToTierOut{Groups: make([]WaitGroupOut, len(groups))}
	for i, waits := range groups {
		out.Groups[i] = waitGroupOut(given[i].Name, estimate.SurvivalOf(waits))
	}
	if len(groups) > 1 {
		out.LogRank = logRankOut(estimate.LogRankOf(groups))
	}
	return out, nil
}

// onceNamed refuses a name that a group before has.
func onceNamed(p *domain.Problems, groups []waitGroupIn) {
	for i, g := range groups {
		if g.Name != "" && slices.ContainsFunc(groups[:i], func(before waitGroupIn) bool { return before.Name == g.Name }) {
			p.Add(at("/groups", i)+"/name", "%q is the name of a group before; give each group its own name", g.Name)
		}
	}
}

func readWaits(p *domain.Problems, pointer string, in []waitIn) []estimate.Wait {
	waits := make([]estimate.Wait, len(in))
	for i, w := range in {
		waits[i] = estimate.Wait{Time: need(p, at(pointer, i)+"/time", w.Time), Passed: need(p, at(pointer, i)+"/passed", w.Passed)}
	}
	return waits
}

func waitGroupOut(name string, s estimate.Survival) WaitGroupOut {
	out := WaitGroupOut{
		Name: name, Students: s.Students, Passed: s.Passed,
		Median: finite(s.Median), MedianInterval95: openPair(s.MedianInterval95), Steps: make([]WaitStepOut, len(s.Steps)),
	}
	for i, x := range s.Steps {
		out.Steps[i] = WaitStepOut{
			Time: x.Time, AtRisk: x.AtRisk, Passed: x.Passed, Left: x.Left,
			Waiting: x.Waiting, SE: finite(x.SE), Interval95: openPair(x.Interval95),
		}
	}
	return out
}

// openPair is an interval whose ends may not exist.
func openPair(i estimate.Interval) [2]*float64 { return [2]*float64{finite(i.Lo), finite(i.Hi)} }

func logRankOut(r estimate.LogRank) *LogRankOut {
	out := &LogRankOut{Passed: r.Passed, Expected: r.Expected, CannotTell: why(r.CannotTell)}
	if r.CannotTell == "" {
		out.ChiSquare, out.DF, out.P = &r.ChiSquare, &r.DF, &r.P
	}
	return out
}
