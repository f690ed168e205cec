// Command learners prints the operating characteristics of the stalls and the
// calibration of rates and forecasts on simulated learners with known truth,
// beside a naive rule and the likelihood-ratio bound, and how often a drop late in
// a run is found; or instead how students fare who are placed by a first test, and what
// they are told after an end test:
//
//	go run ./integration/learners
//	go run ./integration/learners -fresh 2000 -pressure 2000 -seed 7
//	go run ./integration/learners -tests 2000
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
	fresh := flag.Int("fresh", 400, "learners of each kind to draw afresh from every population")
	pressure := flag.Int("pressure", 400, "sets of sessions for each figure of the comparison late and early in a run")
	tests := flag.Int("tests", 0, "students of each population to test first and at the end, instead of all else; 0 for none")
	setting := flag.Bool("setting", false, "test the populations that limits are set on, and not the others")
	seed := flag.Uint64("seed", 1, "seed of what is drawn")
	flag.Parse()
	if *tests > 0 {
		printTests(os.Stdout, *tests, *setting, *seed)
		return
	}
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
	drawn := map[string][]learners.Learner{}
	fmt.Fprintln(w, "Populations. The limits of the flags were set on the first; figures are published on the others.")
	fmt.Fprintf(w, "%-20s %v\n", "setting", learners.Setting)
	for i, p := range learners.Published {
		drawn[p.Name] = p.Draw(fresh, 31, seed+uint64(i))
		fmt.Fprintf(w, "%-20s %v\n", p.Name, p.Population)
	}
	first30 := func(ls []learners.Learner) []learners.Learner {
		short := make([]learners.Learner, len(ls))
		for i, l := range ls {
			l.Sessions = l.Sessions[:30]
			short[i] = l
		}
		return short
	}

	fmt.Fprintln(w, "\nStalls within 30 sessions. Shares in %; @ median session, + median delay in sessions after the change.")
	fmt.Fprintln(w, "                          rising | flat                        | slow                                | regressing: slipping                   | levelling off           | not practising: lapsed")
	line := func(name string, o learners.Operating) { fmt.Fprintf(w, "%-26s %v\n", name, o) }
	line("reference", learners.Measure(reference, learners.Walk(nil, 0)))
	line("  with a tier, 9 of 20", learners.Measure(reference, learners.Walk(&streak.Tier{Run: 9}, 20)))
	line("  with a tier, 15 of 20", learners.Measure(reference, learners.Walk(&streak.Tier{Run: 15}, 20)))
	line("  no new best run in 4", learners.Measure(reference, learners.Naive(seed)))
	line("  likelihood ratio", learners.Bound(reference, learners.Like.Change))
	for _, p := range learners.Published {
		ls := first30(drawn[p.Name])
		line(p.Name, learners.Measure(ls, learners.Walk(nil, 0)))
		line("  likelihood ratio", learners.Bound(ls, p.Change))
	}

	fmt.Fprintln(w, "\nWhat another limit of the probability of a gain worth having would do: learners ever flagged flat or slipping, in %, those who level off from there on. The likelihood ratio finds all flat learners at 5 % of the improving.")
	for _, p := range learners.Published[2:] {
		fmt.Fprintf(w, "%-12s limit  improving  flat  slow  levelling off\n", p.Name)
		for _, c := range learners.Tradeoff(first30(drawn[p.Name]), []float64{0.01, 0.02, 0.03, 0.04, 0.06, 0.09}) {
			fmt.Fprintf(w, "%18.2f %9.1f %6.1f %5.1f %8.1f\n", c.Limit, c.Improving, c.Flat, c.Slow, c.Plateau)
		}
	}

	fmt.Fprintln(w, "\nStudents who stay where they are, over two years of three sessions a week: times an alarm goes up in 100 sessions, and share of sessions at which it stands, in %.")
	fmt.Fprintln(w, "                      slipping        flat")
	for i, p := range learners.Published {
		e := learners.InTheLongRun(p.DrawKind(learners.Flat, max(20, fresh/20), 312, seed+uint64(i)), 10)
		fmt.Fprintf(w, "%-20s %5.2f %5.1f   %5.2f %5.1f\n", p.Name, e.Slipping, e.SlippingStood, e.Flat, e.FlatStood)
	}

	fmt.Fprintln(w, "\nHow often a flag that stands after 30 sessions is right, in %, when every kind of learner is as frequent: slipping of those who fall, flat of those who do not rise by a gain worth having.")
	for _, p := range learners.Published {
		slipping, flat := learners.Right(first30(drawn[p.Name]))
		fmt.Fprintf(w, "%-20s slipping %5.1f   flat %5.1f\n", p.Name, slipping, flat)
	}

	fmt.Fprintln(w, "\nTruth inside the intervals, in %: the level after every session, and the share inside in the next session.")
	fmt.Fprintln(w, "                     level: 80 %   95 %   next session: 80 %")
	coverage := func(name string, ls []learners.Learner) {
		all := learners.RateCoverage(ls)
		next, _ := learners.NextCoverage(ls).Shares()
		for _, k := range append([]learners.Kind{""}, learners.Kinds...) {
			if all[k].N == 0 {
				continue
			}
			in80, in95 := all[k].Shares()
			if k == "" {
				fmt.Fprintf(w, "%-22s     %5.1f  %5.1f          %5.1f\n", name, in80, in95, next)
				continue
			}
			fmt.Fprintf(w, "  %-20s     %5.1f  %5.1f\n", k, in80, in95)
		}
	}
	coverage("reference", reference)
	for _, p := range learners.Published {
		coverage(p.Name, drawn[p.Name])
	}

	fmt.Fprintln(w, "\nForecasts of a tier within 8 sessions: runs of 4, 6, 8 and 10 in tests of 20 balls.")
	fmt.Fprintf(w, "reference\n%v", learners.ForecastCalibration(reference, learners.Usual, seed))
	for _, p := range learners.Published {
		fmt.Fprintf(w, "%s\n%v", p.Name, learners.ForecastCalibration(drawn[p.Name], learners.Usual, seed))
	}

	fmt.Fprintln(w, "\nRates in one circle from balls judged in others: truth inside the intervals, in %, and the rate's bias.")
	fmt.Fprint(w, learners.CirclesTable(max(100, fresh/4), seed))

	fmt.Fprintf(w, "\n%s", learners.Pressure(pressure, seed))
	return nil
}

// printTests prints what first tests and end tests are worth.
func printTests(w io.Writer, n int, setting bool, seed uint64) {
	starts, gains := learners.PublishedStarts, learners.PublishedGains
	if setting {
		starts, gains = []learners.Starts{learners.StartsSetting}, []learners.Gains{learners.GainsSetting}
	}
	fmt.Fprintf(w, "Students who are placed by a first test, in %%.\n%s", learners.PlacementTable(starts, n, seed))
	fmt.Fprintf(w, "\nThe change from a first test to an end test: truth inside the 80 %% intervals in %%, and what is told minus the truth, in percentage points.\n%s", learners.GainsTable(gains, n, seed))
}
