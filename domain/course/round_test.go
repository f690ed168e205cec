package course_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/course"
)

var now = time.Date(2026, 6, 14, 18, 30, 0, 0, time.UTC)

func played() course.Round {
	return course.Round{ID: "r", Student: "s", PlayedAt: now.Add(-4 * time.Hour), TimeZone: "Europe/Lisbon", Revision: 1, Shots: []course.Shot{
		{Hole: 4, Lie: course.Rough, Distance: 15 * domain.Yard, Left: 6 * domain.Foot, LeftLie: course.Green, Putts: 1},
	}}
}

func TestCheckRound(t *testing.T) {
	for _, c := range []struct {
		why    string
		change func(*course.Round)
		at     string
		says   string
	}{
		{"a round", func(*course.Round) {}, "", ""},
		{"without shots", func(r *course.Round) { r.Shots = nil }, "", ""},
		{"a deletion needs nothing", func(r *course.Round) { *r = course.Round{Revision: 2, DeletedAt: now} }, "", ""},
		{"on the verge", func(r *course.Round) {
			r.PlayedAt, r.Course = now.Add(5*time.Minute), strings.Repeat("é", 120)
			r.Shots[0] = course.Shot{Hole: 18, Lie: course.Sand, Distance: 100 * domain.Metre, Left: 100 * domain.Metre, LeftLie: course.Green, Putts: 9}
			r.Shots = slices.Repeat(r.Shots, 200)
		}, "", ""},
		{"holed", func(r *course.Round) { r.Shots[0] = course.Shot{Lie: course.Fairway, Distance: 1, Holed: true} }, "", ""},
		{"no revision", func(r *course.Round) { r.Revision = 0 }, "/revision", "from 1"},
		{"a huge revision", func(r *course.Round) { r.Revision = 1<<30 + 1 }, "/revision", "up to"},
		{"no start", func(r *course.Round) { r.PlayedAt = time.Time{} }, "/started_at", "is missing"},
		{"long ago", func(r *course.Round) { r.PlayedAt = time.Date(1999, 12, 31, 23, 0, 0, 0, time.UTC) }, "/started_at", "1999"},
		{"in the future", func(r *course.Round) { r.PlayedAt = now.Add(5*time.Minute + 1) }, "/started_at", "future"},
		{"no zone", func(r *course.Round) { r.TimeZone = "" }, "/time_zone", "IANA"},
		{"a wrong zone", func(r *course.Round) { r.TimeZone = "Links End" }, "/time_zone", "IANA"},
		{"a long name", func(r *course.Round) { r.Course = strings.Repeat("é", 121) }, "/course", "121"},
		{"a note with NUL", func(r *course.Round) { r.Note = "a\x00b" }, "/note", "NUL"},
		{"a long note", func(r *course.Round) { r.Note = strings.Repeat("x", 4001) }, "/note", "4001"},
		{"many shots", func(r *course.Round) { r.Shots = slices.Repeat(r.Shots, 201) }, "/shots", "201"},
		{"hole 19", func(r *course.Round) { r.Shots[0].Hole = 19 }, "/shots/0/hole", "18"},
		{"hole −1", func(r *course.Round) { r.Shots[0].Hole = -1 }, "/shots/0/hole", "18"},
		{"from the green", func(r *course.Round) { r.Shots[0].Lie = course.Green }, "/shots/0/lie", "fairway"},
		{"no distance", func(r *course.Round) { r.Shots[0].Distance = 0 }, "/shots/0/distance_m", "is missing or 0; give the distance to the hole, more than 0 and up to 100 m"},
		{"far away", func(r *course.Round) { r.Shots[0].Distance = 100*domain.Metre + 1 }, "/shots/0/distance_m", "100 m"},
		{"nothing left", func(r *course.Round) { r.Shots[0].Left = 0 }, "/shots/0/left_m", `is missing or 0; give the distance left to the hole, more than 0 and up to 100 m (328.1 ft), or "holed": true`},
		{"far left", func(r *course.Round) { r.Shots[0].Left = 100*domain.Metre + 1 }, "/shots/0/left_m", "100 m"},
		{"a minus left", func(r *course.Round) { r.Shots[0].Left = -1 }, "/shots/0/left_m", "is -0"},
		{"no lie left", func(r *course.Round) { r.Shots[0].LeftLie, r.Shots[0].Putts = "", 0 }, "/shots/0/left_lie", "is missing; give green, fairway (the fringe too), rough or sand"},
		{"no lie", func(r *course.Round) { r.Shots[0].Lie = "" }, "/shots/0/lie", "is missing; give fairway"},
		{"in water", func(r *course.Round) { r.Shots[0].LeftLie, r.Shots[0].Putts = "water", 0 }, "/shots/0/left_lie", "green"},
		{"ten putts", func(r *course.Round) { r.Shots[0].Putts = 10 }, "/shots/0/putts", "1 to 9"},
		{"minus one putt", func(r *course.Round) { r.Shots[0].Putts = -1 }, "/shots/0/putts", "1 to 9"},
		{"putts from the rough", func(r *course.Round) { r.Shots[0].LeftLie = course.Rough }, "/shots/0/putts", "next shot"},
		{"holed with a distance left", func(r *course.Round) { r.Shots[0].Holed = true; r.Shots[0].LeftLie, r.Shots[0].Putts = "", 0 }, "/shots/0/holed", "a holed ball has no distance left; remove left_m, left_lie and putts"},
		{"holed with a lie", func(r *course.Round) { r.Shots[0].Holed = true; r.Shots[0].Left, r.Shots[0].Putts = 0, 0 }, "/shots/0/holed", "a holed ball has no distance left; remove left_m, left_lie and putts"},
		{"holed with putts", func(r *course.Round) { r.Shots[0].Holed = true; r.Shots[0].Left, r.Shots[0].LeftLie = 0, "" }, "/shots/0/holed", "a holed ball has no distance left; remove left_m, left_lie and putts"},
	} {
		r := played()
		c.change(&r)
		err := r.Check(now)
		fields := domain.FieldsOf(err)
		if c.at == "" {
			if err != nil {
				t.Errorf("%s: %v", c.why, err)
			}
			continue
		}
		if len(fields) != 1 || fields[0].Pointer != c.at || !strings.Contains(fields[0].Detail, c.says) {
			t.Errorf("%s: got %v, want one problem at %s with %q", c.why, err, c.at, c.says)
		}
	}
}

func TestRoundDay(t *testing.T) {
	r := played()
	r.PlayedAt, r.TimeZone = time.Date(2026, 6, 14, 23, 30, 0, 0, time.UTC), "Europe/Berlin"
	if got := r.Day().String(); got != "2026-06-15" {
		t.Errorf("in Berlin it is %s", got)
	}
	if r.TimeZone = "Gone/Lost"; r.Day().String() != "2026-06-14" {
		t.Errorf("a zone that is lost gives %s", r.Day())
	}
}

func TestSameRound(t *testing.T) {
	a := played()
	b := played()
	b.By, b.ReceivedAt, b.Revision, b.PlayedAt = "coach", now, 9, b.PlayedAt.In(time.FixedZone("", 3600))
	if !a.Same(b) || !a.ExtendedBy(b) {
		t.Error("what the service fills in counts as said")
	}
	for why, change := range map[string]func(*course.Round){
		"student": func(r *course.Round) { r.Student = "other" }, "start": func(r *course.Round) { r.PlayedAt = r.PlayedAt.Add(time.Second) },
		"zone": func(r *course.Round) { r.TimeZone = "UTC" }, "course": func(r *course.Round) { r.Course = "Links End" },
		"deleted": func(r *course.Round) { r.DeletedAt = now }, "shot": func(r *course.Round) { r.Shots[0].Putts = 2 },
		"none": func(r *course.Round) { r.Shots = nil },
	} {
		b := played()
		if change(&b); a.Same(b) || a.ExtendedBy(b) {
			t.Errorf("another %s is the same", why)
		}
	}
	b = played()
	b.Shots, b.Note = append(b.Shots, b.Shots[0]), "Wet."
	if a.Same(b) || !a.ExtendedBy(b) || b.ExtendedBy(a) {
		t.Error("a further shot and a first note only add")
	}
	if c := b; !b.ExtendedBy(c) {
		t.Error("the same round adds nothing and loses nothing")
	}
	dry := b
	if dry.Note = "Dry."; b.ExtendedBy(dry) {
		t.Error("another note only adds")
	}
}

func TestChances(t *testing.T) {
	green := func(hole, putts int) course.Shot {
		return course.Shot{Hole: hole, Lie: course.Rough, Distance: domain.Metre, Left: domain.Metre, LeftLie: course.Green, Putts: putts}
	}
	short := func(hole int) course.Shot {
		return course.Shot{Hole: hole, Lie: course.Sand, Distance: domain.Metre, Left: domain.Metre, LeftLie: course.Rough}
	}
	holed := func(hole int) course.Shot {
		return course.Shot{Hole: hole, Lie: course.Fairway, Distance: domain.Metre, Holed: true}
	}
	for _, c := range []struct {
		why                   string
		shots                 []course.Shot
		chances, known, saved int
	}{
		{"none", nil, 0, 0, 0},
		{"one putt", []course.Shot{green(1, 1)}, 1, 1, 1},
		{"two putts", []course.Shot{green(1, 2)}, 1, 1, 0},
		{"putts not told", []course.Shot{green(1, 0)}, 1, 0, 0},
		{"holed", []course.Shot{holed(1)}, 1, 1, 1},
		{"missed the green, then holed", []course.Shot{short(2), holed(2)}, 1, 1, 1},
		{"missed the green twice, then holed", []course.Shot{short(2), short(2), holed(2)}, 1, 1, 0},
		{"missed the green, then one putt", []course.Shot{short(2), green(2, 1)}, 1, 1, 0},
		{"missed the green, then putts not told", []course.Shot{short(2), green(2, 0)}, 1, 1, 0},
		{"missed the green, and no more", []course.Shot{short(2)}, 1, 0, 0},
		{"two holes", []course.Shot{short(2), green(3, 1)}, 2, 1, 1},
		{"holes not told", []course.Shot{short(0), green(0, 1)}, 2, 1, 1},
		{"a hole played twice", []course.Shot{green(4, 1), green(4, 2)}, 2, 2, 1},
		{"a hole played twice, holed first", []course.Shot{holed(4), green(4, 2)}, 2, 2, 1},
	} {
		r := course.Round{Shots: c.shots}
		got := course.TallyOf(r)
		if len(r.Chances()) != c.chances || got != (course.Tally{Rounds: 1, Chances: c.known, Saved: c.saved}) {
			t.Errorf("%s: %d chances, %+v", c.why, len(r.Chances()), got)
		}
	}
}
