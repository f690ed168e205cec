package academy_test

import (
	"testing"
	"time"

	"fringework/domain/academy"
	"fringework/domain/advice"
)

// TestLoad: the present week and the four before it, all skills together; older weeks
// do not count. Each session has a quarter of an hour.
func TestLoad(t *testing.T) {
	h := open(t)
	for i, s := range []struct {
		days, balls int
		chip        bool
	}{{0, 40, false}, {0, 10, true}, {-7, 20, false}, {-28, 30, false}, {-29, 90, false}} {
		skill := h.pitch.ID
		if s.chip {
			skill = h.chip.ID
		}
		h.practised(ada, pupil(i), now.AddDate(0, 0, s.days).Add(-time.Duration(1+i)*2*time.Hour), skill, s.balls, "", 0)
	}
	l := must(h.reading.Progress(ctx, coach, ada))(t).Load
	want := [advice.LoadWeeks]advice.LoadWeek{{Balls: 30, Minutes: 15}, {}, {}, {Balls: 20, Minutes: 15}, {Balls: 50, Minutes: 30}}
	if l.First != may(4).AddDays(-28) || l.Weeks != want || l.Balls.Before != 12.5 || l.Rule != "" {
		t.Errorf("%+v, want %+v", l, want)
	}
	if l := must(h.reading.Progress(ctx, coach, june))(t).Load; l.Weeks != [advice.LoadWeeks]advice.LoadWeek{} || l.Rule == "" {
		t.Errorf("a junior who never practised: %+v", l)
	}
	for _, row := range must(h.reading.Dashboard(ctx, coach, academy.DashboardFilter{}))(t) {
		if row.Load != nil {
			t.Errorf("the dashboard tells the load of %s", row.Student.Name)
		}
	}
}
