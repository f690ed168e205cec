package streak

// Table is the odds of passing a tier from every state of play, for a page
// that has no network: Table[run][holed][balls] is the probability, from 0 to
// 1, of passing it within so many further balls when the current run has that
// length and holds so many holed balls. The last row of each stands for that many
// or more: a run that has its length only waits for holed balls.
type Table [][][]float64

// TableOf computes the table for runs of 0 to t.Run balls, holed balls from 0
// to t.Holed, and 0 to balls further balls. Rates and tier are taken to satisfy
// their Check.
func TableOf(t Tier, r Rates, balls int) Table {
	var o Odds
	o.Prepare(t, r)
	table := make(Table, t.Run+1)
	for run := range table {
		table[run] = make([][]float64, t.Holed+1)
		for holed := range table[run] {
			table[run][holed] = o.through(Run{Length: run, Holed: holed}, balls)
		}
	}
	return table
}

// through is Within for 0 to balls further balls, in one walk.
func (o *Odds) through(from Run, balls int) []float64 {
	within := make([]float64, balls+1)
	if o.passed(from) {
		for n := range within {
			within[n] = 1
		}
		return within
	}
	o.begin(from)
	for n := 1; n <= balls; n++ {
		o.step()
		within[n] = min(1, o.done)
	}
	return within
}
