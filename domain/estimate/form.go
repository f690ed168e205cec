package estimate

import "math"

// DayForm is how a student's sessions differ from their level.
type DayForm struct {
	// SD is the standard deviation of a session's form, in logits, and Memory the
	// share of it that is left at the next session.
	SD, Memory float64
	// Kinds are the probabilities of the kinds of form that both are made of.
	Kinds FormKinds
}

// FormKinds are probabilities of the kinds of form, which sum to 1.
type FormKinds [len(formKinds)]float64

// usualForm is what is held for likely of a student nobody has seen.
var usualForm = func() (k FormKinds) {
	for i, f := range formKinds {
		k[i] = f.weight
	}
	return k
}()

// sds sums the kinds up by their standard deviations.
func (k FormKinds) sds() (weights [len(formSDs)]float64) {
	for i, w := range k {
		weights[formKinds[i].sd] += w
	}
	return weights
}

// form says what the kinds come to.
func (k FormKinds) form() DayForm {
	f := DayForm{Kinds: k}
	for i, w := range k {
		f.SD += w * formSDs[formKinds[i].sd] * formSDs[formKinds[i].sd]
		f.Memory += w * formKinds[i].memory
	}
	f.SD = math.Sqrt(f.SD)
	return f
}

// lasting is the variance that form adds to a session's level in the long run:
// form with a memory averages out more slowly.
func (k FormKinds) lasting() (variance float64) {
	for i, w := range k {
		sd, memory := formSDs[formKinds[i].sd], formKinds[i].memory
		variance += w * sd * sd * (1 + memory) / (1 - memory)
	}
	return variance
}

// forget leaves out kinds that have become all but impossible.
func (k *FormKinds) forget() {
	const impossible = 0.02
	sum := 0.0
	for i, w := range k {
		if w < impossible {
			k[i] = 0
		}
		sum += k[i]
	}
	for i := range k {
		k[i] /= sum
	}
}

// mixed averages a function of the level and the form.
func (k FormKinds) mixed(of *byForm) *table {
	t := new(table)
	for sd, w := range k.sds() {
		if w == 0 {
			continue
		}
		for i, x := range of[sd] {
			t[i] += float32(w) * x
		}
	}
	return t
}

// byForm is a function of the level for each standard deviation of the form.
type byForm [len(formSDs)]table

// LearnForm fits the kinds of form to what is known of each of several students:
// the mixing weights of highest likelihood, by expectation and maximisation
// (Dempster, Laird & Rubin, 1977, J. R. Statist. Soc. B 39:1-38), when the usual
// ones stand for twenty students more.
func LearnForm(students []FormKinds) FormKinds {
	const usual, rounds = 20, 50
	weights := usualForm
	for range rounds {
		var sum FormKinds
		for k, w := range usualForm {
			sum[k] = usual * w
		}
		for _, s := range students {
			for k, p := range s.under(weights) {
				sum[k] += p
			}
		}
		for k := range sum {
			weights[k] = sum[k] / float64(usual+len(students))
		}
	}
	return weights
}

// under gives the probabilities of a student's kinds, which were judged under the
// usual weights, under others.
func (k FormKinds) under(weights FormKinds) (out FormKinds) {
	sum := 0.0
	for i, p := range k {
		out[i] = p * weights[i] / usualForm[i]
		sum += out[i]
	}
	if sum == 0 {
		return k
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// Under gives the assessment for a student of an academy whose students taught it
// a prior of the rate, or Jeffreys', and kinds of form, or none. Both change rate
// and next session; what is told of the trend, the forecast and the flags stays.
//
// The intervals become as much wider or narrower as the variance of a session
// about the level is larger or smaller. The prior's balls take the place of those
// of Jeffreys'. For a single session that is the posterior itself; for more it
// leaves out that the prior ages with the balls, when it hardly matters any more.
func (a Assessment) Under(prior Prior, kinds FormKinds) Assessment {
	if a.Form.Kinds == (FormKinds{}) || a.Next.Balls == 0 {
		return a
	}
	p, q := a.Rate.A, a.Rate.B
	if kinds != (FormKinds{}) {
		kinds = a.Form.Kinds.under(kinds)
		mean := math.Min(math.Max(a.Rate.Mean, 0.02), 0.98)
		chance := 1 / (float64(a.Next.Balls) * mean * (1 - mean))
		size := math.Max((p+q+1)*(chance+a.Form.Kinds.lasting())/(chance+kinds.lasting())-1, 1)
		p, q = a.Rate.Mean*size, (1-a.Rate.Mean)*size
		before, after := a.Form.SD, kinds.form().SD
		a.Next = a.Next.wider((chance + after*after) / (chance + before*before))
		a.Form = kinds.form()
	}
	if prior = prior.orJeffreys(); p > Jeffreys.A && q > Jeffreys.B {
		p, q = p-Jeffreys.A+prior.A, q-Jeffreys.B+prior.B
	}
	if p != a.Rate.A || q != a.Rate.B {
		a.Rate = known.rate(p, q, a.Rate.EffectiveBalls)
	}
	return a
}

// wider scales the distances of the interval's ends from the mean by the root.
func (n NextSession) wider(by float64) NextSession {
	k := math.Sqrt(by)
	n.Interval80.Lo = math.Max(0, n.Mean-k*(n.Mean-n.Interval80.Lo))
	n.Interval80.Hi = math.Min(1, n.Mean+k*(n.Interval80.Hi-n.Mean))
	return n
}
