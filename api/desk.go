package api

import (
	"fmt"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/progress"
)

// AcknowledgementRequest says that a reason to look at a student is seen.
type AcknowledgementRequest struct {
	Reason string `json:"reason" validate:"required" extensions:"x-words=reasons" example:"flat"`
	// SkillID is left out for a reason that is about no skill in particular.
	SkillID domain.ID `json:"skill_id,omitempty" format:"uuid"`
	// Days is how long it is to be silent, today the first of them; 0 ends the
	// silence.
	Days *int   `json:"days" validate:"required" minimum:"0" maximum:"90" example:"14"`
	Note string `json:"note,omitempty" maxLength:"1000" example:"Changed the drill; look again in two weeks."`
} // @name AcknowledgementRequest

// Acknowledgement is a coach's word that a reason is seen.
type Acknowledgement struct {
	Reason  string    `json:"reason" binding:"required" extensions:"x-words=reasons"`
	SkillID domain.ID `json:"skill_id,omitempty" format:"uuid"`
	// Until is the last day of the silence; left out when it was ended.
	Until string    `json:"until,omitempty" format:"date"`
	Note  string    `json:"note,omitempty"`
	By    domain.ID `json:"by,omitempty" format:"uuid"`
	At    time.Time `json:"at" binding:"required" format:"date-time"`
} // @name Acknowledgement

func encodeAcknowledgement(k academy.Acknowledgement) Acknowledgement {
	return Acknowledgement{Reason: string(k.Reason), SkillID: k.Skill, Until: k.Until.String(), Note: k.Note, By: k.By, At: k.At.UTC()}
}

// days reads for how long: forgotten, it is not taken for 0, which would end the
// silence instead.
func (r AcknowledgementRequest) days(p *domain.Problems, at string) int {
	if r.Days == nil {
		p.Add(at+"/days", "is missing; give the number of days that the reason is to be silent, or 0 to show it again")
		return 0
	}
	return *r.Days
}

// acknowledge silences a reason for some days.
//
//	@Summary		Acknowledge a reason to look at a student
//	@Description	Until then it does not call for attention again; it stays readable, behind the others.
//	@ID				acknowledgeReason
//	@Tags			Students
//	@Accept			json
//	@Produce		json
//	@Param			student_id		path		string					true	"The student"	format(uuid)
//	@Param			acknowledgement	body		AcknowledgementRequest	true	"Which reason, and for how long"
//	@Success		200				{object}	Acknowledgement
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/acknowledgements [put]
func (s *Server) acknowledge(c echo.Context) error {
	student, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	var r AcknowledgementRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	k := academy.Acknowledgement{Student: student, Skill: bodyID(&p, "/skill_id", r.SkillID), Reason: advice.Reason(r.Reason), Note: r.Note}
	days := r.days(&p, "")
	if err := p.Err("acknowledgement_invalid", "The reason was not acknowledged."); err != nil {
		return err
	}
	if k, err = s.Acknowledge.Acknowledge(c.Request().Context(), actor(c), k, days); err != nil {
		return err
	}
	return ok(c, 0, encodeAcknowledgement(k))
}

// AcknowledgementItem is one of many reasons that are seen.
type AcknowledgementItem struct {
	StudentID domain.ID `json:"student_id" validate:"required" format:"uuid"`
	AcknowledgementRequest
} // @name AcknowledgementItem

// AcknowledgementsRequest says that many reasons are seen.
type AcknowledgementsRequest struct {
	Items []AcknowledgementItem `json:"items" validate:"required" minItems:"1" maxItems:"1000"`
} // @name AcknowledgementsRequest

// AcknowledgementResult is what became of one of many: the acknowledgement, or the
// problem why it was refused.
type AcknowledgementResult struct {
	StudentID       domain.ID        `json:"student_id" binding:"required" format:"uuid"`
	Acknowledgement *Acknowledgement `json:"acknowledgement,omitempty"`
	Problem         *Problem         `json:"problem,omitempty"`
} // @name AcknowledgementResult

// AcknowledgementResults are in the order of the request.
type AcknowledgementResults struct {
	Results []AcknowledgementResult `json:"results" binding:"required"`
} // @name AcknowledgementResults

// acknowledgeAll silences many reasons for some days.
//
//	@Summary		Acknowledge many reasons at once
//	@Description	Each item is answered by itself, in order: one that is refused keeps none of the others back.
//	@ID				acknowledgeReasons
//	@Tags			Students
//	@Accept			json
//	@Produce		json
//	@Param			acknowledgements	body		AcknowledgementsRequest	true	"Which reasons of whom, and for how long"
//	@Success		200					{object}	AcknowledgementResults
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/acknowledgements [post]
func (s *Server) acknowledgeAll(c echo.Context) error {
	var r AcknowledgementsRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	all := make([]academy.Seen, len(r.Items))
	for i, item := range r.Items {
		at := fmt.Sprintf("/items/%d", i)
		all[i] = academy.Seen{Days: item.days(&p, at), Acknowledgement: academy.Acknowledgement{
			Student: bodyID(&p, at+"/student_id", item.StudentID), Skill: bodyID(&p, at+"/skill_id", item.SkillID), Reason: advice.Reason(item.Reason), Note: item.Note,
		}}
	}
	if err := p.Err("acknowledgement_invalid", "No reason was acknowledged."); err != nil {
		return err
	}
	seen, err := s.Acknowledge.AcknowledgeAll(c.Request().Context(), actor(c), all)
	if err != nil {
		return err
	}
	out, err := results(c, seen, func(r academy.SeenResult) error { return r.Err }, func(_ int, r academy.SeenResult, p *Problem) AcknowledgementResult {
		result := AcknowledgementResult{StudentID: r.Student, Problem: p}
		if p == nil {
			kept := encodeAcknowledgement(r.Acknowledgement)
			result.Acknowledgement = &kept
		}
		return result
	})
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, AcknowledgementResults{Results: out})
}

// HistoryPoint is one session in a skill's history.
type HistoryPoint struct {
	SessionID domain.ID `json:"session_id" binding:"required" format:"uuid"`
	StartedAt time.Time `json:"started_at" binding:"required" format:"date-time"`
	// Day is the local date of the start.
	Day string `json:"day" binding:"required" format:"date"`
	// Judged balls were judged at the tier's radius or left at a measured distance,
	// Inside of them inside. Elsewhere balls were judged at other radii: they count
	// for the rate by what they say of this one.
	Judged    int      `json:"judged" binding:"required"`
	Inside    int      `json:"inside" binding:"required"`
	Holed     int      `json:"holed" binding:"required"`
	Elsewhere []Circle `json:"elsewhere" binding:"required"`
	BestRun   Run      `json:"best_run" binding:"required"`
	// Mean and Interval80 are the rate as it stood after the session.
	Mean       float64  `json:"mean" binding:"required"`
	Interval80 Interval `json:"interval_80" binding:"required"`
	Passed     *Hit     `json:"passed,omitempty"`
} // @name HistoryPoint

// HistoryWeek is a practice week of a skill.
type HistoryWeek struct {
	// Monday begins the week, in the student's time zone.
	Monday string `json:"monday" binding:"required" format:"date"`
	Tally
} // @name HistoryWeek

// SkillHistory is one student at one skill over time.
type SkillHistory struct {
	StudentID domain.ID     `json:"student_id" binding:"required" format:"uuid"`
	Skill     SkillProgress `json:"skill" binding:"required"`
	// Tier is what the points are judged for; left out without a ladder.
	Tier *Tier `json:"tier,omitempty"`
	// Points are the last sessions that say something about the tier, oldest
	// first, sixty at most.
	Points []HistoryPoint `json:"points" binding:"required"`
	// Weeks are those of the last half year with any practice, oldest first.
	Weeks []HistoryWeek `json:"weeks" binding:"required"`
} // @name SkillHistory

func encodePoint(p academy.Point) HistoryPoint {
	seen := p.Observation()
	out := HistoryPoint{
		SessionID: p.Session, StartedAt: p.StartedAt.UTC(), Day: p.Day.String(),
		Judged: seen.Balls, Inside: seen.Inside, Holed: seen.Holed, Elsewhere: each(seen.Elsewhere, encodeCircle), BestRun: encodeRun(p.Best),
		Mean: p.Rate.Mean, Interval80: encodeInterval(p.Rate.Interval80),
	}
	if p.Passed != nil {
		hit := encodeHit(*p.Passed)
		out.Passed = &hit
	}
	return out
}

func encodeHistory(h academy.SkillHistory, e progressEncoder) SkillHistory {
	out := SkillHistory{
		StudentID: h.Student.ID,
		Skill:     e.skill(academy.StudentRow{Student: h.Student, Week: h.Present}, academy.StudentSkill{Skill: h.Skill, State: h.State, Learned: h.Learned, Milestones: h.Milestones, Stalls: h.Stalls}),
		Points:    each(h.Points, encodePoint),
		Weeks: each(h.Weeks, func(w progress.WeekTally) HistoryWeek {
			return HistoryWeek{Monday: w.Week.String(), Tally: encodeTally(w.Tally)}
		}),
	}
	if h.Judged {
		tier := encodeTier(h.Tier)
		out.Tier = &tier
	}
	return out
}

// getHistory reads one skill of one student over time.
//
//	@Summary	A student's history at a skill
//	@ID			getSkillHistory
//	@Tags		Students
//	@Produce	json
//	@Param		student_id		path		string	true	"The student"	format(uuid)
//	@Param		skill_id		path		string	true	"The skill"		format(uuid)
//	@Param		If-None-Match	header		string	false	"The entity tag you have"
//	@Success	200				{object}	SkillHistory
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/students/{student_id}/skills/{skill_id}/history [get]
func (s *Server) getHistory(c echo.Context) error {
	student, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	skill, err := pathID(c, "skill_id")
	if err != nil {
		return err
	}
	if err := newQuery(c).done(); err != nil {
		return err
	}
	if done, err := s.fresh(c, student); done || err != nil {
		return err
	}
	h, err := s.Read.History(c.Request().Context(), actor(c), student, skill)
	if err != nil {
		return err
	}
	encoder, err := s.readerStyle(c, h.Student)
	if err != nil {
		return err
	}
	return okFresh(c, encodeHistory(h, encoder))
}
