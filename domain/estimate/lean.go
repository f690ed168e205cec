package estimate

// Lean is the share of the first of two sides, of so many balls on either, with
// the interval that holds it with 95 % probability (Jeffreys' prior; Brown, Cai &
// DasGupta, Statistical Science 16, 2001). Sure reports whether the interval
// leaves out one half. The counts are 0 or more.
func Lean(first, second int) (share float64, within Interval, sure bool) {
	a, b := float64(first)+Jeffreys.A, float64(second)+Jeffreys.B
	within = Interval{betaQuantile(0.025, a, b), betaQuantile(0.975, a, b)}
	return a / (a + b), within, within.Lo > 0.5 || within.Hi < 0.5
}
