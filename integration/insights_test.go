package integration_test

import (
	"fmt"
	"strings"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// What all students together teach about a skill is learned every hour, so at
// first there is nothing.
func testInsights(t *testing.T, s *service) {
	c := s.class(t)
	path := "/v1/skills/" + string(c.skill) + "/insights"
	got := read[api.SkillInsights](c.coach.caller, path)
	if got.SkillID != c.skill || got.LearnedAt != nil || len(got.Circles)+len(got.Students)+len(got.Fade.After) > 0 {
		t.Errorf("before the first hour: %+v", got)
	}
	tag := c.coach.get(path).want(200).header.Get("ETag")
	c.coach.get(path, header("If-None-Match", tag)).want(304)
	c.coach.get("/v1/skills/"+string(newID())+"/insights").problem(404, "not_found")
	c.coach.get("/v1/skills/x/insights").problem(404, "not_found")
	c.steady.get(path).problem(403, "role_refused")
}

// Six students chip and pitch, with long breaks after which fewer balls are
// inside: the pitch is the harder one, and both fade.
func TestInsights(t *testing.T) {
	onBoth(t, func(t *testing.T, e engine) {
		c := count(t, e)
		owner := c.found(t, "Insight", "Owner")
		coach := owner.join("Coach", object{"role": "coach"})
		chip, pitch := coach.skill("Chip", pitchSteps()).ID, coach.skill("Pitch", pitchSteps()).ID
		programme := coach.publish(course("Two skills", chip, pitch))
		var own *person
		for i := range 6 {
			teacher := owner
			if i == 0 {
				teacher = coach
			}
			student := teacher.join(fmt.Sprint("Student ", i), object{"role": "student"})
			if own == nil {
				own = student
			}
			owner.assign(programme, ago(90*24), student)
			for j := range 12 {
				// Three days apart, with 18 days away before each fourth session.
				day := j*3 + j/3*15
				shots := func(inside int) string { return in(inside) + strings.Repeat(".", 30-inside) }
				student.practise(ago((80-day)*24), test(chip, shots(24+i%3-j/3*3)), test(pitch, shots(17+i%3-j/3*3)))
			}
		}
		if err := c.all.LearnAll(t.Context()); err != nil {
			t.Fatal(err)
		}
		of := func(p *person, skill domain.ID) api.SkillInsights {
			return read[api.SkillInsights](p.caller, "/v1/skills/"+string(skill)+"/insights")
		}
		hard, easy := of(coach, pitch), of(owner, chip)
		if hard.LearnedAt == nil || len(hard.Circles) != 1 || len(easy.Circles) != 1 {
			t.Fatalf("pitch %+v, chip %+v", hard, easy)
		}
		if p, c := hard.Circles[0], easy.Circles[0]; p.RadiusM != wide || p.Students != 6 || p.Compared != "harder" || c.Compared != "easier" ||
			*p.Difficulty <= 0 || *p.MiddlingRate >= *c.MiddlingRate || p.MiddlingRateInterval80.Low >= *p.MiddlingRate || p.DifficultyInterval80.Low <= 0 {
			t.Errorf("pitch %+v, chip %+v", p, c)
		}
		if f := hard.Fade; f.Breaks != 18 || f.Students != 6 || f.UsualGapDays != 3 || len(f.After) != 2 || f.After[0].Days != 14 || f.After[1].Days != 28 ||
			!(f.After[0].Lost > 0.03 && f.After[0].Lost < f.After[1].Lost && f.After[1].LostInterval80.Low > 0 && f.After[1].Logits > f.After[1].Lost) {
			t.Errorf("pitches fade by %+v", f)
		}
		if len(easy.Students) != 6 || len(hard.Students) != 1 || hard.Students[0].StudentID != own.id || hard.Students[0].LevelInterval80.Low >= hard.Students[0].Level ||
			len(hard.Students[0].Expected) != 1 || hard.Students[0].Expected[0].RadiusM != wide || hard.Students[0].Expected[0].Rate >= easy.Students[0].Expected[0].Rate {
			t.Errorf("the owner sees %+v, the coach %+v", easy.Students, hard.Students)
		}
	})
}
