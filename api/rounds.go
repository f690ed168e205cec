package api

import (
	"fmt"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/api/calc"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
)

// roundPath is where a round is, as the router sees it.
const roundPath = "/v1/rounds/:round_id"

// Shot is one shot around the green on the course, not a putt.
type Shot struct {
	// Hole is that of the course; left out if it was not told. Shots at one hole
	// follow each other.
	Hole int `json:"hole,omitempty" minimum:"0" maximum:"18" example:"7"`
	// Lie is what it was played from; fairway stands for the fringe as well.
	Lie string `json:"lie" validate:"required" binding:"required" extensions:"x-words=lies" example:"rough"`
	// DistanceM is how far the hole was before the shot, in metres.
	DistanceM float64 `json:"distance_m" validate:"required" binding:"required" minimum:"0" maximum:"100" example:"18"`
	Holed     bool    `json:"holed,omitempty"`
	// LeftM is the distance to the hole where the ball stopped, in metres, and
	// LeftLie what it stopped on; both are left out for a holed one.
	LeftM   float64 `json:"left_m,omitempty" minimum:"0" maximum:"100" example:"1.8"`
	LeftLie string  `json:"left_lie,omitempty" extensions:"x-words=all_lies" example:"green"`
	// Putts is how many it then took from the green; left out if not known.
	Putts *int `json:"putts,omitempty" minimum:"1" maximum:"9" example:"1"`
} // @name Shot

// RoundRequest is one complete revision of a round.
type RoundRequest struct {
	// StudentID is whose round it is; optional for a student's own.
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	// StartedAt is when the round began, TimeZone the IANA name of where.
	StartedAt time.Time `json:"started_at" validate:"required" format:"date-time" example:"2026-05-09T09:10:00+01:00"`
	TimeZone  string    `json:"time_zone" validate:"required" example:"Europe/Lisbon"`
	// Course is its name.
	Course string `json:"course,omitempty" maxLength:"120" example:"Links End"`
	Note   string `json:"note,omitempty" maxLength:"4000"`
	Shots  []Shot `json:"shots,omitempty" maxItems:"200"`
	// Revision counts the uploads of this round from 1; the highest one is kept.
	Revision int `json:"revision" validate:"required" minimum:"1" maximum:"1073741824" example:"1"`
} // @name RoundRequest

// Round is a stored round with what it says.
type Round struct {
	ID        domain.ID `json:"id" binding:"required" format:"uuid"`
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	StartedAt time.Time `json:"started_at" binding:"required" format:"date-time"`
	// Day is the local date on which it began.
	Day      string `json:"day" binding:"required" format:"date"`
	TimeZone string `json:"time_zone" binding:"required"`
	// Course is the name of the golf course.
	Course string `json:"course,omitempty"`
	Note   string `json:"note,omitempty"`
	Shots  []Shot `json:"shots" binding:"required"`
	// Chances of an up and down are the holes of which it is known whether they were
	// done in two from around the green; Saved of them were.
	Chances int `json:"chances" binding:"required" example:"5"`
	Saved   int `json:"saved" binding:"required" example:"2"`
	// StrokesGained is the sum over CountedShots, which are those that the baseline
	// covers.
	StrokesGained float64 `json:"strokes_gained" binding:"required" example:"-0.7"`
	CountedShots  int     `json:"counted_shots" binding:"required" example:"6"`
	Baseline      string  `json:"baseline" binding:"required"`
	Revision      int     `json:"revision" binding:"required"`
	// StoredBy is the member who sent this revision.
	StoredBy   domain.ID `json:"stored_by" binding:"required" format:"uuid"`
	ReceivedAt time.Time `json:"received_at" binding:"required" format:"date-time"`
} // @name Round

// RoundPage is one page of a student's rounds, latest first.
type RoundPage struct {
	Items []Round `json:"items" binding:"required"`
	Links Links   `json:"links" binding:"required"`
} // @name RoundPage

func (r RoundRequest) read(id domain.ID) (course.Round, error) {
	var p domain.Problems
	round := course.Round{
		ID: id, Student: bodyID(&p, "/student_id", r.StudentID), PlayedAt: r.StartedAt, TimeZone: r.TimeZone, Course: r.Course, Note: r.Note, Revision: r.Revision,
	}
	for i, s := range r.Shots {
		at := fmt.Sprintf("/shots/%d", i)
		round.Shots = append(round.Shots, course.Shot{
			Hole: s.Hole, Lie: course.Lie(s.Lie), Distance: length(&p, at+"/distance_m", s.DistanceM), Holed: s.Holed,
			Left: length(&p, at+"/left_m", s.LeftM), LeftLie: course.Lie(s.LeftLie), Putts: s.putts(&p, at),
		})
	}
	return round, p.Err("round_invalid", "The round was not saved. Keep it, correct it and send it again.")
}

// putts is how many putts a shot says, 0 when it says none; to say 0 of a ball that is
// not holed is noted in p.
func (s Shot) putts(p *domain.Problems, at string) int {
	switch {
	case s.Putts == nil:
		return 0
	case *s.Putts == 0 && !s.Holed && course.Lie(s.LeftLie) == course.Green:
		p.Add(at+"/putts", "is 0 for a ball that is not holed; give the putts it then took, 1 to 9, leave it out, or give \"holed\": true")
	}
	return *s.Putts
}

func (s *Server) encodeRound(r academy.RoundResult) Round {
	return calc.Tidy(Round{
		ID: r.Round.ID, StudentID: r.Round.Student, StartedAt: r.Round.PlayedAt.UTC(), Day: r.Round.Day().String(), TimeZone: r.Round.TimeZone,
		Course: r.Round.Course, Note: r.Round.Note, Shots: each(r.Round.Shots, encodeShot), Chances: r.Tally.Chances, Saved: r.Tally.Saved,
		StrokesGained: r.Gained.Gained, CountedShots: r.Gained.Shots, Baseline: s.Rounds.Baseline.Name,
		Revision: r.Round.Revision, StoredBy: r.Round.By, ReceivedAt: r.Round.ReceivedAt.UTC(),
	})
}

func encodeShot(s course.Shot) Shot {
	out := Shot{Hole: s.Hole, Lie: string(s.Lie), DistanceM: s.Distance.Metres(), Holed: s.Holed, LeftM: s.Left.Metres(), LeftLie: string(s.LeftLie)}
	if s.Putts > 0 {
		out.Putts = &s.Putts
	}
	return out
}

// putRound stores a revision of a round.
//
//	@Summary		Store a revision of a round
//	@Description	Send the whole round so far, each time with a higher revision; the rules are those of a session. 201 the first time, 200 afterwards.
//	@ID				putRound
//	@Tags			Rounds
//	@Accept			json
//	@Produce		json
//	@Param			round_id	path		string			true	"The ID of the round, a UUIDv7 that the client makes"	format(uuid)
//	@Param			round		body		RoundRequest	true	"The round so far"
//	@Success		200			{object}	Round
//	@Success		201			{object}	Round
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/rounds/{round_id} [put]
func (s *Server) putRound(c echo.Context) error {
	id, err := clientID(c, "round")
	if err != nil {
		return err
	}
	var r RoundRequest
	if err := decodeReadBack[Round](c, &r); err != nil {
		return err
	}
	round, err := r.read(id)
	if err != nil {
		return err
	}
	result, err := s.Rounds.Put(c.Request().Context(), actor(c), round)
	if err != nil {
		return err
	}
	if result.Created {
		return created(c, "/v1/rounds/"+string(id), result.Round.Revision, s.encodeRound(result))
	}
	return ok(c, result.Round.Revision, s.encodeRound(result))
}

// getRound reads a round.
//
//	@Summary	Read a round
//	@ID			getRound
//	@Tags		Rounds
//	@Produce	json
//	@Param		round_id		path		string	true	"The round"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	Round
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/rounds/{round_id} [get]
func (s *Server) getRound(c echo.Context) error {
	id, err := pathID(c, "round_id")
	if err != nil {
		return err
	}
	result, err := s.Rounds.Get(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, result.Round.Revision, s.encodeRound(result))
}

// deleteRound stores a deletion.
//
//	@Summary		Delete a round
//	@Description	A deletion is a revision like any other: the highest is kept, and a deletion may arrive before the round itself. A higher revision restores the round.
//	@ID				deleteRound
//	@Tags			Rounds
//	@Produce		json
//	@Param			round_id	path	string	true	"The round"	format(uuid)
//	@Param			revision	query	int		true	"The revision of the deletion"	minimum(1)	maximum(1073741824)
//	@Param			student_id	query	string	false	"Whose round it is; only needed from staff, if the round has not arrived yet"	format(uuid)
//	@Success		204			"Deleted"
//	@Failure		400,401,403,404,409,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/rounds/{round_id} [delete]
func (s *Server) deleteRound(c echo.Context) error {
	return storeDeletion(c, "round", s.Rounds.Delete)
}

// listRounds lists a student's rounds.
//
//	@Summary	List a student's rounds, latest first
//	@ID			listRounds
//	@Tags		Rounds
//	@Produce	json
//	@Param		student_id	query		string	false	"The student; optional for a student's own rounds"	format(uuid)
//	@Param			updated_since	query		string	false	"Only those changed at this time or later, RFC 3339. Deletions are not listed, and what is being saved just now may come late: ask a minute back, or follow /v1/changes, which misses nothing"	format(date-time)
//	@Param		limit		query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor		query		string	false	"Where to continue, from links.next"
//	@Success	200			{object}	RoundPage
//	@Success	304			"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/rounds [get]
func (s *Server) listRounds(c echo.Context) error {
	q := newQuery(c)
	limit := q.number("limit", 1, maxLimit, defaultLimit)
	f := academy.RoundFilter{Student: q.studentOr(actor(c)), UpdatedSince: q.instant("updated_since"), Limit: limit + 1} // one more, to tell whether there is a next page
	f.Before, f.BeforeID = q.timeCursor()
	if err := q.done(); err != nil {
		return err
	}
	rounds, err := s.Rounds.List(c.Request().Context(), actor(c), f)
	if err != nil {
		return err
	}
	var links Links
	if len(rounds) > limit {
		rounds = rounds[:limit]
		last := rounds[limit-1].Round
		links = next(c, last.PlayedAt.UTC().Format(time.RFC3339Nano), string(last.ID))
	}
	return ok(c, 0, RoundPage{Items: each(rounds, s.encodeRound), Links: links})
}
