package api

import (
	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/estimate"
)

// UpAndDown is how often a student got up and down: two shots from around the green.
type UpAndDown struct {
	Rounds int `json:"rounds" binding:"required" example:"8"`
	// Chances are the holes of which it is known; Saved of them were done in two.
	Chances int `json:"chances" binding:"required" example:"24"`
	Saved   int `json:"saved" binding:"required" example:"9"`
	// Rate is what is to be expected of the next chances, by these: after few of them
	// it lies nearer to a half than Saved of Chances.
	Rate       float64  `json:"rate" binding:"required" example:"0.38"`
	Interval80 Interval `json:"interval_80" binding:"required"`
	// Text says it in a sentence.
	Text string `json:"text" binding:"required" example:"Up and down 9 of 24 times (38 %); the true rate is probably 26 to 51 %."`
} // @name UpAndDown

// Proximity is how close shots from one lie and some distances stopped.
type Proximity struct {
	Lie string `json:"lie" binding:"required" extensions:"x-words=lies" example:"rough"`
	// FromM and BelowM bound the distances to the hole, in metres.
	FromM  float64 `json:"from_m" binding:"required" example:"9.144"`
	BelowM float64 `json:"below_m" binding:"required" example:"18.288"`
	Shots  int     `json:"shots" binding:"required" example:"14"`
	Holed  int     `json:"holed" binding:"required" example:"1"`
	// MedianM is the middle distance left in metres, a holed one counting as 0; the
	// interval is left out below four shots.
	MedianM          float64   `json:"median_m" binding:"required" example:"3.1"`
	MedianInterval80 *Interval `json:"median_interval_80,omitempty"`
} // @name Proximity

// StrokesGained is what was gained around the green against a baseline.
type StrokesGained struct {
	Rounds int `json:"rounds" binding:"required" example:"8"`
	// Shots are those that the baseline covers.
	Shots int `json:"shots" binding:"required" example:"41"`
	// PerShot is the mean gained by a shot.
	PerShot float64 `json:"per_shot" binding:"required" example:"-0.12"`
	// PerRound is that of a round with as many shots as the student's rounds have, to
	// the whole shot; Text names the number.
	PerRound float64 `json:"per_round" binding:"required" example:"-0.6"`
	// PerShotInterval80 is left out below three rounds.
	PerShotInterval80 *Interval `json:"per_shot_interval_80,omitempty"`
	Text              string    `json:"text" binding:"required"`
} // @name StrokesGained

// CourseChange compares rounds with the student's own earlier ones, lie by lie.
type CourseChange struct {
	// Before is as it would have been from the lies played after, and of rounds with
	// equally many shots: After less Before is the change.
	Before StrokesGained `json:"before" binding:"required"`
	After  StrokesGained `json:"after" binding:"required"`
	// PerShot and PerRound are how much more was gained; the interval is left out
	// when there are too few rounds to tell.
	PerShot           float64   `json:"per_shot" binding:"required" example:"0.08"`
	PerRound          float64   `json:"per_round" binding:"required" example:"0.4"`
	PerShotInterval80 *Interval `json:"per_shot_interval_80,omitempty"`
	Verdict           string    `json:"verdict" binding:"required" extensions:"x-words=course_verdicts" example:"cannot_tell"`
	Text              string    `json:"text" binding:"required"`
} // @name CourseChange

// ProgrammeOnCourse is the course before a programme began and since.
type ProgrammeOnCourse struct {
	AssignmentID  domain.ID `json:"assignment_id" binding:"required" format:"uuid"`
	ProgrammeName string    `json:"programme_name" binding:"required" example:"Six weeks around the green"`
	StartDate     string    `json:"start_date" binding:"required" format:"date" example:"2026-05-04"`
	// BeforeUpAndDown and SinceUpAndDown are the chances of an up and down.
	BeforeUpAndDown UpAndDown    `json:"before_up_and_down" binding:"required"`
	SinceUpAndDown  UpAndDown    `json:"since_up_and_down" binding:"required"`
	Change          CourseChange `json:"change" binding:"required"`
} // @name ProgrammeOnCourse

// PracticeOnCourse is whether practice of a skill shows on the course.
type PracticeOnCourse struct {
	SkillID   domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	SkillName string    `json:"skill_name" binding:"required" example:"Pitch"`
	// RadiusM is that of the circle whose rate in practice is compared, in metres.
	RadiusM float64 `json:"radius_m" binding:"required" example:"1.524"`
	Rounds  int     `json:"rounds" binding:"required" example:"16"`
	Shots   int     `json:"shots" binding:"required" example:"83"`
	// PerTenPoints is how many strokes a shot gained more for every ten points in
	// practice; left out when there is nothing to tell it from.
	PerTenPoints           *float64  `json:"per_ten_points,omitempty" example:"0.05"`
	PerTenPointsInterval80 *Interval `json:"per_ten_points_interval_80,omitempty"`
	// Finding is cannot_tell for the reason that Lack names.
	Finding string `json:"finding" binding:"required" extensions:"x-words=course_findings" example:"cannot_tell"`
	Lack    string `json:"lack,omitempty" extensions:"x-words=course_lacks" example:"few_rounds"`
	Text    string `json:"text" binding:"required"`
} // @name PracticeOnCourse

// CourseReport is what a student's rounds tell, by the latest 200.
type CourseReport struct {
	StudentID domain.ID   `json:"student_id" binding:"required" format:"uuid"`
	Rounds    int         `json:"rounds" binding:"required" example:"14"`
	UpAndDown UpAndDown   `json:"up_and_down" binding:"required"`
	Proximity []Proximity `json:"proximity" binding:"required"`
	// Recent compares the latest rounds, five at most, with the student's own before.
	Recent CourseChange `json:"recent" binding:"required"`
	// Baseline names the play that strokes gained are counted against.
	Baseline      string        `json:"baseline" binding:"required"`
	StrokesGained StrokesGained `json:"strokes_gained" binding:"required"`
	// Programmes are the latest first, of those with rounds before and since.
	Programmes []ProgrammeOnCourse `json:"programmes" binding:"required"`
	// Practice is beside the course, for each skill that is played there.
	Practice []PracticeOnCourse `json:"practice" binding:"required"`
} // @name CourseReport

func encodeUpAndDown(s course.Share) UpAndDown {
	return UpAndDown{
		Rounds: s.Rounds, Chances: s.Chances, Saved: s.Saved, Rate: s.Rate.Mean, Interval80: encodeInterval(s.Rate.Interval80), Text: s.Text(),
	}
}

// encodeCourseTally gives the rate of a tally; nil without a chance.
func encodeCourseTally(t course.Tally) *UpAndDown {
	if t.Chances == 0 {
		return nil
	}
	out := encodeUpAndDown(course.UpAndDown(t))
	return &out
}

// toldInterval gives an interval that may not be known.
func toldInterval(i estimate.Interval, told bool) *Interval {
	if !told {
		return nil
	}
	out := encodeInterval(i)
	return &out
}

func encodeProximity(p course.Proximity) Proximity {
	return Proximity{
		Lie: string(p.Lie), FromM: p.From.Metres(), BelowM: p.To.Metres(), Shots: p.Shots, Holed: p.Holed, MedianM: p.Median.Metres(),
		MedianInterval80: toldInterval(estimate.Interval{Lo: p.Low.Metres(), Hi: p.High.Metres()}, p.Told),
	}
}

func encodeGained(l course.Level, b course.Baseline) StrokesGained {
	return StrokesGained{
		Rounds: l.Rounds, Shots: l.Shots, PerShot: l.PerShot, PerRound: l.PerRound(), PerShotInterval80: toldInterval(l.Interval80, l.Told), Text: l.Text(b.Whose),
	}
}

func encodeCourseChange(c course.Change, b course.Baseline) CourseChange {
	return CourseChange{
		Before: encodeGained(c.Before, b), After: encodeGained(c.After, b), PerShot: c.PerShot, PerRound: c.PerRound(),
		PerShotInterval80: toldInterval(c.Interval80, c.Told), Verdict: string(c.Verdict), Text: c.Text(),
	}
}

func encodeTransfer(t academy.SkillTransfer) PracticeOnCourse {
	out := PracticeOnCourse{
		SkillID: t.Skill.ID, SkillName: t.Skill.Name, RadiusM: t.Radius.Metres(), Rounds: t.Rounds, Shots: t.Shots,
		Finding: string(t.Finding), Lack: string(t.Lack), Text: t.Text(),
	}
	if t.Fitted() {
		out.PerTenPoints, out.PerTenPointsInterval80 = &t.PerTen, toldInterval(t.Interval80, true)
	}
	return out
}

func encodeCourseReport(c academy.CourseReport) CourseReport {
	return CourseReport{
		StudentID: c.Student.ID, Rounds: len(c.Rounds), UpAndDown: encodeUpAndDown(c.UpAndDown), Proximity: each(c.Proximity, encodeProximity),
		Recent: encodeCourseChange(c.Recent, c.Baseline), Baseline: c.Baseline.Name, StrokesGained: encodeGained(c.Gained, c.Baseline),
		Programmes: each(c.Programmes, func(p academy.ProgrammeChange) ProgrammeOnCourse {
			return ProgrammeOnCourse{
				AssignmentID: p.Assignment, ProgrammeName: p.Name, StartDate: p.Start.String(),
				BeforeUpAndDown: encodeUpAndDown(p.Before), SinceUpAndDown: encodeUpAndDown(p.Since), Change: encodeCourseChange(p.Change, c.Baseline),
			}
		}),
		Practice: each(c.Skills, encodeTransfer),
	}
}

// getCourse reads what a student's rounds tell.
//
//	@Summary		A student on the course
//	@Description	How often up and down, how close by lie and distance, strokes gained against the student's own earlier play and against a published baseline, before and since each programme, and whether practice shows on the course. Where the rounds cannot tell, that is said.
//	@ID				getCourse
//	@Tags			Rounds
//	@Produce		json
//	@Param			student_id		path		string	true	"The student"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The entity tag you have"
//	@Success		200				{object}	CourseReport
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/course [get]
func (s *Server) getCourse(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	if done, err := s.fresh(c, id); done || err != nil {
		return err
	}
	report, err := s.Rounds.Course(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return okFresh(c, encodeCourseReport(report))
}
