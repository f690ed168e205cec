package browser

import (
	"fmt"
	"slices"
	"testing"
	"time"
)

// TestNextWeek: what is proposed for a student is refused and allowed again, edited,
// and accepted all at once; the student's plan shows it, and undone it is gone.
func TestNextWeek(t *testing.T) {
	s := newSetup(t)
	var skill, programme struct {
		ID string `json:"id"`
	}
	s.call(s.Owner, "POST", "/v1/skills", object{"name": "Low chip", "kind": "chip_and_run", "ladder": object{"tiers": array{object{"run": 9, "radius_m": 1.524}}}}, &skill)
	part := func(kind string, clubs ...string) object {
		return object{"kind": kind, "share": 25, "drill": object{"text": "Same spot.", "radius_m": 1.524, "clubs": clubs}}
	}
	week := object{"title": "Chips", "skill_id": skill.ID, "plans": array{object{"name": "Hour", "minutes": 60, "times": 2, "blocks": array{part("warmup", "wedge"), part("technique", "wedge"), part("random", "wedge", "8 iron"), part("test", "wedge")}}}}
	s.call(s.Owner, "POST", "/v1/programmes", object{"name": "Chipping", "weeks": slices.Repeat(array{week}, 6)}, &programme)
	s.call(s.Owner, "POST", "/v1/programmes/"+programme.ID+"/versions", nil, nil)
	s.call(s.Owner, "POST", "/v1/assignments", object{
		"programme_id": programme.ID, "student_ids": array{s.StudentID}, "start_date": s.Clock.Now().AddDate(0, 0, -10).Format(time.DateOnly),
	}, nil)
	for _, days := range []int{7, 4, 2} {
		l := s.newSession(s.Student, skill.ID)
		l.started = s.Clock.Now().AddDate(0, 0, -days)
		l.strike(slices.Repeat([]string{"in", "in", "in", "out", "out"}, 8)...)
	}
	kinds := func() (all []string) {
		var list struct {
			Items []struct {
				Kind    string     `json:"kind"`
				EndedAt *time.Time `json:"ended_at"`
				Tier    struct {
					Run int `json:"run"`
				} `json:"tier"`
			} `json:"items"`
		}
		s.call(s.Owner, "GET", "/v1/students/"+s.StudentID+"/adjustments", nil, &list)
		for _, a := range list.Items {
			if a.EndedAt == nil {
				all = append(all, fmt.Sprint(a.Kind, " ", a.Tier.Run))
			}
		}
		slices.Sort(all)
		return all
	}

	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.press("Next week")
	p.heading("Next week")
	p.see("towards success 7 times in 10", "Low chip: First 5 in a row inside 5 ft", "Chance of passing: ")
	p.press("Why? Low chip: First 5 in a row inside 5 ft, then 9 in a row inside 5 ft")
	p.see("too hard for now")

	p.press("Refuse: Low chip: First 5 in a row inside 5 ft, then 9 in a row inside 5 ft")
	p.see("Refused. You will not see it again until after")
	p.gone("First 5 in a row")
	p.press("Undo")
	p.see("Low chip: First 5 in a row inside 5 ft")

	p.press("Edit: Low chip: First 5 in a row inside 5 ft, then 9 in a row inside 5 ft")
	p.fill("In a row", "9")
	p.press("Accept")
	p.see("is a step of the student's ladder already")
	p.fill("In a row", "6")
	p.press("Accept")
	p.see("Accepted 1 proposal.")
	if got := kinds(); !slices.Equal(got, []string{"step 6"}) {
		t.Errorf("edited and accepted: got %v", got)
	}
	p.press("Undo")
	p.gone("Accepted 1 proposal.")
	if got := kinds(); len(got) != 0 {
		t.Errorf("undone: got %v", got)
	}

	p.see("Low chip: First 5 in a row inside 5 ft", "Accept all 2")
	p.press("Steps")
	p.see("Accept 1 of 2")
	p.press("Steps", "Accept all")
	p.see("Accepted", "Changed for next week: 1 student", "Low chip: 5 in a row inside 5 ft, until passed")
	if got := kinds(); !slices.Contains(got, "step 5") || !slices.Contains(got, "shares 0") {
		t.Errorf("all accepted: got %v", got)
	}
	p.press("Undo")
	p.gone("Accepted")
	if got := kinds(); len(got) != 0 {
		t.Errorf("all undone: got %v", got)
	}
}
