package streak

import "math/big"

// exact is the plain Markov chain over every state (run, holed), in binary
// floating point with 400 bits: the independent method that Odds is held to.
// Its rates are those that the float64s stand for, out being what is missing
// to 1.
type exact struct {
	run, holed     int
	in, hole, miss *big.Float
}

func wide(x float64) *big.Float { return new(big.Float).SetPrec(400).SetFloat64(x) }

func newExact(t Tier, r Rates) exact {
	e := exact{run: t.Run, holed: t.Holed, in: wide(r.In), hole: wide(r.Holed)}
	e.miss = wide(1)
	e.miss.Sub(e.miss, e.in).Sub(e.miss, e.hole)
	return e
}

func (e exact) states() int            { return (e.run + 1) * (e.holed + 1) }
func (e exact) index(r, k int) int     { return min(r, e.run)*(e.holed+1) + min(k, e.holed) }
func (e exact) done() int              { return e.states() - 1 }
func (e exact) state(i int) (r, k int) { return i / (e.holed + 1), i % (e.holed + 1) }
func (e exact) start(from Run) int     { return e.index(from.Length, from.Holed) }
func (e exact) next(i int) (out [3]int) {
	r, k := e.state(i)
	return [3]int{0, e.index(r+1, k), e.index(r+1, k+1)}
}
func (e exact) rates() [3]*big.Float { return [3]*big.Float{e.miss, e.in, e.hole} }

// within walks the whole chain.
func (e exact) within(from Run, balls int) float64 {
	now := make([]*big.Float, e.states())
	for i := range now {
		now[i] = wide(0)
	}
	now[e.start(from)].SetInt64(1)
	product := wide(0)
	for range balls {
		then := make([]*big.Float, len(now))
		for i := range then {
			then[i] = wide(0)
		}
		then[e.done()].Set(now[e.done()])
		for i, mass := range now {
			if i == e.done() || mass.Sign() == 0 {
				continue
			}
			for j, to := range e.next(i) {
				then[to].Add(then[to], product.Mul(mass, e.rates()[j]))
			}
		}
		now = then
	}
	p, _ := now[e.done()].Float64()
	return p
}

// expected solves the first-step equations by Gaussian elimination.
func (e exact) expected(from Run) float64 {
	n := e.done()
	rows := make([][]*big.Float, n)
	for i := range rows {
		rows[i] = make([]*big.Float, n+1)
		for j := range rows[i] {
			rows[i][j] = wide(0)
		}
		rows[i][i].SetInt64(1)
		rows[i][n].SetInt64(1)
		for j, to := range e.next(i) {
			if to != n {
				rows[i][to].Sub(rows[i][to], e.rates()[j])
			}
		}
	}
	factor, product := wide(0), wide(0)
	for i := range rows {
		for j := range rows {
			if j == i || rows[j][i].Sign() == 0 {
				continue
			}
			factor.Quo(rows[j][i], rows[i][i])
			for k := i; k <= n; k++ {
				rows[j][k].Sub(rows[j][k], product.Mul(factor, rows[i][k]))
			}
		}
	}
	i := e.start(from)
	if i == n {
		return 0
	}
	x, _ := factor.Quo(rows[i][n], rows[i][i]).Float64()
	return x
}

// far is within for a number of balls that only squaring reaches.
func (e exact) far(from Run, balls float64) float64 {
	n := e.states()
	square := make([][]*big.Float, n)
	row := make([]*big.Float, n)
	for i := range square {
		row[i] = wide(0)
		square[i] = make([]*big.Float, n)
		for j := range square[i] {
			square[i][j] = wide(0)
		}
		if i == e.done() {
			square[i][i].SetInt64(1)
			continue
		}
		for j, to := range e.next(i) {
			square[i][to].Add(square[i][to], e.rates()[j])
		}
	}
	row[e.start(from)].SetInt64(1)
	for bits := uint64(balls); bits > 0; bits >>= 1 {
		if bits&1 == 1 {
			row = times([][]*big.Float{row}, square)[0]
		}
		square = times(square, square)
	}
	p, _ := row[e.done()].Float64()
	return p
}

func times(a, b [][]*big.Float) [][]*big.Float {
	c := make([][]*big.Float, len(a))
	product := wide(0)
	for i := range a {
		c[i] = make([]*big.Float, len(b))
		for j := range c[i] {
			c[i][j] = wide(0)
			for k := range b {
				if a[i][k].Sign() != 0 && b[k][j].Sign() != 0 {
					c[i][j].Add(c[i][j], product.Mul(a[i][k], b[k][j]))
				}
			}
		}
	}
	return c
}
