package greenside

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestFlightReference(t *testing.T) {
	o := outside(t)
	for _, set := range []struct {
		flights   []outsideFlight
		tolerance float64
	}{{o.Vacuum, 1e-9}, {o.Drag, 1e-5}} {
		for _, c := range set.flights {
			through := air{density: c.Rho, coefficients: func(float64, float64) (float64, float64) { return c.CD, c.CL }}
			f, ok := through.fly(c.V, c.AngleDeg*math.Pi/180, 0, -c.StartM)
			if !ok {
				t.Fatalf("%+v does not land", c)
			}
			near(t, "carry", f.landing.x, c.CarryM, set.tolerance)
			near(t, "time", f.seconds, c.TimeS, set.tolerance)
			near(t, "apex", f.apex+c.StartM, c.ApexM, set.tolerance)
			near(t, "landing speed", math.Hypot(f.landing.vx, f.landing.vy), c.LandingSpeed, set.tolerance)
			near(t, "landing angle", math.Atan2(-f.landing.vy, f.landing.vx)*180/math.Pi, c.LandingDeg, set.tolerance)
			about(t, "landing height", f.landing.y, -c.StartM, 1e-9)
		}
	}
}

// inPolar flies a ball by other equations and another method: its speed and the angle
// of its path, by Heun's method in steps of a ten-thousandth of a second, in air that
// moves with the wind.
func inPolar(speed, angle, spin, height, wind float64) (carry, apex float64) {
	sin, cos := math.Sincos(angle)
	v, path := math.Hypot(speed*cos-wind, speed*sin), math.Atan2(speed*sin, speed*cos-wind)
	x, y, seconds := 0.0, 0.0, 0.0
	k := 1.225 * math.Pi * 0.04267 * 0.04267 / 4 / (2 * 0.04593)
	slopes := func(v, path float64) (dv, dpath float64) {
		drag, up := coefficients(v, spin)
		return -k*drag*v*v - 9.80665*math.Sin(path), k*up*v - 9.80665*math.Cos(path)/v
	}
	const step = 1e-4
	for {
		dv, dpath := slopes(v, path)
		dv2, dpath2 := slopes(v+step*dv, path+step*dpath)
		v2, path2 := v+step*(dv+dv2)/2, path+step*(dpath+dpath2)/2
		x2 := x + step*(v*math.Cos(path)+v2*math.Cos(path2))/2
		y2 := y + step*(v*math.Sin(path)+v2*math.Sin(path2))/2
		apex = max(apex, y2)
		if y2 <= height && y2 < y {
			part := (y - height) / (y - y2)
			return x + part*(x2-x) + wind*(seconds+part*step), apex
		}
		v, path, x, y, seconds = v2, path2, x2, y2, seconds+step
	}
}

func TestFlightAgainstAnotherIntegrator(t *testing.T) {
	for _, c := range []struct{ speed, deg, rpm, height, wind float64 }{
		{3, 10, 500, 0, 0}, {9, 37, 2100, 0, 0}, {14, 40, 3500, 0, 0}, {14, 40, 3500, 1.5, -6}, {14, 40, 3500, -3, 6},
		{18, 30, 4500, 0, 0}, {22, 45, 6000, 2, 3}, {30, 28, 7000, 0, 0}, {30, 60, 9000, -10, -12}, {26, 12, 2000, 0, 12},
	} {
		f, ok := air{airKgM3, c.wind, coefficients}.fly(c.speed, c.deg*math.Pi/180, c.rpm*math.Pi/30, c.height)
		carry, apex := inPolar(c.speed, c.deg*math.Pi/180, c.rpm*math.Pi/30, c.height, c.wind)
		if !ok {
			t.Fatalf("%+v does not land", c)
		}
		about(t, "carry", f.landing.x, carry, 0.0015)
		about(t, "apex", f.apex, apex, 0.0015)
	}
}

// TestFlightReaches: a landing place that the ball only just reaches, and one that it
// does not.
func TestFlightReaches(t *testing.T) {
	vacuum := air{coefficients: func(float64, float64) (float64, float64) { return 0, 0 }}
	rise := math.Sqrt(2 * 9.80665 * 3) // upright, it reaches 3 m
	if f, ok := vacuum.fly(rise, math.Pi/2, 0, 2.9999); !ok || math.Abs(f.landing.y-2.9999) > 1e-9 || f.landing.vy >= 0 {
		t.Errorf("just below the top: %+v %v", f, ok)
	}
	if f, ok := vacuum.fly(rise, math.Pi/2, 0, 3.0001); ok {
		t.Errorf("just above the top it lands: %+v", f)
	}
	near(t, "falling time", must(vacuum.fly(rise, math.Pi/2, 0, 2)).seconds, rise/9.80665+math.Sqrt(2/9.80665), 1e-9)
}

func must[T any](x T, ok bool) T {
	if !ok {
		panic("not reached")
	}
	return x
}

// TestCoefficients holds the published forms at both ends, and their middle.
func TestCoefficients(t *testing.T) {
	at := func(re float64) float64 { return re * 1.461e-5 / 0.04267 }
	for _, c := range []struct{ re, spinRatio, drag, lift float64 }{
		{2e4, 0.5, 0.5, 0},
		{5e4, 0.5, 0.5, 0},
		{1e5, 0.2, 0.24 + 0.18*0.2, 0.54 * math.Pow(0.2, 0.4)},
		{1.5e5, 0.1, 0.24 + 0.18*0.1, 0.54 * math.Pow(0.1, 0.4)},
		{7.5e4, 0.4, (0.5 + 0.24 + 0.18*0.4) / 2, 0.54 * math.Pow(0.4, 0.4) / 2},
		{1.5e5, 0, 0.24, 0},
	} {
		speed := at(c.re)
		drag, lift := coefficients(speed, c.spinRatio*speed/(0.04267/2))
		about(t, "drag", drag, c.drag, 1e-12)
		about(t, "lift", lift, c.lift, 1e-12)
	}
}

// TestBackspinLifts: at a full pitch backspin makes a ball fly higher.
func TestBackspinLifts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		speed, angle := rapid.Float64Range(22, 30).Draw(t, "speed"), rapid.Float64Range(0.2, 0.9).Draw(t, "angle")
		spin := rapid.Float64Range(50, 700).Draw(t, "spin")
		a := air{airKgM3, 0, coefficients}
		less, _ := a.fly(speed, angle, spin, 0)
		more, _ := a.fly(speed, angle, spin*1.2, 0)
		if !(more.apex > less.apex) {
			t.Fatalf("apex %v with spin %v, %v with more", less.apex, spin, more.apex)
		}
	})
}
