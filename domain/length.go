package domain

import (
	"math"
	"strconv"
)

// Length is a distance in tenths of a millimetre, the coarsest whole unit in
// which an inch (25.4 mm) and a foot (304.8 mm) are exact. Radii and leaves are
// compared for equality and order, which binary fractions of a metre do not
// survive.
type Length int32

// Lengths the trade speaks in.
const (
	Metre Length = 10_000
	Foot  Length = 3_048
	Yard         = 3 * Foot
)

// MaxLength is the longest distance accepted anywhere, 1,000 m: far beyond the
// short game, and safely inside the type.
const MaxLength = 1000 * Metre

// Metres converts metres to the nearest Length. Values that are not numbers or
// lie outside ±MaxLength are reported by ok = false.
func Metres(m float64) (l Length, ok bool) {
	if math.IsNaN(m) || math.Abs(m) > MaxLength.Metres() {
		return 0, false
	}
	return Length(math.Round(m * float64(Metre))), true
}

// Metres gives the length in metres.
func (l Length) Metres() float64 { return float64(l) / float64(Metre) }

// Feet gives the length in feet.
func (l Length) Feet() float64 { return float64(l) / float64(Foot) }

// In writes the length for a reader whose unit is known: metres to the hundredth,
// or feet to the tenth.
func (l Length) In(metric bool) string {
	if metric {
		return decimals(l.Metres(), 2) + " m"
	}
	return decimals(l.Feet(), 1) + " ft"
}

// String writes both units, first the one in which the length is round: "1.5 ft
// (0.46 m)", "2 m (6.6 ft)". It is for messages to readers whose unit is not
// known, not for machines. Only a length that is round in neither is given to
// the tenth of a millimetre.
func (l Length) String() string {
	feet, metres := l.In(false), l.In(true)
	tenths := math.Round(l.Feet() * 10)
	if l%(Foot/2) == 0 || l%(Metre/100) != 0 && math.Round(tenths*float64(Foot)/10) == float64(l) {
		return feet + " (" + metres + ")"
	}
	return decimals(l.Metres(), 4) + " m (" + feet + ")"
}

// decimals writes a number with at most so many decimals.
func decimals(x float64, most int) string {
	scale := math.Pow10(most)
	// Adding 0 makes 0 of −0.
	return strconv.FormatFloat(math.Round(x*scale)/scale+0, 'f', -1, 64)
}
