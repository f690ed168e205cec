package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/api/calc"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
)

// PlayedUpAndDown is how often two strokes or fewer were enough.
type PlayedUpAndDown struct {
	// Saved is how many of the places took two strokes or fewer.
	Saved int `json:"saved" binding:"required" example:"11"`
	// Rate is an estimate of what stands behind the sessions, without the form of the
	// day, and its interval holds it with 80 %. Both are left out below three sessions.
	Rate       *float64  `json:"rate,omitempty" example:"0.32"`
	Interval80 *Interval `json:"interval_80,omitempty"`
} // @name PlayedUpAndDown

// PlaceGained is the strokes gained a place by some of its strokes; below 0 is lost.
type PlaceGained struct {
	// Places are those whose distance to the hole is known.
	Places int `json:"places" binding:"required" example:"36"`
	// PerPlace is the mean gained at a place.
	PerPlace float64 `json:"per_place" binding:"required" example:"-0.21"`
	// PerPlaceInterval80 is left out below three sessions.
	PerPlaceInterval80 *Interval `json:"per_place_interval_80,omitempty"`
} // @name PlaceGained

// PlayedSession is what one session played out at a skill.
type PlayedSession struct {
	SessionID domain.ID `json:"session_id" binding:"required" format:"uuid"`
	StartedAt time.Time `json:"started_at" binding:"required" format:"date-time"`
	// Places are those that were finished, and Strokes what all of them took.
	Places  int `json:"places" binding:"required" example:"18"`
	Strokes int `json:"strokes" binding:"required" example:"52"`
	// Saved is how many places took two strokes or fewer.
	Saved int `json:"saved" binding:"required" example:"6"`
} // @name PlayedSession

// SkillPlayedOut is a skill of which places were played out: one ball from each, until
// it was holed.
type SkillPlayedOut struct {
	SkillID   domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	SkillName string    `json:"skill_name" binding:"required" example:"Low chips"`
	// Places are those that were finished, and Strokes what all of them took.
	Places    int             `json:"places" binding:"required" example:"36"`
	Strokes   int             `json:"strokes" binding:"required" example:"104"`
	UpAndDown PlayedUpAndDown `json:"up_and_down" binding:"required"`
	// FirstStroke and Rest say where strokes are lost against the baseline: with the
	// first stroke from a place, or after it. Where the distance that the first stroke
	// left was not measured, it is taken to be as far as such balls are on average,
	// inside the circle or outside.
	FirstStroke PlaceGained `json:"first_stroke" binding:"required"`
	Rest        PlaceGained `json:"rest" binding:"required"`
	// Text says what the places took, and LostText where strokes are lost.
	Text     string `json:"text" binding:"required" example:"36 places in 3 sessions: 2.9 strokes each, 11 up and down (31 %); the true rate is probably 22 to 42 %."`
	LostText string `json:"lost_text" binding:"required" example:"On eighteen places against tour professionals: −4.1 strokes (−6.0 to −2.2) with the first stroke, −2.7 strokes (−4.0 to −1.4) after it."`
	// Sessions are the latest, latest first.
	Sessions []PlayedSession `json:"sessions" binding:"required"`
} // @name SkillPlayedOut

// PlayedOut is what the places tell that a student played out in the last twelve
// sessions with any, on a green.
type PlayedOut struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// Baseline is what strokes are lost against.
	Baseline string           `json:"baseline" binding:"required"`
	Skills   []SkillPlayedOut `json:"skills" binding:"required"`
} // @name PlayedOut

func encodePlaceGained(l course.Level) PlaceGained {
	return PlaceGained{Places: l.Shots, PerPlace: l.PerShot, PerPlaceInterval80: toldInterval(l.Interval80, l.Told)}
}

func encodePlayedOut(r academy.PlayedReport) PlayedOut {
	return calc.Tidy(PlayedOut{StudentID: r.Student.ID, Baseline: r.Baseline.Name, Skills: each(r.Skills, func(p academy.SkillPlayed) SkillPlayedOut {
		return SkillPlayedOut{
			SkillID: p.Skill.ID, SkillName: p.Skill.Name, Places: p.Places, Strokes: p.Strokes,
			UpAndDown:   playedUpAndDown(p.PlayedOut),
			FirstStroke: encodePlaceGained(p.First), Rest: encodePlaceGained(p.Rest), Text: p.Text(), LostText: p.LostText(r.Baseline.Whose),
			Sessions: each(p.Outings, func(o course.Outing) PlayedSession {
				return PlayedSession{SessionID: o.Session, StartedAt: o.StartedAt.UTC(), Places: len(o.Places), Strokes: o.Strokes(), Saved: o.Saved()}
			}),
		}
	})})
}

// getPlayedOut reads what the places tell that a student played out.
//
//	@Summary		Places played out
//	@Description	By skill, from the blocks of kind playout: the strokes that the places took, how often two were enough, and where strokes are lost against a published baseline: with the first stroke, or after it.
//	@ID				getPlayedOut
//	@Tags			Students
//	@Produce		json
//	@Param			student_id		path		string	true	"The student"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The entity tag you have"
//	@Success		200				{object}	PlayedOut
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/played-out [get]
func (s *Server) getPlayedOut(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	if done, err := s.fresh(c, id); done || err != nil {
		return err
	}
	report, err := s.Read.PlayedOut(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return okFresh(c, encodePlayedOut(report))
}

func playedUpAndDown(p course.PlayedOut) PlayedUpAndDown {
	out := PlayedUpAndDown{Saved: p.UpAndDown.Saved, Interval80: toldInterval(p.UpAndDown.Rate.Interval80, p.Told)}
	if p.Told {
		out.Rate = &p.UpAndDown.Rate.Mean
	}
	return out
}
