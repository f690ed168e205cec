package estimate

import "math"

// The model of balls when nothing depends on the run: the log-odds of ball j of
// a session is
//
//	level + drift·(j/30 − ½) + warming·exp(−j/6) + √variance·z,
//
// with j from 0, and z standard normal, drawn once for a session: the day's
// form. Being late would add to it.
const (
	levelTerm = iota
	driftTerm
	warmingTerm
	varianceTerm
	lateTerm
	terms
)

type (
	vector [terms]float64
	matrix [terms][terms]float64
)

const (
	// pieceBalls is how many balls of a session share a form, and after how
	// many the drift is over; longer sessions are cut.
	pieceBalls = 100
	// driftPrecision of the normal priors of drift and warming, about 0: a
	// standard deviation of 1 logit in thirty balls.
	driftPrecision = 1
	// The normal prior of the variance of form is centred at 0.25 logits
	// squared, and wide: its standard deviation is 0.3.
	usualVariance, variancePrecision = 0.06, 11
	// leastVariance keeps the square root smooth. Where it binds, the score of
	// the variance is not 0, and is taken out of that of the late balls as well:
	// otherwise students without a day's form would seem to drop.
	leastVariance = 0.01
)

// dayForms are the values of z that stand for all, every 0.4 from −4 to 4, and
// their log weights. With these the model is one of 21 forms, whose scores are
// martingales as exactly as those of the normal one.
var dayForms, dayFormWeights = func() (z, logWeight [21]float64) {
	sum := 0.0
	for k := range z {
		z[k] = 0.4 * float64(k-len(z)/2)
		sum += math.Exp(-z[k] * z[k] / 2)
	}
	for k := range z {
		logWeight[k] = -z[k]*z[k]/2 - math.Log(sum)
	}
	return z, logWeight
}()

// lateModel is the balls of all sessions, summed up as far as the model allows.
type lateModel struct {
	drift, warming []float64 // by position
	pieces         []piece
	sums           []ballSums // by form and number of balls
	// middle is the log-odds of a ball by position on a middling day, odds their
	// exponential.
	middle, odds []float64
}

// piece is a session, or up to pieceBalls of a long one.
type piece struct {
	balls, inside int
	drift         float64 // the sums over the balls inside
	warming       float64
	lateInside    int
	late          []int // positions of the late balls
	later         bool  // all balls are at the last position
}

// ballSums are sums over balls: the probability p, and p(1−p), both also times
// drift and warming; and what minus the log-likelihood if they were outside is made
// of, the sum of max(η, 0) and the product of 1 + exp(−|η|), so that it takes one
// logarithm for all balls.
type ballSums struct {
	above, product           float64
	p, pd, pw                float64
	v, vd, vw, vdd, vdw, vww float64
}

// outside is minus the log-likelihood of the balls if all were outside.
func (a *ballSums) outside() float64 { return a.above + math.Log(a.product) }

func newLateModel(sessions [][]bool, lateFrom int) *lateModel {
	longest := 0
	for _, s := range sessions {
		longest = max(longest, min(len(s), pieceBalls))
	}
	m := &lateModel{drift: make([]float64, longest), warming: make([]float64, longest), middle: make([]float64, longest), odds: make([]float64, longest)}
	for j := range longest {
		m.drift[j] = float64(j)/30 - 0.5
		m.warming[j] = math.Exp(-float64(j) / 6)
	}
	for _, s := range sessions {
		m.add(s, lateFrom)
	}
	m.sums = make([]ballSums, len(dayForms)*(longest+1))
	return m
}

// add cuts a session into pieces.
func (m *lateModel) add(session []bool, lateFrom int) {
	run := 0
	for j, inside := range session {
		if j%pieceBalls == 0 {
			m.pieces = append(m.pieces, piece{later: j > 0})
		}
		p, at := &m.pieces[len(m.pieces)-1], min(j, len(m.drift)-1)
		p.balls++
		late := run >= lateFrom
		if late {
			p.late = append(p.late, at)
		}
		if run++; !inside {
			run = 0
			continue
		}
		p.inside++
		p.drift += m.drift[at]
		p.warming += m.warming[at]
		if late {
			p.lateInside++
		}
	}
}

// lateFit is the model at some parameters, with nothing added to late balls:
// the penalised log-likelihood, its gradient and the observed information.
type lateFit struct {
	at          vector
	likelihood  float64
	gradient    vector
	information matrix
	// variance is the expected information about the variance of form, as if
	// the balls inside a session were normal. It cannot be negative, as the
	// observed one can.
	variance float64
	// spread is the sum of p(1−p) over the late balls.
	spread float64
}

// evaluate sums over the pieces, and for each over the forms.
func (m *lateModel) evaluate(t vector) lateFit {
	m.sumBalls(t)
	f := lateFit{at: t, variance: variancePrecision}
	var weights [len(dayForms)]float64
	var scores [len(dayForms)]vector
	var informations [len(dayForms)]matrix
	for i := range m.pieces {
		p := &m.pieces[i]
		top := math.Inf(-1)
		for k, z := range dayForms {
			all, late := m.sumsOf(p, k)
			weights[k] = dayFormWeights[k] + p.logOdds(t, z) - all.outside()
			top = max(top, weights[k])
			scores[k], informations[k] = p.given(all, late, z, t[varianceTerm])
			if z == 0 {
				f.spread += late.v
				w := all.v / (1 + t[varianceTerm]*all.v)
				f.variance += w * w / 2
			}
		}
		total := 0.0
		for k := range weights {
			weights[k] = math.Exp(weights[k] - top)
			total += weights[k]
		}
		f.likelihood += top + math.Log(total)
		var mean vector
		for k, w := range weights {
			w /= total
			s, j := &scores[k], &informations[k]
			for a := range terms {
				mean[a] += w * s[a]
				for b := range a + 1 {
					f.information[a][b] += w * (j[a][b] - s[a]*s[b])
				}
			}
		}
		for a := range terms {
			f.gradient[a] += mean[a]
			for b := range a + 1 {
				f.information[a][b] += mean[a] * mean[b]
			}
		}
	}
	f.addPriors()
	for a := range terms {
		for b := range a {
			f.information[b][a] = f.information[a][b]
		}
	}
	return f
}

// sumBalls fills m.sums.
func (m *lateModel) sumBalls(t vector) {
	n, root := len(m.drift)+1, math.Sqrt(t[varianceTerm])
	for j, d := range m.drift {
		m.middle[j] = t[levelTerm] + t[driftTerm]*d + t[warmingTerm]*m.warming[j]
		m.odds[j] = math.Exp(m.middle[j])
	}
	for k, z := range dayForms {
		row, c, by := m.sums[k*n:(k+1)*n], ballSums{product: 1}, math.Exp(root*z)
		row[0] = c
		for j, d := range m.drift {
			w, odds := m.warming[j], m.odds[j]*by
			q := 1 / (1 + odds)
			p := odds * q
			v := p * q
			if odds > 1 { // 1 + odds would grow without end
				c.above += m.middle[j] + root*z
				odds = 1 / odds
			}
			c.product *= 1 + odds
			c.p, c.pd, c.pw = c.p+p, c.pd+p*d, c.pw+p*w
			c.v, c.vd, c.vw = c.v+v, c.vd+v*d, c.vw+v*w
			c.vdd, c.vdw, c.vww = c.vdd+v*d*d, c.vdw+v*d*w, c.vww+v*w*w
			row[j+1] = c
		}
	}
}

// sumsOf adds up the balls of a piece at a form, all and late.
func (m *lateModel) sumsOf(p *piece, form int) (all, late ballSums) {
	row := m.sums[form*(len(m.drift)+1):]
	if all = row[min(p.balls, len(m.drift))]; p.later {
		all = row[len(m.drift)].minus(row[len(m.drift)-1]).times(float64(p.balls))
	}
	for _, at := range p.late {
		a, b := &row[at], &row[at+1]
		late.p += b.p - a.p
		late.v += b.v - a.v
		late.vd += b.vd - a.vd
		late.vw += b.vw - a.vw
	}
	return all, late
}

func (a ballSums) minus(b ballSums) ballSums {
	return ballSums{
		a.above - b.above, a.product / b.product, a.p - b.p, a.pd - b.pd, a.pw - b.pw,
		a.v - b.v, a.vd - b.vd, a.vw - b.vw, a.vdd - b.vdd, a.vdw - b.vdw, a.vww - b.vww,
	}
}

func (a ballSums) times(n float64) ballSums {
	return ballSums{
		n * a.outside(), 1, n * a.p, n * a.pd, n * a.pw,
		n * a.v, n * a.vd, n * a.vw, n * a.vdd, n * a.vdw, n * a.vww,
	}
}

// logOdds is the sum of the log-odds of the balls inside.
func (p *piece) logOdds(t vector, z float64) float64 {
	level := t[levelTerm] + math.Sqrt(t[varianceTerm])*z
	return level*float64(p.inside) + t[driftTerm]*p.drift + t[warmingTerm]*p.warming
}

// given is the score and the observed information of a piece if its form were
// known; of the information the lower half.
func (p *piece) given(all, late ballSums, z, variance float64) (s vector, j matrix) {
	// The first and second derivatives of √variance·z.
	first := z / (2 * math.Sqrt(variance))
	second := -first / (2 * variance)
	s[levelTerm] = float64(p.inside) - all.p
	s[driftTerm] = p.drift - all.pd
	s[warmingTerm] = p.warming - all.pw
	s[varianceTerm] = first * s[levelTerm]
	s[lateTerm] = float64(p.lateInside) - late.p
	j[levelTerm][levelTerm] = all.v
	j[driftTerm][levelTerm], j[driftTerm][driftTerm] = all.vd, all.vdd
	j[warmingTerm][levelTerm], j[warmingTerm][driftTerm], j[warmingTerm][warmingTerm] = all.vw, all.vdw, all.vww
	j[varianceTerm][levelTerm], j[varianceTerm][driftTerm], j[varianceTerm][warmingTerm] = first*all.v, first*all.vd, first*all.vw
	j[varianceTerm][varianceTerm] = first*first*all.v - second*s[levelTerm]
	j[lateTerm] = vector{late.v, late.vd, late.vw, first * late.v, late.v}
	return s, j
}

// addPriors adds half a ball inside and half a ball outside to the level, and
// the normal priors of drift, warming and variance.
func (f *lateFit) addPriors() {
	level := f.at[levelTerm]
	p := logistic(level)
	f.likelihood += (logLogistic(level) + logLogistic(-level)) / 2
	f.gradient[levelTerm] += 0.5 - p
	f.information[levelTerm][levelTerm] += p * (1 - p)
	for _, prior := range []struct {
		term            int
		mean, precision float64
	}{{driftTerm, 0, driftPrecision}, {warmingTerm, 0, driftPrecision}, {varianceTerm, usualVariance, variancePrecision}} {
		d := f.at[prior.term] - prior.mean
		f.likelihood -= prior.precision * d * d / 2
		f.gradient[prior.term] -= prior.precision * d
		f.information[prior.term][prior.term] += prior.precision
	}
}

// nuisance are the terms that are fitted: all but late.
var nuisance = [terms]bool{levelTerm: true, driftTerm: true, warmingTerm: true, varianceTerm: true}

// fit maximises the penalised likelihood over the free terms, by Newton's
// method; the others stay as they are. ok is false if it does not settle.
func (m *lateModel) fit(start vector, free [terms]bool) (f lateFit, ok bool) {
	f = m.evaluate(start)
	for range 60 {
		moving := free
		if f.at[varianceTerm] <= leastVariance && f.gradient[varianceTerm] < 0 {
			moving[varianceTerm] = false
		}
		step := ascent(f, moving)
		size := 0.0
		for _, d := range step {
			size = max(size, math.Abs(d))
		}
		if size < 1e-5 {
			return f, true
		}
		better := false
		for scale := min(1, 1.5/size); !better && scale > 1e-9; scale /= 2 {
			next := f.at
			for a := range next {
				next[a] += scale * step[a]
			}
			if free[varianceTerm] {
				next[varianceTerm] = max(next[varianceTerm], leastVariance)
			}
			if g := m.evaluate(next); g.likelihood >= f.likelihood-1e-12*math.Abs(f.likelihood) {
				f, better = g, true
			}
		}
		if !better {
			return f, false
		}
	}
	return f, false
}

// ascent is Newton's step, with as much added to the information as makes it
// positive.
func ascent(f lateFit, free [terms]bool) vector {
	for ridge := 0.0; ; ridge = max(0.001, 4*ridge) {
		m := f.information
		for a := range m {
			m[a][a] += ridge * (1 + math.Abs(m[a][a]))
		}
		if step, ok := solve(m, f.gradient, free); ok {
			return step
		}
	}
}

// lateScore is how many late balls more were inside than expected, and its
// variance, in balls. What follows from the nuisance terms being fitted is taken out of both:
// the efficient score. ok is false when the information is not positive.
func (f lateFit) lateScore(free [terms]bool) (score, variance float64, ok bool) {
	m := f.information
	m[varianceTerm][varianceTerm] = max(m[varianceTerm][varianceTerm], f.variance)
	share, ok := solve(m, m[lateTerm], free)
	score, variance = f.gradient[lateTerm], m[lateTerm][lateTerm]
	for a, x := range share {
		score -= x * f.gradient[a]
		variance -= x * m[lateTerm][a]
	}
	return score, variance, ok && variance > 0
}

// solve gives x with m·x = b in the free terms, and 0 in the others, by
// Cholesky's method. ok is false when m is not positive there.
func solve(m matrix, b vector, free [terms]bool) (x vector, ok bool) {
	for i := range terms {
		if !free[i] {
			b[i], m[i] = 0, vector{}
			for j := range terms {
				m[j][i] = 0
			}
			m[i][i] = 1
		}
	}
	for i := range terms {
		for j := range i + 1 {
			sum := m[i][j]
			for k := range j {
				sum -= m[i][k] * m[j][k]
			}
			switch {
			case j < i:
				m[i][j] = sum / m[j][j]
			case sum > 1e-12:
				m[i][i] = math.Sqrt(sum)
			default:
				return x, false
			}
		}
	}
	for i := range terms {
		x[i] = b[i]
		for k := range i {
			x[i] -= m[i][k] * x[k]
		}
		x[i] /= m[i][i]
	}
	for i := terms - 1; i >= 0; i-- {
		for k := i + 1; k < terms; k++ {
			x[i] -= m[k][i] * x[k]
		}
		x[i] /= m[i][i]
	}
	return x, true
}
