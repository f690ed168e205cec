package academy_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/estimate"
)

// setSeason sets Ada's season.
func (h *fixture) setSeason(s academy.Season) academy.Season {
	h.t.Helper()
	return must(h.mem.Seasons().Put(ctx, domaintest.AsAda, ada, s))(h.t)
}

// cup is a competition of one day in May.
func cup(day int) academy.Competition {
	return academy.Competition{Name: "Cup", Date: may(1).AddDays(day - 1), Days: 1}
}

func TestSeason(t *testing.T) {
	h := open(t)
	seasons := h.mem.Seasons()
	if s := must(seasons.Of(ctx, coach, ada))(t); !reflect.DeepEqual(s, academy.Season{}) {
		t.Errorf("before it is set: %+v", s)
	}
	wanted := academy.Season{
		Goal: "Up and down half the time", Competitions: []academy.Competition{{Name: "Later", Date: may(30), Days: 2}, {Name: "Sooner", Date: may(23), Days: 1}},
		Off: academy.OffSeason{From: may(31), Until: may(31).AddDays(90)},
	}
	set := h.setSeason(wanted)
	h.wantEvent(domaintest.AsAda, "season.changed", ada, ada, map[string]any{"competitions": 2, "off_from": "2026-05-31", "off_until": "2026-08-29"})
	if c := set.Competitions; len(c) != 2 || c[0].Name != "Sooner" || c[1].Name != "Later" || c[0].ID == "" || c[0].ID == c[1].ID || !set.Changed.Equal(h.mem.Now()) || set.Goal != wanted.Goal {
		t.Errorf("got %+v", set)
	}
	if wanted.Competitions[0].ID != "" {
		t.Error("what was given is changed")
	}
	if s := must(seasons.Of(ctx, coach, ada))(t); !reflect.DeepEqual(s, set) {
		t.Errorf("got %+v, want %+v", s, set)
	}
	log := len(h.mem.Events(hollow))
	h.mem.Pass(time.Hour)
	if again := must(seasons.Put(ctx, coach, ada, set))(t); !reflect.DeepEqual(again, set) {
		t.Errorf("set again: %+v", again)
	}
	h.wantNoEvent(log)
	moved := set
	moved.Competitions = slices.Clone(set.Competitions)
	moved.Competitions[0].Date = may(31)
	if got := must(seasons.Put(ctx, coach, ada, moved))(t); got.Competitions[1].ID != set.Competitions[0].ID || got.Competitions[1].Date != may(31) || !got.Changed.After(set.Changed) {
		t.Errorf("moved: got %+v, want the same competition, now the second", got)
	}
	strange := set
	strange.Competitions = []academy.Competition{{ID: "another", Name: "Cup", Date: may(9), Days: 1}}
	wantFields(t, "an unknown ID", failure(seasons.Put(ctx, coach, ada, strange)), "/competitions/0/id", "is of no competition of this student; leave it out for a new one")
	wantError(t, "another coach's student", failure(seasons.Put(ctx, coach2, ada, set)), domain.NotFound, "not_found")
	wantError(t, "another coach reads", failure(seasons.Of(ctx, coach2, ada)), domain.NotFound, "not_found")
	wantError(t, "a junior without consent", failure(seasons.Put(ctx, coach, june, academy.Season{Goal: "Fun"})), domain.Conflict, "consent_missing")
	wantError(t, "software reads a junior's", failure(seasons.Of(ctx, key, june)), domain.NotFound, "not_found")
	set.Goal = "Another"
	if err := domaintest.EveryFault(t, h.mem, hollow, func() error { return failure(seasons.Put(ctx, domaintest.AsAda, ada, set)) }); err != nil {
		t.Error(err)
	}
}

func TestSeasonCheck(t *testing.T) {
	twice := cup(9)
	twice.ID = "cup"
	for _, c := range []struct {
		why  string
		s    academy.Season
		want []string
	}{
		{"most of everything", academy.Season{
			Goal: strings.Repeat("é", academy.MaxGoal), Competitions: slices.Repeat([]academy.Competition{{Name: strings.Repeat("é", academy.MaxCompetitionName), Date: may(9), Days: academy.MaxCompetitionDays}}, academy.MaxCompetitions),
			Off: academy.OffSeason{From: may(1), Until: may(1).AddDays(academy.MaxOffSeason - 1)},
		}, nil},
		{"one day off", academy.Season{Off: academy.OffSeason{From: may(1), Until: may(1)}}, nil},
		{"a long goal", academy.Season{Goal: strings.Repeat("é", academy.MaxGoal+1)}, []string{"/goal", "has 301 characters; use at most 300"}},
		{"too many", academy.Season{Competitions: make([]academy.Competition, academy.MaxCompetitions+1)}, []string{"/competitions", "are 31; give at most 30"}},
		{"nothing told", academy.Season{Competitions: []academy.Competition{{}}}, []string{
			"/competitions/0/name", "is empty; say what the competition is called", "/competitions/0/date", "is missing; give a date as YYYY-MM-DD", "/competitions/0/days", "is 0; give 1 to 14 days",
		}},
		{"too long", academy.Season{Competitions: []academy.Competition{{Name: " ", Date: may(9), Days: 15}}}, []string{"/competitions/0/name", "is empty; say what the competition is called", "/competitions/0/days", "is 15; give 1 to 14 days"}},
		{"twice", academy.Season{Competitions: []academy.Competition{twice, twice}}, []string{"/competitions/1/id", "is there twice; keep one of them"}},
		{"no end", academy.Season{Off: academy.OffSeason{From: may(1)}}, []string{"/off_season/until", "is missing; give a date as YYYY-MM-DD"}},
		{"backwards", academy.Season{Off: academy.OffSeason{From: may(2), Until: may(1)}}, []string{"/off_season/until", "is before the first day, 2026-05-02; give that day or a later one"}},
		{"for ever", academy.Season{Off: academy.OffSeason{From: may(1), Until: may(1).AddDays(academy.MaxOffSeason)}}, []string{"/off_season/until", "makes it 301 days long; give at most 300"}},
	} {
		var p domain.Problems
		c.s.Check(&p)
		var got []string
		for _, f := range p.Fields() {
			got = append(got, f.Pointer, f.Detail)
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s:\ngot  %q\nwant %q", c.why, got, c.want)
		}
	}
}

// TestOffSeasonDays: what would come about in the off-season comes after it.
func TestOffSeasonDays(t *testing.T) {
	off := academy.OffSeason{From: may(11), Until: may(20)} // ten days
	for _, c := range []struct {
		from, days, want int
	}{
		{4, 3, 3}, {4, 6, 6}, // until the 10th
		{4, 7, 17},              // the 11th is the 21st
		{10, 1, 11},             // the day after the last
		{11, 1, 10}, {15, 2, 7}, // from within: nine and five days are left
		{19, 1, 2}, {20, 1, 1}, {25, 3, 3},
	} {
		if got := off.Later(may(c.from), float64(c.days)); got != float64(c.want) {
			t.Errorf("%d days from %d May: got %v, want %d", c.days, c.from, got, c.want)
		}
	}
	if got := (academy.OffSeason{}).Later(may(4), 9); got != 9 {
		t.Errorf("without an off-season: got %v", got)
	}
	for day, want := range map[int]bool{10: false, 11: true, 20: true, 21: false} {
		if off.Has(may(day)) != want {
			t.Errorf("%d May: want %v", day, want)
		}
	}
	if (academy.OffSeason{}).Has(domain.Date{}) {
		t.Error("no off-season has a day")
	}
}

// TestOffSeasonIsNoLapse: a student is not called lapsed in the off-season, nor at once
// after it, and one who never came does not start late.
func TestOffSeasonIsNoLapse(t *testing.T) {
	h := open(t)
	h.longCourse(ada)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 4, "", 0)
	lapsedOn := func(day int) bool {
		h.mem.Set(now.AddDate(0, 0, day-4))
		st := must(h.reading.Progress(ctx, domaintest.AsAda, ada))(t)
		return slices.Contains(reasons(st), "lapsed")
	}
	if lapsedOn(10) || !lapsedOn(16) {
		t.Error("without an off-season the student lapses within two weeks")
	}
	h.mem.Set(now)
	h.setSeason(academy.Season{Off: academy.OffSeason{From: may(6), Until: may(20)}})
	for day, want := range map[int]bool{16: false, 20: false, 21: false, 27: false, 36: true} {
		if got := lapsedOn(day); got != want {
			t.Errorf("%d May: lapsed %v, want %v", day, got, want)
		}
	}
	h.mem.Set(now)
	h.longCourse(ben)
	late := func(day int) bool {
		h.mem.Set(now.AddDate(0, 0, day-4))
		return slices.Contains(reasons(must(h.reading.Progress(ctx, owner, ben))(t)), "unstarted")
	}
	if !late(16) {
		t.Error("who never came has not started")
	}
	must(h.mem.Seasons().Put(ctx, owner, ben, academy.Season{Off: academy.OffSeason{From: may(6), Until: may(20)}}))(t)
	if late(16) || late(22) || !late(28) {
		t.Error("in the off-season nobody starts late, and a week after it is soon enough")
	}
}

// longCourse gives a student a course of eight weeks, each the first of the programme's.
func (h *fixture) longCourse(student domain.ID) {
	h.t.Helper()
	content := domaintest.Programme(h.pitch.ID, h.chip.ID)
	content.Weeks = slices.Repeat(content.Weeks[:1], 8)
	p := must(h.curriculum.CreateProgramme(ctx, coach, content))(h.t)
	must(h.curriculum.Publish(ctx, coach, p.ID, 0))(h.t)
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: p.ID, Version: 1, Students: []domain.ID{student}, Start: may(4)}))(h.t)
}

// TestForecastSkipsOffSeason: the sessions until a step stay, and their days pass over
// the off-season.
func TestForecastSkipsOffSeason(t *testing.T) {
	h := open(t)
	h.longCourse(ada)
	h.threeOfFive(ada, h.pitch.ID)
	forecast := func() *estimate.Forecast {
		st := must(h.reading.Progress(ctx, coach, ada))(t)
		for _, s := range st.Skills {
			if s.State.Skill == h.pitch.ID {
				return s.State.Assessment.Forecast
			}
		}
		return nil
	}
	before := forecast()
	if before == nil || before.Range80Days.Lo <= 0 {
		t.Fatalf("got %+v", before)
	}
	h.setSeason(academy.Season{Off: academy.OffSeason{From: may(4), Until: may(23)}}) // the day after the last session, twenty days
	after := forecast()
	if after.Range80Days.Lo != before.Range80Days.Lo+20 || after.Range80Sessions != before.Range80Sessions || after.NextSession != before.NextSession {
		t.Errorf("got %+v, want 20 days more than %+v", after, before)
	}
	if hi := before.Range80Days.Hi; hi == 0 && after.Range80Days.Hi != 0 || hi > 0 && after.Range80Days.Hi != hi+20 {
		t.Errorf("the end: got %v, was %v", after.Range80Days.Hi, hi)
	}
}

// TestCompetitionMovesTheNextWeeks: a competition's date moves what is proposed for the
// next three weeks, and back to what it was; accepted and undone it is proposed again.
func TestCompetitionMovesTheNextWeeks(t *testing.T) {
	h := open(t)
	h.longCourse(ada)
	h.threeOfFive(ada, h.pitch.ID)
	without := h.proposals(coach, "")
	tapers := func() (weeks []string) {
		for _, x := range h.proposals(coach, "").Students[0].Items {
			if x.Move == advice.Taper {
				weeks = append(weeks, x.From.String()+" "+x.Until.String())
			}
		}
		return weeks
	}
	season := h.setSeason(academy.Season{Competitions: []academy.Competition{cup(30)}}) // a Saturday
	all := []string{"2026-05-11 2026-05-17", "2026-05-18 2026-05-24", "2026-05-25 2026-05-29"}
	if got := tapers(); !slices.Equal(got, all) {
		t.Errorf("got %v, want %v", got, all)
	}
	first := h.proposals(coach, "")
	move := func(day int) {
		season.Competitions[0].Date = may(1).AddDays(day - 1)
		season = h.setSeason(season)
	}
	move(37) // a week later
	if got, want := tapers(), []string{"2026-05-18 2026-05-24", "2026-05-25 2026-05-31"}; !slices.Equal(got, want) {
		t.Errorf("a week later: got %v, want %v", got, want)
	}
	move(16)
	if got, want := tapers(), []string{"2026-05-11 2026-05-15"}; !slices.Equal(got, want) {
		t.Errorf("two weeks sooner: got %v, want %v", got, want)
	}
	move(30)
	if back := h.proposals(coach, ""); !reflect.DeepEqual(back, first) {
		t.Errorf("moved back, next week is %v, want %v", kindsOf(back.Students[0]), kindsOf(first.Students[0]))
	}

	var wanted []academy.Adjustment
	for _, x := range h.proposals(coach, "").Students[0].Items {
		if x.Move == advice.Taper {
			wanted = append(wanted, academy.Adjustment{Student: ada, Assignment: x.Assignment, Adjustment: x.Adjustment, From: x.From, Until: x.Until})
		}
	}
	var given []domain.ID
	for _, g := range must(h.adjusting().Give(ctx, coach, wanted))(t) {
		if g.Err != nil {
			t.Fatal(g.Err)
		}
		given = append(given, g.Adjustment.ID)
	}
	if w := h.proposals(coach, "").Students[0]; len(w.Given) != 3 || len(tapers()) != 0 {
		t.Errorf("accepted: given %+v, proposed %v", w.Given, tapers())
	}
	week := must(h.reading.Now(ctx, domaintest.AsAda, ada))(t).Work[0].Weeks
	if a, b, c := week[0].Plans[0].Shares(), week[1].Plans[0].Shares(), week[4].Plans[0].Shares(); !slices.Equal(a, c) || slices.Equal(a, b) {
		t.Errorf("the weeks are divided as %v, %v and %v; want only those before the competition to change", a, b, c)
	}
	for _, id := range given {
		must(h.adjusting().Undo(ctx, coach, id))(t)
	}
	if got := tapers(); !slices.Equal(got, all) {
		t.Errorf("undone: got %v", got)
	}
	keys := []academy.RefusalKey{{Student: ada, Skill: h.pitch.ID, Kind: curriculum.OtherShares}}
	must(h.mem.Proposing().Refuse(ctx, coach, keys, false))(t)
	if got := tapers(); len(got) != 0 {
		t.Errorf("refused: got %v", got)
	}
	must(h.mem.Proposing().Refuse(ctx, coach, keys, true))(t)
	season.Competitions = nil
	h.setSeason(season)
	if got := h.proposals(coach, ""); !reflect.DeepEqual(got, without) {
		t.Errorf("without a competition: %v, want %v", kindsOf(got.Students[0]), kindsOf(without.Students[0]))
	}
}

// TestRestartAfterOffSeason: in a week that begins in the off-season nothing is proposed,
// and after it a start with fewer sessions.
func TestRestartAfterOffSeason(t *testing.T) {
	h := open(t)
	h.longCourse(ada)
	h.threeOfFive(ada, h.pitch.ID)
	h.setSeason(academy.Season{Off: academy.OffSeason{From: may(5), Until: may(31)}})
	p := h.proposals(coach, "")
	if len(p.Students) != 0 || !slices.ContainsFunc(p.Absent, func(x academy.Absent) bool { return x.Student.ID == ada && x.Why == academy.AbsentOffSeason }) {
		t.Errorf("in the off-season: got %+v", p)
	}
	h.mem.Set(now.AddDate(0, 0, 24)) // Thursday 28 May; the next Monday is 1 June
	w := h.proposals(coach, "").Students[0]
	var weeks []string
	for _, x := range w.Items {
		if x.Move == advice.Restart {
			weeks = append(weeks, fmt.Sprintf("%s %d", x.From, x.Adjustment.PerWeek))
		}
	}
	if want := []string{"2026-06-01 1"}; !slices.Equal(weeks, want) { // of two sessions three quarters are two
		t.Errorf("got %v, want %v of %v", weeks, want, kindsOf(w))
	}
}

// TestCalendarShowsCompetitions: those that are not over, as they stand.
func TestCalendarShowsCompetitions(t *testing.T) {
	h := open(t)
	cals := h.mem.Calendars()
	must(cals.Make(ctx, who(ada), [32]byte{1}))(t)
	two := cup(4)
	two.Days = 2
	over := cup(3)
	set := h.setSeason(academy.Season{Competitions: []academy.Competition{over, two, cup(20)}})
	c := must(cals.Shown(ctx, hollow, [32]byte{1}))(t)
	if !reflect.DeepEqual(c.Competitions, set.Competitions[1:]) || !c.Changed.Equal(set.Changed) {
		t.Errorf("got %+v, want %+v", c.Competitions, set.Competitions[1:])
	}
	h.mem.Pass(24 * time.Hour) // its second day
	if c = must(cals.Shown(ctx, hollow, [32]byte{1}))(t); len(c.Competitions) != 2 {
		t.Errorf("on the second day: %+v", c.Competitions)
	}
	h.mem.Pass(24 * time.Hour)
	if c = must(cals.Shown(ctx, hollow, [32]byte{1}))(t); len(c.Competitions) != 1 {
		t.Errorf("when it is over: %+v", c.Competitions)
	}
}
