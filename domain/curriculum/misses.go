package curriculum

import (
	"math"
	"slices"
)

// TaskCount counts what came of a student's balls at one task. Inside includes
// those holed.
type TaskCount struct {
	Task   Task
	Balls  int
	Inside int
}

// How far misses move weights. Both are our choice.
const (
	// missesPrior is how many balls of the student's usual share of misses every
	// task is given beforehand, so that few balls move little.
	missesPrior = 10
	// missesCap is how many times as often as another a task may come.
	missesCap = 3
	// missesScale is the greatest weight.
	missesScale = 900
)

// ByMisses weighs a drill's tasks by what the student misses most: in proportion to
// the share of misses at each, drawn towards the student's share at all of them by
// missesPrior balls (the mean of a Beta posterior). No task gets more than missesCap
// times the weight of another, nor more than all others together, so that it can be
// dealt without following itself. Balls at other tasks do not count, and what the
// drill leaves open may be anything. Without balls all weights are the same.
func ByMisses(d Drill, counts []TaskCount) []Weighted {
	all := Evenly(d)
	balls, missed := make([]float64, len(all)), make([]float64, len(all))
	total, misses := 2.0, 1.0 // of one ball missed and one inside, so that no share is 0 or 1
	for _, c := range counts {
		i := slices.IndexFunc(all, func(w Weighted) bool { return w.Task == d.asked(c.Task) })
		if i < 0 {
			continue
		}
		balls[i] += float64(c.Balls)
		missed[i] += float64(c.Balls - c.Inside)
		total += float64(c.Balls)
		misses += float64(c.Balls - c.Inside)
	}
	shares := make([]float64, len(all))
	for i := range shares {
		shares[i] = (missed[i] + missesPrior*misses/total) / (balls[i] + missesPrior)
	}
	most, sum := slices.Max(shares), 0
	for i, share := range shares {
		all[i].Weight = int(math.Round(missesScale * max(share/most, 1.0/missesCap)))
		sum += all[i].Weight
	}
	for i := range all {
		all[i].Weight = min(all[i].Weight, max(1, sum-all[i].Weight))
	}
	return all
}

// asked is the task as the drill asks for it: what it leaves open is empty.
func (d Drill) asked(t Task) Task {
	if len(d.Lies) == 0 {
		t.Lie = ""
	}
	if len(d.Distances) == 0 {
		t.Distance = 0
	}
	if len(d.Clubs) == 0 {
		t.Club = ""
	}
	return t
}
