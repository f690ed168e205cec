package greenside

import (
	"math"
	"testing"
)

// Read between its entries, a table says what physics says, within a club's grip or
// one part in twenty.
func TestTableIsPhysics(t *testing.T) {
	for _, lie := range struckFrom {
		for _, loft := range []float64{30, 46, 56, 60} {
			table, err := TableOf(loft, lie)
			if err != nil || len(table.CarryM) < 8 {
				t.Fatalf("%v° from %s: %v metres, %v", loft, lie, table.CarryM, err)
			}
			compared := 0
			for _, carry := range []float64{1.5, 3.3, 5, 7, 13, 20} {
				if carry > table.CarryM[len(table.CarryM)-1] {
					continue
				}
				for _, g := range []Green{{6, 0}, {7, 1}, {9, -1}, {9, 0.5}, {11, 2}, {13, -1.5}, {14, -2}} {
					spot, err := Carrying(Setup{LoftDeg: loft, Lie: lie, Green: g}, carry)
					if err != nil { // out of this club's reach, on this green
						continue
					}
					compared++
					got := table.RunAt(carry, g)
					if off := math.Abs(got - spot.RunM); off > max(0.1, math.Abs(spot.RunM)/20) {
						t.Errorf("%v° from %s, %v m onto %v: the table says %.2f m, physics %.2f", loft, lie, carry, g, got, spot.RunM)
					}
				}
			}
			if compared < 30 {
				t.Errorf("%v° from %s: only %d shots were compared", loft, lie, compared)
			}
		}
	}
}

func TestTableEnds(t *testing.T) {
	table, err := TableOf(54, Fairway)
	if err != nil {
		t.Fatal(err)
	}
	last := len(table.CarryM) - 1
	for name, c := range map[string][2]float64{
		"nearer":  {table.RunAt(0.1, Green{10, 0}), table.RunM[0][2][2]},
		"farther": {table.RunAt(99, Green{10, 0}), table.RunM[last][2][2]},
		"slower":  {table.RunAt(0.1, Green{4, 0}), table.RunM[0][0][2]},
		"steeper": {table.RunAt(0.1, Green{6, 5}), table.RunM[0][0][4]},
	} {
		if math.Abs(c[0]-c[1]) > 1e-12 {
			t.Errorf("%s is %v; want that of the edge, %v", name, c[0], c[1])
		}
	}
	if one := (Table{CarryM: []float64{2}, StimpFt: []float64{8}, SlopeDeg: []float64{0}, RunM: [][][]float64{{{3}}}}); one.RunAt(9, Green{9, 1}) != 3 {
		t.Error("a table of one entry does not give it")
	}
	back := Table{CarryM: []float64{2}, StimpFt: []float64{8}, SlopeDeg: []float64{0, 1}, RunM: [][][]float64{{{1, -0.5}}}}
	if got := back.RunAt(2, Green{8, 0.5}); got != 0.25 {
		t.Errorf("between a ball that runs 1 m and one that comes back half a metre: %v m; want a quarter", got)
	}
	if _, err := TableOf(80, "water"); err == nil {
		t.Error("a club of 80° from the water has a table")
	}
}

func TestLearnFromSeveralGreens(t *testing.T) {
	slow, fast := Setup{56, Fairway, Green{7, 0}, Learned{}}, Setup{56, Fairway, Green{12, 0}, Learned{}}
	var balls []Landed
	for i := range 30 {
		s := slow
		if i%2 == 1 {
			s = fast
		}
		spot, err := Carrying(s, 8)
		if err != nil {
			t.Fatal(err)
		}
		balls = append(balls, Landed{s, Logged{CarryM: 8, TotalM: 8 + 1.4*spot.RunM, AimM: 10}})
	}
	own := LearnFrom(balls)
	if own.Run.Balls != 30 || math.Abs(own.Run.Factor-1.4) > 0.03 || math.Abs(own.Carry.Factor-0.8) > 0.02 {
		t.Errorf("learned %+v; want a run of 1.4 and a carry of 0.8", own)
	}
	one, err := Learn(slow, []Logged{balls[0].Logged})
	if got := LearnFrom(balls[:1]); err != nil || got != one {
		t.Errorf("from one ball %+v; want what Learn says, %+v, %v", got, one, err)
	}
	wrong := []Landed{{Setup{30, Fairway, Green{9, 0}, Learned{}}, Logged{CarryM: 40, TotalM: 80}}, {Setup{56, "water", Green{9, 0}, Learned{}}, balls[0].Logged}, {slow, Logged{CarryM: 8, TotalM: 900}}}
	if got := LearnFrom(wrong); got != (Learned{}) {
		t.Errorf("from balls that cannot be: %+v", got)
	}
	if got := LearnFrom(append(make([]Landed, MaxLogged), balls...)); got != (Learned{}) {
		t.Errorf("from more than are looked at: %+v", got)
	}
}
