package api

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// What lies beyond a forecast's horizon is left out, and nothing that JSON
// cannot say is ever written.
func TestEncodeForecast(t *testing.T) {
	inf := math.Inf(1)
	f := encodeForecast(&estimate.Forecast{
		NextSession: 0.25, Within: [3]float64{0.5, 0.75, 0.875}, MedianSessions: inf,
		Range80Sessions: estimate.Interval{Lo: 2, Hi: inf}, Range80Days: estimate.Interval{Lo: 7, Hi: 0},
	})
	if f.MedianSessions != nil || f.Range80Sessions.High != nil || f.Range80Days.High != nil {
		t.Errorf("got %+v, want what lies beyond the horizon left out", f)
	}
	if *f.Range80Sessions.Low != 2 || *f.Range80Days.Low != 7 {
		t.Errorf("got %+v, want the ends that are known", f)
	}
	want := []Horizon{{4, 0.5}, {8, 0.75}, {12, 0.875}}
	if !cmp.Equal(f.Within, want) {
		t.Errorf("got %v, want %v", f.Within, want)
	}
	if _, err := json.Marshal(f); err != nil {
		t.Error(err)
	}
	if encodeForecast(nil) != nil {
		t.Error("got a forecast without one")
	}
}

func TestEncodeRate(t *testing.T) {
	rate := estimate.Rate{Mean: 0.6, Interval80: estimate.Interval{Lo: 0.5, Hi: 0.7}, Interval95: estimate.Interval{Lo: 0.4, Hi: 0.8}, EffectiveBalls: 41.5}
	got := encodeRate(rate, 5*domain.Foot, progress.RecentCounts{Sessions: 3, Judged: 50, Inside: 30, Elsewhere: []estimate.Circle{{Radius: domain.Foot, Balls: 4, Inside: 2, Holed: 1}}})
	want := &Rate{RadiusM: 1.524, Mean: 0.6, Interval80: Interval{0.5, 0.7}, Interval95: Interval{0.4, 0.8}, EffectiveBalls: 41.5, Balls: 50, Inside: 30, Sessions: 3, Elsewhere: []Circle{{RadiusM: 0.3048, Balls: 4, Inside: 2, Holed: 1}}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	if got := encodeRate(rate, domain.Foot, progress.RecentCounts{Sessions: 2}); got != nil {
		t.Errorf("without a ball: got %+v, want none", got)
	}
}

// fullRow is a student with everything that can be told of one.
func fullRow() academy.StudentRow {
	at := time.Date(2026, 5, 4, 17, 0, 0, 0, time.UTC)
	ladder := streak.Ladder{Tiers: []streak.Tier{{Run: 10, Radius: 5 * domain.Foot}, {Run: 16, Radius: 5 * domain.Foot, Holed: 1}}}
	flat := &estimate.Flag{Since: 4, Date: domain.DateOf(at, time.UTC), Probability: 0.9, Facts: estimate.Facts{
		Radius: 5 * domain.Foot, Sessions: 9, Rose: true, Tier: ladder.Tiers[1], BallsPerTest: 40, MedianSessions: 12,
	}}
	row := academy.StudentRow{
		Student: academy.Member{ID: "student", Name: "Mira Holt", TimeZone: "Europe/Lisbon", Junior: true},
		Habit: progress.Habit{Sessions: 21, Starts: []time.Time{at}, Planned: 2, Times: []progress.KindTime{
			{Kind: "technique", Planned: 2700, Spent: 4000}, {Kind: "test", Planned: 900, Spent: 2000},
		}},
		Work: []academy.Duty{{Assignment: academy.Assignment{ID: "assignment", Programme: "programme", Version: 2, Sessions: 5}, Name: "Six weeks", Weeks: 6,
			Position: academy.Position{Phase: academy.Running, Week: 2, Day: 3}, Planned: 6}},
		Skills: []academy.StudentSkill{{
			Skill: curriculum.Skill{ID: "pitch", Name: "Pitch", Kind: curriculum.Pitch},
			State: progress.State{
				Student: "student", Skill: "pitch", Ladder: ladder, Held: 1, LastAt: at,
				Tiers:  []progress.TierRecord{{Tier: ladder.Tiers[1], Best: streak.Run{Length: 14, Holed: 1}}},
				Totals: progress.Tally{Sessions: 21, Balls: 800, Inside: 420, Holed: 30, Seconds: 60000, AttestedBalls: 40, AttestedInside: 22, AttestedHoled: 3},
				Near:   streak.Near{Runs: 1, Length: 14, Times: 1, Holed: 1}, Recent: progress.RecentCounts{Sessions: 9, Judged: 300, Inside: 174},
				Assessment: estimate.Assessment{
					Rate: estimate.Rate{Mean: 0.58}, Forecast: &estimate.Forecast{MedianSessions: 12}, Flat: flat,
					Undecided: estimate.Undecided{Applies: true, MoreSessions: 2},
				},
			},
			Week:       progress.Tally{Sessions: 1, Balls: 60, Inside: 35, Holed: 2, Seconds: 3600},
			Milestones: []progress.Milestone{{Student: "student", Skill: "pitch", Tier: ladder.Tiers[0], Hit: progress.Hit{Session: "session", Block: 4, Ball: 18, At: at}}},
		}},
	}
	long := domain.DateOf(at, time.UTC)
	lapse := advice.Weigh(advice.Practice{Expected: true, Today: long.AddDays(9), Since: long}, nil)[0]
	stall := advice.Weigh(advice.Practice{}, []progress.State{row.Skills[0].State})[0]
	row.Skills[0].Stalls = []advice.Stall{stall}
	row.Attention = []academy.Attention{{Stall: lapse}, {Stall: stall}}
	return row
}

func TestEncodeProgress(t *testing.T) {
	p := progressEncoder{}.progress(fullRow())
	skill := p.Skills[0]
	if skill.Held != 1 || skill.Tiers != 2 || *skill.HeldTier != (Tier{Run: 10, RadiusM: 1.524}) || *skill.NextTier != (Tier{Run: 16, RadiusM: 1.524, Holed: 1}) {
		t.Errorf("got %d of %d tiers, %+v held, %+v next", skill.Held, skill.Tiers, skill.HeldTier, skill.NextTier)
	}
	if skill.Near.Text != "reached 14 of 16, once" {
		t.Errorf("near: got %q", skill.Near.Text)
	}
	if skill.Total.Balls != 800 || skill.Total.Attested != (AttestedTally{40, 22, 3}) || skill.Week.Balls != 60 {
		t.Errorf("got total %+v and week %+v, want counts apart from attested ones", skill.Total, skill.Week)
	}
	if skill.Rate == nil || skill.Rate.RadiusM != 1.524 || skill.Rate.Balls != 300 || skill.Trend == nil || *skill.Forecast.MedianSessions != 12 {
		t.Errorf("got rate %+v, trend %+v, forecast %+v", skill.Rate, skill.Trend, skill.Forecast)
	}
	if skill.Undecided == nil || skill.Undecided.MoreSessions != 2 {
		t.Errorf("undecided: got %+v", skill.Undecided)
	}
	if m := skill.Milestones[0]; m.Ball != 18 || m.Block != 4 || m.SessionID != "session" {
		t.Errorf("milestone: got %+v", m)
	}
	if a := p.Attention; len(a) != 2 || a[0].Reason != "lapsed" || a[0].SkillName != "" || a[1].SkillName != "Pitch" || a[1].Since != "2026-05-04" {
		t.Errorf("attention: got %+v", a)
	}
	// 2,700 of 3,600 s planned are 75 %; 4,000 of 6,000 s spent are 66.7 %.
	if k := p.Time.Kinds[0]; k.PlannedPercent != 75 || k.SpentPercent != 66.7 || p.Time.Sessions != 2 {
		t.Errorf("time: got %+v", p.Time)
	}
	if w := p.Assignments[0]; w.Planned != 6 || w.Done != 5 || w.Position.Week != 2 {
		t.Errorf("adherence: got %+v", w)
	}
}

// Sentences speak in the reader's units.
func TestReaderUnits(t *testing.T) {
	s := fullRow()
	feet := progressEncoder{}.row(s).Attention[1].Evidence
	metres := progressEncoder{reader: advice.Reader{Metric: true}}.row(s).Attention[1].Evidence
	if !strings.Contains(feet, "inside 5 ft") || strings.Contains(metres, " ft") || !strings.Contains(metres, "inside 1.5") {
		t.Errorf("got %q and %q, want feet and metres", feet, metres)
	}
}

// A dashboard tells the milestones of the last four weeks, not older ones.
func TestRecentMilestones(t *testing.T) {
	s := fullRow()
	made := s.Skills[0].Milestones[0].At
	for days, want := range map[int]int{0: 1, 28: 1, 29: 0} {
		e := progressEncoder{now: made.AddDate(0, 0, days)}
		if got := e.row(s).Milestones; len(got) != want {
			t.Errorf("%d days later: got %+v, want %d", days, got, want)
		}
	}
}

// A student of whom nothing is known yet can be told of, without nulls where
// lists are wanted.
func TestEncodeNothing(t *testing.T) {
	for _, v := range []any{progressEncoder{}.progress(academy.StudentRow{}), progressEncoder{}.row(academy.StudentRow{}),
		progressEncoder{}.skill(academy.StudentRow{}, academy.StudentSkill{}), encodeNow(academy.Now{})} {
		text, err := json.Marshal(v)
		if err != nil {
			t.Error(err)
		}
		if strings.Contains(string(text), "null") {
			t.Errorf("%T holds a null: %s", v, text)
		}
	}
}
