package advice

import (
	"math"
	"strconv"
)

// OneIn writes a chance per session, from 0 to 1, as people say it: "about 1
// session in 170", to two digits; "less than 1 session in 1,000" when it is, and
// "no session" for 0.
func OneIn(p float64) string {
	switch {
	case p <= 0:
		return "no session"
	case p < 0.001:
		return "less than 1 session in 1,000"
	case p > 2.0/3:
		return "most sessions"
	}
	n := math.Round(1 / p)
	if n >= 100 {
		n = 10 * math.Round(0.1/p)
	}
	if n >= 1000 {
		return "about 1 session in 1,000"
	}
	return "about 1 session in " + strconv.Itoa(int(n))
}
