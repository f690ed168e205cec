package progress_test

import (
	"reflect"
	"testing"
	"time"

	"fringework/domain/progress"
)

// timed is a session of given times on a day after day1.
func timed(day float64, times ...progress.KindTime) progress.SessionTime {
	return progress.SessionTime{Session: "s", StartedAt: day1.Add(time.Duration(day * 24 * float64(time.Hour))), Times: times}
}

func kind(k string, planned, spent int) progress.KindTime {
	return progress.KindTime{Kind: k, Planned: planned, Spent: spent}
}

func TestHabitOf(t *testing.T) {
	var times []progress.SessionTime
	for i := range 20 {
		o := timed(float64(i), kind("test", 0, 60))
		if i%2 == 0 { // by the plan
			o.Times = []progress.KindTime{kind("test", 100, i), kind("warmup", 50, 1)}
		}
		times = append(times, o)
	}
	h := progress.HabitOf("ada", 77, times)
	if h.Student != "ada" || h.Sessions != 77 || len(h.Starts) != 12 || !h.Starts[0].Equal(times[8].StartedAt) || !h.LastAt().Equal(times[19].StartedAt) {
		t.Errorf("got %+v, want the last twelve of 77 sessions", h)
	}
	// Of the last twelve, numbers 8, 10 … 18 were by the plan.
	want := []progress.KindTime{kind("warmup", 6*50, 6), kind("test", 6*100, 8+10+12+14+16+18)}
	if h.Planned != 6 || !reflect.DeepEqual(h.Times, want) {
		t.Errorf("got %d sessions of %+v, want 6 of %+v", h.Planned, h.Times, want)
	}
	if times[8].Times[0] != kind("test", 100, 8) {
		t.Errorf("the habit changed the times of a session: %+v", times[8])
	}
	for i := range times {
		times[i].Times = []progress.KindTime{kind("test", 1, 1)}
	}
	if h := progress.HabitOf("ada", 20, times); h.Planned != 8 || h.Times[0] != kind("test", 8, 8) {
		t.Errorf("all by the plan: got %d sessions of %+v, want the last 8", h.Planned, h.Times)
	}
	empty := progress.HabitOf("ada", 0, nil)
	if !reflect.DeepEqual(empty, progress.Habit{Student: "ada"}) || !empty.LastAt().IsZero() {
		t.Errorf("nothing practised: got %+v", empty)
	}
}
