package estimate

import "math"

// changePoint is where a straight path with one bend fits the sessions best:
// by weighted least squares of the empirical logits on 1 and min(t, c), for a
// rise that levelled off at c, or on 1 and max(0, t−c), for a fall that began
// after c. It says since when a state has held, not whether it does. from is
// the first session considered. ok is false when no bend of the wanted sign
// fits better than none.
func changePoint(sessions []Observation, from int, falls bool) (at int, ok bool) {
	var z, v []float64
	var index []int
	for i := from; i < len(sessions); i++ {
		s := sessions[i]
		if s.Balls == 0 {
			continue
		}
		y, n := float64(s.Inside)+0.5, float64(s.Balls)+1
		p := y / n
		z = append(z, logit(p))
		v = append(v, 1/(1/(n*p*(1-p))+typicalForm*typicalForm))
		index = append(index, i)
	}
	best := residual(z, v, func(int) float64 { return 0 }, 0)
	for c := 2; c < len(z)-1; c++ {
		x, sign := func(t int) float64 { return float64(min(t, c)) }, 1.0
		if falls {
			x, sign = func(t int) float64 { return float64(max(0, t-c)) }, -1
		}
		if r := residual(z, v, x, sign); r < best-1e-9 {
			best, at, ok = r, index[c], true
		}
	}
	return at, ok
}

// typicalForm is a session's usual spread in logits; see formSDs.
const typicalForm = 0.2

// residual is the weighted sum of squares that a line on x leaves; +Inf when
// its slope has not the wanted sign. A sign of 0 fits a level alone.
func residual(z, v []float64, x func(int) float64, sign float64) float64 {
	var sw, sx, sz float64
	for t := range z {
		sw += v[t]
		sx += v[t] * x(t)
		sz += v[t] * z[t]
	}
	mx, mz := sx/sw, sz/sw
	var sxx, sxz, szz float64
	for t := range z {
		dx, dz := x(t)-mx, z[t]-mz
		sxx += v[t] * dx * dx
		sxz += v[t] * dx * dz
		szz += v[t] * dz * dz
	}
	if sign == 0 {
		return szz
	}
	if sxx == 0 || sxz*sign <= 0 {
		return math.Inf(1)
	}
	return szz - sxz*sxz/sxx
}
