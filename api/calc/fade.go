package calc

import (
	"fmt"
	"strings"

	"fringework/domain"
	"fringework/domain/estimate"
)

const maxFadeSessions = 20_000

var fade = define[fadeIn, FadeOut]("fade",
	"Estimates from many students' breaks how much a skill fades with days away, compared with going on at the usual gap. A course is one student's sessions, judged at one circle, oldest first.",
	fadeExample(), answerFade)

// fadeExample has four students with two breaks of three weeks each.
func fadeExample() string {
	courses := make([]string, 4)
	for i := range courses {
		sessions, day := make([]string, 9), 0
		for j := range sessions {
			inside := 22 + 2*i
			if j > 0 {
				day += 3
			}
			if j == 3 || j == 6 {
				day += 18
			}
			inside -= j / 3 * 3
			sessions[j] = fmt.Sprintf(`{"day":%d,"balls":40,"inside":%d}`, day, inside)
		}
		courses[i] = fmt.Sprintf(`{"student":"%c","sessions":[%s]}`, 'A'+i, strings.Join(sessions, ","))
	}
	return `{"courses":[` + strings.Join(courses, ",") + `]}`
}

// fadeIn is the input of fade.
type fadeIn struct {
	// Courses are the sessions of each student.
	Courses *[]fadeCourseIn `json:"courses" validate:"required"`
}

// fadeCourseIn is the sessions of one student.
type fadeCourseIn struct {
	// Student is any name for the student.
	Student *string `json:"student" validate:"required"`
	// Sessions are the student's sessions, in the order of their days.
	Sessions *[]fadeSessionIn `json:"sessions" validate:"required"`
}

// fadeSessionIn is one session.
type fadeSessionIn struct {
	// Day is the day of the session, counted from any day.
	Day    *float64 `json:"day" validate:"required"`
	Balls  *int     `json:"balls" validate:"required"`
	Inside *int     `json:"inside" validate:"required"`
}

// FadeOut is the answer of fade; what cannot be told is null, and why is said.
type FadeOut struct {
	// Breaks are those of ten days or more, Students those who took them.
	Breaks   int `json:"breaks"`
	Students int `json:"students"`
	// CannotTell is few_breaks, few_students or too_wide; null otherwise.
	CannotTell *string `json:"cannot_tell"`
	// UsualGap is in days.
	UsualGap float64 `json:"usual_gap"`
	// MiddlingRate is the rate that the losses are told at.
	MiddlingRate *float64 `json:"middling_rate"`
	// TwoWeeks is what two weeks away cost; null when it cannot be told.
	TwoWeeks *FadeAfterOut `json:"two_weeks"`
	// FourWeeks is what four weeks away cost; null when it cannot be told.
	FourWeeks *FadeAfterOut `json:"four_weeks"`
}

// FadeAfterOut is what is lost after some days away, above 0 when it is less.
type FadeAfterOut struct {
	// Logits is the loss in logits.
	Logits float64 `json:"logits"`
	// LogitsInterval80 holds the loss in logits with a probability of 80 %.
	LogitsInterval80 [2]float64 `json:"logits_interval80"`
	// Share is in balls, from -1 to 1.
	Share float64 `json:"share"`
	// ShareInterval80 holds the loss in balls with a probability of 80 %.
	ShareInterval80 [2]float64 `json:"share_interval80"`
}

func answerFade(in fadeIn, p *domain.Problems) (any, error) {
	given := need(p, "/courses", in.Courses)
	given = most(p, "/courses", "courses", given, estimate.MaxFadeCourses)
	total := 0
	courses := make([]estimate.FadeCourse, len(given))
	for i, c := range given {
		at := at("/courses", i)
		courses[i].Student = need(p, at+"/student", c.Student)
		sessions := need(p, at+"/sessions", c.Sessions)
		if total += len(sessions); total > maxFadeSessions {
			p.Add("/courses", "have more than %d sessions in all; leave the oldest out", maxFadeSessions)
			return nil, nil
		}
		for j, s := range sessions {
			at := fmt.Sprintf("%s/sessions/%d", at, j)
			courses[i].Sessions = append(courses[i].Sessions, estimate.FadeSession{
				Day: need(p, at+"/day", s.Day), Balls: need(p, at+"/balls", s.Balls, estimate.MaxBalls), Inside: need(p, at+"/inside", s.Inside),
			})
		}
	}
	if estimate.CheckFadeCourses(p, "/courses", courses); len(p.Fields()) > 0 {
		return nil, nil
	}
	got := estimate.FadeOf(courses)
	out := FadeOut{Breaks: got.Breaks, Students: got.Students, CannotTell: why(got.CannotTell), UsualGap: got.UsualGap}
	if got.CannotTell == "" {
		out.MiddlingRate, out.TwoWeeks, out.FourWeeks = finite(got.Middling), fadeAfterOut(got.TwoWeeks), fadeAfterOut(got.FourWeeks)
	}
	return out, nil
}

func fadeAfterOut(a estimate.FadeAfter) *FadeAfterOut {
	return &FadeAfterOut{Logits: a.Logits, LogitsInterval80: pair(a.LogitsInterval80), Share: a.Share, ShareInterval80: pair(a.ShareInterval80)}
}
