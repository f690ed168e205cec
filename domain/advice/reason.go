// Package advice says why a coach should look at a student, and what to do: the
// reasons, each declared once with its rule, what silences it and its words. It
// reads the numbers of package estimate and what package progress keeps, and
// stores nothing: words are made when they are read, in the reader's units.
//
// To add a reason, write its file in the manner of lopsided.go, with its name,
// label, rule and words, and put it into the list below.
package advice

import (
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// all are the reasons in order of urgency: what is being lost comes first, what
// is merely too easy last.
var all = []rule{lapsed, unstarted, uncoached, slipping, flat, overreached, ending, unplanned, lopsided, outgrown}

// Reason names a stall: something about a student that a coach should look at.
type Reason string

// rule declares a reason.
type rule struct {
	reason Reason
	// label is what a page calls it.
	label string
	// ofStudent or atSkill says whether it stands, and with what numbers: the
	// one for a student as a whole, the other for a student at a skill.
	ofStudent func(Practice) (Stall, bool)
	atSkill   func(progress.State) (Stall, bool)
	// inPast says the same of a session in the past, for what is inferred from
	// the balls.
	inPast func(estimate.Status) bool
	// unlessNear silences it while the next tier is near, and unless while any of
	// these stands.
	unlessNear bool
	unless     []Reason
	// reliability says how often it is right, of what is inferred.
	reliability string
	// longest is the most days that a coach may silence it by acknowledging it.
	longest int
}

// LongestSilence is the most days for which any reason may be silenced.
const LongestSilence = 90

// Stall is a reason that stands, with the numbers it rests on.
type Stall struct {
	Reason Reason
	// Skill is empty for a reason that is about no skill in particular.
	Skill domain.ID
	// Since is the day from which the state holds by the best reading of the
	// balls; zero when they do not tell.
	Since domain.Date
	// SinceSession is the 1-based session from which it holds, RaisedSession the
	// one after which the flag went up; 0 where sessions are not numbered.
	SinceSession, RaisedSession int
	// Probability of the state; 1 for what is counted, not inferred.
	Probability float64
	numbers     numbers
}

// numbers are what a reason rests on; each reason has its own, and its words for
// them.
type numbers interface {
	words(Reader) (evidence, advice string)
	// figure is the one number that says how far it has gone, with its unit.
	figure() string
}

// Words writes the evidence and the advice: sentences with numbers that a coach
// can act on.
func (s Stall) Words(r Reader) (evidence, advice string) {
	if s.numbers == nil {
		return "", ""
	}
	return s.numbers.words(r)
}

// Figure is the one number that says how far it has gone, with its unit: "19
// days", "1 in 40"; empty where there is none.
func (s Stall) Figure() string {
	if s.numbers == nil {
		return ""
	}
	return s.numbers.figure()
}

// Reliability says how often a flag of that kind is right, by the table in package
// estimate; empty for what is counted, not inferred.
func (s Stall) Reliability() string {
	if at := s.Reason.Urgency(); at >= 0 {
		return all[at].reliability
	}
	return ""
}

// Reasons lists the reasons in order of urgency.
func Reasons() []Reason {
	names := make([]Reason, len(all))
	for i, r := range all {
		names[i] = r.reason
	}
	return names
}

// Names lists the reasons in words: "lapsed, slipping … or outgrown".
func Names() string {
	var names []string
	for _, r := range all {
		names = append(names, string(r.reason))
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// Urgency is the reason's place in the order of urgency, 0 the most urgent; -1
// for what is no reason.
func (r Reason) Urgency() int {
	return slices.IndexFunc(all, func(x rule) bool { return x.reason == r })
}

// Label is what a page calls the reason; empty for what is none.
func (r Reason) Label() string {
	if at := r.Urgency(); at >= 0 {
		return all[at].label
	}
	return ""
}

// Silence is the most days that a coach may silence the reason for, by
// acknowledging it.
func (r Reason) Silence() int {
	if at := r.Urgency(); at >= 0 {
		return all[at].longest
	}
	return LongestSilence
}
