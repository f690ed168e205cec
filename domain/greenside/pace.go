package greenside

// Pace is how fast a green is for its club, when nobody knows its reading.
type Pace string

// The paces.
const (
	Slow   Pace = "slow"
	Medium Pace = "medium"
	Fast   Pace = "fast"
)

// Paces lists them, the slowest first.
func Paces() []Pace { return []Pace{Slow, Medium, Fast} }

// StimpFt is the reading in feet that a pace usually stands for at a club, whose greens
// read from 8 to 10 (common practice, no source); 0 for none of the paces.
func (p Pace) StimpFt() float64 {
	return map[Pace]float64{Slow: 8, Medium: 9, Fast: 10}[p]
}
