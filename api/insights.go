package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// SkillInsights is what the academy's students together teach about a skill.
type SkillInsights struct {
	SkillID domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	// LearnedAt is left out until the academy's practice was first looked at,
	// which happens every hour.
	LearnedAt *time.Time `json:"learned_at,omitempty" format:"date-time"`
	// Circles are the skill at each circle, smallest first, from the balls of
	// the last three months.
	Circles []CircleInsight `json:"circles" binding:"required"`
	// Students are those whom the asker may see and whose level is known.
	Students []StudentLevel `json:"students" binding:"required"`
	Fade     FadeInsight    `json:"fade" binding:"required"`
} // @name SkillInsights

// CircleInsight is how hard a skill is at one circle, compared with all skills
// and circles of the academy that students link.
type CircleInsight struct {
	// RadiusM is the circle's radius in metres.
	RadiusM  float64 `json:"radius_m" binding:"required" example:"0.9144"`
	Students int     `json:"students" binding:"required" example:"14"`
	Balls    int     `json:"balls" binding:"required" example:"1260"`
	// CannotTell says why the rest is left out: unlinked when no student has
	// struck both these balls and others.
	CannotTell string `json:"cannot_tell,omitempty" enums:"unlinked,few_students,few_balls"`
	// Compared says harder or easier when the interval of the difficulty does.
	Compared string `json:"compared,omitempty" enums:"harder,usual,easier" example:"harder"`
	// Difficulty is in logits above the mean.
	Difficulty           *float64  `json:"difficulty,omitempty" example:"0.41"`
	DifficultyInterval80 *Interval `json:"difficulty_interval_80,omitempty"`
	// MiddlingRate is the rate of a student of middling level.
	MiddlingRate           *float64  `json:"middling_rate,omitempty" example:"0.46"`
	MiddlingRateInterval80 *Interval `json:"middling_rate_interval_80,omitempty"`
} // @name CircleInsight

// StudentLevel is where a student stands on the same scale: level minus
// difficulty is the logit of the rate expected at a circle.
type StudentLevel struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	Name      string    `json:"name" binding:"required" example:"Ines Marques"`
	// Balls at all skills that the level rests on.
	Balls int `json:"balls" binding:"required" example:"240"`
	// Level is the student's level over all skills, in logits; 0 is the mean of the academy.
	Level           float64  `json:"level" binding:"required" example:"0.12"`
	LevelInterval80 Interval `json:"level_interval_80" binding:"required"`
	// Expected are the rates that follow at the skill's circles, as far as their
	// difficulty is known, smallest circle first.
	Expected []ExpectedRate `json:"expected" binding:"required"`
} // @name StudentLevel

// ExpectedRate is what a student is expected to have inside a circle on a
// middling day, whether or not they have played it. It rests on all skills and
// weeks together, to compare drills; the rate now is in the student's progress.
type ExpectedRate struct {
	RadiusM float64 `json:"radius_m" binding:"required" example:"0.9144"`
	Rate    float64 `json:"rate" binding:"required" example:"0.43"`
	// Interval80 is that of the student's level; it takes the difficulty for
	// known.
	Interval80 Interval `json:"interval_80" binding:"required"`
} // @name ExpectedRate

// FadeInsight is how much the skill fades with days away, learned from the last
// year.
type FadeInsight struct {
	// Breaks of ten days or more, with balls judged before and after, by so many
	// students.
	Breaks   int `json:"breaks" binding:"required" example:"23"`
	Students int `json:"students" binding:"required" example:"11"`
	// CannotTell says why after is empty; too_wide that the breaks differ too
	// much.
	CannotTell string `json:"cannot_tell,omitempty" enums:"few_breaks,few_students,too_wide"`
	// UsualGapDays is how many days pass between sessions, in the median.
	UsualGapDays float64 `json:"usual_gap_days" binding:"required" example:"3"`
	// MiddlingRate is the rate that the losses are told at.
	MiddlingRate *float64    `json:"middling_rate,omitempty" example:"0.52"`
	After        []FadeAfter `json:"after" binding:"required"`
} // @name FadeInsight

// FadeAfter is what is lost after some days away, compared with going on as
// usual; below 0 is gained.
type FadeAfter struct {
	// Days is how many days away.
	Days int `json:"days" binding:"required" example:"14"`
	// Lost is a share of balls, from -1 to 1.
	Lost           float64  `json:"lost" binding:"required" example:"0.031"`
	LostInterval80 Interval `json:"lost_interval_80" binding:"required"`
	// Logits is the same in logits.
	Logits           float64  `json:"logits" binding:"required" example:"0.12"`
	LogitsInterval80 Interval `json:"logits_interval_80" binding:"required"`
} // @name FadeAfter

func encodeInsights(i academy.SkillInsight) SkillInsights {
	return SkillInsights{
		SkillID: i.Skill, LearnedAt: instant(i.LearnedAt), Circles: each(i.Circles, encodeCircleInsight),
		Students: each(i.Students, func(s academy.StudentInsight) StudentLevel { return encodeLevel(s, i.Circles) }),
		Fade:     encodeFade(i.Fade),
	}
}

func encodeLevel(s academy.StudentInsight, circles []progress.CircleInsight) StudentLevel {
	out := StudentLevel{
		StudentID: s.Student.ID, Name: s.Student.Name, Balls: s.Balls, Level: s.Level, LevelInterval80: encodeInterval(s.LevelInterval80),
		Expected: []ExpectedRate{},
	}
	for _, c := range circles {
		if c.CannotTell == "" {
			rate, interval := s.At(c.DrillDifficulty)
			out.Expected = append(out.Expected, ExpectedRate{RadiusM: c.Radius.Metres(), Rate: rate, Interval80: encodeInterval(interval)})
		}
	}
	return out
}

func encodeCircleInsight(c progress.CircleInsight) CircleInsight {
	out := CircleInsight{RadiusM: c.Radius.Metres(), Students: c.Students, Balls: c.Balls, CannotTell: string(c.CannotTell)}
	if c.CannotTell == "" {
		difficulty, rate := encodeInterval(c.DifficultyInterval80), encodeInterval(c.MiddlingInterval80)
		out.Compared = string(c.Compared())
		out.Difficulty, out.DifficultyInterval80 = &c.Difficulty, &difficulty
		out.MiddlingRate, out.MiddlingRateInterval80 = &c.Middling, &rate
	}
	return out
}

func encodeFade(f estimate.Fade) FadeInsight {
	out := FadeInsight{Breaks: f.Breaks, Students: f.Students, CannotTell: string(f.CannotTell), UsualGapDays: f.UsualGap, After: []FadeAfter{}}
	if f.CannotTell == "" && f.Middling > 0 {
		out.MiddlingRate = &f.Middling
		out.After = each([]estimate.FadeAfter{f.TwoWeeks, f.FourWeeks}, func(a estimate.FadeAfter) FadeAfter {
			return FadeAfter{
				Days: int(a.Days), Lost: a.Share, LostInterval80: encodeInterval(a.ShareInterval80),
				Logits: a.Logits, LogitsInterval80: encodeInterval(a.LogitsInterval80),
			}
		})
	}
	return out
}

// getInsights tells what all students together teach about a skill.
//
//	@Summary		Read what all students teach about a skill
//	@Description	How hard the skill is at each circle, on one scale with every skill of the academy, where each student stands on it, and how much the skill fades with days away. Learned from all of the academy's students; levels are told of those whom the asker may see. What the practice so far cannot tell is left out, and why is said.
//	@ID				getInsights
//	@Tags			Skills
//	@Produce		json
//	@Param			skill_id		path		string	true	"The skill"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{object}	SkillInsights
//	@Success		304				"Not modified"
//	@Failure		401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/skills/{skill_id}/insights [get]
func (s *Server) getInsights(c echo.Context) error {
	skill, err := pathID(c, "skill_id")
	if err != nil {
		return err
	}
	told, err := s.Insights.Skill(c.Request().Context(), actor(c), skill)
	if err != nil {
		return err
	}
	return ok(c, 0, encodeInsights(told))
}
