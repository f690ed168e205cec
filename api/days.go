package api

import (
	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// StudentDays is what to bring and do before practice, and how each plan is played on a
// day that goes otherwise.
type StudentDays struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// On is today in the student's time zone.
	On string `json:"on" binding:"required" format:"date" example:"2026-05-13"`
	// Plans are those of the present week of each assignment, and of the next.
	Plans []StudentDaysPlan `json:"plans" binding:"required"`
	// Warmup is what to do with the body before the first ball, and WarmupWhy what is
	// known of it.
	Warmup    []string `json:"warmup" binding:"required" example:"Walk briskly for two minutes."`
	WarmupWhy string   `json:"warmup_why" binding:"required"`
	// Etiquette is what one owes others around a green.
	Etiquette []string `json:"etiquette" binding:"required" example:"Rake the bunker when you leave it."`
} // @name StudentDays

// StudentDaysPlan is one of the student's plans, with its versions.
type StudentDaysPlan struct {
	AssignmentID domain.ID `json:"assignment_id" binding:"required" format:"uuid"`
	// Week and Plan count from 1.
	Week int `json:"week" binding:"required" example:"2"`
	Plan int `json:"plan" binding:"required" example:"1"`
	PlanDays
} // @name StudentDaysPlan

// PlanDays is what to bring for a plan, and its versions for days that go otherwise.
type PlanDays struct {
	Bring Kit `json:"bring" binding:"required"`
	// Versions are empty while the shares of the plan do not sum to 100. One of twenty
	// minutes is there where the plan is longer.
	Versions []PlanOnDay `json:"versions" binding:"required"`
} // @name PlanDays

// PlanOnDay is a plan as it is played on a day that goes otherwise. A session by it says
// its variant and surface, counts as one of the plan's, and passes no step.
type PlanOnDay struct {
	Variant string `json:"variant" binding:"required" extensions:"x-words=variants" example:"closed_green"`
	// Surface is what it is played on; absent on a green.
	Surface string `json:"surface,omitempty" extensions:"x-words=surfaces" example:"carpet"`
	// Label names the day.
	Label   string `json:"label" binding:"required" example:"Green closed: carpet"`
	Minutes int    `json:"minutes" binding:"required" example:"45"`
	// Counts says what a session counts for, and why no odds are shown.
	Counts string `json:"counts" binding:"required"`
	// Cautions are what to look out for on such a day.
	Cautions []string `json:"cautions" binding:"required" example:"Soft practice balls only."`
	Bring    Kit      `json:"bring" binding:"required"`
	// Blocks follow from the plan's; a session names their numbers.
	Blocks []NowBlock `json:"blocks" binding:"required"`
} // @name PlanOnDay

// Kit is what to bring.
type Kit struct {
	// Balls is how many, and SoftBalls whether they are soft practice balls.
	Balls     int  `json:"balls" binding:"required" example:"12"`
	SoftBalls bool `json:"soft_balls" binding:"required" example:"false"`
	// Clubs are those that the drills name, without the putter; the student's own where
	// they set theirs.
	Clubs []string `json:"clubs" binding:"required" example:"54° wedge"`
	// Putter is true where a block putts, or is played out.
	Putter bool `json:"putter" binding:"required" example:"true"`
	// Tees are to mark a circle with.
	Tees int `json:"tees" binding:"required" example:"4"`
	// String says that one is needed to measure the circle.
	String bool `json:"string" binding:"required" example:"true"`
	// Towel says that one is needed: to land on, or to dry the grip.
	Towel bool `json:"towel" binding:"required" example:"false"`
} // @name Kit

func encodeKit(k curriculum.Kit) Kit {
	out := Kit{Balls: k.Balls, SoftBalls: k.Soft, Clubs: []string{}, Putter: k.Putter, Tees: k.Tees, String: k.String, Towel: k.Towel}
	out.Clubs = append(out.Clubs, k.Clubs...)
	return out
}

// encodeDay encodes a version of a plan but for its blocks.
func encodeDay(day curriculum.Day, p curriculum.Plan, k curriculum.Kit) PlanOnDay {
	out := PlanOnDay{
		Variant: string(day.Variant), Surface: string(day.Surface), Label: day.Label(), Minutes: p.Minutes,
		Counts: day.Counts(), Cautions: []string{}, Bring: encodeKit(k),
	}
	out.Cautions = append(out.Cautions, day.Cautions()...)
	return out
}

func encodeStudentDays(n academy.Now) StudentDays {
	out := StudentDays{
		StudentID: n.Student.ID, On: n.On.String(), Plans: []StudentDaysPlan{},
		Warmup: curriculum.BodyWarmup(), WarmupWhy: curriculum.WarmupWhy, Etiquette: curriculum.Etiquette(),
	}
	for _, w := range n.Work {
		for number := max(1, w.Position.Week); number <= min(len(w.Weeks), w.Position.Week+1); number++ {
			for i := range w.Weeks[number-1].Plans {
				out.Plans = append(out.Plans, StudentDaysPlan{
					AssignmentID: w.Assignment.ID, Week: number, Plan: i + 1,
					PlanDays: PlanDays{Bring: encodeKit(w.Kit(number, i+1)), Versions: encodeOtherDays(n, w, number, i+1)},
				})
			}
		}
	}
	return out
}

func encodeOtherDays(n academy.Now, w academy.Work, number, plan int) []PlanOnDay {
	return each(n.OtherDays(w, number, plan), func(d academy.OtherDay) PlanOnDay {
		out := encodeDay(d.Day, d.Plan, d.Kit)
		out.Blocks = blocksOf(d.Plan, w.Weeks[number-1], w.Version.SkillByID, n.Habit, d.Day.Variant == curriculum.OneBall, func(i int) []curriculum.Stop { return d.Decks[i] })
		return out
	})
}

// getStudentDays tells a student how plans go on other days.
//
//	@Summary		Read what to bring, and plans for other days
//	@Description	For each plan of the present week and of the next: what to bring, and its versions for twenty minutes, for one ball, for a closed green (on a mat, on a carpet, in a garden) and for rain. They follow from the plan by fixed rules and are dealt anew. Beside them the warm-up of the body and the etiquette around a green.
//	@ID				getStudentDays
//	@Tags			Students
//	@Produce		json
//	@Param			student_id		path		string	true	"The student"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{object}	StudentDays
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/days [get]
func (s *Server) getStudentDays(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	if done, err := s.fresh(c, id); done || err != nil {
		return err
	}
	now, err := s.Read.Now(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return okFresh(c, encodeStudentDays(now))
}

// getPlanDays shows a coach what becomes of a draft's plan on other days.
//
//	@Summary		Read a draft's plan for other days
//	@Description	What to bring for one plan of the draft, and its versions for days that go otherwise, as students get them: with your words for clubs, at the usual pace, without dealt tasks.
//	@ID				getPlanDays
//	@Tags			Programmes
//	@Produce		json
//	@Param			programme_id	path		string	true	"The programme"	format(uuid)
//	@Param			week			query		int		true	"The week, from 1"	minimum(1)	maximum(104)
//	@Param			plan			query		int		true	"The plan of that week, from 1"	minimum(1)	maximum(14)
//	@Success		200				{object}	PlanDays
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/programmes/{programme_id}/days [get]
func (s *Server) getPlanDays(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	q := newQuery(c)
	week, plan := q.number("week", 1, curriculum.MaxWeeks, 1), q.number("plan", 1, curriculum.MaxPlans, 1)
	if err := q.done(); err != nil {
		return err
	}
	content, skills, err := s.Curriculum.Draft(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	if week > len(content.Weeks) || plan > len(content.Weeks[week-1].Plans) {
		return domain.ErrNotFound("plan")
	}
	return ok(c, 0, encodePlanDays(content.Weeks[week-1], plan, skills))
}

func encodePlanDays(w curriculum.Week, plan int, skills map[domain.ID]curriculum.Skill) PlanDays {
	p := w.Plans[plan-1]
	skillOf := func(id domain.ID) (curriculum.Skill, bool) {
		skill, ok := skills[id]
		return skill, ok
	}
	shot := func(b curriculum.Block) curriculum.SkillKind { return skills[w.SkillOf(b)].Kind }
	undealt := func(int) []curriculum.Stop { return nil }
	out := PlanDays{Bring: encodeKit(p.Kit(curriculum.Day{}, shot)), Versions: []PlanOnDay{}}
	for _, day := range curriculum.Days() {
		other, ok := p.Variant(day, shot)
		if !ok {
			continue
		}
		version := encodeDay(day, other, other.Kit(day, shot))
		version.Blocks = blocksOf(other, w, skillOf, progress.Habit{}, version.Variant == string(curriculum.OneBall), undealt)
		out.Versions = append(out.Versions, version)
	}
	return out
}
