package greenside

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestBounceReference(t *testing.T) {
	o := outside(t)
	for _, row := range o.Restitution {
		about(t, "restitution", restitution(row[0]), row[1], 1e-9)
	}
	if restitution(20.001) != 0.12 {
		t.Errorf("restitution above 20 m/s is %v, want 0.12", restitution(20.001))
	}
	// The figures are for a slightly smaller ball: what counts is how fast its surface
	// moves.
	const smaller = 0.0213 / ballRadiusM
	for _, c := range o.Bounces {
		in := Impact{AlongMps: c.VX, UpMps: c.VY, Backspin: c.Spin * smaller}
		near(t, "mark", in.mark()*180/math.Pi, c.MarkDeg, 1e-9)
		out := in.Bounce()
		near(t, "along", out.AlongMps, c.VXOut, 1e-7)
		near(t, "up", out.UpMps, c.VYOut, 1e-7)
		near(t, "spin", out.Backspin, c.SpinOut*smaller, 1e-7)
		// The ground knows no direction.
		back := Impact{AlongMps: -c.VX, UpMps: c.VY, Backspin: -c.Spin * smaller}.Bounce()
		near(t, "along, mirrored", back.AlongMps, -c.VXOut, 1e-7)
		near(t, "up, mirrored", back.UpMps, c.VYOut, 1e-7)
		near(t, "spin, mirrored", back.Backspin, -c.SpinOut*smaller, 1e-7)
	}
}

// TestBounceLosesEnergy: turf gives nothing, whatever the spin.
func TestBounceLosesEnergy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := Impact{
			AlongMps: rapid.Float64Range(-25, 25).Draw(t, "along"), UpMps: -rapid.Float64Range(0.001, 25).Draw(t, "down"),
			Backspin: rapid.Float64Range(-1500, 1500).Draw(t, "spin"),
		}
		out := in.Bounce()
		if !(out.energy() <= in.energy()) {
			t.Fatalf("%+v has %v, and after the bounce %v", in, in.energy(), out.energy())
		}
	})
	// Half the square of the speed, and two fifths of that of the surface.
	near(t, "energy", Impact{3, -4, 10 / ballRadiusM}.energy(), (9+16+0.4*100)/2, 1e-12)
}

// TestRollingMps: a ball set down sliding ends with five sevenths of its speed, one
// that rolls keeps it, and one that only spins back rolls back.
func TestRollingMps(t *testing.T) {
	near(t, "sliding", Impact{AlongMps: 7}.rollingMps(), 5, 1e-12)
	near(t, "rolling", Impact{AlongMps: 7, Backspin: -7 / ballRadiusM}.rollingMps(), 7, 1e-12)
	near(t, "spinning", Impact{Backspin: 7 / ballRadiusM}.rollingMps(), -2, 1e-12)
}

// TestRunByHand follows balls hop by hop in small steps of time, in level coordinates.
func TestRunByHand(t *testing.T) {
	for _, slope := range []float64{-2, 0, 1.5} {
		g := Green{StimpFt: 9, SlopeDeg: slope}
		for _, in := range []Impact{{3, -2, 50}, {7, -6, 150}, {8, -9, 300}, {2, -1, 0}, {5, -9, 600}, {4, -11, 350}} {
			hopped, rolled := byHand(in, g)
			r := in.run(g)
			about(t, "hops and roll less what comes back", r.hopped+r.rolled-r.back, hopped+rolled, 2e-3)
			if hopped > 0 && rolled > 0 {
				about(t, "hops", r.hopped, hopped, 2e-3)
			}
		}
	}
}

// byHand counts a hop lower than 2 mm as roll and one higher than 8 mm as a hop, and
// in between both in part.
func byHand(in Impact, g Green) (hopped, rolled float64) {
	sin, cos := math.Sincos(g.SlopeDeg * math.Pi / 180)
	in = in.Bounce()
	for share := 1.0; share > 0; {
		height := in.UpMps * in.UpMps / (2 * 9.80665 * cos)
		hops := share * math.Max(0, math.Min(1, (height*1000-2)/6))
		rolled += (share - hops) * g.RollM((in.AlongMps*5-2*in.Backspin*0.04267/2)/7)
		share = hops
		x, y, vx, vy := 0.0, 0.0, in.AlongMps*cos-in.UpMps*sin, in.UpMps*cos+in.AlongMps*sin
		const step = 5e-6
		for above := true; above; above = y*cos-x*sin > 0 {
			vy -= step * 9.80665
			x, y = x+step*vx, y+step*(vy+step*9.80665/2)
		}
		hopped += share * (x*cos + y*sin)
		in.AlongMps, in.UpMps = vx*cos+vy*sin, vy*cos-vx*sin
		// A hop that falls with less than 1.5 m/s leaves less of a mark.
		in = in.off(in.mark() * math.Min(1, -in.UpMps/1.5))
	}
	return hopped, rolled
}

// TestRunKnowsForwardFromBack: what a ball comes back is told apart.
func TestRunKnowsForwardFromBack(t *testing.T) {
	level := Green{StimpFt: 10}
	if r := (Impact{AlongMps: 6, UpMps: -6, Backspin: 100}).run(level); r.back != 0 || !(r.hopped > 0.5) || !(r.rolled > 0.5) {
		t.Errorf("a ball that runs on: %+v", r)
	}
	if r := (Impact{AlongMps: 5, UpMps: -9, Backspin: 600}).run(level); r.hopped != 0 || r.rolled != 0 || !(r.back > 0.5) {
		t.Errorf("a ball that comes back: %+v", r)
	}
	faster := Green{StimpFt: 12}
	a, b := (Impact{AlongMps: 6, UpMps: -6}).run(level), (Impact{AlongMps: 6, UpMps: -6}).run(faster)
	near(t, "roll on a faster green", b.rolled, a.rolled*1.2, 1e-9)
	near(t, "hops on a faster green", b.hopped, a.hopped, 1e-12)
}

// TestChipsHopThenRoll: a low chip on a level green hops less far than it flew, each hop
// is shorter than the one before, and most of its run is roll.
func TestChipsHopThenRoll(t *testing.T) {
	s, err := CarryAndRoll(Launch{SpeedMps: 9, LaunchDeg: 22, BackspinRPM: 2500}, Green{StimpFt: 10})
	if err != nil {
		t.Fatal(err)
	}
	if !(s.BounceM < 0.8*s.CarryM && s.BounceM < s.RollM) {
		t.Errorf("a low chip: %+v", s)
	}
	for _, club := range UsualClubs() {
		for _, carry := range []float64{2, 3, 4} {
			spot, err := Carrying(Setup{LoftDeg: club.LoftDeg, Lie: Fairway, Green: Green{StimpFt: 9}}, carry)
			if s := spot.Shot; err != nil || !(s.BounceM < s.RollM) {
				t.Errorf("%s, %v m: %+v, %v", club.Name, carry, s, err)
			}
		}
	}
	i := Impact{AlongMps: 7.9, UpMps: -3.3, Backspin: 250}.Bounce()
	for hop := 2; i.UpMps > 0.2; hop++ {
		next := Impact{AlongMps: i.AlongMps, UpMps: -i.UpMps, Backspin: i.Backspin}.hop()
		if !(next.UpMps*next.AlongMps < i.UpMps*i.AlongMps) || hop > 12 {
			t.Fatalf("hop %d: %+v after %+v", hop, next, i)
		}
		i = next
	}
}

// TestHopsWithoutEnd: a fast ball down a steep slope hops faster and faster in the model,
// which is beyond what is known; it is refused, and never given hundreds of metres.
func TestHopsWithoutEnd(t *testing.T) {
	steep := Setup{LoftDeg: 34, Lie: Fairway, Green: Green{StimpFt: 8, SlopeDeg: -4}}
	least, most := steep.reach(Spot.CarryM)
	if spot, err := Carrying(steep, (least+most)/2); err != nil || spot.RunM > 60 {
		t.Errorf("within reach: %+v, %v", spot, err)
	}
	_, err := CarryAndRoll(Struck(34, Fairway, 12), steep.Green)
	refused(t, "a 7-iron down a slope", err, "/launch_deg", "too flat and fast")
	if r := (Impact{AlongMps: 8, UpMps: -5}).run(steep.Green); !r.endless {
		t.Errorf("it comes to rest: %+v", r)
	}
	if r := (Impact{AlongMps: 2, UpMps: -2}).run(steep.Green); r.endless {
		t.Errorf("a soft one never rolls: %+v", r)
	}
}

// TestRunHasNoJumps: a little more speed changes a run a little.
func TestRunHasNoJumps(t *testing.T) {
	runs := func(down float64) float64 {
		r := Impact{AlongMps: down, UpMps: -down, Backspin: 20 * down}.run(Green{StimpFt: 11})
		return r.hopped + r.rolled
	}
	for down := 1.0; down < 8; down += 0.002 {
		if now, next := runs(down), runs(down+0.002); math.Abs(next-now) > 0.012 {
			t.Errorf("at %v m/s the run goes from %v to %v m", down, now, next)
		}
	}
}
