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

// String writes whole feet as feet, anything else as metres; it is for
// messages, not for machines.
func (l Length) String() string {
	if l%Foot == 0 {
		return strconv.Itoa(int(l/Foot)) + " ft"
	}
	return strconv.FormatFloat(l.Metres(), 'f', -1, 64) + " m"
}
