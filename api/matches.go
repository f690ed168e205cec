package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// MatchPlayer is what one player did in a match.
type MatchPlayer struct {
	// StudentID and Name are absent where the reader may not know who it is.
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	Name      string    `json:"name,omitempty" example:"Tomas Brandt"`
	// CircleM is the radius in metres of the circle that the player plays to.
	CircleM float64 `json:"circle_m" binding:"required" example:"2.35"`
	// Outcomes are what came of each card so far, in the order of the cards.
	Outcomes []string `json:"outcomes" binding:"required" extensions:"x-words=outcomes"`
	// Inside is how many of them were inside the player's circle or holed.
	Inside int `json:"inside" binding:"required" example:"7"`
} // @name MatchPlayer

// Match is a match of two or more on the same cards: each plays every card once, and
// most balls inside wins. It is made of the sessions that name it, so it changes with
// them.
type Match struct {
	ID domain.ID `json:"id" binding:"required" format:"uuid"`
	// Code is what a player types to deal the same cards. It says all of the match and
	// nothing of the players; the ID is made of it, as the calculation "match" does.
	Code string `json:"code" binding:"required" example:"08R0-001D"`
	// Kind is the shot that the cards are of.
	Kind string `json:"kind" binding:"required" extensions:"x-words=skill_kinds" example:"pitch"`
	// OwnCircles says that each plays to a circle of their own, which each hits half the
	// time; without it all play to circle_m.
	OwnCircles bool `json:"own_circles" binding:"required" example:"false"`
	// CircleM is the radius of the circle in metres that all play to; absent where each
	// plays to their own.
	CircleM float64 `json:"circle_m,omitempty" example:"4"`
	// Cards are one ball each, in order.
	Cards []Task `json:"cards" binding:"required"`
	// StartedAt is when the first of the players began.
	StartedAt time.Time `json:"started_at" binding:"required" format:"date-time"`
	// Standing is alone while the other half has not arrived, going_on while somebody has
	// cards left, then won (by the first of the players) or level.
	Standing string `json:"standing" binding:"required" extensions:"x-words=match_standings" example:"won"`
	// Players are in order of their balls inside, most first.
	Players []MatchPlayer `json:"players" binding:"required"`
} // @name Match

// OwnCircle is the circle that a student hits half the time.
type OwnCircle struct {
	SkillID   domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	SkillName string    `json:"skill_name" binding:"required" example:"Low chips"`
	Kind      string    `json:"kind" binding:"required" extensions:"x-words=skill_kinds" example:"pitch"`
	// CircleM is its radius in metres, from the student's own rate; absent while too
	// little is known.
	CircleM float64 `json:"circle_m,omitempty" example:"2.35"`
} // @name OwnCircle

// Matches are a student's latest matches, and the circles they would play to.
type Matches struct {
	StudentID domain.ID   `json:"student_id" binding:"required" format:"uuid"`
	Items     []Match     `json:"items" binding:"required"`
	Circles   []OwnCircle `json:"circles" binding:"required"`
} // @name Matches

func encodeMatch(r practice.MatchResult) Match {
	m := Match{
		ID: r.ID, Code: r.Code(), Kind: string(r.Kind), OwnCircles: r.Own, StartedAt: r.StartedAt.UTC(), Standing: string(r.Standing()),
		Cards: each(r.Cards(), func(t curriculum.Task) Task { return Task{Lie: t.Lie, DistanceM: t.Distance.Metres(), Club: t.Club} }),
		Players: each(r.Players, func(p practice.MatchPlayer) MatchPlayer {
			return MatchPlayer{StudentID: p.Student, Name: p.Name, CircleM: p.Circle.Metres(), Outcomes: each(p.Outcomes, streak.Outcome.String), Inside: p.Inside}
		}),
	}
	if !r.Own {
		m.CircleM = r.Circle().Metres()
	}
	return m
}

// getMatch reads a match as it stands.
//
//	@Summary		Read a match
//	@Description	Players who dealt the same cards, each on their own phone, and what each did with them. A player is who logged balls of the match's shot in random blocks, to no wider a circle than all play to, unless each plays to their own. Players see each other; staff and guardians see names only of students they may read. A junior plays and is seen only with a guardian's consent.
//	@ID				getMatch
//	@Tags			Sessions
//	@Produce		json
//	@Param			match_id		path		string	true	"The match"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The entity tag you have"
//	@Success		200				{object}	Match
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,409,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/matches/{match_id} [get]
func (s *Server) getMatch(c echo.Context) error {
	id, err := pathID(c, "match_id")
	if err != nil {
		return err
	}
	r, err := s.Matches.Match(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, encodeMatch(r))
}

// listMatches lists a student's matches.
//
//	@Summary		List a student's matches
//	@Description	The latest twenty, latest first, and for each skill of which matches are dealt the circle that the student hits half the time: players who each play to their own are as likely to win, and none learns another's rate.
//	@ID				listMatches
//	@Tags			Sessions
//	@Produce		json
//	@Param			student_id		path		string	true	"The student"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The entity tag you have"
//	@Success		200				{object}	Matches
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/matches [get]
func (s *Server) listMatches(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	l, err := s.Matches.Matches(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, Matches{StudentID: l.Student.ID, Items: each(l.Matches, encodeMatch), Circles: each(l.Circles, func(o practice.OwnCircle) OwnCircle {
		return OwnCircle{SkillID: o.Skill.ID, SkillName: o.Skill.Name, Kind: string(o.Skill.Kind), CircleM: o.Circle.Metres()}
	})})
}
