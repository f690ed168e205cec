package greenside

import (
	"math"
	"slices"
	"strconv"

	"fringework/domain"
)

// Station is one of several clubs that are played to one landing spot.
type Station struct {
	Club Club
	// Own is what was learned of the student's shots with this club.
	Own Learned
}

// Finish is where a club's balls stop that are landed on the spot.
type Finish struct {
	Club Club
	Spot Spot
	// ShortM and LongM are the distances in metres between which 80 % of the balls
	// stop; a student misses the spot, too.
	ShortM, LongM float64
}

// usualCarrySpread is the standard deviation of the carry as a share of the carry, of
// those of whom nothing was learned (common practice, no source).
const usualCarrySpread = 0.08

// MaxStations is the most clubs that are looked at together.
const MaxStations = 14

// tenth is how many standard deviations leave a tenth on each side of 80 %.
var tenth = normal.Quantile(0.9)

// Finishes tells where each club's balls stop that all land carry metres away: one
// spot and several lofts do not finish by one hole. It refuses what [Carrying]
// refuses, with pointers into {"clubs"} for the clubs.
func Finishes(stations []Station, lie Lie, g Green, carry float64) ([]Finish, error) {
	var p domain.Problems
	if countOf(&p, "/clubs", len(stations), MaxStations, "clubs"); len(p.Fields()) > 0 {
		return nil, p.Err("stations", "These stations cannot be worked out.")
	}
	finishes := make([]Finish, len(stations))
	for i, at := range stations {
		s := at.setup(lie, g)
		spot, err := Carrying(s, carry)
		if err != nil {
			repoint(&p, err, i)
			continue
		}
		short, long := s.spread(spot)
		finishes[i] = Finish{Club: at.Club, Spot: spot, ShortM: short, LongM: long}
	}
	return finishes, p.Err("stations", "These stations cannot be worked out.")
}

func (s Station) setup(lie Lie, g Green) Setup {
	return Setup{LoftDeg: s.Club.LoftDeg, Lie: lie, Green: g, Own: s.Own}
}

// repoint notes the problems of the i-th club in p: its loft is the club's, and the
// rest is of the stations as a whole, noted once.
func repoint(p *domain.Problems, err error, i int) {
	for _, f := range domain.FieldsOf(err) {
		switch {
		case f.Pointer == "/loft_deg":
			f.Pointer = "/clubs/" + strconv.Itoa(i) + f.Pointer
		case slices.Contains(p.Fields(), f):
			continue
		}
		p.Add(f.Pointer, "%s", f.Detail)
	}
}

// spread is between which distances 80 % of the balls stop: their carry varies, what
// they run grows with it, and the run varies by itself.
func (s Setup) spread(spot Spot) (short, long float64) {
	carrySD := s.Own.carrySpread() * spot.CarryM()
	faster, _ := s.at(spot.Launch.SpeedMps * 1.01)
	// gain is by how much a metre more of carry lengthens the whole.
	gain := (faster.TotalM() - spot.TotalM()) / (faster.CarryM() - spot.CarryM())
	sd := math.Hypot(gain*carrySD, s.Own.runSpread()*math.Abs(spot.Shot.RunM()))
	return max(0, spot.TotalM()-tenth*sd), spot.TotalM() + tenth*sd
}

// HalfAndHalf is the spot at which a club is half carry and half roll, in plain
// shots: the more it is hit, the greater is the part it carries. It refuses a club
// that nowhere is, with what it carries instead.
func HalfAndHalf(s Setup) (Spot, error) {
	var p domain.Problems
	s.Check(&p)
	if err := p.Err("landing_spot", "This landing spot cannot be worked out."); err != nil {
		return Spot{}, err
	}
	spot, ok := s.find(0.5, Spot.CarryShare)
	if ok && spot.CarryM() >= MinCarryM {
		return spot, nil
	}
	least, most := s.reach(Spot.CarryShare)
	remedy := "take more loft"
	if least > 0.5 {
		remedy = "take less loft"
	}
	p.Add("/loft_deg", "carries %.0f to %.0f %% of the way here, at any distance; %s", 100*least, 100*most, remedy)
	return Spot{}, p.Err("no_such_shot", "There is no such shot.")
}
