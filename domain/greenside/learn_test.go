package greenside

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// player is a simulated student with a club from a lie onto a green.
type player struct {
	setup Setup
	// runs is how far a ball that carries so far runs on average, and ball is one
	// with its own luck, both in metres.
	runs func(carry float64) float64
	ball func(carry float64) float64
}

// drawn is a setup such as students have.
func drawn(r *rand.Rand) Setup {
	g := Green{StimpFt: 7 + 5*r.Float64()}
	g.SlopeDeg = (2*r.Float64() - 1) * min(2, g.steepest()/2)
	return Setup{LoftDeg: 42 + 18*r.Float64(), Lie: []Lie{Fairway, Rough}[r.IntN(2)], Green: g}
}

// setting is the population that the priors were set on: a student's balls run a
// factor of what physics says.
func setting(r *rand.Rand) player {
	s := drawn(r)
	factor := math.Exp(0.24 * r.NormFloat64())
	p := player{setup: s, runs: func(carry float64) float64 { return factor * physics(s, carry) }}
	p.ball = func(carry float64) float64 { return p.runs(carry) * max(0, 1+0.2*r.NormFloat64()) }
	return p
}

// reported is another: students lean the club and brush the grass in their own ways,
// and greens are not quite as fast as they are said to be. No ball leaves twice alike,
// and one in thirty is thin and runs half as far again.
func reported(r *rand.Rand) player {
	s := drawn(r)
	lean, grip := 5*r.NormFloat64(), math.Exp(0.3*r.NormFloat64())
	truth := s.Green
	truth.StimpFt = min(max(truth.StimpFt+0.7*r.NormFloat64(), 6), 13)
	strike := func(carry, launch, spin float64) float64 {
		low, high := MinSpeedMps, MaxSpeedMps
		var shot Shot
		for range 14 {
			speed := (low + high) / 2
			l := Struck(s.LoftDeg, s.Lie, speed)
			l.LaunchDeg = min(max(l.LaunchDeg+lean+launch, 18), 65)
			l.BackspinRPM *= min(grip*spin, 1.5)
			if shot, _ = l.onto(truth); shot.CarryM > carry {
				high = speed
			} else {
				low = speed
			}
		}
		return shot.RunM()
	}
	return player{
		setup: s,
		runs:  func(carry float64) float64 { return strike(carry, 0, 1) },
		ball: func(carry float64) float64 {
			run := strike(carry, 2*r.NormFloat64(), math.Exp(0.2*r.NormFloat64()))
			if r.IntN(30) == 0 {
				run *= 1.5
			}
			return run
		},
	}
}

// physics is how far a ball runs by physics alone.
func physics(s Setup, carry float64) float64 {
	spot, _ := s.find(carry, Spot.CarryM)
	return spot.Shot.RunM()
}

// logs are balls landed near spots, paced out to about a third of a metre.
func (p player) logs(r *rand.Rand, n int) []Logged {
	shots := make([]Logged, n)
	for i := range shots {
		aim := 5 + 7*r.Float64()
		carry := aim * max(0.6, 1+0.08*r.NormFloat64())
		landed := carry + 0.25*r.NormFloat64()
		shots[i] = Logged{CarryM: landed, TotalM: max(carry+p.ball(carry)+0.25*r.NormFloat64(), landed), AimM: aim}
	}
	return shots
}

// misses is the root of the mean square, over students and wanted totals, of how far
// from it balls stop on average that are landed on the proposed spot: by what was
// learned, by physics, and by the mean of the carry's share in the student's balls.
func misses(seed uint64, draw func(*rand.Rand) player, students, balls int) (learned, byPhysics, average float64) {
	r := rand.New(rand.NewPCG(seed, 10))
	for range students {
		p := draw(r)
		shots := p.logs(r, balls)
		own, err := Learn(p.setup, shots)
		if err != nil {
			panic(err)
		}
		share := 0.0
		for _, s := range shots {
			share += s.CarryM / s.TotalM / float64(balls)
		}
		for range 4 {
			wanted := 9 + 14*r.Float64()
			off := func(carry float64) float64 { d := carry + p.runs(carry) - wanted; return d * d }
			with := p.setup
			with.Own = own
			spot, _ := with.find(wanted, Spot.TotalM)
			plain, _ := p.setup.find(wanted, Spot.TotalM)
			learned += off(spot.CarryM())
			byPhysics += off(plain.CarryM())
			average += off(share * wanted)
		}
	}
	n := float64(4 * students)
	return math.Sqrt(learned / n), math.Sqrt(byPhysics / n), math.Sqrt(average / n)
}

// TestLearnedSpotBeatsPhysicsAndTheAverage on a population that no constant was set on,
// from 15 logged balls on, and by far; with few it is no worse than physics.
func TestLearnedSpotBeatsPhysicsAndTheAverage(t *testing.T) {
	for _, balls := range []int{3, 15, 30} {
		learned, physics, average := misses(uint64(balls), reported, 25, balls)
		t.Logf("%d balls: learned %.2f m, physics %.2f m, average %.2f m", balls, learned, physics, average)
		worst := 0.5 * min(physics, average)
		if balls < 15 {
			worst = physics
		}
		if !(learned < worst) {
			t.Errorf("from %d balls: learned %.2f m, physics %.2f m, average %.2f m", balls, learned, physics, average)
		}
	}
}

// TestPriorSuitsItsPopulation: on the one it was set on, half or double the trust in
// physics is no better.
func TestPriorSuitsItsPopulation(t *testing.T) {
	set := runPrior
	defer func() { runPrior = set }()
	with := func(factor float64) float64 {
		runPrior.balls = set.balls * factor
		miss, _, _ := misses(3, setting, 30, 3)
		return miss
	}
	if as, none, much := with(1), with(0.05), with(8); as >= none || as >= much {
		t.Errorf("a miss of %.2f m as set, %.2f m with hardly any prior, %.2f m with much", as, none, much)
	}
}

// TestLearnIsTheConjugatePosterior sums the posterior up over a grid of means and of
// spreads.
func TestLearnIsTheConjugatePosterior(t *testing.T) {
	p := prior{balls: 0.7, spreadBalls: 6, sd: 0.2}
	balls := []observed{{1.3, 0.9}, {1.1, 0.5}, {1.6, 0.8}, {0.7, 0.2}, {1.2, 1}}
	got := p.learn(balls)
	const means, spreads = 1201, 600
	var byMean [means]float64
	total, mean, variance := 0.0, 0.0, 0.0
	at := func(i int) float64 { return 0.2 + 2*float64(i)/(means-1) }
	for j := range spreads {
		v := math.Exp(-8 + 9*float64(j)/(spreads-1)) // of σ², in steps of its logarithm
		for i := range means {
			mu := at(i)
			// Inverse gamma of shape 4 and mean 0.04, times v for the steps; normal about 1.
			log := -4*math.Log(v) - 0.12/v - math.Log(v)/2 - 0.7*(mu-1)*(mu-1)/(2*v)
			for _, b := range balls {
				log -= math.Log(v)/2 + b.weight*(b.factor-mu)*(b.factor-mu)/(2*v)
			}
			w := math.Exp(log)
			byMean[i] += w
			total, mean, variance = total+w, mean+w*mu, variance+w*v
		}
	}
	quantile := func(share float64) float64 {
		sum := 0.0
		for i, w := range byMean {
			if sum += w / total; sum >= share {
				return at(i)
			}
		}
		return math.NaN()
	}
	about(t, "factor", got.Factor, mean/total, 1e-3)
	about(t, "spread", got.Spread, math.Sqrt(variance/total), 1e-3)
	about(t, "low", got.Low, quantile(0.1), 3e-3)
	about(t, "high", got.High, quantile(0.9), 3e-3)
	if got.Balls != 5 {
		t.Errorf("%d balls, want 5", got.Balls)
	}
}

// TestLearn: nothing logged is physics, the order does not matter, and what a ball shows
// is its run over that of physics.
func TestLearn(t *testing.T) {
	s := Setup{LoftDeg: 50, Lie: Fairway, Green: Green{StimpFt: 9, SlopeDeg: 1}}
	none, err := Learn(s, nil)
	if err != nil || none != (Learned{}) || none.AimM(7) != 7 || none.carrySpread() != 0.08 || none.runSpread() != 0.2 || none.run(3) != 3 {
		t.Errorf("of nothing: %+v, %v", none, err)
	}
	// Balls that run half as far again as physics says, and land a tenth short.
	var shots []Logged
	for _, carry := range []float64{5, 7, 9, 11, 6, 8} {
		shots = append(shots, Logged{CarryM: carry, TotalM: carry + 1.5*physics(s, carry), AimM: carry / 0.9})
	}
	few, _ := Learn(s, shots[:2])
	own, err := Learn(s, shots)
	if err != nil {
		t.Fatal(err)
	}
	if !(few.Run.Factor > 1.1 && few.Run.Factor < own.Run.Factor && own.Run.Factor < 1.5 && own.Run.Factor > 1.35) {
		t.Errorf("two balls say %+v, six %+v", few.Run, own.Run)
	}
	if !(own.Run.Low < own.Run.Factor && own.Run.High > own.Run.Factor && own.Run.High-own.Run.Low < few.Run.High-few.Run.Low) || own.Run.Balls != 6 {
		t.Errorf("two balls say %+v, six %+v", few.Run, own.Run)
	}
	about(t, "carry", own.Carry.Factor, (1+6*0.9)/7, 1e-9)
	near(t, "aim", own.AimM(9), 9/own.Carry.Factor, 1e-12)
	if own.carrySpread() != own.Carry.Spread || own.runSpread() != own.Run.Spread || own.run(2) != 2*own.Run.Factor {
		t.Errorf("what was learned is not used: %+v", own)
	}
	slices.Reverse(shots)
	again, _ := Learn(s, shots)
	near(t, "the other way round", again.Run.Factor, own.Run.Factor, 1e-12)
	s.Own = own
	same, _ := Learn(s, shots)
	if same != again {
		t.Errorf("what was learned before changes what is learned: %+v, want %+v", same, again)
	}
	if some, _ := Learn(s, []Logged{{CarryM: 5, TotalM: 9}, {CarryM: 1.1, TotalM: 3, AimM: 1}}); some.Run.Balls != 2 || some.Carry.Balls != 1 {
		t.Errorf("one ball of two had an aim: %+v", some)
	}
	// A student whose balls run farther lands them shorter, and they stop as far away.
	plain := s
	plain.Own = Learned{}
	with, _ := LandingSpot(s, 15, 2)
	without, _ := LandingSpot(plain, 15, 2)
	if !(with.CarryM() < without.CarryM()-0.5) || math.Abs(with.TotalM()-15) > 1e-6 {
		t.Errorf("land it at %v m, by physics at %v m; it stops at %v m", with.CarryM(), without.CarryM(), with.TotalM())
	}
}

// TestLearnFromOneBall by hand: physics counts as 0.7 balls for the run and as one for
// the carry, and six balls' worth of spread.
func TestLearnFromOneBall(t *testing.T) {
	s := Setup{LoftDeg: 50, Lie: Fairway, Green: Green{StimpFt: 9}}
	run := physics(s, 8)
	own, err := Learn(s, []Logged{{CarryM: 8, TotalM: 8 + 1.4*run, AimM: 10}})
	if err != nil {
		t.Fatal(err)
	}
	weight := run * run / (run*run + 1.6*1.6)
	near(t, "run", own.Run.Factor, (0.7+1.4*weight)/(0.7+weight), 1e-6)
	beta := 3*0.2*0.2 + 0.7*weight*0.4*0.4/(2*(0.7+weight))
	near(t, "spread of the run", own.Run.Spread, math.Sqrt(beta/3.5), 1e-6)
	// The tables' 90 % point of Student's distribution with 9 degrees of freedom.
	near(t, "high", own.Run.High, own.Run.Factor+1.38303*math.Sqrt(beta/(4.5*(0.7+weight))), 1e-5)
	near(t, "carry", own.Carry.Factor, 0.9, 1e-9)
	near(t, "spread of the carry", own.Carry.Spread, math.Sqrt((3*0.08*0.08+0.2*0.2/4)/3.5), 1e-9)
}

// TestShortRunsWeighLittle: where physics lets a ball run 1.6 m, half of what is seen is
// an error of paces.
func TestShortRunsWeighLittle(t *testing.T) {
	spot := Spot{Shot: Shot{CarryM: 5, RollM: 1.6}}
	o := spot.shows(Logged{CarryM: 5, TotalM: 7.4})
	near(t, "factor", o.factor, 1.5, 1e-12)
	near(t, "weight", o.weight, 0.5, 1e-12)
	long := Spot{Shot: Shot{CarryM: 5, RollM: 4.8}}.shows(Logged{CarryM: 5, TotalM: 9.8})
	near(t, "weight of a long run", long.weight, 0.9, 1e-12)
	// One that by physics comes back has no ratio.
	back := Spot{Shot: Shot{CarryM: 5, BackM: 1}}.shows(Logged{CarryM: 5, TotalM: 5.1})
	near(t, "factor where there is no run", back.factor, 0.1/0.05, 1e-9)
	if !(back.weight < 0.001) {
		t.Errorf("it weighs %v", back.weight)
	}
}

// TestStoppingDead: balls that stop where they land leave a spot for every distance.
func TestStoppingDead(t *testing.T) {
	s := Setup{LoftDeg: 60, Lie: Fairway, Green: Green{StimpFt: 9}}
	shots := make([]Logged, 100)
	for i := range shots {
		shots[i] = Logged{CarryM: 8, TotalM: 7}
	}
	var err error
	if s.Own, err = Learn(s, shots); err != nil || s.Own.Run.Factor != 0.02 || s.Own.Run.Low != 0 {
		t.Fatalf("%+v, %v", s.Own, err)
	}
	spot, err := LandingSpot(s, 10, 2)
	if err != nil || !(spot.CarryM() > 9.8 && spot.CarryM() < 10) {
		t.Errorf("%+v, %v", spot, err)
	}
}

func TestLearnRefuses(t *testing.T) {
	s := Setup{LoftDeg: 50, Lie: Fairway, Green: Green{StimpFt: 9}}
	six := Setup{LoftDeg: 30, Lie: Fairway, Green: Green{StimpFt: 9}}
	for _, c := range []struct {
		setup          Setup
		shots          []Logged
		pointer, words string
	}{
		{s, []Logged{{CarryM: 50, TotalM: 120, AimM: 50}, {CarryM: 8, TotalM: 6.7, AimM: 0.5}}, "", ""},
		{s, []Logged{{CarryM: 8, TotalM: 15}, {CarryM: 0.49, TotalM: -0.1, AimM: 0.49}}, "/shots/1/carry_m /shots/1/total_m /shots/1/aim_m", "from 0.5 to 50 m"},
		{s, []Logged{{CarryM: 50.1, TotalM: 120.1, AimM: 50.1}}, "/shots/0/carry_m /shots/0/total_m /shots/0/aim_m", "from 0 to 120 m"},
		{s, []Logged{{CarryM: 0.49, TotalM: 5}}, "/shots/0/carry_m", "from 0.5 to 50 m"},
		// Of 8 m a ball may come back half a metre and a tenth, 1.3 m.
		{s, []Logged{{CarryM: 8, TotalM: 6.71}, {CarryM: 8, TotalM: 6.69}}, "/shots/1/total_m", "is 6.69, less than carry_m, which is 8, by more than a ball spins back; swap the two"},
		{s, []Logged{{CarryM: 50.1, TotalM: 1}}, "/shots/0/carry_m", ""},
		{s, []Logged{{CarryM: 50, TotalM: -1}}, "/shots/0/total_m", "from 0 to 120 m"},
		{six, []Logged{{CarryM: 8, TotalM: 30}, {CarryM: 40, TotalM: 50}}, "/shots/1/carry_m", "plain shot with 30° lands a ball from"},
		{Setup{}, nil, "/loft_deg /lie /stimp_ft", ""},
		{s, make([]Logged, 201), "/shots", "has 201 shots; give at most 200"},
	} {
		_, err := Learn(c.setup, c.shots)
		refused(t, "shots", err, c.pointer, c.words)
	}
	if _, err := Learn(s, make([]Logged, 200)); strings.Contains(err.Error(), "at most 200") {
		t.Errorf("200 shots: %v", err)
	}
}
