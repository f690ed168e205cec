//go:build linux

package main

import (
	"strings"
	"testing"
)

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		in   []float64
		want float64
	}{{nil, 0}, {[]float64{7}, 7}, {[]float64{9, 1, 5}, 5}, {[]float64{4, 1, 3, 100}, 3.5}} {
		if got := median(c.in); got != c.want {
			t.Errorf("median of %v is %v; want %v", c.in, got, c.want)
		}
	}
}

// One disturbed pair of three does not move the ratio; a round in which nothing
// was measured has none.
func TestRatios(t *testing.T) {
	if got := ratios([]float64{4, 40, 8}, []float64{2, 2, 4}); got != 2 {
		t.Errorf("got %v; want 2", got)
	}
	if got := ratios([]float64{4, 9}, []float64{0, 3}); got != 3 {
		t.Errorf("got %v; want 3", got)
	}
}

func TestGoals(t *testing.T) {
	for _, c := range []struct {
		goal   *goal
		figure float64
		want   bool
	}{
		{atMost(2.5), 2.4, true}, {atMost(2.5), 2.5, true}, {atMost(2.5), 2.6, false},
		{atLeast(0.5), 0.7, true}, {atLeast(0.5), 0.5, true}, {atLeast(0.5), 0.4, false},
		{atMost(0), 0, true}, {atMost(0), 1, false},
	} {
		if got := c.goal.reached(c.figure); got != c.want {
			t.Errorf("%v reached by %v: %v; want %v", c.goal, c.figure, got, c.want)
		}
	}
}

func TestTable(t *testing.T) {
	var out strings.Builder
	err := printTables(&out, table{
		title: "Uploads", theirs: "barest", notes: []string{"A note."},
		rows: []row{
			{"CPU each", "2.40 ms", "1.00 ms", 2.4, atMost(2.5)},
			{"longer words here", "1 ms", "", 12.34, atMostOf(3, "ms")},
			{"no goal", "", "", 1234.5, nil},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	const want = `
Uploads
                     service  barest   figure  goal     reached
  CPU each           2.40 ms  1.00 ms  2.40    <= 2.5   yes
  longer words here  1 ms              12.3    <= 3 ms  NO
  no goal                              1234             
  A note.
`
	if got := out.String(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}
