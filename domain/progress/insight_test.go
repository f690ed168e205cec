package progress

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// TestCircle: the session's balls at one circle, never those that count at a
// circle only because of what came of them.
func TestCircle(t *testing.T) {
	const small, middle, large = 3 * domain.Foot, 5 * domain.Foot, 8 * domain.Foot
	track := Track{Judged: []JudgedTier{
		{Tier: streak.Tier{Run: 4, Radius: large}}, {Tier: streak.Tier{Run: 5, Radius: middle}},
		{Tier: streak.Tier{Run: 5, Radius: small}}, {Tier: streak.Tier{Run: 6, Radius: small}},
	}}
	ball := func(o streak.Outcome) streak.Ball { return streak.Ball{Outcome: o, Radius: middle} }
	left := func(l domain.Length) streak.Ball {
		b := streak.Ball{Radius: middle, Leave: l, Measured: true}
		if l <= middle {
			b.Outcome = streak.In
		}
		return b
	}
	in, out, holed := ball(streak.In), ball(streak.Out), ball(streak.Holed)
	for name, c := range map[string]struct {
		balls []streak.Ball
		want  CircleCount
	}{
		"in and out":             {[]streak.Ball{in, out, in}, CircleCount{middle, 3, 2}},
		"all in":                 {[]streak.Ball{in, in}, CircleCount{middle, 2, 2}},
		"none in":                {[]streak.Ball{out, out, out}, CircleCount{middle, 3, 0}},
		"measured":               {[]streak.Ball{left(1), left(4 * domain.Foot), left(9 * domain.Foot)}, CircleCount{small, 3, 1}},
		"measured, one of them":  {[]streak.Ball{left(1), out, in}, CircleCount{middle, 3, 2}},
		"measured, all inside":   {[]streak.Ball{left(1), left(2)}, CircleCount{small, 2, 2}},
		"holed":                  {[]streak.Ball{holed, out}, CircleCount{middle, 2, 1}},
		"one":                    {[]streak.Ball{in}, CircleCount{middle, 1, 1}},
		"one holed":              {[]streak.Ball{{Outcome: streak.Holed, Radius: small}}, CircleCount{small, 1, 1}},
		"nothing":                {nil, CircleCount{}},
		"circles of two kinds":   {[]streak.Ball{in, {Outcome: streak.Out, Radius: small}}, CircleCount{small, 1, 0}},
		"a circle of no tier":    {[]streak.Ball{{Outcome: streak.In, Radius: 4 * domain.Foot}, {Outcome: streak.Out, Radius: 4 * domain.Foot}}, CircleCount{4 * domain.Foot, 2, 1}},
		"two tiers at one, once": {[]streak.Ball{{Outcome: streak.In, Radius: small}, {Outcome: streak.Out, Radius: small}}, CircleCount{small, 2, 1}},
	} {
		play := Play{Session: "s", StartedAt: time.Unix(0, 0), Blocks: []PlayedBlock{{Position: 1, Kind: "test", Balls: c.balls, StruckAt: func(int) time.Time { return time.Unix(0, 0) }}}}
		for _, reversed := range []bool{false, true} {
			s := track.Summarise(play)
			if reversed {
				slices.Reverse(s.Results)
			}
			if got, ok := s.Circle(); got != c.want || ok != (c.want.Balls > 0) {
				t.Errorf("%s (reversed: %v): %+v, %v; want %+v", name, reversed, got, ok, c.want)
			}
		}
	}
}

// TestScatter: measured balls tell of the circles of all tiers that they were
// judged for, each circle once; one circle alone tells nothing more.
func TestScatter(t *testing.T) {
	leaves := func(radius domain.Length, balls int) TierResult {
		r := TierResult{Tier: streak.Tier{Run: 5, Radius: radius}}
		if balls > 0 {
			r.Leaves = estimate.Circle{Radius: radius, Balls: balls, Inside: 1}
		}
		return r
	}
	circle := func(radius domain.Length, balls int) estimate.Circle {
		return estimate.Circle{Radius: radius, Balls: balls, Inside: 1}
	}
	for _, c := range []struct {
		why     string
		results []TierResult
		want    []estimate.Circle
	}{
		{"no tier", nil, nil},
		{"none measured", []TierResult{leaves(9, 0), leaves(7, 0)}, nil},
		{"one circle", []TierResult{leaves(9, 4), leaves(9, 4)}, nil},
		{"one ball, two circles", []TierResult{leaves(9, 1), leaves(7, 1)}, []estimate.Circle{circle(9, 1), circle(7, 1)}},
		{"two tiers at one of the circles", []TierResult{leaves(9, 4), leaves(7, 4), leaves(7, 4)}, []estimate.Circle{circle(9, 4), circle(7, 4)}},
		{"a tier that no block counted for", []TierResult{leaves(9, 0), leaves(7, 4), leaves(5, 4)}, []estimate.Circle{circle(7, 4), circle(5, 4)}},
		{"one circle besides such a tier", []TierResult{leaves(9, 0), leaves(7, 4)}, nil},
	} {
		if got := (SessionSummary{Results: c.results}).scatter(); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: got %+v, want %+v", c.why, got, c.want)
		}
	}
}

// TestRecentElsewhere: the circle with most balls first, of two alike the smaller.
func TestRecentElsewhere(t *testing.T) {
	circle := func(radius domain.Length, balls int) estimate.Circle {
		return estimate.Circle{Radius: radius, Balls: balls, Inside: 2, Holed: 1}
	}
	got := RecentOf([]estimate.Observation{
		{Balls: 20, Inside: 9, Elsewhere: []estimate.Circle{circle(9, 6), circle(7, 10)}},
		{Balls: 10, Inside: 4, Elsewhere: []estimate.Circle{circle(7, 5), circle(8, 6)}},
	})
	want := RecentCounts{Sessions: 2, Judged: 30, Inside: 13, Elsewhere: []estimate.Circle{{Radius: 7, Balls: 15, Inside: 4, Holed: 2}, circle(8, 6), circle(9, 6)}}
	if !reflect.DeepEqual(got, want) || got.Balls() != 57 {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

// TestLeftOnTheCircle: a ball that stops on the edge is inside, in each count.
func TestLeftOnTheCircle(t *testing.T) {
	r := TierResult{Tier: streak.Tier{Run: 5, Radius: 7}}
	r.add(PlayedBlock{Balls: []streak.Ball{
		{Outcome: streak.In, Radius: 9, Leave: 6, Measured: true}, {Outcome: streak.In, Radius: 9, Leave: 7, Measured: true}, {Outcome: streak.In, Radius: 9, Leave: 8, Measured: true},
	}})
	if want := (estimate.Circle{Radius: 7, Balls: 3, Inside: 2}); r.Leaves != want || r.Inside != 2 || r.Judged != 3 {
		t.Errorf("got %+v and %d of %d inside, want %+v", r.Leaves, r.Inside, r.Judged, want)
	}
}

// session is a summary of balls at a circle.
func sessionAt(at time.Time, radius domain.Length, balls, inside int) SessionSummary {
	s := SessionSummary{StartedAt: at}
	if balls > 0 {
		s.Results = []TierResult{{Tier: streak.Tier{Run: 5, Radius: radius}, Circles: []estimate.Circle{{Radius: radius, Balls: balls, Inside: inside}}}}
	}
	return s
}

// TestCourses: periods become one course for each student and skill.
func TestCourses(t *testing.T) {
	at := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	var c Courses
	for _, p := range []Period{
		{Student: "a", Skill: "chip", Number: 1, Sessions: []SessionSummary{sessionAt(at, 9, 20, 8), sessionAt(at.Add(1), 9, 0, 0)}},
		{Student: "a", Skill: "chip", Number: 2, Sessions: []SessionSummary{sessionAt(at.Add(2), 7, 10, 3)}},
		{Student: "a", Skill: "pitch", Number: 2, Sessions: []SessionSummary{sessionAt(at, 7, 5, 5)}},
		{Student: "b", Skill: "pitch", Number: 2, Sessions: []SessionSummary{sessionAt(at, 7, 6, 1)}},
	} {
		c.Add(p)
	}
	want := Courses{
		{"a", "chip", []CircleSession{{at, CircleCount{9, 20, 8}}, {at.Add(1), CircleCount{}}, {at.Add(2), CircleCount{7, 10, 3}}}},
		{"a", "pitch", []CircleSession{{at, CircleCount{7, 5, 5}}}},
		{"b", "pitch", []CircleSession{{at, CircleCount{7, 6, 1}}}},
	}
	if !reflect.DeepEqual(c, want) {
		t.Errorf("got %+v, want %+v", c, want)
	}
}

// TestLearnInsights: two skills, one at two circles, played by eight students
// with breaks; what is told of each is what the estimates say of these balls.
func TestLearnInsights(t *testing.T) {
	now := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	var courses []SkillCourse
	var results []estimate.DrillResult
	var fades []estimate.FadeCourse
	for i := range 8 {
		student := domain.ID(fmt.Sprint("student", i))
		pitch := SkillCourse{Student: student, Skill: "pitch"}
		narrow := estimate.FadeCourse{Student: string(student)}
		wide := narrow
		for j := range 24 {
			// Every third day, but for two weeks before each sixth time.
			day := j*3 + j/6*14
			c := CircleCount{Radius: 3 * domain.Foot, Balls: 30, Inside: 12 + i - j/6}
			if j%4 == 3 {
				c = CircleCount{Radius: 6 * domain.Foot, Balls: 20, Inside: 13 + i%3}
			}
			at := now.AddDate(0, 0, day-119)
			pitch.Sessions = append(pitch.Sessions, CircleSession{at, c})
			s, none := estimate.FadeSession{Day: float64(day), Balls: c.Balls, Inside: c.Inside}, estimate.FadeSession{Day: float64(day)}
			name := "pitch narrow"
			if c.Radius == 3*domain.Foot {
				narrow.Sessions, wide.Sessions = append(narrow.Sessions, s), append(wide.Sessions, none)
			} else {
				narrow.Sessions, wide.Sessions = append(narrow.Sessions, none), append(wide.Sessions, s)
				name = "pitch wide"
			}
			if PeriodOf(at) > PeriodOf(now)-DifficultyPeriods {
				results = append(results, estimate.DrillResult{Student: string(student), Drill: name, Balls: c.Balls, Inside: c.Inside})
			}
		}
		courses, fades = append(courses, pitch), append(fades, narrow, wide)
		if i < 5 {
			at := now.AddDate(0, 0, -4)
			courses = append(courses, SkillCourse{student, "putt", []CircleSession{{at, CircleCount{domain.Foot, 40, 30 + i}}, {at, CircleCount{}}}})
			results = append(results, estimate.DrillResult{Student: string(student), Drill: "putt", Balls: 40, Inside: 30 + i})
		}
	}
	if len(results) == 8*24+5 {
		t.Fatal("nothing is too old to compare")
	}
	courses = append(courses, SkillCourse{"old", "lob", []CircleSession{{now.AddDate(0, -8, 0), CircleCount{domain.Foot, 90, 30}}}})
	got := LearnInsights(courses, now)
	want := estimate.DifficultyOf(results)
	told := map[string]estimate.DrillDifficulty{}
	for _, d := range want.Drills {
		name := d.Drill
		d.Drill = ""
		told[name] = d
	}
	if len(got) != 3 || got[0].Skill != "lob" || got[1].Skill != "pitch" || got[2].Skill != "putt" {
		t.Fatalf("%+v", got)
	}
	lob, pitch, putt := got[0], got[1], got[2]
	if len(lob.Circles)+len(lob.Levels) > 0 || lob.Fade.CannotTell != estimate.FewBreaks {
		t.Errorf("months ago: %+v", lob)
	}
	alike := func(a, b estimate.DrillDifficulty) bool {
		return a.Drill == "" && a.CannotTell == "" && a.Students == b.Students && a.Balls == b.Balls && math.Abs(a.Difficulty-b.Difficulty) < 1e-6 && math.Abs(a.Middling-b.Middling) < 1e-6 &&
			math.Abs(a.DifficultyInterval80.Lo-b.DifficultyInterval80.Lo) < 1e-5
	}
	if c := pitch.Circles; len(c) != 2 || c[0].Radius != 3*domain.Foot || !alike(c[0].DrillDifficulty, told["pitch narrow"]) || c[1].Radius != 6*domain.Foot || !alike(c[1].DrillDifficulty, told["pitch wide"]) {
		t.Errorf("pitch: %+v, want %+v", c, told)
	}
	if c := putt.Circles; len(c) != 1 || !alike(c[0].DrillDifficulty, told["putt"]) {
		t.Errorf("putt: %+v, want %+v", c, told)
	}
	if len(pitch.Levels) != 8 || len(putt.Levels) != 5 {
		t.Errorf("levels of %d and %d students, want 8 and 5", len(pitch.Levels), len(putt.Levels))
	}
	for i, l := range pitch.Levels {
		if w := want.Students[i]; l.Student != w.Student || l.Balls != w.Balls || math.Abs(l.Level-w.Level) > 1e-6 {
			t.Errorf("level %+v, want %+v", l, w)
		}
	}
	if want := estimate.FadeOf(fades); !reflect.DeepEqual(pitch.Fade, want) || want.Breaks != 24 {
		t.Errorf("fade %+v, want %+v", pitch.Fade, want)
	}
	if putt.Fade.CannotTell != estimate.FewBreaks || putt.Fade.Breaks != 0 {
		t.Errorf("fade of putts: %+v", putt.Fade)
	}
}

// TestComparedLately: skills are compared over the last ninety days or so: the
// period that it is, and the two before.
func TestComparedLately(t *testing.T) {
	now := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	first := time.UnixMilli(int64(PeriodOf(now)-2) * 30 * 24 * 3_600_000).UTC()
	one := CircleCount{domain.Foot, 1, 1}
	got := LearnInsights([]SkillCourse{
		{"a", "pitch", []CircleSession{{first.Add(-1), CircleCount{domain.Foot, 50, 20}}, {first, one}, {now, CircleCount{domain.Foot, 5, 2}}}},
		{"b", "pitch", []CircleSession{{first.Add(-1), CircleCount{2 * domain.Foot, 50, 20}}, {now, CircleCount{}}}},
	}, now)
	if len(got) != 1 || len(got[0].Circles) != 1 || got[0].Circles[0].Balls != 6 || got[0].Circles[0].Students != 1 {
		t.Errorf("%+v, want six balls of one student", got)
	}
	// Nothing links one student's only circle to another, so no level is told.
	if len(got[0].Levels) != 0 {
		t.Errorf("levels %+v", got[0].Levels)
	}
}

// TestByCircle: a course for each circle, and every session in each of them.
func TestByCircle(t *testing.T) {
	at := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	c := SkillCourse{"a", "pitch", []CircleSession{{at, CircleCount{}}, {at.AddDate(0, 0, 2), CircleCount{7, 1, 0}}, {at.AddDate(0, 0, 5), CircleCount{9, 30, 20}}, {at.Add(156 * time.Hour), CircleCount{7, 4, 4}}}}
	want := []estimate.FadeCourse{
		{Student: "a", Sessions: []estimate.FadeSession{{Day: 0}, {Day: 2, Balls: 1}, {Day: 5}, {Day: 6.5, Balls: 4, Inside: 4}}},
		{Student: "a", Sessions: []estimate.FadeSession{{Day: 0}, {Day: 2}, {Day: 5, Balls: 30, Inside: 20}, {Day: 6.5}}},
	}
	if got := c.byCircle(); !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if got := (SkillCourse{Sessions: []CircleSession{{at, CircleCount{}}}}).byCircle(); len(got) != 0 {
		t.Errorf("without a ball: %+v", got)
	}
}

// TestLearnInsightsOfMany: of more skills and circles than are compared, those
// with the most balls are.
func TestLearnInsightsOfMany(t *testing.T) {
	now := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	var courses []SkillCourse
	for student := range estimate.MinDrillStudents {
		c := SkillCourse{Student: domain.ID(fmt.Sprint(student)), Skill: "pitch"}
		for i := range estimate.MaxDrills + 2 {
			c.Sessions = append(c.Sessions, CircleSession{now, CircleCount{domain.Length(i + 1), 30 + i, 15}})
		}
		courses = append(courses, c)
	}
	got := LearnInsights(courses, now)[0].Circles
	if len(got) != estimate.MaxDrills || got[0].Radius != 3 || got[len(got)-1].Radius != estimate.MaxDrills+2 {
		t.Errorf("%d circles from %v to %v", len(got), got[0].Radius, got[len(got)-1].Radius)
	}
}
