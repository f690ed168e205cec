package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

const three, five = 3 * domain.Foot, 5 * domain.Foot

// TestPassages: at every level they lead to what the shape says, in order, and
// back leads to where it came from.
func TestPassages(t *testing.T) {
	for k, shape := range shapes {
		for _, c := range []struct {
			from, to domain.Length
			share    float64
		}{{five, three, 0}, {three, five, 0}, {five, three, 0.3}, {three, 10 * domain.Foot, 0.1}, {five, five, 0}, {three, five, 1}} {
			p := passageTo(k, c.from, c.to, c.share)
			ratio := math.Round(1000*float64(c.to)/float64(c.from)) / 1000
			share := math.Min(c.share, 0.98) // not all that are inside can be holed
			for i, at := range p {
				if i > 0 && at < p[i-1] {
					t.Fatalf("%s, %v to %v: point %d leads to %v, the one before to %v", shape.Name, c.from, c.to, i, at, p[i-1])
				}
				rate := logistic(levelAt(i))
				want := share*rate + (1-share*rate)*shape.Elsewhere((1-share)*rate/(1-share*rate), ratio)
				if got := logistic(lowestLevel + fine*float64(at)); math.Abs(got-want) > 1e-5 {
					t.Fatalf("%s, %v to %v: %v inside leads to %v, want %v", shape.Name, c.from, c.to, rate, got, want)
				}
			}
			for i := 100; i < points-100; i += 37 {
				if p[i] == p[i-1] || p[i+1] == p[i] {
					continue // at the ends all is one
				}
				if got := p.back(float64(p[i])); got != float64(i) {
					t.Errorf("%s, %v to %v: back from point %d is %v", shape.Name, c.from, c.to, i, got)
				}
			}
		}
	}
	round := slices.IndexFunc(shapes, func(s greenside.Shape) bool { return s.Aspect == 1 && s.OffCentre == 0 && s.Mishits == 0 })
	p := passageTo(round, five, three, 0)
	at := int((logit(0.75)-lowestLevel)/fine + 0.5) // Rayleigh's distribution, by hand
	if got := logistic(lowestLevel + fine*float64(p[at])); math.Abs(got-(1-math.Pow(0.25, 9.0/25))) > 0.002 {
		t.Errorf("75 %% inside 5 ft come to %v inside 3 ft when round, want 39.3 %%", got)
	}
	if same := passageTo(round, five, three, 0.004); same != p {
		t.Error("a share that rounds to none is computed again")
	}
	if got := p.back(-1e6); got != 0 {
		t.Errorf("back from below all is %v, want the lowest", got)
	}
	if got := p.back(1e6); got != points-1 {
		t.Errorf("back from above all is %v, want the highest", got)
	}
}

// TestPassagesAreBounded: when there is no room for more, they begin anew.
func TestPassagesAreBounded(t *testing.T) {
	passages.Lock()
	clear(passages.known)
	passages.Unlock()
	for i := range keptPassages { // the round one costs least
		passageTo(2, domain.Metre, domain.Metre+domain.Length(10*i), 0)
	}
	if n := len(passages.known); n != keptPassages {
		t.Errorf("%d passages are kept, want %d", n, keptPassages)
	}
	if passageTo(2, domain.Metre, domain.Metre/2, 0); len(passages.known) != 1 {
		t.Errorf("one more than there is room for: %d are kept, want the new one alone", len(passages.known))
	}
}

// TestReadThroughAPassage reads one step by hand: what a session elsewhere says
// of a level here, with a part of the last session's form.
func TestReadThroughAPassage(t *testing.T) {
	var line table
	for i := range line {
		line[i] = float32(i)
	}
	row := make([]float32, 50)
	(*passage)(nil).read(row, &line, 200, 0.5, 240)
	for i, got := range row { // half-way from the level to the last session
		if want := float64(200+i) + 0.5*(240-float64(200+i)); math.Abs(float64(got)-want) > 0.51 {
			t.Fatalf("point %d reads %v, want %v", 200+i, got, want)
		}
	}
	p := new(passage)
	for i := range p {
		p[i] = float32(2*i - 300)
	}
	p.read(row, &line, 200, 0.25, 240)
	for i, got := range row {
		if want := float64(2*(200+i)-300) + 0.25*(240-float64(200+i)); math.Abs(float64(got)-want) > 0.51 {
			t.Fatalf("point %d reads %v through a passage, want %v", 200+i, got, want)
		}
	}
}

// held is a filter after some sessions.
func held(sessions ...counts) *filter {
	f := newFilter(Jeffreys, false)
	for _, n := range sessions {
		f.observe(n)
	}
	return f
}

// lanesOf sums the ways of going.
func lanesOf(f *filter) (sums []float64) {
	for i := range f.lanes {
		sum := 0.0
		for _, m := range f.lanes[i].mass {
			sum += m
		}
		sums = append(sums, sum)
	}
	return sums
}

// TestMovedFilterKeepsItsMass: each way of going keeps its probability, and the
// mean rate is the one that the passages lead to.
func TestMovedFilterKeepsItsMass(t *testing.T) {
	f := held(counts{30, 23}, counts{30, 21}, counts{30, 24}, counts{30, 22})
	defer f.free()
	f.rescale()
	ways := []*passage{passageTo(0, five, three, 0.1), passageTo(3, five, three, 0.1)}
	weights := []float64{0.3, 0.7}
	want := f.mean(abroad(&rates.p, ways, weights))
	before, total, last := lanesOf(f), f.total, f.last
	f.through(ways, weights)
	for i, sum := range lanesOf(f) {
		if math.Abs(sum-before[i]) > 1e-12 {
			t.Errorf("lane %d held %v and holds %v", i, before[i], sum)
		}
	}
	if math.Abs(f.total-total) > 1e-7 { // but for what was left out at the ends
		t.Errorf("all held %v and hold %v", total, f.total)
	}
	if got := f.mean(&rates.p); math.Abs(got-want) > 0.003 {
		t.Errorf("the mean rate is %.4f, want %.4f", got, want)
	}
	i := int(last)
	near(t, "the last session", f.last, 0.3*float64(ways[0][i])+0.7*float64(ways[1][i]))
}

// TestMergeIsTheWeightedSum of ways, levels and form.
func TestMergeIsTheWeightedSum(t *testing.T) {
	a, b := held(counts{30, 23}, counts{30, 21}, counts{30, 25}), held(counts{20, 4}, counts{30, 9}, counts{90, 30})
	weights := []float64{0.6, 0.4}
	var now chances
	var kinds FormKinds
	rate, last := 0.0, 0.0
	for k, f := range []*filter{a, b} {
		w, n := weights[k], f.now
		now.falling += w * n.falling
		now.neverRose += w * n.neverRose
		now.levelled += w * n.levelled
		now.slow += w * n.slow
		now.rising += w * n.rising
		for i := range kinds {
			kinds[i] += w * f.kinds[i]
		}
		f.bin()
		rate += w * f.mean(&rates.p)
		last += w * f.last
	}
	f := merge([]*filter{a, b}, weights)
	defer f.free()
	for _, x := range [][2]float64{
		{f.now.falling, now.falling}, {f.now.neverRose, now.neverRose}, {f.now.levelled, now.levelled}, {f.now.slow, now.slow},
		{f.now.rising, now.rising}, {f.last, last}, {f.total, 1}, {f.mean(&rates.p), rate},
	} {
		if math.Abs(x[0]-x[1]) > 1e-6 {
			t.Errorf("merged %+v with a rate of %v: got %v, want %v", f.now, f.mean(&rates.p), x[0], x[1])
		}
	}
	for i := range kinds {
		near(t, "a kind of form", f.kinds[i], kinds[i])
	}
}

// judged gives sessions of 30 balls judged in one circle; elsewhere when its
// radius is not 0.
func judged(n int, at domain.Length, rate float64, r *rand.Rand) []Observation {
	out := make([]Observation, n)
	for i := range out {
		out[i] = Observation{Day: float64(2 * i)}
		inside := int(math.Round(30 * rate))
		if r != nil {
			inside = hits(30, logistic(logit(rate)+0.15*r.NormFloat64()), r)
		}
		if at == 0 {
			out[i].Balls, out[i].Inside = 30, inside
		} else {
			out[i].Elsewhere = []Circle{{Radius: at, Balls: 30, Inside: inside}}
		}
	}
	return out
}

func hits(balls int, rate float64, r *rand.Rand) (inside int) {
	for range balls {
		if r.Float64() < rate {
			inside++
		}
	}
	return inside
}

// TestMovedToASmallerCircle: a student has 75 % inside 5 ft, 50 % inside 3 ft, and
// was judged at 5 ft only until moved to 3 ft. The shapes that a scatter may have
// put 23 to 49 % there, a round one 39 %: the rate says so, and nobody is told
// that five in a row in 20 balls are out of reach.
func TestMovedToASmallerCircle(t *testing.T) {
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(40, seed))
		e := Evidence{
			Sessions: judged(12, five, 0.75, r), Radius: three,
			Tier: &streak.Tier{Run: 5, Radius: three}, BallsPerTest: 20, SessionsPerWeek: 3,
		}
		a := Assess(e)
		if in := a.Rate.Interval80; in.Lo > 0.44 || in.Hi < 0.44 || in.Lo < 0.15 || in.Hi > 0.65 || a.Rate.Mean < 0.3 || a.Rate.Mean > 0.52 {
			t.Errorf("seed %d: inside 3 ft %.2f (%.2f to %.2f), want an interval with 44 %% in it", seed, a.Rate.Mean, in.Lo, in.Hi)
		}
		if a.Overreached != nil || a.Slipping != nil {
			t.Errorf("seed %d: flags %+v, want neither overreached nor slipping", seed, statusOf(a, 12))
		}
		if f := a.Forecast; f.NextSession < 0.02 || f.NextSession > 0.7 {
			t.Errorf("seed %d: five in a row at the next session with %.3f", seed, f.NextSession)
		}
		for i, rate := range RatesOf(e.Sessions, three, Prior{}) {
			if rate.Mean < 0.1 || rate.Mean > 0.7 {
				t.Errorf("seed %d: %v inside 3 ft after session %d", seed, rate.Mean, i+1)
			}
		}
		// Then balls are judged at 3 ft, and all is learned from them.
		for _, s := range judged(12, 0, 0.5, r) {
			s.Day += 24
			e.Sessions = append(e.Sessions, s)
			if a := Assess(e); a.Overreached != nil || a.Slipping != nil {
				t.Errorf("seed %d, %d sessions: flags %+v, want neither overreached nor slipping", seed, len(e.Sessions), statusOf(a, len(e.Sessions)))
			}
		}
		if a := Assess(e); a.Rate.Mean < 0.42 || a.Rate.Mean > 0.6 {
			t.Errorf("seed %d: %.3f inside 3 ft after twelve sessions there, want about a half", seed, a.Rate.Mean)
		}
	}
}

// TestMovedToAWiderCircle: 45 % inside 3 ft and 60 % inside 5 ft, judged at 3 ft
// and asked about 5 ft. No circle follows from another exactly, but nobody is near
// certainty.
func TestMovedToAWiderCircle(t *testing.T) {
	for seed := range uint64(8) {
		r := rand.New(rand.NewPCG(41, seed))
		a := Assess(Evidence{
			Sessions: judged(12, three, 0.45, r), Radius: five,
			Tier: &streak.Tier{Run: 6, Radius: five}, BallsPerTest: 20,
		})
		if a.Rate.Mean > 0.92 || a.Rate.Interval80.Lo > 0.85 || a.Rate.Mean < 0.5 || a.Outgrown != nil || a.Forecast.NextSession > 0.95 {
			t.Errorf("seed %d: inside 5 ft %+v, forecast %+v, outgrown %v", seed, a.Rate, a.Forecast, a.Outgrown != nil)
		}
	}
}

// TestNoFallFromChangingCircle: the highest level so far is one of the circle in
// focus after the move; a drop from circle to circle is no fall.
func TestNoFallFromChangingCircle(t *testing.T) {
	sessions := judged(10, five, 0.8, nil)
	later := judged(2, 0, 0.43, nil)
	for i := range later {
		later[i].Day += 20
	}
	w := startWatch(Evidence{Sessions: append(sessions, later...), Radius: three})
	defer w.free()
	for i := range w.sessions {
		w.take(i)
	}
	if fallen := w.highest - w.level; fallen > 0.4 {
		t.Errorf("the level has fallen by %.2f from its highest, want next to nothing", fallen)
	}
	if got := through(math.Inf(-1), nil, nil); !math.IsInf(got, -1) {
		t.Errorf("nothing before the first session is %v elsewhere", got)
	}
}

// TestSessionJudgedInBoth: balls in the circle in focus tell the shape together
// with those elsewhere, in whatever order circles are named.
func TestSessionJudgedInBoth(t *testing.T) {
	mixed := func(own, there int) []Observation {
		s := steady(10, 30, own)
		for i := range s {
			s[i].Elsewhere = []Circle{{Radius: five, Balls: 30, Inside: there}, {Radius: 10 * domain.Foot, Balls: 6, Inside: 6}}
		}
		return s
	}
	for _, own := range []int{9, 15} { // few and many near the hole
		s := mixed(own, 22)
		a := Assess(Evidence{Sessions: s, Radius: three})
		want := float64(own) / 30
		if in := a.Rate.Interval80; math.Abs(a.Rate.Mean-want) > 0.08 || in.Hi-in.Lo > 0.2 {
			t.Errorf("%d of 30 inside 3 ft and 22 of 30 inside 5 ft: %+v", own, a.Rate)
		}
		if alone := Assess(Evidence{Sessions: steady(10, 30, own), Radius: three}); a.Rate.Interval80.Hi-a.Rate.Interval80.Lo > alone.Rate.Interval80.Hi-alone.Rate.Interval80.Lo+0.01 {
			t.Errorf("with balls elsewhere %+v is known less well than without, %+v", a.Rate, alone.Rate)
		}
		for i := range s {
			slices.Reverse(s[i].Elsewhere)
		}
		if b := Assess(Evidence{Sessions: s, Radius: three}); math.Abs(a.Rate.Mean-b.Rate.Mean) > 0.003 || math.Abs(a.Next.Mean-b.Next.Mean) > 0.003 {
			t.Errorf("circles named the other way round: %+v and %+v", a.Rate, b.Rate)
		}
	}
}

// TestShapeIsTold: with balls judged in both circles a shape that fits keeps its
// weight and others are given up; once told it is not forgotten.
func TestShapeIsTold(t *testing.T) {
	s := steady(30, 60, 30)
	for i := range s { // half inside 3 ft, three of four inside 5 ft: long, with mishits
		s[i].Elsewhere = []Circle{{Radius: five, Balls: 60, Inside: 45}}
	}
	w := startWatch(Evidence{Sessions: append(s, steady(1, 60, 30)...), Radius: three})
	defer w.free()
	left := len(shapes)
	for i := range s {
		w.take(i)
		if i < len(s)-1 {
			if len(w.filters) > left {
				t.Fatalf("after session %d: %d shapes, %d before", i+1, len(w.filters), left)
			}
			left = len(w.filters)
		}
	}
	if left != 1 || w.shapes[0] != 0 {
		t.Errorf("%d shapes are left, want the first alone: %v", left, w.shapes)
	}
	if len(w.filters) != 1 {
		t.Errorf("%d filters after the last balls judged elsewhere, want one", len(w.filters))
	}
}

// TestShapeFromMeasuredLeaves: leaves measured in both circles say which shape it
// is, whichever of them is in focus.
func TestShapeFromMeasuredLeaves(t *testing.T) {
	weightsOf := func(focus domain.Length, inside map[domain.Length]int, sessions int) []float64 {
		var all []Observation
		for range sessions {
			var m []Circle
			for radius, n := range inside {
				m = append(m, Circle{Radius: radius, Balls: 40, Inside: n})
			}
			all = append(all, Observation{Balls: 40, Inside: inside[focus], Measured: m})
		}
		return shapeWeights(all, focus)
	}
	for k, s := range shapes {
		there := int(math.Round(40 * s.Elsewhere(0.75, 0.6)))
		for _, focus := range []domain.Length{three, five} {
			weights := weightsOf(focus, map[domain.Length]int{three: there, five: 30}, 25)
			best := 0
			for j := range weights {
				if weights[j] > weights[best] {
					best = j
				}
			}
			if best != k || weights[k] < 0.5 {
				t.Errorf("%s, asked at %v: weights %.3f", s.Name, focus, weights)
			}
		}
	}
	sum := 0.0
	for k, w := range shapeWeights(steady(3, 30, 12), three) {
		near(t, "without a measured leave", w, shapes[k].Weight)
		sum += w
	}
	near(t, "all weights", sum, 1)
	// What was measured in other circles only says nothing of this one.
	alone := shapeWeights([]Observation{{Measured: []Circle{{Radius: five, Balls: 40, Inside: 30}, {Radius: 2 * five, Balls: 40, Inside: 38}}}}, three)
	near(t, "measured elsewhere only", alone[0], shapes[0].Weight)
	// And so do leaves of sessions whose circles differ: each counts where both
	// were told.
	ten := 2 * five
	both := Observation{Measured: []Circle{{Radius: three, Balls: 40, Inside: 16}, {Radius: five, Balls: 40, Inside: 30}}}
	other := Observation{Measured: []Circle{{Radius: three, Balls: 40, Inside: 16}, {Radius: ten, Balls: 40, Inside: 40}}}
	a, b := shapeWeights([]Observation{both, both, other}, three), shapeWeights([]Observation{other, both, both}, three)
	if !slices.Equal(a, b) {
		t.Errorf("in another order: %v and %v", a, b)
	}
}

// TestAskedElsewhereSharpensWithShape: leaves that tell the shape narrow the rate
// in a circle that no ball was judged in.
func TestAskedElsewhereSharpensWithShape(t *testing.T) {
	e := Evidence{Sessions: judged(12, five, 0.75, nil), Radius: three}
	before := RateOf(e.Sessions, three, Prior{})
	long := shapes[0]
	told := Observation{Balls: 200, Measured: []Circle{{Radius: five, Balls: 200, Inside: 150}, {Radius: three, Balls: 200}}}
	told.Inside = int(math.Round(200 * long.Elsewhere(0.75, 0.6)))
	told.Measured[1].Inside = told.Inside
	w := startWatch(Evidence{Sessions: append(judged(12, five, 0.75, nil), told), Radius: three})
	defer w.free()
	for i := range 12 { // the leaves tell the shape before they are taken in
		w.take(i)
	}
	after := w.rate()
	if wide := func(r Rate) float64 { return r.Interval80.Hi - r.Interval80.Lo }; wide(after) > 0.9*wide(before) || after.Mean < before.Mean+0.02 {
		t.Errorf("inside 3 ft %+v before the shape was told and %+v after, want it narrower and higher", before, after)
	}
}

// TestOrderDoesNotMatterWithoutMemory: sessions of a student who stays, and whose
// form is known to have no memory, say the same in any order.
func TestOrderDoesNotMatterWithoutMemory(t *testing.T) {
	of := func(all ...counts) *filter {
		f := newFilter(Jeffreys, false)
		f.kinds = FormKinds{0, 1} // known: no memory
		for i := range f.lanes {
			if i != neverRose {
				f.lanes[i].mass = [cells]float64{}
			}
		}
		f.total = f.sum()
		for _, n := range all {
			f.take(n, nil, true)
		}
		return f
	}
	a, b := of(counts{30, 12}, counts{20, 15}, counts{44, 25}), of(counts{44, 25}, counts{30, 12}, counts{20, 15})
	defer a.free()
	defer b.free()
	if x, y := a.mean(&rates.p), b.mean(&rates.p); math.Abs(x-y) > 1e-6 || math.Abs(a.logEvidence()-b.logEvidence()) > 1e-5 {
		t.Errorf("in two orders: rates %v and %v, evidence %v and %v", x, y, a.logEvidence(), b.logEvidence())
	}
}

// TestHoledShare: the balls inside that are holed, with a prior worth two balls of
// which as many are holed as a club golfer's, to the centimetre of the circle.
func TestHoledShare(t *testing.T) {
	usual := 2 * greenside.HoledShare(greenside.OffGreen, 0, 0.91)
	w := &watch{Evidence: Evidence{Radius: three}, sessions: []Observation{{Balls: 20, Inside: 10, Holed: 4}, {Balls: 5, Inside: 3}}}
	near(t, "in one circle", w.holedShare(), (4+usual)/15)
	// 15 of 19 inside 5 ft with half a ball each way are 15.5/20, of which a round
	// scatter puts 1 − 0.225^0.36 inside 3 ft.
	w.sessions = []Observation{{Elsewhere: []Circle{{Radius: five, Balls: 19, Inside: 15, Holed: 2}}}}
	near(t, "elsewhere", w.holedShare(), (2+usual)/(2+19*(1-math.Pow(0.225, 0.36))))
	// As many as were holed are inside any circle.
	w.sessions = []Observation{{Elsewhere: []Circle{{Radius: 100 * five, Balls: 19, Inside: 15, Holed: 15}}}}
	near(t, "all holed", w.holedShare(), (15+usual)/17)
	near(t, "of an unknown circle", usuallyHoled(0), usual/2)
	near(t, "of the smallest", usuallyHoled(1), greenside.HoledShare(greenside.OffGreen, 0, 0.01))
}

// TestPassageAtTheEnds: what leads beyond the first or the last point is read, and
// moved, there.
func TestPassageAtTheEnds(t *testing.T) {
	var line table
	for i := range line {
		line[i] = float32(i + 1)
	}
	low, high, near1, near2 := new(passage), new(passage), new(passage), new(passage)
	for i := range low {
		low[i], high[i], near1[i], near2[i] = -40, 2*points, 300.4, 300.6
	}
	for _, c := range []struct {
		p    *passage
		want float32
	}{{low, line[0]}, {high, line[points-1]}, {near1, line[300]}, {near2, line[301]}} {
		row := make([]float32, 3)
		if c.p.read(row, &line, 50, 0, 0); row[0] != c.want || row[2] != c.want {
			t.Errorf("a passage to %v reads %v, want %v", c.p[0], row, c.want)
		}
		if got := abroad(&line, []*passage{c.p}, []float64{1}); got[0] != c.want || got[points-1] != c.want {
			t.Errorf("a passage to %v tells %v abroad, want %v", c.p[0], got[0], c.want)
		}
	}
	row := make([]float32, 1)
	if (*passage)(nil).read(row, &line, 10, 1, -50); row[0] != line[0] {
		t.Errorf("carried below all: %v, want the first", row[0])
	}
	if (*passage)(nil).read(row, &line, 10, 1, 2*points); row[0] != line[points-1] {
		t.Errorf("carried above all: %v, want the last", row[0])
	}
	for _, c := range []struct {
		p    *passage
		cell int
	}{{low, 0}, {high, cells - 1}} {
		f := held(counts{30, 18}, counts{30, 20})
		want := f.sum()
		f.total, f.last = 0, 2*points
		f.through([]*passage{c.p}, []float64{1})
		got := 0.0
		for i := range f.lanes {
			got += f.lanes[i].mass[c.cell]
		}
		near(t, "all in one cell", got/want, 1)
		near(t, "in all", f.total/want, 1)
		f.free()
	}
	p := passageTo(2, domain.Metre, 2*domain.Metre, 0)
	for last, at := range map[float64]int{-3: 0, points + 9: points - 1, 77.9: 77} {
		f := held(counts{30, 18})
		f.last = last
		f.through([]*passage{p}, []float64{1})
		near(t, "the last session", f.last, float64(p[at]))
		f.free()
	}
	// Nobody is certain: one ball in a million is in or out.
	million := math.Log(999_999)
	near(t, "nearly all", float64(passageTo(2, domain.Metre, 60*domain.Metre, 0)[points-1]), float64(float32((million-lowestLevel)/fine)))
	near(t, "nearly none", float64(passageTo(2, 60*domain.Metre, domain.Metre/10, 0)[0]), float64(float32((-million-lowestLevel)/fine)))
}

// TestShapeWeightsByHand: 16 of 40 leaves inside 3 ft and 30 inside 5 ft, with
// half a leave each way. Of the 24.5 out of the one 13.5 are inside the other;
// asked about 5 ft, of the 30.5 inside 16 are inside 3 ft.
func TestShapeWeightsByHand(t *testing.T) {
	told := []Circle{{Radius: three, Balls: 40, Inside: 16}, {Radius: five, Balls: 40, Inside: 30}}
	for _, c := range []struct {
		focus   domain.Length
		rate    float64
		yes, no float64
		p       func(s greenside.Shape, rate float64) float64
	}{
		{three, 16.5 / 41, 13.5, 11, func(s greenside.Shape, rate float64) float64 { return (s.Elsewhere(rate, 5.0/3) - rate) / (1 - rate) }},
		{five, 30.5 / 41, 16, 14.5, func(s greenside.Shape, rate float64) float64 { return s.Elsewhere(rate, 3.0/5) / rate }},
	} {
		got := shapeWeights([]Observation{{}, {Measured: told}}, c.focus)
		sum := 0.0
		var want []float64
		for _, s := range shapes {
			p := c.p(s, c.rate)
			want = append(want, s.Weight*math.Pow(p, c.yes)*math.Pow(1-p, c.no))
			sum += want[len(want)-1]
		}
		for k := range want {
			near(t, "a shape", got[k], want[k]/sum)
		}
	}
	near(t, "impossible", logBinomial(3, 2, -1), 3*math.Log(1e-6)+2*math.Log(1-1e-6))
	near(t, "certain", logBinomial(3, 2, 2), 3*math.Log(1-1e-6)+2*math.Log(1e-6))
	near(t, "fewer than none", logBinomial(-1, -2, 0.5), 0)
	near(t, "less than one", logBinomial(0.5, 0.25, 0.5), 0.75*math.Log(0.5))
}
