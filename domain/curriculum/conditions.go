package curriculum

// Surface is what a session was played on.
type Surface string

// The surfaces. Grass is the rule, and what a session is taken for that says
// nothing; elsewhere no step is passed and no rate is made, while the time counts
// as practice.
const (
	OnGreen  Surface = "green"
	OnMat    Surface = "mat"
	OnCarpet Surface = "carpet"
	InGarden Surface = "garden"
)

// Surfaces lists them.
func Surfaces() []Surface { return []Surface{OnGreen, OnMat, OnCarpet, InGarden} }

// Off reports whether the surface is another than a green.
func (s Surface) Off() bool { return s != "" && s != OnGreen }

// Variant is which version of a plan was played, on a day that goes otherwise;
// none is the plan as it stands.
type Variant string

// The variants: twenty minutes, one ball, a closed green, and rain.
const (
	ShortHour   Variant = "short"
	OneBall     Variant = "one_ball"
	ClosedGreen Variant = "closed_green"
	InRain      Variant = "rain"
)

// Variants lists them.
func Variants() []Variant { return []Variant{ShortHour, OneBall, ClosedGreen, InRain} }

// Purpose is what a test measures beside the steps; none is the usual test. A test
// with a purpose has a fixed length, so it passes no step; its balls count for
// rates.
type Purpose string

// The purposes: where a student begins, where they stand at the end, and whether
// what was passed is held weeks later.
const (
	FirstTest Purpose = "first_test"
	EndTest   Purpose = "end_test"
	Retest    Purpose = "retest"
)

// Purposes lists them.
func Purposes() []Purpose { return []Purpose{FirstTest, EndTest, Retest} }
