package api

import (
	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// TestDue is a first test or an end test that a student is asked for: twenty balls from
// one spot, before other balls of the skill that day.
type TestDue struct {
	AssignmentID domain.ID `json:"assignment_id" binding:"required" format:"uuid"`
	// Purpose is what a block of kind test says as its purpose.
	Purpose   string    `json:"purpose" binding:"required" extensions:"x-words=purposes" example:"first_test"`
	SkillID   domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	SkillName string    `json:"skill_name" binding:"required" example:"Chip and run"`
	SkillKind string    `json:"skill_kind" binding:"required" extensions:"x-words=skill_kinds"`
	// Drill is the spot and, with radius_m, the circle; an end test has the circle of
	// the first.
	Drill Drill `json:"drill" binding:"required"`
	// Struck are the balls of it struck today, and Left those that are missing; a test
	// that was not finished begins anew on another day.
	Struck int `json:"struck" binding:"required" minimum:"0" example:"12"`
	Left   int `json:"left" binding:"required" minimum:"1" example:"8"`
	// Tomorrow is true where other balls of the skill were struck today already: then
	// the test shows little, and is better taken on another day.
	Tomorrow bool `json:"tomorrow" binding:"required"`
} // @name TestDue

// MeasuredTest is a first test or an end test as it was struck.
type MeasuredTest struct {
	Purpose string `json:"purpose" binding:"required" extensions:"x-words=purposes" example:"first_test"`
	// Day is the day it was struck on, in the time zone of the session.
	Day     string  `json:"day" binding:"required" format:"date" example:"2026-05-03"`
	RadiusM float64 `json:"radius_m" binding:"required" example:"1.2192"`
	Balls   int     `json:"balls" binding:"required" example:"20"`
	// Inside includes Holed.
	Inside int `json:"inside" binding:"required" example:"8"`
	Holed  int `json:"holed" binding:"required" example:"0"`
	// Left are the balls that it lacks.
	Left int `json:"left" binding:"required" example:"0"`
} // @name MeasuredTest

// TestChange is how the rate in the first test's circle changed to the end test.
type TestChange struct {
	// Mean is the change of the rate, from -1 to 1: chance and the form of the two days
	// are allowed for, so it is less than the two shares say.
	Mean       float64  `json:"mean" binding:"required" example:"0.12"`
	Interval80 Interval `json:"interval_80" binding:"required"`
	// Text says it in sentences, in the units that the asker prefers. It names no cause.
	Text string `json:"text" binding:"required"`
} // @name TestChange

// SkillTests are a student's first test and end test at a skill. Both were struck
// whole, and before other balls of the skill in their session.
type SkillTests struct {
	SkillID   domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	SkillName string    `json:"skill_name" binding:"required" example:"Chip and run"`
	// First is the earliest first test, and End the latest end test.
	First *MeasuredTest `json:"first,omitempty"`
	End   *MeasuredTest `json:"end,omitempty"`
	// Change is there with both.
	Change *TestChange `json:"change,omitempty"`
	// Unfinished lacks balls, and Warm came after other balls of the skill: neither is
	// held against another.
	Unfinished *MeasuredTest `json:"unfinished,omitempty"`
	Warm       *MeasuredTest `json:"warm,omitempty"`
} // @name SkillTests

// StudentTests are a student's first tests and end tests.
type StudentTests struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// Due are those that are asked for now.
	Due    []TestDue    `json:"due" binding:"required"`
	Skills []SkillTests `json:"skills" binding:"required"`
	// Starts are what is proposed after first tests and waits for an answer. Take them
	// with POST /v1/students/{student_id}/start, or accept them as other proposals.
	Starts []TestStart `json:"starts" binding:"required"`
} // @name StudentTests

// TestStart is one thing proposed after a first test.
type TestStart struct {
	SkillID   domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	SkillName string    `json:"skill_name" binding:"required" example:"Chip and run"`
	// Text is for the student.
	Text string `json:"text" binding:"required" example:"After your first test: begin with 4 in a row inside 5 ft."`
} // @name TestStart

// StartRequest begins as proposed.
type StartRequest struct {
	SkillID domain.ID `json:"skill_id" validate:"required" binding:"required" format:"uuid"`
} // @name StartRequest

// TestsRequest switches first tests and end tests.
type TestsRequest struct {
	// Asked says whether the student is asked for them.
	Asked bool `json:"asked" validate:"required" binding:"required" example:"false"`
} // @name TestsRequest

func encodeTestDue(d academy.TestDue) TestDue {
	return TestDue{
		AssignmentID: d.Assignment, Purpose: string(d.Purpose), SkillID: d.Skill.ID, SkillName: d.Skill.Name, SkillKind: string(d.Skill.Kind),
		Drill: encodeDrill(d.Drill), Struck: d.Struck, Left: d.Left, Tomorrow: d.Tomorrow,
	}
}

func encodeMeasured(m progress.Measured) MeasuredTest {
	return MeasuredTest{
		Purpose: string(m.Purpose), Day: m.Day.String(), RadiusM: m.Radius.Metres(), Balls: m.Balls, Inside: m.Inside, Holed: m.Holed, Left: m.Left(),
	}
}

// maybeMeasured is nil for no test.
func maybeMeasured(m *progress.Measured) *MeasuredTest {
	if m == nil || m.Balls == 0 {
		return nil
	}
	out := encodeMeasured(*m)
	return &out
}

func encodeChange(r advice.Reader, first, end progress.Measured, c estimate.Change) TestChange {
	return TestChange{Mean: c.Mean, Interval80: encodeInterval(c.Interval80), Text: advice.Changed(r, first, end, c)}
}

func (e progressEncoder) skillTests(t academy.SkillTests) SkillTests {
	out := SkillTests{
		SkillID: t.Skill.ID, SkillName: t.Skill.Name, First: maybeMeasured(&t.First), End: maybeMeasured(&t.End),
		Unfinished: maybeMeasured(t.Unfinished), Warm: maybeMeasured(t.Warm),
	}
	if t.Changed {
		change := encodeChange(e.reader, t.First, t.End, t.Change)
		out.Change = &change
	}
	return out
}

// getTests reads first tests and end tests.
//
//	@Summary		Read a student's first tests and end tests
//	@Description	Twenty balls a skill from one spot, before other balls of it that day, with no run shown: before practice begins, and again from the programme's last week on. Which are asked for now, what was measured, the change from the first to the end with its 80 % interval, and what is proposed after a first test and waits for an answer. Balls of a session's block of kind test with the purpose first_test or end_test count here, on a green alone.
//	@ID				getTests
//	@Tags			Students
//	@Produce		json
//	@Param			student_id		path		string	true	"The student"	format(uuid)
//	@Success		200				{object}	StudentTests
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/tests [get]
func (s *Server) getTests(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	tests, err := s.Read.Tests(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	e, err := s.readerStyle(c, tests.Student)
	if err != nil {
		return err
	}
	starts, err := s.Propose.Starts(c.Request().Context(), actor(c), id, "", inUnitsOf(tests.Student))
	if err != nil {
		return err
	}
	out := StudentTests{StudentID: id, Due: each(tests.Due, encodeTestDue), Skills: each(tests.Skills, e.skillTests), Starts: []TestStart{}}
	for _, x := range starts {
		if text := x.ToStudent(inUnitsOf(tests.Student)); x.Adjustment.Kind != "" {
			out.Starts = append(out.Starts, TestStart{SkillID: x.Skill.ID, SkillName: x.Skill.Name, Text: text})
		}
	}
	return ok(c, 0, out)
}

// inUnitsOf writes for a member.
func inUnitsOf(m academy.Member) advice.Reader {
	return advice.Reader{Metric: m.Units == academy.InMetres}
}

// takeStart begins as proposed.
//
//	@Summary		Begin as proposed after a first test
//	@Description	Gives the adjustments that are proposed at the skill, as a coach does who accepts them, so that a student need not wait for an answer. What a coach refused is not given; what was given is undone by ending it, as ever.
//	@ID				takeStart
//	@Tags			Adjustments
//	@Accept			json
//	@Produce		json
//	@Param			student_id	path		string			true	"The student"	format(uuid)
//	@Param			start		body		StartRequest	true	"The skill"
//	@Success		200			{object}	AdjustmentResults
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/start [post]
func (s *Server) takeStart(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	var r StartRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	skill := bodyID(&p, "/skill_id", r.SkillID)
	if r.SkillID == "" {
		p.Add("/skill_id", "is missing; give the ID of the skill to begin at")
	}
	if err := p.Err("start_invalid", "Nothing was begun."); err != nil {
		return err
	}
	student, err := s.Academy.Member(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	begin := academy.StartService{Propose: s.Propose, Adjust: s.Adjust}
	given, err := begin.Begin(c.Request().Context(), actor(c), id, skill, inUnitsOf(student))
	if err != nil {
		return err
	}
	return writeGiven(c, given)
}

// askForTests switches the asking for tests.
//
//	@Summary		Ask for first tests and end tests, or not
//	@Description	An assignment asks for a first test of each skill that is new to the student, and for an end test of it from the last week on, unless it is switched off here or when it is made.
//	@ID				askForTests
//	@Tags			Assignments
//	@Accept			json
//	@Produce		json
//	@Param			assignment_id	path		string			true	"The assignment"	format(uuid)
//	@Param			If-Match		header		string			false	"The ETag of the version you are changing"
//	@Param			tests			body		TestsRequest	true	"Whether they are asked for"
//	@Success		200				{object}	AssignmentDetail
//	@Failure		400,401,403,404,409,412,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/assignments/{assignment_id}/tests [post]
func (s *Server) askForTests(c echo.Context) error {
	return s.changeAssignment(c, func(id domain.ID, revision int) error {
		var r TestsRequest
		if err := decode(c, &r); err != nil {
			return err
		}
		_, err := s.Academy.AskForTests(c.Request().Context(), actor(c), id, revision, r.Asked)
		return err
	})
}
