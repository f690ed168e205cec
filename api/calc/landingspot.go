package calc

import (
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/greenside"
)

var carryRoll = define[carryRollIn, CarryRollOut]("carry-roll",
	"What becomes of a ball that is launched onto a green: how far it flies, hops and rolls. The slope is uphill, the landing height above the ball, and the wind from behind; negative the other way.",
	`{"speed_mps":14,"launch_deg":40,"backspin_rpm":3500,"stimp_ft":10,"slope_deg":0,"landing_height_m":0,"wind_mps":0}`, answerCarryRoll)

var landingSpot = define[landingSpotIn, LandingSpotOut]("landing-spot",
	"Where to land a plain chip or pitch so that it stops as far away as the hole, with a club from a lie onto a green; from shots of your own that were logged, it is learned how far yours run.",
	`{"to_hole_m":18,"to_green_m":6,"loft_deg":56,"lie":"fairway","stimp_ft":10,"slope_deg":0,"shots":[{"carry_m":8.2,"total_m":17.5},{"carry_m":9.1,"total_m":20.4}]}`, answerLandingSpot)

var stations = define[stationsIn, StationsOut]("stations",
	"Where the balls of several clubs stop that all land on one spot; or, with half_and_half and the name of a club, the spot from which on that club runs as far as it flew. Without clubs: a low, a middle and a high wedge.",
	`{"clubs":[{"name":"9-iron","loft_deg":41},{"name":"sand wedge","loft_deg":55}],"carry_m":7,"lie":"fairway","stimp_ft":9,"slope_deg":0}`, answerStations)

// greenIn is a green; the slope is 0 unless given.
type greenIn struct {
	StimpFt  *float64 `json:"stimp_ft" validate:"required"`
	SlopeDeg float64  `json:"slope_deg"`
}

func (g greenIn) read(p *domain.Problems) greenside.Green {
	return greenside.Green{StimpFt: need(p, "/stimp_ft", g.StimpFt), SlopeDeg: g.SlopeDeg}
}

// carryRollIn is the input of carry-roll.
type carryRollIn struct {
	SpeedMps    *float64 `json:"speed_mps" validate:"required"`
	LaunchDeg   *float64 `json:"launch_deg" validate:"required"`
	BackspinRPM *float64 `json:"backspin_rpm" validate:"required"`
	greenIn
	// LandingHeightM is how much higher than the ball the landing spot is, in metres.
	LandingHeightM float64 `json:"landing_height_m"`
	// WindMps is the wind along the shot in metres a second, positive from behind.
	WindMps float64 `json:"wind_mps"`
}

// CarryRollOut is the answer of carry-roll. Lengths on the ground are measured along
// the green.
type CarryRollOut struct {
	CarryM     float64 `json:"carry_m"`
	ApexM      float64 `json:"apex_m"`
	DescentDeg float64 `json:"descent_deg"`
	// LandingSpeedMps is the speed of the ball as it lands, in metres a second.
	LandingSpeedMps float64 `json:"landing_speed_mps"`
	// BounceM is how far all its hops carry it on, until it rolls, RollM how far it then
	// rolls, both forward, and BackM how far it comes back; TotalM is where it stops.
	BounceM float64 `json:"bounce_m"`
	RollM   float64 `json:"roll_m"`
	BackM   float64 `json:"back_m"`
	TotalM  float64 `json:"total_m"`
	// CarryShare is the carry over the total; above 1 for a ball that comes back.
	CarryShare float64 `json:"carry_share"`
}

func answerCarryRoll(in carryRollIn, p *domain.Problems) (any, error) {
	l := greenside.Launch{
		SpeedMps: need(p, "/speed_mps", in.SpeedMps), LaunchDeg: need(p, "/launch_deg", in.LaunchDeg),
		BackspinRPM: need(p, "/backspin_rpm", in.BackspinRPM), LandingHeightM: in.LandingHeightM, WindMps: in.WindMps,
	}
	g := in.greenIn.read(p)
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	s, err := greenside.CarryAndRoll(l, g)
	if err != nil {
		return nil, relay(p, err)
	}
	return CarryRollOut{
		CarryM: s.CarryM, ApexM: s.ApexM, DescentDeg: s.DescentDeg, LandingSpeedMps: s.LandingSpeedMps,
		BounceM: s.BounceM, RollM: s.RollM, BackM: s.BackM, TotalM: s.TotalM(), CarryShare: s.CarryShare(),
	}, nil
}

// loggedIn is where a ball landed and stopped, and where it was to land, if known.
type loggedIn struct {
	// CarryM is how far the ball flew, in metres.
	CarryM *float64 `json:"carry_m" validate:"required"`
	// TotalM is how far it went in all, in metres.
	TotalM *float64 `json:"total_m" validate:"required"`
	// AimM is how far away it was to land, in metres; 0 if that is not known.
	AimM float64 `json:"aim_m"`
}

func readShots(p *domain.Problems, pointer string, in []loggedIn) []greenside.Logged {
	shots := make([]greenside.Logged, len(in))
	for i, shot := range in {
		here := at(pointer, i)
		shots[i] = greenside.Logged{
			CarryM: need(p, here+"/carry_m", shot.CarryM), TotalM: need(p, here+"/total_m", shot.TotalM), AimM: shot.AimM,
		}
	}
	return shots
}

// lieOr is the lie, the fairway unless given.
func lieOr(lie *string) greenside.Lie {
	if lie == nil {
		return greenside.Fairway
	}
	return greenside.Lie(*lie)
}

// landingSpotIn is the input of landing-spot.
type landingSpotIn struct {
	// ToHoleM is the distance to the hole, in metres.
	ToHoleM *float64 `json:"to_hole_m" validate:"required"`
	// ToGreenM is the distance to the edge of the green, in metres.
	ToGreenM *float64 `json:"to_green_m" validate:"required"`
	LoftDeg  *float64 `json:"loft_deg" validate:"required"`
	Lie      *string  `json:"lie"`
	greenIn
	// Shots are the player's own balls with this club, to learn from.
	Shots []loggedIn `json:"shots"`
}

// LandingSpotOut is the answer of landing-spot.
type LandingSpotOut struct {
	// CarryM is where to land it, RollM how far it goes on from there, hops and roll.
	CarryM     float64 `json:"carry_m"`
	RollM      float64 `json:"roll_m"`
	CarryShare float64 `json:"carry_share"`
	// AimM is where to aim, for a student who lands balls elsewhere than aimed.
	AimM float64 `json:"aim_m"`
	// SpeedMps, LaunchDeg and BackspinRPM are of the ball as it leaves the club.
	SpeedMps    float64 `json:"speed_mps"`
	LaunchDeg   float64 `json:"launch_deg"`
	BackspinRPM float64 `json:"backspin_rpm"`
	ApexM       float64 `json:"apex_m"`
	DescentDeg  float64 `json:"descent_deg"`
	// Learned is what the shots taught; null without any.
	Learned *LearnedOut `json:"learned"`
}

// LearnedOut is how far the student's balls run, over how far physics lets them run.
type LearnedOut struct {
	// RunFactor is how far the player's balls run, over how far physics lets them run.
	RunFactor  float64    `json:"run_factor"`
	Interval80 [2]float64 `json:"interval80"`
	// RunSpread is the standard deviation from ball to ball, as a share of the run.
	RunSpread float64 `json:"run_spread"`
	// CarryFactor is the carry over what was aimed at; null without an aim.
	CarryFactor *float64 `json:"carry_factor"`
	// Balls is from how many balls it was learned.
	Balls int `json:"balls"`
}

func learnedOut(l greenside.Learned) *LearnedOut {
	if l.Run.Balls == 0 {
		return nil
	}
	return &LearnedOut{
		RunFactor: l.Run.Factor, Interval80: [2]float64{l.Run.Low, l.Run.High}, RunSpread: l.Run.Spread,
		CarryFactor: finiteIf(l.Carry.Balls > 0, l.Carry.Factor), Balls: l.Run.Balls,
	}
}

func answerLandingSpot(in landingSpotIn, p *domain.Problems) (any, error) {
	s := greenside.Setup{LoftDeg: need(p, "/loft_deg", in.LoftDeg), Lie: lieOr(in.Lie), Green: in.greenIn.read(p)}
	toHole, toGreen := need(p, "/to_hole_m", in.ToHoleM), need(p, "/to_green_m", in.ToGreenM)
	shots := readShots(p, "/shots", in.Shots)
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	var err error
	if s.Own, err = greenside.Learn(s, shots); err != nil {
		return nil, relay(p, err)
	}
	spot, err := greenside.LandingSpot(s, toHole, toGreen)
	if err != nil {
		return nil, relay(p, err)
	}
	return LandingSpotOut{
		CarryM: spot.CarryM(), RollM: spot.RunM, CarryShare: spot.CarryShare(), AimM: s.Own.AimM(spot.CarryM()),
		SpeedMps: spot.Launch.SpeedMps, LaunchDeg: spot.Launch.LaunchDeg, BackspinRPM: spot.Launch.BackspinRPM,
		ApexM: spot.Shot.ApexM, DescentDeg: spot.Shot.DescentDeg, Learned: learnedOut(s.Own),
	}, nil
}

// clubIn is one club.
type clubIn struct {
	Name    *string  `json:"name" validate:"required"`
	LoftDeg *float64 `json:"loft_deg" validate:"required"`
	// Shots are the player's own balls with this club, to learn from.
	Shots []loggedIn `json:"shots"`
}

// stationsIn is the input of stations.
type stationsIn struct {
	// Clubs are the clubs to play to one landing spot.
	Clubs *[]clubIn `json:"clubs"`
	// CarryM is the spot; HalfAndHalf names the club that chooses it instead.
	CarryM      *float64 `json:"carry_m"`
	HalfAndHalf *string  `json:"half_and_half"`
	Lie         *string  `json:"lie"`
	greenIn
}

// StationsOut is the answer of stations.
type StationsOut struct {
	// CarryM is the landing spot.
	CarryM float64 `json:"carry_m"`
	// Clubs are the clubs, in the order given.
	Clubs []StationOut `json:"clubs"`
}

// StationOut is where a club's balls stop.
type StationOut struct {
	Name       string  `json:"name"`
	LoftDeg    float64 `json:"loft_deg"`
	RollM      float64 `json:"roll_m"`
	TotalM     float64 `json:"total_m"`
	CarryShare float64 `json:"carry_share"`
	// Interval80 bounds where 80 % of the balls stop, in metres.
	Interval80 [2]float64 `json:"interval80"`
	ApexM      float64    `json:"apex_m"`
	DescentDeg float64    `json:"descent_deg"`
	// Learned is what the shots taught; null without any.
	Learned *LearnedOut `json:"learned"`
}

func answerStations(in stationsIn, p *domain.Problems) (any, error) {
	g := in.greenIn.read(p)
	switch {
	case in.CarryM == nil && in.HalfAndHalf == nil:
		p.Add("/carry_m", "is missing; give either carry_m, the landing spot in metres, or half_and_half, the name of a club")
	case in.CarryM != nil && in.HalfAndHalf != nil:
		p.Add("/carry_m", "is given, and half_and_half too; give either carry_m or half_and_half")
	}
	if in.Clubs != nil {
		*in.Clubs = most(p, "/clubs", "clubs", *in.Clubs, greenside.MaxStations)
	}
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	all, err := readStations(in, g, p)
	if err != nil || len(p.Fields()) > 0 {
		return nil, err
	}
	carry, err := in.spot(p, all, g)
	if err != nil || len(p.Fields()) > 0 {
		return nil, err
	}
	finishes, err := greenside.Finishes(all, lieOr(in.Lie), g, carry)
	if err != nil {
		return nil, relay(p, err)
	}
	out := StationsOut{CarryM: carry, Clubs: make([]StationOut, len(finishes))}
	for i, f := range finishes {
		out.Clubs[i] = StationOut{
			Name: f.Club.Name, LoftDeg: f.Club.LoftDeg,
			RollM: f.Spot.RunM, TotalM: f.Spot.TotalM(), CarryShare: f.Spot.CarryShare(),
			Interval80: [2]float64{f.ShortM, f.LongM},
			ApexM:      f.Spot.Shot.ApexM, DescentDeg: f.Spot.Shot.DescentDeg, Learned: learnedOut(all[i].Own),
		}
	}
	return out, nil
}

// readStations reads the clubs, and learns from the shots of each.
func readStations(in stationsIn, g greenside.Green, p *domain.Problems) ([]greenside.Station, error) {
	var all []greenside.Station
	if in.Clubs == nil {
		for _, club := range greenside.Wedges() {
			all = append(all, greenside.Station{Club: club})
		}
		return all, nil
	}
	for i, club := range *in.Clubs {
		here := at("/clubs", i)
		s := greenside.Station{Club: greenside.Club{
			Name: need(p, here+"/name", club.Name), LoftDeg: need(p, here+"/loft_deg", club.LoftDeg),
		}}
		shots := readShots(p, here+"/shots", club.Shots)
		if len(shots) > 0 && len(p.Fields()) == 0 {
			setup := greenside.Setup{LoftDeg: s.Club.LoftDeg, Lie: lieOr(in.Lie), Green: g}
			var err error
			if s.Own, err = greenside.Learn(setup, shots); err != nil {
				return nil, relayClub(p, err, i)
			}
		}
		all = append(all, s)
	}
	return all, nil
}

// spot is the landing spot: as given, or chosen by a club.
func (in stationsIn) spot(p *domain.Problems, all []greenside.Station, g greenside.Green) (float64, error) {
	if in.CarryM != nil {
		return *in.CarryM, nil
	}
	i := slices.IndexFunc(all, func(s greenside.Station) bool { return s.Club.Name == *in.HalfAndHalf })
	if i < 0 {
		p.Add("/half_and_half", "is %q, which is none of the clubs; give the name of one of them", *in.HalfAndHalf)
		return 0, nil
	}
	s := greenside.Setup{LoftDeg: all[i].Club.LoftDeg, Lie: lieOr(in.Lie), Green: g, Own: all[i].Own}
	spot, err := greenside.HalfAndHalf(s)
	if err != nil {
		return 0, relayClub(p, err, i)
	}
	return spot.CarryM(), nil
}

// relayClub is relay for what is wrong with the i-th club.
func relayClub(p *domain.Problems, err error, i int) error {
	var refused domain.Problems
	if err := relay(&refused, err); err != nil {
		return err
	}
	for _, f := range refused.Fields() {
		if f.Pointer == "/loft_deg" || strings.HasPrefix(f.Pointer, "/shots") {
			f.Pointer = at("/clubs", i) + f.Pointer
		}
		p.Add(f.Pointer, "%s", f.Detail)
	}
	return nil
}
