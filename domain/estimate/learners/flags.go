package learners

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"fringework/domain/advice"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// Alarms are the 1-based sessions after which a learner was flagged, for each
// kind of alarm, in rising order.
type Alarms struct {
	Flat, Slipping, Lapsed []int
	// Slow are the sessions after which the learner was told to be slow, which is
	// no alarm.
	Slow []int
}

// Rule watches a career and raises alarms.
type Rule func(l Learner) Alarms

// Walk is the rule of package advice, with a tier to attain or without.
func Walk(tier *streak.Tier, ballsPerTest int) Rule {
	return func(l Learner) Alarms {
		var a Alarms
		for _, s := range advice.Walk(estimate.Evidence{Sessions: l.Sessions, Tier: tier, BallsPerTest: ballsPerTest}) {
			if s.Slow {
				a.Slow = append(a.Slow, s.Session)
			}
			for _, r := range s.Reasons {
				switch r {
				case advice.Flat:
					a.Flat = append(a.Flat, s.Session)
				case advice.Slipping:
					a.Slipping = append(a.Slipping, s.Session)
				case advice.Lapsed:
					a.Lapsed = append(a.Lapsed, s.Session)
				}
			}
		}
		return a
	}
}

// Naive is the rule "no new best run in four sessions". It makes no difference
// between flat and slipping.
func Naive(seed uint64) Rule {
	r := rand.New(rand.NewPCG(seed, 1))
	return func(l Learner) Alarms {
		var a Alarms
		best, since := 0, 0
		for i, s := range l.Sessions {
			if s.Balls == 0 {
				continue
			}
			since++
			if run := bestRun(s, r); run > best {
				best, since = run, 0
			}
			if since >= 4 {
				a.Flat = append(a.Flat, i+1)
				a.Slipping = append(a.Slipping, i+1)
			}
		}
		return a
	}
}

// Operating are the operating characteristics of a rule: shares in per cent,
// medians in sessions.
type Operating struct {
	// False is the share of improving learners ever flagged flat or slipping.
	False float64
	// Flat of the flat are flagged flat, at session FlatMedian, and FlatSlipping
	// are ever called slipping.
	Flat, FlatMedian, FlatSlipping float64
	// SlowTold of the slow are told so, and SlowFlat and SlowSlipping are ever
	// flagged flat or slipping.
	SlowTold, SlowFlat, SlowSlipping float64
	// Regressing of those who regress are first flagged slipping at or after
	// the onset, RegressingDelay sessions after it; RegressingEarly before it.
	Regressing, RegressingDelay, RegressingEarly float64
	// RegressingAfter are flagged slipping at some session from the onset on,
	// early or not.
	RegressingAfter float64
	// Plateau of those who level off are first flagged, flat or slipping, at
	// or after the onset.
	Plateau, PlateauDelay, PlateauEarly float64
	// Lapsed of those who stop practising are flagged lapsed, LapsedDelay
	// sessions of the plan after; LapsedFalse of all others ever.
	Lapsed, LapsedDelay, LapsedFalse float64
}

// Measure applies a rule to learners.
func Measure(ls []Learner, rule Rule) Operating {
	var o Operating
	var of = map[Kind]float64{}
	var flat, fall, level, lapse []int
	for _, l := range ls {
		of[l.Kind]++
		a := rule(l)
		either := first(a.Flat, a.Slipping)
		switch l.Kind {
		case Improving:
			o.False += one(either > 0)
		case Slow:
			o.SlowTold += one(len(a.Slow) > 0)
			o.SlowFlat += one(len(a.Flat) > 0)
			o.SlowSlipping += one(len(a.Slipping) > 0)
		case Flat:
			o.FlatSlipping += one(len(a.Slipping) > 0)
			if f := first(a.Flat); f > 0 {
				flat = append(flat, f)
			}
		case Regressing:
			f := first(a.Slipping)
			o.RegressingEarly += one(f > 0 && f < l.Onset)
			if f >= l.Onset {
				fall = append(fall, f-l.Onset)
			}
			o.RegressingAfter += one(slices.ContainsFunc(a.Slipping, func(s int) bool { return s >= l.Onset }))
		case Plateau:
			o.PlateauEarly += one(either > 0 && either < l.Onset)
			if either >= l.Onset {
				level = append(level, either-l.Onset)
			}
		}
		switch f := first(a.Lapsed); {
		case l.Kind != NotPractising:
			o.LapsedFalse += one(f > 0)
			of["others"]++
		case f > 0:
			lapse = append(lapse, f-l.Onset)
		}
	}
	share := func(n float64, k Kind) float64 { return 100 * n / max(1, of[k]) }
	o.False = share(o.False, Improving)
	o.Flat, o.FlatMedian, o.FlatSlipping = share(float64(len(flat)), Flat), median(flat), share(o.FlatSlipping, Flat)
	o.SlowTold, o.SlowFlat, o.SlowSlipping = share(o.SlowTold, Slow), share(o.SlowFlat, Slow), share(o.SlowSlipping, Slow)
	o.Regressing, o.RegressingDelay = share(float64(len(fall)), Regressing), median(fall)
	o.RegressingEarly, o.RegressingAfter = share(o.RegressingEarly, Regressing), share(o.RegressingAfter, Regressing)
	o.Plateau, o.PlateauDelay, o.PlateauEarly = share(float64(len(level)), Plateau), median(level), share(o.PlateauEarly, Plateau)
	o.Lapsed, o.LapsedDelay, o.LapsedFalse = share(float64(len(lapse)), NotPractising), median(lapse), share(o.LapsedFalse, "others")
	return o
}

// String is one line of the table.
func (o Operating) String() string {
	return fmt.Sprintf("%5.1f | %5.1f @%4.1f  slipping %4.1f | told %4.1f  flat %4.1f  slipping %3.1f | %5.1f +%4.1f  early %4.1f  (any %5.1f) | %5.1f +%4.1f  early %4.1f | %5.1f +%4.1f  false %3.1f",
		o.False, o.Flat, o.FlatMedian, o.FlatSlipping, o.SlowTold, o.SlowFlat, o.SlowSlipping, o.Regressing, o.RegressingDelay, o.RegressingEarly, o.RegressingAfter,
		o.Plateau, o.PlateauDelay, o.PlateauEarly, o.Lapsed, o.LapsedDelay, o.LapsedFalse)
}

func one(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// first is the earliest session of any list, 0 when there is none.
func first(lists ...[]int) int {
	at := 0
	for _, l := range lists {
		if len(l) > 0 && (at == 0 || l[0] < at) {
			at = l[0]
		}
	}
	return at
}

func median(x []int) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return float64(x[(len(x)-1)/2]+x[len(x)/2]) / 2
}

// Episodes are what students see over a long time: how many times an alarm went up,
// for each student and a hundred sessions, and the share of sessions at which it
// stood, in per cent.
type Episodes struct{ Slipping, SlippingStood, Flat, FlatStood float64 }

// InTheLongRun applies the rule of package advice to learners as their sessions
// come in, each judged on its window, from a session on.
func InTheLongRun(ls []Learner, from int) Episodes {
	var e Episodes
	sessions := 0.0
	for _, l := range ls {
		var slipping, flat bool
		for i := from; i <= len(l.Sessions); i++ {
			a := estimate.Assess(estimate.Evidence{Sessions: l.Sessions[:i]})
			sessions++
			e.Slipping += one(a.Slipping != nil && !slipping)
			e.Flat += one(a.Flat != nil && !flat)
			slipping, flat = a.Slipping != nil, a.Flat != nil
			e.SlippingStood += one(slipping)
			e.FlatStood += one(flat)
		}
	}
	k := 100 / sessions
	return Episodes{k * e.Slipping, k * e.SlippingStood, k * e.Flat, k * e.FlatStood}
}

// Right is how often a flag that stands at the end of a career is right, in per
// cent, among careers of which each kind is as frequent: slipping when the learner
// falls, flat when no gain worth having goes on. Learners who have stopped
// practising are left out.
func Right(ls []Learner) (slipping, flat float64) {
	var falls, raised, stays, flagged float64
	for _, l := range ls {
		if l.Kind == NotPractising {
			continue
		}
		a := estimate.Assess(estimate.Evidence{Sessions: l.Sessions})
		if a.Slipping != nil {
			raised++
			falls += one(l.Kind == Regressing)
		}
		if a.Flat != nil {
			flagged++
			stays += one(l.Kind != Improving)
		}
	}
	return 100 * falls / max(1, raised), 100 * stays / max(1, flagged)
}

// Curve is what another limit of the probability of a gain worth having would make
// of the flag of flat: shares in per cent of the kinds of learners ever flagged.
type Curve struct{ Limit, Improving, Flat, Slow, Plateau float64 }

// Tradeoff draws how false alarms are traded for detections.
func Tradeoff(ls []Learner, limits []float64) []Curve {
	out := make([]Curve, len(limits))
	for i, limit := range limits {
		flagged, of := map[Kind]float64{}, map[Kind]float64{}
		for _, l := range ls {
			of[l.Kind]++
			from := 0
			if l.Kind == Plateau {
				from = l.Onset
			}
			ever := false
			for _, s := range estimate.WalkAt(estimate.Evidence{Sessions: l.Sessions}, limit) {
				ever = ever || s.Session >= from && (s.Flat || s.Slipping)
			}
			flagged[l.Kind] += one(ever)
		}
		share := func(k Kind) float64 { return 100 * flagged[k] / max(1, of[k]) }
		out[i] = Curve{limit, share(Improving), share(Flat), share(Slow), share(Plateau)}
	}
	return out
}
