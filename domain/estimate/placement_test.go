package estimate

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"fringework/domain"
	"fringework/domain/streak"
)

func twenty(inside int) Test {
	return Test{Circle: Circle{Radius: 4 * domain.Foot, Balls: 20, Inside: inside}}
}

// TestLevelsOfTest: of a test struck on a day like any other the level is the posterior
// of the coin tosses, by numerical integration of gonum's binomial; a day's form makes
// it wider about the same middle.
func TestLevelsOfTest(t *testing.T) {
	const n, y = 20, 13
	steady := twenty(y).levels(Prior{}, FormKinds{0: 1})
	var mean, sum float64
	for p := 0.0005; p < 1; p += 0.001 {
		// Form of 0.1 logits, by nine steps of a normal distribution.
		w := 0.0
		for z := -2.0; z <= 2; z += 0.5 {
			day := 1 / (1 + math.Exp(-math.Log(p/(1-p))-0.1*z))
			w += math.Exp(-z*z/2) * distuv.Binomial{N: n, P: day}.Prob(y)
		}
		w *= math.Pow(p*(1-p), -0.5)
		mean += w * p
		sum += w
	}
	about(t, "mean", meanRate(steady), mean/sum, 0.002)
	streaky := twenty(y).levels(Prior{}, FormKinds{5: 1})
	if a, b := spreadOf(steady), spreadOf(streaky); !(b > 1.4*a) {
		t.Errorf("a day's form of 0.6 logits should leave more open than one of 0.1: got %.3f after %.3f", b, a)
	}
}

func meanRate(weights [points]float64) (mean float64) {
	for i, w := range weights {
		mean += w * logistic(levelAt(i))
	}
	return mean
}

func spreadOf(weights [points]float64) float64 {
	mean, square := meanRate(weights), 0.0
	for i, w := range weights {
		p := logistic(levelAt(i))
		square += w * p * p
	}
	return math.Sqrt(square - mean*mean)
}

// TestPlacingOdds: the odds of a step are those of the rates that the test leaves open,
// and nearer, or in a wider circle, they are better by as much.
func TestPlacingOdds(t *testing.T) {
	p := PlacingOf(twenty(12), Prior{}, 20)
	step := streak.Tier{Run: 5, Radius: 4 * domain.Foot}
	here := p.Odds(step, 100)
	about(t, "soon", here.Soon, twenty(12).SessionRate(Prior{}).Within(step, 1, PlacedWithin, 20), 1e-12)
	if !(0 < here.Low && here.Low < here.Soon && here.Soon < 1) {
		t.Errorf("got %+v, want the lower end to have worse odds", here)
	}
	wide := step
	wide.Radius = 8 * domain.Foot
	nearer, wider := p.Odds(step, 50), p.Odds(wide, 100)
	about(t, "half as far is a circle twice as wide", nearer.Soon, wider.Soon, 1e-12)
	if nearer.Low <= here.Low {
		t.Errorf("got %v from nearer and %v here", nearer.Low, here.Low)
	}
	// A tenth of what is held for likely lies below the lower end, and not much more.
	below := 0.0
	for c := range p.low + 1 {
		below += p.rate.levels[c]
	}
	if below < 0.1 || below-p.rate.levels[p.low] >= 0.1 {
		t.Errorf("%v of the levels lie up to the lower end", below)
	}
	about(t, "inside", p.Inside(8*domain.Foot), twenty(12).SessionRate(Prior{}).Inside(2), 1e-12)
}

// TestPlacingReadsLeaves: leaves that bunch near the hole make a narrow circle easier
// than the same counts without them.
func TestPlacingReadsLeaves(t *testing.T) {
	step := streak.Tier{Run: 3, Radius: 2 * domain.Foot}
	near, far := twenty(12), twenty(12)
	near.Measured = []Circle{{Radius: 4 * domain.Foot, Balls: 20, Inside: 12}, {Radius: 2 * domain.Foot, Balls: 20, Inside: 9}}
	far.Measured = []Circle{{Radius: 4 * domain.Foot, Balls: 20, Inside: 12}, {Radius: 2 * domain.Foot, Balls: 20, Inside: 0}}
	a, none, b := PlacingOf(near, Prior{}, 20).Odds(step, 100), PlacingOf(twenty(12), Prior{}, 20).Odds(step, 100), PlacingOf(far, Prior{}, 20).Odds(step, 100)
	if !(a.Soon > none.Soon && none.Soon > b.Soon) {
		t.Errorf("got %.3f with balls near the hole, %.3f unknown and %.3f with none there", a.Soon, none.Soon, b.Soon)
	}
}

func TestSuit(t *testing.T) {
	for _, c := range []struct {
		odds Odds
		want bool
	}{
		{Odds{Soon: soonEnough, Low: carries}, true}, {Odds{Soon: soonEnough - 0.001, Low: 0.9}, false}, {Odds{Soon: 0.99, Low: carries - 0.001}, false},
	} {
		if got := c.odds.Suit(); got != c.want {
			t.Errorf("%+v: got %v", c.odds, got)
		}
	}
}

var feet4 = []streak.Tier{
	{Run: 4, Radius: 4 * domain.Foot}, {Run: 6, Radius: 4 * domain.Foot}, {Run: 8, Radius: 4 * domain.Foot}, {Run: 12, Radius: 3 * domain.Foot},
}

func room(widest domain.Length, nearest int) Room {
	return Room{Round: domain.Foot / 2, Widest: func(int) domain.Length { return widest }, Nearest: nearest}
}

// TestStart: the better the test, the harder the step to begin with, and every one
// suits unless none does.
func TestStart(t *testing.T) {
	ft := domain.Foot
	first := feet4[0]
	for _, c := range []struct {
		name   string
		inside int
		ladder []streak.Tier
		room   Room
		want   streak.Tier
		step   int
		part   int
		suits  bool
	}{
		{"all inside", 20, feet4, room(8*ft, 50), feet4[2], 2, 100, true},
		{"most inside", 16, feet4, room(8*ft, 50), feet4[1], 1, 100, true},
		{"three in five inside: the first", 12, feet4, room(8*ft, 50), first, 0, 100, true},
		{"half inside: fewer in a row", 10, feet4, room(8*ft, 50), streak.Tier{Run: 3, Radius: 4 * ft}, -1, 100, true},
		{"few inside: a wider circle", 6, feet4, room(8*ft, 50), streak.Tier{Run: 3, Radius: 5 * ft}, -1, 100, true},
		{"few inside and no wider circle: nearer", 6, feet4, room(4*ft, 50), streak.Tier{Run: 3, Radius: 4 * ft}, -1, 80, true},
		{"hardly any inside: both", 2, feet4, room(8*ft, 40), streak.Tier{Run: 3, Radius: 7*ft + ft/2}, -1, 70, true},
		{"none inside and no way out: the easiest", 0, feet4, room(5*ft, 100), streak.Tier{Run: 3, Radius: 5 * ft}, -1, 100, false},
		{"two in a row are not made longer", 4, []streak.Tier{{Run: 2, Radius: 4 * ft}}, room(4*ft, 30), streak.Tier{Run: 2, Radius: 4 * ft}, 0, 90, true},
		{"two in a row out of reach", 0, []streak.Tier{{Run: 2, Radius: 4 * ft}}, room(4*ft, 90), streak.Tier{Run: 2, Radius: 4 * ft}, 0, 90, false},
		{"holed balls are let go", 16, []streak.Tier{{Run: 5, Radius: 4 * ft, Holed: 3}}, room(8*ft, 50), streak.Tier{Run: 5, Radius: 4 * ft}, -1, 100, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := PlacingOf(twenty(c.inside), Prior{}, 20)
			got, ok := p.Start(c.ladder, c.room)
			if ok != c.suits || got.Suit() != ok {
				t.Fatalf("got %v for %+v", ok, got)
			}
			if got.Tier != c.want || got.Step != c.step || got.Part != c.part {
				t.Errorf("got %d in a row inside %v with %d holed, step %d, from %d %%", got.Tier.Run, got.Tier.Radius, got.Tier.Holed, got.Step, got.Part)
			}
			if p.Odds(got.Tier, got.Part) != got.Odds {
				t.Errorf("the odds told are %+v", got.Odds)
			}
		})
	}
}
