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

// Proposals are next week's for all students whom the asker sees.
type Proposals struct {
	// Challenge is the share of success that they aim at: see the academy.
	Challenge float64 `json:"challenge" binding:"required" example:"0.7"`
	// Students are in order of name.
	Students []StudentProposals `json:"students" binding:"required"`
	// Absent are the others, for whom no programme runs then, in order of name.
	Absent []AbsentStudent `json:"absent" binding:"required"`
} // @name Proposals

// StudentProposals are next week's for one student.
type StudentProposals struct {
	Student StudentBrief `json:"student" binding:"required"`
	// Monday is the first day of the week, in the student's time zone.
	Monday string     `json:"monday" binding:"required" format:"date"`
	Items  []Proposal `json:"items" binding:"required"`
	// Given are the adjustments that the week, or one of the two after it, is played by
	// already, oldest first; steps that were passed are left out.
	Given []Adjustment `json:"given" binding:"required"`
} // @name StudentProposals

// AbsentStudent is a student for whom no programme runs in the week, or whose off-season
// it begins in.
type AbsentStudent struct {
	Student StudentBrief `json:"student" binding:"required"`
	// Why is the nearest to running, of several programmes.
	Why string `json:"why" binding:"required" extensions:"x-words=absences" example:"paused"`
} // @name AbsentStudent

// Proposal is one thing to accept, change or refuse for next week.
type Proposal struct {
	// Move is what is proposed: to hold, to advance to a later step, to ease or to
	// raise what is asked for, to fit the week's circle to the step, to move time
	// between kinds of block, another earlier skill for the warm-up, where to start at
	// a skill after a first test, to move time from technique before a competition, or
	// to start again with fewer sessions.
	Move      string    `json:"move" binding:"required" extensions:"x-words=moves" example:"ease"`
	SkillID   domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	SkillName string    `json:"skill_name" binding:"required" example:"Chip and run"`
	// Label says in a line what is proposed, and Reason why.
	Label  string `json:"label" binding:"required" example:"First 6 in a row inside 3 ft, then 10 in a row inside 3 ft"`
	Reason string `json:"reason" binding:"required"`
	// Chance is left out where none is known, or the step is out of reach.
	Chance *ProposalChance `json:"chance,omitempty"`
	// Adjustment is what it becomes when accepted: send it to POST /v1/adjustments,
	// changed as you like. Left out when there is nothing to accept.
	Adjustment *AdjustmentBody `json:"adjustment,omitempty"`
} // @name Proposal

// ProposalChance is the chance of success, with what is not known of the student
// integrated.
type ProposalChance struct {
	// Of is what it is of: sessions in which the step is passed, three sessions in one of
	// which it is, or balls inside.
	Of string `json:"of" binding:"required" extensions:"x-words=chance_measures" example:"session"`
	// Now is as planned, and Then with the adjustment.
	Now  float64 `json:"now" binding:"required" minimum:"0" maximum:"1" example:"0.12"`
	Then float64 `json:"then" binding:"required" minimum:"0" maximum:"1" example:"0.64"`
} // @name ProposalChance

// RefusalRequest refuses proposals.
type RefusalRequest struct {
	Items []RefusedItem `json:"items" validate:"required" minItems:"1" maxItems:"400"`
	// Again proposes them again at once.
	Again bool `json:"again,omitempty"`
} // @name RefusalRequest

// RefusedItem names a proposal.
type RefusedItem struct {
	StudentID domain.ID `json:"student_id" validate:"required" binding:"required" format:"uuid"`
	SkillID   domain.ID `json:"skill_id" validate:"required" binding:"required" format:"uuid"`
	// Kind is that of the proposal's adjustment.
	Kind string `json:"kind" validate:"required" binding:"required" extensions:"x-words=adjustment_kinds" example:"step"`
} // @name RefusedItem

// Refusal is a coach's word that something is not to be proposed for a while.
type Refusal struct {
	RefusedItem
	// Until is the last day of that, in the student's time zone; left out when it is
	// proposed again.
	Until string    `json:"until,omitempty" format:"date"`
	By    domain.ID `json:"by,omitempty" format:"uuid"`
	At    time.Time `json:"at" binding:"required" format:"date-time"`
} // @name Refusal

// RefusalList has one for each that was asked for, in that order.
type RefusalList struct {
	Items []Refusal `json:"items" binding:"required"`
} // @name RefusalList

func (e progressEncoder) proposal(w academy.NextWeek, p academy.Proposed) Proposal {
	out := Proposal{
		Move: string(p.Move), SkillID: p.Skill.ID, SkillName: p.Skill.Name, Label: p.Label(e.reader, p.Skill.Name), Reason: p.Reason(e.reader),
	}
	if p.Of != "" {
		out.Chance = &ProposalChance{Of: string(p.Of), Now: p.Now, Then: p.Then}
	}
	if p.Adjustment.Kind != "" {
		body := encodeAdjustmentBody(w.Student.ID, p.Assignment, p.Adjustment)
		body.Until = p.Until.String()
		body.From = p.From.String() // none of a step, which is played at once
		body.Text = p.ToStudent(advice.Reader{Metric: w.Student.Units == academy.InMetres})
		out.Adjustment = &body
	}
	return out
}

// getProposals proposes next week.
//
//	@Summary		Next week, proposed for each student
//	@Description	For every student whom the asker may see, with a programme in the week from the next Monday on: to hold, to advance, to ease or to raise, so that the chance of success comes to the academy's challenge, never to advance or to raise while the next step is out of reach; the circle that the step takes, where the week is played to another; time moved between kinds of block; and the earlier skill to keep alive in the warm-up. In the three weeks before a competition of the student's season time moves from technique to balls played out or to the test, for each of those weeks on its own; after three weeks without a session the first two weeks have fewer of them, and the start is made easier by what has faded; of a student who should have practised meanwhile only once they are back. Each has its reason and the chance now and then; what is given for the week already stands beside it, and students without a programme then are named with the reason. Nothing happens until you accept: send the adjustments, changed as you like, to POST /v1/adjustments. What was refused is left out for two weeks. Sentences write lengths in the units that the asker prefers, and circles are proposed in them.
//	@ID				getProposals
//	@Tags			Adjustments
//	@Produce		json
//	@Param			group_id		query		string	false	"Students of this group"	format(uuid)
//	@Success		200				{object}	Proposals
//	@Success		304				"Not modified"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/proposals [get]
func (s *Server) getProposals(c echo.Context) error {
	q := newQuery(c)
	group := q.id("group_id")
	if err := q.done(); err != nil {
		return err
	}
	e, err := s.readerStyle(c, academy.Member{})
	if err != nil {
		return err
	}
	all, err := s.Propose.NextWeek(c.Request().Context(), actor(c), group, e.reader)
	if err != nil {
		return err
	}
	return ok(c, 0, Proposals{Challenge: float64(all.Challenge) / 100, Students: each(all.Students, func(w academy.NextWeek) StudentProposals {
		return StudentProposals{
			Student: encodeStudentBrief(w.Student), Monday: w.Monday.String(),
			Items: each(w.Items, func(p academy.Proposed) Proposal { return e.proposal(w, p) }),
			Given: each(w.Given, encodeAdjustment),
		}
	}), Absent: each(all.Absent, func(x academy.Absent) AbsentStudent {
		return AbsentStudent{Student: encodeStudentBrief(x.Student), Why: string(x.Why)}
	})})
}

// refuseProposals keeps proposals back.
//
//	@Summary		Refuse what is proposed
//	@Description	It is not proposed again for two weeks, unless the chance of success changes much meanwhile. All are refused, or none. With again they are proposed again at once.
//	@ID				refuseProposals
//	@Tags			Adjustments
//	@Accept			json
//	@Produce		json
//	@Param			refusals	body		RefusalRequest	true	"What is refused"
//	@Success		200			{object}	RefusalList
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/proposals/refusals [post]
func (s *Server) refuseProposals(c echo.Context) error {
	var r RefusalRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	keys := make([]academy.RefusalKey, len(r.Items))
	for i, item := range r.Items {
		at := fmt.Sprintf("/items/%d", i)
		keys[i] = academy.RefusalKey{
			Student: bodyID(&p, at+"/student_id", item.StudentID), Skill: bodyID(&p, at+"/skill_id", item.SkillID), Kind: curriculum.AdjustmentKind(item.Kind),
		}
	}
	var form domain.Problems
	academy.CheckRefusals(&form, keys)
	p.Beside(form.Fields())
	if err := p.Err("refusal_invalid", "Nothing was refused."); err != nil {
		return err
	}
	refused, err := s.Propose.Refuse(c.Request().Context(), actor(c), keys, r.Again)
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, RefusalList{Items: each(refused, encodeRefusal)})
}

func encodeRefusal(r academy.Refusal) Refusal {
	return Refusal{
		RefusedItem: RefusedItem{StudentID: r.Student, SkillID: r.Skill, Kind: string(r.Kind)}, Until: r.Until.String(), By: r.By, At: r.At.UTC(),
	}
}
