package streak

import (
	"testing"

	"fringework/domain"

	"pgregory.net/rapid"
)

// genTier draws tiers small enough to be passed by chance.
func genTier(t *rapid.T, label string) Tier {
	run := rapid.IntRange(1, 6).Draw(t, label+" run")
	return Tier{
		Run:    run,
		Radius: domain.Length(rapid.IntRange(1, 4).Draw(t, label+" radius")) * domain.Foot,
		Holed:  rapid.IntRange(0, min(run, 3)).Draw(t, label+" holed"),
	}
}

// genBall draws balls that satisfy Check.
func genBall(t *rapid.T) Ball {
	b := Ball{
		Outcome:  Outcome(rapid.SampledFrom([]int{0, 1, 1, 1, 2}).Draw(t, "outcome")),
		Radius:   domain.Length(rapid.IntRange(1, 4).Draw(t, "radius")) * domain.Foot,
		Measured: rapid.Bool().Draw(t, "measured"),
	}
	if !b.Measured {
		return b
	}
	half := domain.Foot / 2
	at := int(b.Radius / half)
	switch b.Outcome {
	case Out:
		b.Leave = domain.Length(rapid.IntRange(at, at+6).Draw(t, "leave")) * half
	case In:
		b.Leave = domain.Length(rapid.IntRange(0, at).Draw(t, "leave")) * half
	}
	return b
}

// insideByDefinition says, from the words of the rule alone, whether a ball is
// known to be in (1), known to be out (0), or not known (-1) at a radius.
func insideByDefinition(b Ball, radius domain.Length) int {
	if b.Outcome == Holed {
		return 1
	}
	if b.Outcome == In && b.Radius <= radius {
		return 1
	}
	if b.Outcome == Out && b.Radius >= radius {
		return 0
	}
	if b.Measured && b.Leave <= radius {
		return 1
	}
	if b.Measured {
		return 0
	}
	return -1
}

// TestReadIsItsDefinition compares Read with a search over all stretches.
func TestReadIsItsDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tier := genTier(t, "tier")
		balls := rapid.SliceOfN(rapid.Custom(genBall), 0, 30).Draw(t, "balls")
		got := Read(balls, tier)

		var want Result
		want.Tier = tier
		for i, b := range balls {
			switch insideByDefinition(b, tier.Radius) {
			case 1:
				want.Inside++
				want.Judged++
			case 0:
				want.Judged++
			default:
				want.Unmeasured++
			}
			run := stretch(balls[:i+1], tier)
			if tier.MeetsIn(run) && want.PassedAt == 0 {
				want.PassedAt = i + 1
			}
			if run.Length > want.Best.Length || run.Length == want.Best.Length && run.Holed > want.Best.Holed {
				want.Best = run
			}
		}
		want.Current = stretch(balls, tier)
		want.Near = nearByDefinition(balls, tier)
		if got != want {
			t.Fatalf("got %+v, want %+v", got, want)
		}
	})
}

// stretch looks back from the last ball as long as balls are in.
func stretch(balls []Ball, tier Tier) Run {
	var r Run
	for i := len(balls) - 1; i >= 0 && insideByDefinition(balls[i], tier.Radius) == 1; i-- {
		r.Length++
		if balls[i].Outcome == Holed {
			r.Holed++
		}
	}
	return r
}

// nearByDefinition lists the whole runs of the block and keeps the near ones.
func nearByDefinition(balls []Ball, tier Tier) Near {
	var near Near
	for i := range balls {
		last := i == len(balls)-1 || insideByDefinition(balls[i+1], tier.Radius) != 1
		run := stretch(balls[:i+1], tier)
		short := 4*run.Length < 3*tier.Run && run.Length != tier.Run-1
		if !last || run.Length == 0 || short || tier.MeetsIn(run) {
			continue
		}
		near.Runs++
		if run.Length > near.Length {
			near.Length, near.Times, near.Holed = run.Length, 0, 0
		}
		if run.Length == near.Length {
			near.Times++
			near.Holed = max(near.Holed, run.Holed)
		}
	}
	return near
}

func TestHarderIsLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := genTier(t, "a"), genTier(t, "b")
		if !harder(a, b) {
			a = Tier{Run: max(a.Run, b.Run) + 1, Radius: min(a.Radius, b.Radius), Holed: max(a.Holed, b.Holed)}
		}
		balls := rapid.SliceOfN(rapid.Custom(genBall), 0, 30).Draw(t, "balls")
		hard, easy := Read(balls, a), Read(balls, b)
		if hard.PassedAt != 0 && (easy.PassedAt == 0 || easy.PassedAt > hard.PassedAt) {
			t.Fatalf("%v passed at ball %d, the easier %v at %d", a, hard.PassedAt, b, easy.PassedAt)
		}
	})
}

func TestCheckAcceptsWhatIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := genBall(t)
		var p domain.Problems
		b.Check(&p, "")
		if len(p.Fields()) != 0 {
			t.Fatalf("%+v refused: %v", b, p.Fields())
		}
	})
}

func TestCounterIsAPrefixOfRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tier := genTier(t, "tier")
		balls := rapid.SliceOfN(rapid.Custom(genBall), 0, 20).Draw(t, "balls")
		c := NewCounter(tier)
		for i, b := range balls {
			c.Add(b)
			if got, want := c.Ended(), Read(balls[:i+1], tier); got != want {
				t.Fatalf("after ball %d: got %+v, want %+v", i+1, got, want)
			}
		}
	})
}

func TestNearAddsInAnyOrder(t *testing.T) {
	gen := rapid.Custom(func(t *rapid.T) Near {
		n := Near{Length: rapid.IntRange(1, 3).Draw(t, "length"), Times: rapid.IntRange(1, 3).Draw(t, "times")}
		n.Runs = n.Times + rapid.IntRange(0, 2).Draw(t, "more")
		n.Holed = rapid.IntRange(0, n.Length).Draw(t, "holed")
		return n
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := gen.Draw(t, "a"), gen.Draw(t, "b"), gen.Draw(t, "c")
		if x, y := a.Add(b), b.Add(a); x != y {
			t.Fatalf("a+b = %+v, b+a = %+v", x, y)
		}
		if x, y := a.Add(b).Add(c), a.Add(b.Add(c)); x != y {
			t.Fatalf("(a+b)+c = %+v, a+(b+c) = %+v", x, y)
		}
		if got := a.Add(Near{}); got != a {
			t.Fatalf("a+0 = %+v, want %+v", got, a)
		}
	})
}
