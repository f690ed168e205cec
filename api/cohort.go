package api

import (
	"math"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Cohort is all students of a programme whom the asker may see, and how long its
// steps take them.
type Cohort struct {
	ProgrammeID domain.ID `json:"programme_id" binding:"required" format:"uuid"`
	Name        string    `json:"name" binding:"required"`
	// Versions and Groups are those that the students have.
	Versions []CohortPart `json:"versions" binding:"required"`
	Groups   []CohortPart `json:"groups" binding:"required"`
	// Students whose programme has begun, by name.
	Students []CohortStudent `json:"students" binding:"required"`
	// Steps are those of the programme's skills, from the easiest of each.
	Steps []CohortStep `json:"steps" binding:"required"`
	// ComparedBy is version or group; left out where there is nothing to compare.
	ComparedBy string `json:"compared_by,omitempty" enums:"version,group"`
	// Time is what was planned and spent on each kind of block, in the last sessions
	// that each student did by a plan, whatever the programme.
	Time TimeKept `json:"time" binding:"required"`
} // @name Cohort

// CohortPart is the students with one version, or of one group.
type CohortPart struct {
	Version  int       `json:"version,omitempty" example:"2"`
	GroupID  domain.ID `json:"group_id,omitempty" format:"uuid"`
	Name     string    `json:"name" binding:"required" example:"version 2"`
	Students int       `json:"students" binding:"required" example:"9"`
} // @name CohortPart

// CohortStudent is one student in a cohort.
type CohortStudent struct {
	Student StudentBrief `json:"student" binding:"required"`
	// GroupIDs are the groups that the student is in.
	GroupIDs     []domain.ID `json:"group_ids" binding:"required" format:"uuid"`
	AssignmentID domain.ID   `json:"assignment_id" binding:"required" format:"uuid"`
	Version      int         `json:"version" binding:"required" example:"2"`
	StartDate    string      `json:"start_date" binding:"required" format:"date"`
	Position     Position    `json:"position" binding:"required"`
	// Days of the programme that the student was followed, those of a pause left out,
	// and the sessions in that time.
	Days     int           `json:"days" binding:"required" example:"24"`
	Sessions int           `json:"sessions" binding:"required" example:"9"`
	Skills   []CohortSkill `json:"skills" binding:"required"`
	// StepsPassed since the start; DaysSince is how long ago the last of them was or,
	// while there is none, the start.
	StepsPassed int `json:"steps_passed" binding:"required" example:"2"`
	DaysSince   int `json:"days_since" binding:"required" example:"6"`
	// Open is whether a step is left to pass.
	Open bool `json:"open" binding:"required"`
} // @name CohortStudent

// CohortSkill counts the steps of a skill that a student has passed.
type CohortSkill struct {
	SkillID domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	// Tiers is how many steps the ladder has.
	Tiers int `json:"tiers" binding:"required" example:"4"`
	// Before the programme began, and After: by its end, or by now.
	Before int `json:"before" binding:"required" example:"1"`
	After  int `json:"after" binding:"required" example:"2"`
} // @name CohortSkill

// CohortStep is one step, over all who had it.
type CohortStep struct {
	SkillID   domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	SkillName string    `json:"skill_name" binding:"required"`
	// Number is its place among the steps of the skill, from 1.
	Number int  `json:"number" binding:"required" example:"2"`
	Tier   Tier `json:"tier" binding:"required"`
	// Before the programme so many had passed it; Passed did in it, and Next have it
	// as their next step.
	Before int `json:"before" binding:"required" example:"3"`
	Passed int `json:"passed" binding:"required" example:"5"`
	Next   int `json:"next" binding:"required" example:"4"`
	// All is over everybody who had it to pass.
	All CohortCourse `json:"all" binding:"required"`
	// Parts are compared by LogRank; none where CannotTell says why.
	Parts   []CohortCourse `json:"parts" binding:"required"`
	LogRank CohortLogRank  `json:"log_rank" binding:"required"`
} // @name CohortStep

// CohortCourse is how long a step takes, by the Kaplan-Meier estimate.
type CohortCourse struct {
	// Part is left out for all students together.
	Part *CohortPart `json:"part,omitempty"`
	// Students had the step to pass, and Passed did.
	Students int  `json:"students" binding:"required" example:"9"`
	Passed   int  `json:"passed" binding:"required" example:"5"`
	Days     Wait `json:"days" binding:"required"`
	Sessions Wait `json:"sessions" binding:"required"`
} // @name CohortCourse

// Wait is the course of a step over one measure of time since the start of the
// programme. Median is when half have passed and is left out where they have not;
// so are the ends of its interval.
type Wait struct {
	// Median is by when half had passed; absent while fewer have.
	Median           *float64     `json:"median,omitempty" example:"21"`
	MedianInterval95 OpenInterval `json:"median_interval_95" binding:"required"`
	Steps            []WaitStep   `json:"steps" binding:"required"`
} // @name Wait

// WaitStep is what happened at one time.
type WaitStep struct {
	Time float64 `json:"time" binding:"required" example:"16"`
	// AtRisk had not passed before and were still followed; Passed of them passed
	// then, and Left were followed no longer.
	AtRisk int `json:"at_risk" binding:"required" example:"7"`
	Passed int `json:"passed" binding:"required" example:"1"`
	Left   int `json:"left" binding:"required" example:"0"`
	// Share that has passed by then, with its interval where there is one.
	Share      float64   `json:"share" binding:"required" example:"0.4"`
	Interval95 *Interval `json:"interval_95,omitempty"`
} // @name WaitStep

// CohortLogRank says whether the parts pass the step alike. P is how often chance
// alone would bring as much difference or more; CannotTell says why it is left out.
type CohortLogRank struct {
	// ChiSquare is the test's statistic.
	ChiSquare *float64 `json:"chi_square,omitempty" example:"4.1"`
	DF        int      `json:"df,omitempty" example:"1"`
	P         *float64 `json:"p,omitempty" example:"0.043"`
	// CannotTell says why there is no comparison.
	CannotTell string `json:"cannot_tell,omitempty" enums:"few_students,nothing_to_compare"`
} // @name CohortLogRank

func encodeCohort(c academy.Cohort) Cohort {
	return Cohort{
		ProgrammeID: c.Programme, Name: c.Name, Versions: each(c.Versions, encodeCohortPart), Groups: each(c.Groups, encodeCohortPart),
		Students: each(c.Students, encodeCohortStudent), Steps: each(c.Steps, encodeCohortStep), ComparedBy: string(c.By),
		Time: encodeTimeKept(progress.Habit{Times: c.Times, Planned: c.Planned}),
	}
}

func encodeCohortPart(p academy.CohortPart) CohortPart {
	return CohortPart{Version: p.Version, GroupID: p.Group, Name: p.Name, Students: p.Students}
}

func encodeCohortStudent(s academy.CohortStudent) CohortStudent {
	return CohortStudent{
		Student: encodeStudentBrief(s.Student), GroupIDs: each(s.Groups, func(id domain.ID) domain.ID { return id }),
		AssignmentID: s.Assignment.ID, Version: s.Assignment.Version, StartDate: s.Assignment.Start.String(), Position: encodePosition(s.Position, s.Assignment.Start),
		Days: s.Days, Sessions: s.Sessions, StepsPassed: s.Passed, DaysSince: s.Since, Open: s.Open,
		Skills: each(s.Skills, func(k academy.CohortSkill) CohortSkill {
			return CohortSkill{SkillID: k.Skill, Tiers: k.Tiers, Before: k.Before, After: k.After}
		}),
	}
}

func encodeCohortStep(s academy.CohortStep) CohortStep {
	out := CohortStep{
		SkillID: s.Skill, SkillName: s.Name, Number: s.Number, Tier: encodeTier(s.Tier),
		Before: s.Before, Passed: s.Passed, Next: s.Next, All: encodeCourse(s.All), Parts: each(s.Parts, encodeCourse),
		LogRank: CohortLogRank{CannotTell: string(s.LogRank.CannotTell)},
	}
	if s.LogRank.CannotTell == "" {
		out.LogRank = CohortLogRank{ChiSquare: &s.LogRank.ChiSquare, DF: s.LogRank.DF, P: &s.LogRank.P}
	}
	return out
}

func encodeCourse(c academy.CohortCourse) CohortCourse {
	out := CohortCourse{Students: c.Days.Students, Passed: c.Days.Passed, Days: encodeWait(c.Days), Sessions: encodeWait(c.Sessions)}
	if c.Part.Name != "" {
		part := encodeCohortPart(c.Part)
		out.Part = &part
	}
	return out
}

// finite leaves out what there is not: infinities and NaN.
func finite(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	return &x
}

func encodeWait(s estimate.Survival) Wait {
	return Wait{
		Median: finite(s.Median), MedianInterval95: OpenInterval{Low: finite(s.MedianInterval95.Lo), High: finite(s.MedianInterval95.Hi)},
		Steps: each(s.Steps, func(x estimate.WaitStep) WaitStep {
			out := WaitStep{Time: x.Time, AtRisk: x.AtRisk, Passed: x.Passed, Left: x.Left, Share: 1 - x.Waiting}
			if low, high := finite(1-x.Interval95.Hi), finite(1-x.Interval95.Lo); low != nil && high != nil {
				out.Interval95 = &Interval{Low: *low, High: *high}
			}
			return out
		}),
	}
}

// getCohort looks at a programme's students together.
//
//	@Summary		Read how a programme's students do together
//	@Description	Of the students whom the asker may see: steps passed before and since the start, for each step how long it takes over all who had it to pass (Kaplan-Meier, in days and in sessions since the start), a comparison of versions or groups where two or more have at least five students (log-rank), how many have each step as their next, and the time kept against the plan. A student counts by the assignment that was given last, until its last day, the day that it was ended, or today; days of a pause do not count. Steps passed before the start do not count as passed in the programme. Students of several groups are left out when groups are compared. Versions and groups are not drawn by lot, so a difference need not be the programme's doing.
//	@ID				getCohort
//	@Tags			Programmes
//	@Produce		json
//	@Param			programme_id	path		string	true	"The programme"	format(uuid)
//	@Param			group_id		query		string	false	"Students of this group"	format(uuid)
//	@Param			version			query		int		false	"Students with this version"	minimum(1)
//	@Param			compare			query		string	false	"What to compare; versions if there are two to compare, or else groups"	Enums(version, group)
//	@Param			If-None-Match	header		string	false	"The entity tag you have"
//	@Success		200				{object}	Cohort
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/programmes/{programme_id}/cohort [get]
func (s *Server) getCohort(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	q := newQuery(c)
	f := academy.CohortFilter{
		Group: q.id("group_id"), Version: q.number("version", 1, math.MaxInt32, 0),
		By: academy.CohortBy(q.word("compare", words(academy.CohortBys())...)),
	}
	if err := q.done(); err != nil {
		return err
	}
	if done, err := s.fresh(c, ""); done || err != nil {
		return err
	}
	cohort, err := s.Cohorts.Cohort(c.Request().Context(), actor(c), id, f)
	if err != nil {
		return err
	}
	return okFresh(c, encodeCohort(cohort))
}
