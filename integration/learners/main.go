// Command learners prints the operating characteristics of the stalls and the
// calibration of rates and forecasts on simulated learners with known truth,
// beside a naive rule and the likelihood-ratio bound, and how often a drop late in
// a run is found:
//
//	go run ./integration/learners
//	go run ./integration/learners -fresh 2000 -pressure 2000 -seed 7
package main

import (
	"flag"
	"fmt"
	"io"
	"os"

	"fringework/domain/estimate/learners"
	"fringework/domain/streak"
)

func main() {
	fresh := flag.Int("fresh", 400, "learners of each kind to draw afresh, like the reference ones and unlike them")
	pressure := flag.Int("pressure", 400, "sets of sessions for each figure of the comparison late and early in a run")
	seed := flag.Uint64("seed", 1, "seed of what is drawn")
	flag.Parse()
	if err := run(os.Stdout, *fresh, *pressure, *seed); err != nil {
		fmt.Fprintln(os.Stderr, "learners:", err)
		os.Exit(1)
	}
}

func run(w io.Writer, fresh, pressure int, seed uint64) error {
	reference, err := learners.Reference()
	if err != nil {
		return err
	}
	like := learners.Like.Draw(fresh, 30, seed)
	unlike := learners.Unlike.Draw(fresh, 30, seed+1)

	fmt.Fprintln(w, "Stalls within 30 sessions. Shares in %; @ median session, + median delay in sessions after the change.")
	fmt.Fprintln(w, "                              false |     flat     |     regressing: slipping              | levelling off            | not practising: lapsed")
	line := func(name string, o learners.Operating) { fmt.Fprintf(w, "%-28s %v\n", name, o) }
	line("reference", learners.Measure(reference, learners.Walk(nil, 0)))
	line("  with a tier, 9 of 20", learners.Measure(reference, learners.Walk(&streak.Tier{Run: 9}, 20)))
	line("  with a tier, 15 of 20", learners.Measure(reference, learners.Walk(&streak.Tier{Run: 15}, 20)))
	line("  naive: 4 without best run", learners.Measure(reference, learners.Naive(seed)))
	line("  bound: known parameters", learners.Bound(reference, learners.Like.Change, learners.FormSD))
	line("fresh, alike", learners.Measure(like, learners.Walk(nil, 0)))
	line("  bound: known parameters", learners.Bound(like, learners.Like.Change, learners.FormSD))
	line("fresh, unlike", learners.Measure(unlike, learners.Walk(nil, 0)))
	line("  bound: known parameters", learners.Bound(unlike, learners.Unlike.Change, learners.Unlike.Form))

	fmt.Fprintln(w, "\nTrue rates inside the intervals of the rate, after every session, in %.")
	fmt.Fprintln(w, "                     80 %   95 %")
	for _, of := range []struct {
		name string
		ls   []learners.Learner
	}{{"reference", reference}, {"fresh, unlike", unlike}} {
		coverage := learners.RateCoverage(of.ls)
		for _, k := range append([]learners.Kind{""}, learners.Kinds...) {
			name := "  " + string(k)
			if k == "" {
				name = of.name
			}
			in80, in95 := coverage[k].Shares()
			fmt.Fprintf(w, "%-19s %5.1f  %5.1f\n", name, in80, in95)
		}
	}

	fmt.Fprintln(w, "\nForecasts of a tier within 8 sessions: runs of 4, 6, 8 and 10 in tests of 20 balls.")
	fmt.Fprintf(w, "reference\n%v", learners.ForecastCalibration(reference, learners.Usual, seed))
	unlikeTrial := learners.Usual
	unlikeTrial.Form = learners.Unlike.Form
	fmt.Fprintf(w, "fresh, unlike\n%v", learners.ForecastCalibration(unlike, unlikeTrial, seed))

	fmt.Fprintf(w, "\n%s", learners.Pressure(pressure, seed))
	return nil
}
