package api

import (
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// TestEncodeInsights: what is told, and what cannot be told.
func TestEncodeInsights(t *testing.T) {
	at := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	between := func(lo, hi float64) estimate.Interval { return estimate.Interval{Lo: lo, Hi: hi} }
	in := academy.SkillInsight{LearnedAt: at}
	in.Skill = "pitch"
	in.Circles = []progress.CircleInsight{
		{Radius: domain.Metre, DrillDifficulty: estimate.DrillDifficulty{Students: 5, Balls: 300, Difficulty: 0.5, DifficultyInterval80: between(0.2, 0.8), Middling: 0.46, MiddlingInterval80: between(0.4, 0.52)}},
		{Radius: 2 * domain.Metre, DrillDifficulty: estimate.DrillDifficulty{Students: 2, Balls: 30, CannotTell: estimate.FewStudents}},
	}
	in.Students = []academy.StudentInsight{{
		Student:      academy.Member{ID: "ada", Name: "Ada"},
		StudentLevel: estimate.StudentLevel{Student: "ada", Balls: 90, Level: 0.5, LevelInterval80: between(0.5, 0.5)},
	}}
	in.Fade = estimate.Fade{
		Breaks: 9, Students: 5, UsualGap: 3, Middling: 0.5,
		TwoWeeks:  estimate.FadeAfter{Days: 14, Logits: 0.2, LogitsInterval80: between(0.1, 0.3), Share: 0.05, ShareInterval80: between(0.02, 0.08)},
		FourWeeks: estimate.FadeAfter{Days: 28, Logits: 0.3, LogitsInterval80: between(0.15, 0.45), Share: 0.07, ShareInterval80: between(0.03, 0.11)},
	}
	want := SkillInsights{
		SkillID: "pitch", LearnedAt: &at,
		Circles: []CircleInsight{
			{RadiusM: 1, Students: 5, Balls: 300, Compared: "harder", Difficulty: new(0.5), DifficultyInterval80: &Interval{0.2, 0.8}, MiddlingRate: new(0.46), MiddlingRateInterval80: &Interval{0.4, 0.52}},
			{RadiusM: 2, Students: 2, Balls: 30, CannotTell: "few_students"},
		},
		Students: []StudentLevel{{StudentID: "ada", Name: "Ada", Balls: 90, Level: 0.5, LevelInterval80: Interval{0.5, 0.5}, Expected: []ExpectedRate{{1, 0.5, Interval{0.5, 0.5}}}}},
		Fade: FadeInsight{Breaks: 9, Students: 5, UsualGapDays: 3, MiddlingRate: new(0.5), After: []FadeAfter{
			{14, 0.05, Interval{0.02, 0.08}, 0.2, Interval{0.1, 0.3}}, {28, 0.07, Interval{0.03, 0.11}, 0.3, Interval{0.15, 0.45}},
		}},
	}
	if got := encodeInsights(in); !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	in.Fade = estimate.Fade{Breaks: 4, CannotTell: estimate.FewBreaks}
	if got := encodeInsights(in).Fade; !reflect.DeepEqual(got, FadeInsight{Breaks: 4, CannotTell: "few_breaks", After: []FadeAfter{}}) {
		t.Errorf("few breaks: %+v", got)
	}
	// Before the first hour nothing was looked for.
	if got := encodeInsights(academy.SkillInsight{}); got.LearnedAt != nil || got.Circles == nil || got.Students == nil || !reflect.DeepEqual(got.Fade, FadeInsight{After: []FadeAfter{}}) {
		t.Errorf("nothing: %+v", got)
	}
}
