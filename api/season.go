package api

import (
	"fmt"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
)

// seasonPath is where a student's season is, as the router sees it.
const seasonPath = "/v1/students/:student_id/season"

// SeasonBody is what a student's year is about.
type SeasonBody struct {
	// Goal is in the student's own words.
	Goal string `json:"goal,omitempty" maxLength:"300" example:"Get up and down half the time"`
	// Competitions may come in any order.
	Competitions []Competition `json:"competitions,omitempty" maxItems:"30"`
	// OffSeason is left out while there is none.
	OffSeason *OffSeason `json:"off_season,omitempty"`
} // @name SeasonBody

// Competition is a date that the student prepares for.
type Competition struct {
	// ID is left out of a new one, and sent back of one that is there: it is then the
	// same in calendars when its date moves.
	ID   domain.ID `json:"id,omitempty" format:"uuid"`
	Name string    `json:"name" validate:"required" binding:"required" maxLength:"80" example:"Spring cup"`
	// Date is its first day.
	Date string `json:"date" validate:"required" binding:"required" format:"date" example:"2026-05-30"`
	// Days is how many it has; 1 by default.
	Days int `json:"days,omitempty" minimum:"1" maximum:"14" example:"2"`
} // @name Competition

// OffSeason is a time without practice, both days included, of at most 300 days.
type OffSeason struct {
	// From is its first day, in the student's time zone.
	From string `json:"from" validate:"required" binding:"required" format:"date" example:"2026-11-01"`
	// Until is its last day.
	Until string `json:"until" validate:"required" binding:"required" format:"date" example:"2027-02-28"`
} // @name OffSeason

// Season is what a student's year is about, as it was set last.
type Season struct {
	SeasonBody
	// ChangedAt is left out while nobody has set it.
	ChangedAt *time.Time `json:"changed_at,omitempty" format:"date-time"`
} // @name Season

func (b SeasonBody) read(p *domain.Problems) academy.Season {
	s := academy.Season{Goal: b.Goal}
	for i, c := range b.Competitions {
		at := fmt.Sprintf("/competitions/%d", i)
		s.Competitions = append(s.Competitions, academy.Competition{
			ID: bodyID(p, at+"/id", c.ID), Name: c.Name, Date: bodyDate(p, at+"/date", c.Date), Days: max(c.Days, 1),
		})
	}
	if o := b.OffSeason; o != nil {
		s.Off = academy.OffSeason{From: bodyDate(p, "/off_season/from", o.From), Until: bodyDate(p, "/off_season/until", o.Until)}
	}
	return s
}

func encodeSeason(s academy.Season) Season {
	out := Season{SeasonBody: SeasonBody{Goal: s.Goal, Competitions: each(s.Competitions, func(c academy.Competition) Competition {
		return Competition{ID: c.ID, Name: c.Name, Date: c.Date.String(), Days: c.Days}
	})}}
	if s.Off != (academy.OffSeason{}) {
		out.OffSeason = &OffSeason{From: s.Off.From.String(), Until: s.Off.Until.String()}
	}
	if !s.Changed.IsZero() {
		out.ChangedAt = new(s.Changed.UTC())
	}
	return out
}

// getSeason reads a student's season.
//
//	@Summary		Read a student's season
//	@Description	The student's goal, competitions in order of date, and the off-season.
//	@ID				getSeason
//	@Tags			Students
//	@Produce		json
//	@Param			student_id		path		string	true	"The student"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{object}	Season
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/season [get]
func (s *Server) getSeason(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	season, err := s.Seasons.Of(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, encodeSeason(season))
}

// putSeason sets a student's season.
//
//	@Summary		Set a student's season
//	@Description	The student does this, or who teaches them. The season replaces the one before. A competition moves next week's proposals: see GET /v1/proposals. In the off-season the student counts as neither lapsed nor late to start, nothing is proposed, and the days of forecasts pass over it; the weeks of a programme go on, so pause it if they are not to. A junior's needs the guardian's consent.
//	@ID				putSeason
//	@Tags			Students
//	@Accept			json
//	@Produce		json
//	@Param			student_id	path		string		true	"The student"	format(uuid)
//	@Param			season		body		SeasonBody	true	"The season"
//	@Success		200			{object}	Season
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/season [put]
func (s *Server) putSeason(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	var body SeasonBody
	if err := decodeReadBack[Season](c, &body); err != nil {
		return err
	}
	var p, form domain.Problems
	wanted := body.read(&p)
	wanted.Check(&form)
	p.Beside(form.Fields())
	if err := p.Err("season_invalid", "The season was not saved."); err != nil {
		return err
	}
	season, err := s.Seasons.Put(c.Request().Context(), actor(c), id, wanted)
	if err != nil {
		return err
	}
	return ok(c, 0, encodeSeason(season))
}
