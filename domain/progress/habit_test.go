package progress_test

import (
	"reflect"
	"testing"
	"time"

	"fringework/domain"
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

// TestHabitReaches: a session is taken in from the last twelve at hand unless an
// older one, which is not at hand, may belong among them then.
func TestHabitReaches(t *testing.T) {
	id := func(i int) domain.ID { return domain.ID(rune('a' + i)) }
	on := func(i int, day float64) progress.SessionTime {
		s := timed(day, kind("test", 0, 60))
		s.Session = id(i)
		return s
	}
	habit := func(from, until int) progress.Habit { // one session a day
		var last []progress.SessionTime
		for i := from; i < until; i++ {
			last = append(last, on(i, float64(i)))
		}
		return progress.HabitOf("ada", until, last)
	}
	for _, c := range []struct {
		why   string
		h     progress.Habit
		i     int
		day   float64 // of session i; deleted when negative
		more  int
		ok    bool
		first int // the oldest of the twelve afterwards
		count int
	}{
		{"a new one", habit(3, 15), 15, 15, 1, true, 4, 16},
		{"a new one before all at hand", habit(3, 15), 20, 0.5, 1, true, 3, 16},
		{"one that grows", habit(3, 15), 14, 14, 0, true, 3, 15},
		{"the oldest at hand, no longer known to be among the twelve", habit(3, 15), 3, 3, 0, false, 0, 0},
		{"the latest moved before all at hand", habit(3, 15), 14, 0.5, 0, false, 0, 0},
		{"the latest moved behind the oldest at hand", habit(3, 15), 14, 3.5, 0, true, 3, 15},
		{"one at hand deleted", habit(3, 15), 5, -1, -1, false, 0, 0},
		{"one that is not at hand deleted", habit(3, 15), 1, -1, -1, true, 3, 14},
		{"of twelve in all, the oldest moved", habit(0, 12), 0, 0.5, 0, true, 0, 12},
		{"of twelve in all, one deleted", habit(0, 12), 0, -1, -1, true, 1, 11},
		{"of thirteen, one at hand deleted", habit(1, 13), 1, -1, -1, false, 0, 0},
		{"a thirteenth", habit(0, 12), 12, 12, 1, true, 1, 13},
	} {
		var next *progress.SessionTime
		if c.day >= 0 {
			s := on(c.i, c.day)
			next = &s
		}
		after, ok := c.h.Revise(id(c.i), next, c.more)
		if ok != c.ok {
			t.Errorf("%s: taken in %v, want %v", c.why, ok, c.ok)
			continue
		}
		if !ok {
			if !reflect.DeepEqual(after, progress.Habit{}) {
				t.Errorf("%s: got %+v, want nothing", c.why, after)
			}
			continue
		}
		if after.Student != "ada" || after.Sessions != c.count || len(after.Recent) != min(c.count, 12) || after.Recent[0].Session != id(c.first) {
			t.Errorf("%s: got %d sessions, %d of them from %q on, want %d from %q on", c.why, after.Sessions, len(after.Recent), after.Recent[0].Session, c.count, id(c.first))
		}
	}
}

// TestHabitAtOneInstant: sessions that start together are in order of their IDs.
func TestHabitAtOneInstant(t *testing.T) {
	h := progress.HabitOf("ada", 0, nil)
	for i, id := range []domain.ID{"b", "c", "a"} {
		s := timed(1)
		s.Session = id
		var ok bool
		if h, ok = h.Revise(id, &s, 1); !ok || h.Sessions != i+1 {
			t.Fatalf("got %+v, %v after %d sessions", h, ok, i+1)
		}
	}
	if h.Recent[0].Session != "a" || h.Recent[1].Session != "b" || h.Recent[2].Session != "c" {
		t.Errorf("got %+v, want a, b and c", h.Recent)
	}
}
