package browser

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	clocks "fringework/cmd/fringework/clock"
	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
)

// inWords writes a day as the pages do.
func inWords(day time.Time) string {
	return strings.Replace(day.Format("2 Jan 2006"), "Sep", "Sept", 1)
}

// monday is the Monday of a day's week.
func monday(day time.Time) time.Time { return day.AddDate(0, 0, -(int(day.Weekday())+6)%7) }

// TestEveryDayOfTheWeek looks at what depends on the day, on seven days in a row:
// the weeks of a student's charts and report, who is not practising, which Monday
// is offered, and where in their week a student's plans are.
func TestEveryDayOfTheWeek(t *testing.T) {
	t.Parallel()
	for i := range 7 {
		clock := clocks.Clock{Off: clock.Off + time.Duration(i)*24*time.Hour}
		day := clock.Now().Truncate(24 * time.Hour)
		t.Run(day.Weekday().String(), func(t *testing.T) {
			t.Parallel()
			template, err := fixture.NewTemplate(t.Context(), filepath.Join(t.TempDir(), "template.db"), clock)
			if err != nil {
				t.Fatal(err)
			}
			s := serviceOf(t, template)
			s.practised()
			s.deskOn(day)
			s.greenOn()
		})
	}
}

// deskOn looks at the coach's side of what practised made, on a day.
func (s *setup) deskOn(day time.Time) {
	s.t.Helper()
	s.elsewhere()
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.see("Not practising", inWords(day.AddDate(0, 0, -19)))
	p.place("#/student/" + s.StudentID)
	from, to := monday(day.AddDate(0, 0, -27)), monday(day.AddDate(0, 0, -19))
	p.press("Pitch to a landing spot")
	p.see("Minutes by the week", fmt.Sprintf("in the latest, from %s,", inWords(to)))
	if got, want := p.value(`String([...document.querySelectorAll(".chart")].find((e) => e.innerText.includes("Minutes by the week")).querySelectorAll("rect.bar").length)`), fmt.Sprint(int(to.Sub(from).Hours()/24/7)+1); got != want {
		s.t.Errorf("the chart of the weeks from %s to %s has %s bars, want %s", inWords(from), inWords(to), got, want)
	}
	p.place("#/report/" + s.StudentID)
	p.see("Progress report: Tomas Brandt", inWords(day))
	p.press("With the numbers behind it")
	p.see("a flag marks a step passed")
	p.place("#/assign")
	p.see("First day of week 1")
	if got, want := p.value(`[...document.querySelectorAll("input[type=date]")].find((e) => e.labels[0].innerText === "First day of week 1").value`), monday(day).AddDate(0, 0, 7).Format(time.DateOnly); got != want {
		s.t.Errorf("the first day that is offered is %s, want the next Monday, %s", got, want)
	}
}

// greenOn looks at the student's side: one programme began yesterday, the other
// four weeks ago.
func (s *setup) greenOn() {
	s.t.Helper()
	s.elsewhere()
	p := s.phone()
	p.signIn()
	p.see("Week 1 of 1: Pitching from the fairway, day 2", "Week 5 of 8: Pitching, day 1", "done 0 of 2")

	// Without the service the phone goes on to the next week on the day it begins,
	// a week from now, and not a day before.
	p.stocked()
	s.Wire.Cut()
	s.must(p.Before(chrome.ClockOff(6 * 24 * time.Hour)))
	p.reload()
	p.see("Week 5 of 8: Pitching")
	s.must(p.Before(chrome.ClockOff(24 * time.Hour)))
	p.reload()
	p.see("Week 6 of 8: Pitching, day 1")
	s.Wire.Mend()
}
