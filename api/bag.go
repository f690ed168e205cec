package api

import (
	"math"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/greenside"
	"fringework/domain/practice"
)

// bagPath is where a student's clubs are, as the router sees it.
const bagPath = "/v1/students/:student_id/bag"

// Club is one of a student's clubs.
type Club struct {
	Name    string  `json:"name" validate:"required" binding:"required" maxLength:"60" example:"sand wedge"`
	LoftDeg float64 `json:"loft_deg" validate:"required" binding:"required" minimum:"24" maximum:"70" example:"56"`
} // @name Club

// BagBody is the clubs that a student plays around the green.
type BagBody struct {
	// Hand is which way round the student plays.
	Hand string `json:"hand" validate:"required" binding:"required" extensions:"x-words=hands" example:"right"`
	// Clubs are in the student's own order. Without any, the usual clubs and lofts are
	// taken. A programme may name a club by a usual name, by its loft, or as low,
	// middle or high wedge; the student reads the own club that comes nearest.
	Clubs []Club `json:"clubs,omitempty" maxItems:"14"`
} // @name BagBody

// Bag is a student's clubs, with what was learned of where they land and run.
type Bag struct {
	BagBody
	// Set is false while nobody has set it.
	Set bool `json:"set" binding:"required"`
	// Spots has the clubs of the bag, or the usual ones, from the fairway, and from
	// each other lie that balls were logged from.
	Spots []ClubSpot `json:"spots" binding:"required"`
} // @name Bag

// GreenToday is how a green runs.
type GreenToday struct {
	// StimpFt is the reading of the stimpmeter in feet, the greenkeeper's figure.
	StimpFt float64 `json:"stimp_ft" validate:"required" binding:"required" minimum:"4" maximum:"16" example:"9"`
	// SlopeDeg is how steeply it rises along the shot, in degrees; negative downhill.
	SlopeDeg float64 `json:"slope_deg,omitempty" minimum:"-6" maximum:"6" example:"-1"`
} // @name GreenToday

// Landing is a ball of which the student said where it landed and stopped.
type Landing struct {
	Club    string  `json:"club,omitempty" maxLength:"60" example:"sand wedge"`
	LoftDeg float64 `json:"loft_deg" validate:"required" binding:"required" minimum:"24" maximum:"70" example:"56"`
	Lie     string  `json:"lie" validate:"required" binding:"required" extensions:"x-words=lies" example:"fairway"`
	// CarryM is how far from where it lay the ball landed, and TotalM how far from
	// there it stopped, in metres; paces or club lengths are good enough.
	CarryM float64 `json:"carry_m" validate:"required" binding:"required" minimum:"0.5" maximum:"50" example:"5.4"`
	TotalM float64 `json:"total_m" validate:"required" binding:"required" minimum:"0" maximum:"100" example:"11.7"`
	// AimM is how far away it was to land, in metres; left out if not known.
	AimM float64 `json:"aim_m,omitempty" minimum:"0" maximum:"50" example:"5.4"`
} // @name Landing

// ClubSpot is what was learned of a club from a lie.
type ClubSpot struct {
	Club
	Lie string `json:"lie" binding:"required" extensions:"x-words=lies" example:"fairway"`
	// Learned is absent until balls were logged.
	Learned *LearnedSpot `json:"learned,omitempty"`
} // @name ClubSpot

// LearnedSpot is what logged balls say: physics before any ball, and more and more the
// student's own shots.
type LearnedSpot struct {
	// Balls is from how many it was learned.
	Balls int `json:"balls" binding:"required" example:"15"`
	// RunFactor is how far the student's balls run, over how far physics lets them
	// run; Interval80 holds it with a probability of 80 %.
	RunFactor  float64    `json:"run_factor" binding:"required" example:"1.15"`
	Interval80 [2]float64 `json:"run_factor_interval80" binding:"required"`
	// CarryFactor is how far they carry over how far they were to carry; absent when
	// no ball had an aim.
	CarryFactor *float64 `json:"carry_factor,omitempty" example:"0.95"`
	// Green is that of the last logged ball, CarryM where that was to land, and RunM
	// how far the next one is expected to run on from there.
	Green  GreenToday `json:"green" binding:"required"`
	CarryM float64    `json:"carry_m" binding:"required" example:"5.4"`
	RunM   float64    `json:"run_m" binding:"required" example:"6.3"`
	// Text says the same in paces.
	Text string `json:"text" binding:"required" example:"Land it 6 paces away; it then rolls 7 paces. From 15 balls."`
} // @name LearnedSpot

// Station is a club of a block of stations, with how far its balls run.
type Station struct {
	ClubSpot
	Table LandingTable `json:"table" binding:"required"`
} // @name Station

// LandingTable is how far a club's balls run, by physics, for a page without a
// network. Multiply by the learned run_factor. Read it between its entries so that one
// over the run is in proportion to one over the speed and to the slope.
type LandingTable struct {
	// CarryM are the distances of the landing spots, in metres, rising. ApexM is how
	// high the ball flies to each, and DescentDeg the angle at which it comes down.
	CarryM     []float64 `json:"carry_m" binding:"required"`
	ApexM      []float64 `json:"apex_m" binding:"required"`
	DescentDeg []float64 `json:"descent_deg" binding:"required"`
	// StimpFt and SlopeDeg are the greens, rising.
	StimpFt  []float64 `json:"stimp_ft" binding:"required"`
	SlopeDeg []float64 `json:"slope_deg" binding:"required"`
	// RunM gives at [carry][speed][slope] how far the ball runs on, in metres;
	// negative when it comes back.
	RunM [][][]float64 `json:"run_m" binding:"required"`
} // @name LandingTable

func (b BagBody) read() greenside.Bag {
	bag := greenside.Bag{Hand: greenside.Hand(b.Hand)}
	for _, c := range b.Clubs {
		bag.Clubs = append(bag.Clubs, greenside.Club{Name: c.Name, LoftDeg: c.LoftDeg})
	}
	return bag
}

func (x Landing) read(p *domain.Problems, at string) practice.Landing {
	return practice.Landing{
		Club: x.Club, LoftDeg: x.LoftDeg, Lie: greenside.Lie(x.Lie),
		Carry: length(p, at+"/carry_m", x.CarryM), Total: length(p, at+"/total_m", x.TotalM), Aim: length(p, at+"/aim_m", x.AimM),
	}
}

func encodeLanding(x practice.Landing) Landing {
	return Landing{
		Club: x.Club, LoftDeg: x.LoftDeg, Lie: string(x.Lie),
		CarryM: x.Carry.Metres(), TotalM: x.Total.Metres(), AimM: x.Aim.Metres(),
	}
}

func encodeBag(own academy.OwnBag) Bag {
	return Bag{
		BagBody: BagBody{Hand: string(own.Hand), Clubs: each(own.Clubs, encodeClub)},
		Set:     own.Set, Spots: each(own.Spots, encodeClubSpot),
	}
}

func encodeClub(c greenside.Club) Club { return Club{Name: c.Name, LoftDeg: c.LoftDeg} }

func encodeClubSpot(s academy.ClubSpot) ClubSpot {
	out := ClubSpot{Club: encodeClub(s.Club), Lie: string(s.Lie)}
	run := s.Learned.Run
	if run.Balls == 0 {
		return out
	}
	out.Learned = &LearnedSpot{
		Balls: run.Balls, RunFactor: hundredths(run.Factor), Interval80: [2]float64{hundredths(run.Low), hundredths(run.High)},
		Green: GreenToday{s.Last.Green.StimpFt, s.Last.Green.SlopeDeg}, CarryM: hundredths(s.Last.Spot.CarryM()), RunM: hundredths(s.Last.Spot.RunM),
		Text: s.Text(),
	}
	if carry := s.Learned.Carry; carry.Balls > 0 {
		factor := hundredths(carry.Factor)
		out.Learned.CarryFactor = &factor
	}
	return out
}

func encodeStation(s academy.Station) Station {
	t := s.Table
	rounded := func(x []float64) []float64 { return each(x, hundredths) }
	return Station{ClubSpot: encodeClubSpot(s.ClubSpot), Table: LandingTable{
		CarryM: rounded(t.CarryM), ApexM: rounded(t.ApexM), DescentDeg: rounded(t.DescentDeg), StimpFt: t.StimpFt, SlopeDeg: t.SlopeDeg,
		RunM: each(t.RunM, func(greens [][]float64) [][]float64 { return each(greens, rounded) }),
	}}
}

// hundredths is as exact as a factor or a length in metres is told.
func hundredths(x float64) float64 { return math.Round(100*x) / 100 }

// getBag reads a student's clubs.
//
//	@Summary		Read a student's clubs
//	@Description	The clubs that the student plays around the green, with what was learned of each from balls of which the student said where they landed and stopped. Without a bag, the usual clubs.
//	@ID				getBag
//	@Tags			Students
//	@Produce		json
//	@Param			student_id		path		string	true	"The student"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{object}	Bag
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/bag [get]
func (s *Server) getBag(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	own, err := s.Bags.Of(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, encodeBag(own))
}

// putBag sets a student's clubs.
//
//	@Summary		Set a student's clubs
//	@Description	The student does this, or who teaches them. The clubs replace those before.
//	@ID				putBag
//	@Tags			Students
//	@Accept			json
//	@Produce		json
//	@Param			student_id	path		string	true	"The student"	format(uuid)
//	@Param			bag			body		BagBody	true	"The clubs"
//	@Success		200			{object}	Bag
//	@Failure		400,401,403,404,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/bag [put]
func (s *Server) putBag(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	var body BagBody
	if err := decodeReadBack[Bag](c, &body); err != nil {
		return err
	}
	own, err := s.Bags.Put(c.Request().Context(), actor(c), id, body.read())
	if err != nil {
		return err
	}
	return ok(c, 0, encodeBag(own))
}
