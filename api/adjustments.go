package api

import (
	"fmt"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
)

// AdjustmentBody is a change for one student on top of the version that they
// work by. Its kind says which of the other fields it takes.
type AdjustmentBody struct {
	StudentID domain.ID `json:"student_id" validate:"required" binding:"required" format:"uuid"`
	// AssignmentID is the assignment that is adjusted; left out, all of the student's
	// that it changes something of, those to come as well.
	AssignmentID domain.ID `json:"assignment_id,omitempty" format:"uuid"`
	// Kind is what changes: step puts an extra tier into the ladder, before the
	// first one that is harder or behind the last, until it is passed; radius and
	// distance change the drills of a skill; shares divide the time of every plan;
	// earlier_skill plays another one in the warm-up; sessions plans at most so many a
	// week; minutes keeps every session to so many.
	Kind string `json:"kind" validate:"required" binding:"required" extensions:"x-words=adjustment_kinds" example:"step"`
	// SkillID is the skill of a step, a radius, a distance or a warm-up.
	SkillID domain.ID `json:"skill_id,omitempty" format:"uuid"`
	Tier    *Tier     `json:"tier,omitempty"`
	// Begins goes with a step: the student's ladder begins with it, which may be one of
	// its own, and the ones before it are left out while it stands.
	Begins  bool    `json:"begins,omitempty"`
	RadiusM float64 `json:"radius_m,omitempty" minimum:"0" maximum:"30" example:"1.5"`
	// DistancesM are in metres; where a block is played from one spot, the first.
	DistancesM []float64 `json:"distances_m,omitempty" maxItems:"24" example:"12"`
	// DistancePercent is used instead of distances_m: each block is played from this
	// part of its own distances.
	DistancePercent int `json:"distance_percent,omitempty" minimum:"0" maximum:"99" example:"67"`
	// Only are the kinds of block whose radius or distances change; left out, all.
	Only []string `json:"only,omitempty" maxItems:"6" extensions:"x-words=block_kinds" example:"random"`
	// Shares are those of some kinds of block; the others divide what is left as
	// they did.
	Shares []KindShare `json:"shares,omitempty" maxItems:"6"`
	// SessionsPerWeek is the most sessions a week.
	SessionsPerWeek int `json:"sessions_per_week,omitempty" minimum:"0" maximum:"14" example:"2"`
	// Minutes is the longest session.
	Minutes int `json:"minutes,omitempty" minimum:"0" maximum:"240" example:"40"`
	// From is the first day, in the student's time zone; today by default.
	From string `json:"from,omitempty" format:"date" example:"2026-05-04"`
	// Until is the last day; left out, it stays until it is undone. A step stays
	// until it is passed or undone.
	Until string `json:"until,omitempty" format:"date" example:"2026-05-24"`
	// Text is for the student.
	Text string `json:"text,omitempty" maxLength:"1000" example:"A smaller step first."`
	// Reason is the reason to look at the student that led to it.
	Reason string `json:"reason,omitempty" extensions:"x-words=reasons" example:"overreached"`
} // @name AdjustmentBody

// KindShare is the part of a plan's time that a kind of block has.
type KindShare struct {
	Kind string `json:"kind" validate:"required" binding:"required" extensions:"x-words=block_kinds" example:"test"`
	// Share is in whole per cent.
	Share int `json:"share" validate:"required" binding:"required" minimum:"1" maximum:"100" example:"30"`
} // @name KindShare

// Adjustment is a change for one student on top of a version, which stays as it
// is.
type Adjustment struct {
	ID domain.ID `json:"id" binding:"required" format:"uuid"`
	AdjustmentBody
	CreatedBy domain.ID `json:"created_by,omitempty" format:"uuid"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	// EndedAt is when it was undone; left out while it stands.
	EndedAt *time.Time `json:"ended_at,omitempty" format:"date-time"`
	// EndedBy is the member who ended it.
	EndedBy domain.ID `json:"ended_by,omitempty" format:"uuid"`
} // @name Adjustment

// AdjustmentList is a student's adjustments, latest first.
type AdjustmentList struct {
	Items []Adjustment `json:"items" binding:"required"`
} // @name AdjustmentList

// AdjustmentRequest asks for adjustments, of one student or of many.
type AdjustmentRequest struct {
	Items []AdjustmentBody `json:"items" validate:"required" minItems:"1" maxItems:"200"`
} // @name AdjustmentRequest

// AdjustmentResult is what came of one of them: the adjustment, or the problem
// that kept it back.
type AdjustmentResult struct {
	StudentID  domain.ID   `json:"student_id" binding:"required" format:"uuid"`
	Adjustment *Adjustment `json:"adjustment,omitempty"`
	Problem    *Problem    `json:"problem,omitempty"`
} // @name AdjustmentResult

// AdjustmentResults has one for each that was asked for, in that order.
type AdjustmentResults struct {
	Results []AdjustmentResult `json:"results" binding:"required"`
} // @name AdjustmentResults

// Action is an adjustment that does what a reason advises.
type Action struct {
	// Label says in words what it does.
	Label string `json:"label" binding:"required" example:"Give Ines 8 in a row inside 4 ft until passed"`
	// Adjustment is ready to be sent to POST /v1/adjustments.
	Adjustment AdjustmentBody `json:"adjustment" binding:"required"`
} // @name Action

func (r AdjustmentBody) read(p *domain.Problems, at string) academy.Adjustment {
	out := academy.Adjustment{
		Student: bodyID(p, at+"/student_id", r.StudentID), Assignment: bodyID(p, at+"/assignment_id", r.AssignmentID),
		From: bodyDate(p, at+"/from", r.From), Until: bodyDate(p, at+"/until", r.Until), Text: r.Text, Reason: advice.Reason(r.Reason),
	}
	out.Adjustment = curriculum.Adjustment{
		Kind: curriculum.AdjustmentKind(r.Kind), Skill: bodyID(p, at+"/skill_id", r.SkillID), Begins: r.Begins, PerWeek: r.SessionsPerWeek, Minutes: r.Minutes, DistancePart: r.DistancePercent,
		Radius: length(p, at+"/radius_m", r.RadiusM),
	}
	if r.Tier != nil {
		out.Tier = r.Tier.read(p, at+"/tier")
	}
	for i, d := range r.DistancesM {
		out.Distances = append(out.Distances, length(p, fmt.Sprintf("%s/distances_m/%d", at, i), d))
	}
	for _, k := range r.Only {
		out.Only = append(out.Only, curriculum.BlockKind(k))
	}
	for _, s := range r.Shares {
		out.Shares = append(out.Shares, curriculum.KindShare{Kind: curriculum.BlockKind(s.Kind), Share: s.Share})
	}
	return out
}

func encodeAdjustmentBody(student, assignment domain.ID, a curriculum.Adjustment) AdjustmentBody {
	out := AdjustmentBody{
		StudentID: student, AssignmentID: assignment, Kind: string(a.Kind), SkillID: a.Skill, Begins: a.Begins, RadiusM: a.Radius.Metres(),
		SessionsPerWeek: a.PerWeek, Minutes: a.Minutes, DistancePercent: a.DistancePart,
	}
	if a.Kind == curriculum.ExtraStep {
		tier := encodeTier(a.Tier)
		out.Tier = &tier
	}
	for _, d := range a.Distances {
		out.DistancesM = append(out.DistancesM, d.Metres())
	}
	for _, k := range a.Only {
		out.Only = append(out.Only, string(k))
	}
	for _, s := range a.Shares {
		out.Shares = append(out.Shares, KindShare{Kind: string(s.Kind), Share: s.Share})
	}
	return out
}

func encodeAdjustment(a academy.Adjustment) Adjustment {
	assignment := a.Assignment
	if a.Throughout {
		assignment = ""
	}
	out := Adjustment{
		ID: a.ID, AdjustmentBody: encodeAdjustmentBody(a.Student, assignment, a.Adjustment),
		CreatedBy: a.CreatedBy, CreatedAt: a.CreatedAt.UTC(), EndedAt: instant(a.EndedAt), EndedBy: a.EndedBy,
	}
	out.From, out.Until, out.Text, out.Reason = a.From.String(), a.Until.String(), a.Text, string(a.Reason)
	return out
}

// createAdjustments adjusts what students work by.
//
//	@Summary		Adjust what students work by
//	@Description	Changes for one student each, on top of the published version that they work by; the version stays as it is. One that does not fit its student keeps none of the others back: each has its result, in the order asked for. But one that is wrong whoever it is for, such as 99 sessions a week, refuses them all. While a change stands, another of its kind at the same skill is refused; end the first. The student sees it at once, with your text. To take it back, end it.
//	@ID				createAdjustments
//	@Tags			Adjustments
//	@Accept			json
//	@Produce		json
//	@Param			adjustments	body		AdjustmentRequest	true	"The adjustments"
//	@Success		200			{object}	AdjustmentResults
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/adjustments [post]
func (s *Server) createAdjustments(c echo.Context) error {
	var r AdjustmentRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	wanted := make([]academy.Adjustment, len(r.Items))
	for i, body := range r.Items {
		wanted[i] = body.read(&p, fmt.Sprintf("/items/%d", i))
	}
	var form domain.Problems
	s.Adjust.Check(&form, wanted)
	p.Beside(form.Fields())
	if err := p.Err("adjustment_invalid", "Nothing was adjusted."); err != nil {
		return err
	}
	given, err := s.Adjust.Give(c.Request().Context(), actor(c), wanted)
	if err != nil {
		return err
	}
	return writeGiven(c, given)
}

// writeGiven answers with what came of adjustments.
func writeGiven(c echo.Context, given []academy.Given) error {
	out, err := results(c, given, func(g academy.Given) error { return g.Err }, func(_ int, g academy.Given, p *Problem) AdjustmentResult {
		r := AdjustmentResult{StudentID: g.Adjustment.Student, Problem: p}
		if p == nil {
			made := encodeAdjustment(g.Adjustment)
			r.Adjustment = &made
		}
		return r
	})
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, AdjustmentResults{Results: out})
}

// listAdjustments lists a student's adjustments.
//
//	@Summary	List a student's adjustments
//	@ID			listAdjustments
//	@Tags		Adjustments
//	@Produce	json
//	@Param		student_id	path		string	true	"The student"	format(uuid)
//	@Success	200			{object}	AdjustmentList
//	@Success	304			"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/students/{student_id}/adjustments [get]
func (s *Server) listAdjustments(c echo.Context) error {
	student, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	all, err := s.Adjust.List(c.Request().Context(), actor(c), student)
	if err != nil {
		return err
	}
	return ok(c, 0, AdjustmentList{Items: each(all, encodeAdjustment)})
}

// endAdjustment undoes an adjustment.
//
//	@Summary		Undo an adjustment
//	@Description	From now on the student plays as the version says. A step that was passed stays passed. Undoing it again changes nothing.
//	@ID				endAdjustment
//	@Tags			Adjustments
//	@Produce		json
//	@Param			adjustment_id	path		string	true	"The adjustment"	format(uuid)
//	@Success		200				{object}	Adjustment
//	@Failure		400,401,403,404,409,413,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/adjustments/{adjustment_id}/end [post]
func (s *Server) endAdjustment(c echo.Context) error {
	id, err := pathID(c, "adjustment_id")
	if err != nil {
		return err
	}
	a, err := s.Adjust.Undo(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, encodeAdjustment(a))
}
