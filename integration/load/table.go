//go:build linux

package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
)

// goal is what a figure should reach.
type goal struct {
	bound   float64
	atLeast bool
	unit    string
}

func atMost(bound float64) *goal  { return &goal{bound: bound} }
func atLeast(bound float64) *goal { return &goal{bound: bound, atLeast: true} }

func atMostOf(bound float64, unit string) *goal { return &goal{bound: bound, unit: " " + unit} }

func (g goal) reached(figure float64) bool {
	return g.atLeast == (figure > g.bound) || figure == g.bound
}

func number(v float64) string { return fmt.Sprintf("%.*f", decimals(v), v) }

func withUnit(v float64, unit string) string { return strings.TrimSpace(number(v) + " " + unit) }

func bytesText(v float64) string { return fmt.Sprintf("%.1f kB", v/1000) }

// decimals gives three figures to small numbers and none after the point to
// large ones.
func decimals(v float64) int {
	switch {
	case v >= 100:
		return 0
	case v >= 10:
		return 1
	default:
		return 2
	}
}

func (g goal) String() string {
	sign := "<="
	if g.atLeast {
		sign = ">="
	}
	return fmt.Sprintf("%s %g%s", sign, g.bound, g.unit)
}

// row is one line of a table: what the service does, what it is held against,
// and the figure that the goal, if there is one, is about.
type row struct {
	what   string
	ours   string
	theirs string
	figure float64
	goal   *goal
}

// table is the rows of one measurement.
type table struct {
	title  string
	theirs string // what the service is held against
	rows   []row
	notes  []string
}

// printTables writes tables for a person.
func printTables(out io.Writer, tables ...table) error {
	for _, t := range tables {
		fmt.Fprintf(out, "\n%s\n", t.title)
		w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
		fmt.Fprintf(w, "  \tservice\t%s\tfigure\tgoal\treached\n", t.theirs)
		for _, r := range t.rows {
			wanted, reached := "", ""
			if r.goal != nil {
				wanted, reached = r.goal.String(), "NO"
				if r.goal.reached(r.figure) {
					reached = "yes"
				}
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\t%s\n", r.what, r.ours, r.theirs, number(r.figure), wanted, reached)
		}
		if err := w.Flush(); err != nil {
			return err
		}
		for _, n := range t.notes {
			fmt.Fprintf(out, "  %s\n", n)
		}
	}
	return nil
}

// median is the middle one, or the mean of the middle two; 0 of nothing.
func median(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(values))
	half := len(sorted) / 2
	if len(sorted)%2 == 1 {
		return sorted[half]
	}
	return (sorted[half-1] + sorted[half]) / 2
}

// ratios divides pair by pair and gives the median, so that a disturbance that
// hits a pair counts once.
func ratios(a, b []float64) float64 {
	var all []float64
	for i := range min(len(a), len(b)) {
		if b[i] > 0 {
			all = append(all, a[i]/b[i])
		}
	}
	return median(all)
}
