package progress_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// purposeful is a test of a purpose, in a circle.
func purposeful(p curriculum.Purpose, radius domain.Length, outcomes string) progress.PlayedBlock {
	return progress.PlayedBlock{Kind: "test", Purpose: p, Seconds: 600, Balls: balls(radius, outcomes)}
}

const (
	tenIn  = "iiiiiiiiii"
	tenOut = "oooooooooo"
)

func stateOf(plays ...progress.Play) progress.State {
	t := track(ladder(three, nine))
	var all []progress.SessionSummary
	for _, p := range plays {
		all = append(all, t.Summarise(p))
	}
	return progress.Recompute(t, all).State
}

// TestFirstTestInParts: a test may be stopped and gone on with on the same day; it counts
// when it is whole, and on another day it begins anew.
func TestFirstTestInParts(t *testing.T) {
	twelve := purposeful(curriculum.FirstTest, ft5, "iiiioooooooo")
	eight := purposeful(curriculum.FirstTest, ft5, "iioooooh")
	s := stateOf(play("a", day1, twelve))
	if m := s.Measurements(curriculum.FirstTest); len(m) != 1 || m[0].Left() != 8 || m[0].Counts() {
		t.Errorf("twelve balls: got %+v", m)
	}
	if _, ok := s.First(); ok || s.Unmeasured() != 0 {
		t.Errorf("twelve balls make no test; %d others", s.Unmeasured())
	}
	s = stateOf(play("a", day1, twelve), play("b", day1.Add(time.Hour), eight))
	first, ok := s.First()
	if want := (estimate.Circle{Radius: ft5, Balls: 20, Inside: 7, Holed: 1}); !ok || first.Circle != want || first.Day != domain.DateOf(day1, time.UTC) {
		t.Errorf("got %+v, want %+v", first, want)
	}
	later := day1.AddDate(0, 0, 1)
	s = stateOf(play("a", day1, twelve), play("b", later, eight), play("c", later.Add(time.Hour), twelve))
	if first, ok = s.First(); !ok || first.Balls != 20 || first.Inside != 7 || first.Day != domain.DateOf(later, time.UTC) {
		t.Errorf("on two days: got %+v", first)
	}
	// What follows a whole test on its day is no part of it.
	s = stateOf(play("a", day1, twelve), play("b", day1.Add(time.Hour), eight), play("c", day1.Add(2*time.Hour), purposeful(curriculum.FirstTest, ft5, tenIn)))
	if first, _ = s.First(); first.Balls != 20 {
		t.Errorf("got %+v", first.Circle)
	}
}

// TestMeasuredCold: a test after other balls of the skill is not compared, nor is one
// off the green or in another circle added to it.
func TestMeasuredCold(t *testing.T) {
	whole := purposeful(curriculum.FirstTest, ft5, tenIn+tenOut)
	for name, plays := range map[string][]progress.Play{
		"after other balls": {play("a", day1, block("warmup", "io"), whole)},
		"after a card":      {play("a", day1, progress.PlayedBlock{Kind: "warmup", Attested: progress.Attested{Balls: 5}}, whole)},
		"in two circles":    {play("a", day1, purposeful(curriculum.FirstTest, ft5, tenIn), purposeful(curriculum.FirstTest, ft3, tenIn))},
		"of no balls":       {play("a", day1, purposeful(curriculum.FirstTest, ft5, ""))},
		"a retest":          {play("a", day1, purposeful(curriculum.Retest, ft5, tenIn+tenOut))},
	} {
		if first, ok := stateOf(plays...).First(); ok {
			t.Errorf("%s: got %+v", name, first)
		}
	}
	mat := play("a", day1, whole)
	mat.OffGreen = true
	if s := stateOf(mat); len(s.Parts) != 0 {
		t.Errorf("off the green: got %+v", s.Parts)
	}
	s := stateOf(play("a", day1, whole, block("test", "iio")))
	if first, ok := s.First(); !ok || first.Warm || s.Unmeasured() != 3 {
		t.Errorf("before other balls: got %+v, with %d others", first, s.Unmeasured())
	}
}

// TestMeasuredLeaves: measured balls are counted in every circle of the track.
func TestMeasuredLeaves(t *testing.T) {
	b := purposeful(curriculum.FirstTest, ft5, "iioh")
	b.Balls[0].Measured, b.Balls[0].Leave = true, domain.Foot
	b.Balls[1].Measured, b.Balls[1].Leave = true, 4*domain.Foot
	b.Balls[3].Measured = true
	tr := track(ladder(streak.Tier{Run: 3, Radius: ft5}, streak.Tier{Run: 3, Radius: ft3}))
	more := b
	more.Balls = b.Balls[:1]
	parts := tr.Summarise(play("a", day1, b, more)).Parts
	want := []estimate.Circle{{Radius: ft5, Balls: 4, Inside: 4, Holed: 1}, {Radius: ft3, Balls: 4, Inside: 3, Holed: 1}}
	if len(parts) != 1 || !reflect.DeepEqual(parts[0].Measured, want) {
		t.Errorf("got %+v, want %+v", parts, want)
	}
	// In parts they are added up, also where the first part has none.
	s := progress.State{Parts: []progress.Part{{Session: "a", Purpose: curriculum.FirstTest}, parts[0], parts[0]}}
	s.Parts[0].Day, s.Parts[0].Radius = parts[0].Day, ft5
	m := s.Measurements(curriculum.FirstTest)
	if len(m) != 1 || m[0].Test.Measured[1] != (estimate.Circle{Radius: ft3, Balls: 8, Inside: 6, Holed: 2}) {
		t.Errorf("added up: %+v", m)
	}
	if one := track(ladder(three, nine)).Summarise(play("a", day1, b)).Parts[0]; one.Measured != nil {
		t.Errorf("in one circle leaves tell no more: got %+v", one.Measured)
	}
}

// TestMeasuredChange: the earliest first test is held against the latest end test on a
// later day.
func TestMeasuredChange(t *testing.T) {
	on := func(day int) time.Time { return day1.AddDate(0, 0, day) }
	first := play("a", on(0), purposeful(curriculum.FirstTest, ft5, "iiiiiioooo"+tenOut))
	again := play("b", on(1), purposeful(curriculum.FirstTest, ft5, tenIn+tenOut))
	same := play("c", on(0).Add(time.Hour), purposeful(curriculum.EndTest, ft5, tenIn+tenIn))
	good := play("d", on(40), purposeful(curriculum.EndTest, ft5, tenIn+"iiiioooooo"))
	last := play("e", on(50), purposeful(curriculum.EndTest, ft5, tenIn+tenOut))
	if _, _, _, ok := stateOf(first, same).Change(); ok {
		t.Error("an end test on the day of the first is compared")
	}
	if _, _, _, ok := stateOf(good).Change(); ok {
		t.Error("an end test alone is compared")
	}
	s := stateOf(first, again, good, last)
	from, to, change, ok := s.Change()
	if !ok || from.Inside != 6 || to.Inside != 10 || change != estimate.ChangeOf(from.Test, to.Test, s.Assessment.Form.Kinds) || !(change.Mean > 0) {
		t.Errorf("got %+v, %+v, %+v", from.Circle, to.Circle, change)
	}
	if _, ok := s.End(domain.DateOf(on(51), time.UTC)); ok {
		t.Error("an end test before the day is found")
	}
	if e, ok := s.End(domain.DateOf(on(50), time.UTC)); !ok || e.Inside != 10 {
		t.Errorf("on the day: %+v", e)
	}
}

// TestForecastAfterFirstTest: a first test alone leaves room for as many balls.
func TestForecastAfterFirstTest(t *testing.T) {
	s := stateOf(play("a", day1, purposeful(curriculum.FirstTest, ft5, tenIn+tenOut)))
	if f := s.Assessment.Forecast; f == nil || f.NextSession < 0.2 {
		t.Errorf("got %+v", f)
	}
}

// TestPartsAreBounded: the earliest first tests and the latest end tests are kept, as
// they are made anew from all sessions; a part that is given up where there may be more
// needs the whole record.
func TestPartsAreBounded(t *testing.T) {
	tr := track(ladder(three, nine))
	var all []progress.SessionSummary
	record := progress.Recompute(tr, nil)
	for i := range 30 {
		id := domain.ID(fmt.Sprintf("s%02d", i))
		s := tr.Summarise(play(id, day1.AddDate(0, 0, i), purposeful(curriculum.FirstTest, ft5, tenIn), purposeful(curriculum.EndTest, ft5, tenIn)))
		all = append(all, s)
		after, _, ok := record.Revise(id, &s)
		if !ok {
			t.Fatalf("session %d: the record does not reach", i)
		}
		record = after
	}
	whole := progress.Recompute(tr, all)
	if !reflect.DeepEqual(record.State.Parts, whole.State.Parts) || len(whole.State.Parts) != 48 {
		t.Errorf("kept are %d parts, and made anew %d", len(record.State.Parts), len(whole.State.Parts))
	}
	if p := whole.State.Parts; p[0].Session != "s00" || p[len(p)-1].Session != "s29" || !slices.IsSortedFunc(p, func(a, b progress.Part) int { return a.StartedAt.Compare(b.StartedAt) }) {
		t.Errorf("from %s to %s", p[0].Session, p[len(p)-1].Session)
	}
	part := record
	part.Whole = false
	if _, _, ok := part.Revise("s03", nil); ok {
		t.Error("a part was given up, and what comes in its place is not known")
	}
	few := progress.Recompute(tr, all[:5])
	few.Whole = false
	some, _, ok := few.Revise("s03", nil)
	if want := progress.Recompute(tr, append(slices.Clone(all[:3]), all[4])).State.Parts; ok && !reflect.DeepEqual(some.State.Parts, want) {
		t.Errorf("got %+v, want %+v", some.State.Parts, want)
	}
}

// TestPartsOfASession: more circles than four say nothing more.
func TestPartsOfASession(t *testing.T) {
	var blocks []progress.PlayedBlock
	for i := range 6 {
		blocks = append(blocks, purposeful(curriculum.EndTest, domain.Length(i+1)*domain.Foot, "io"))
	}
	if parts := track(ladder(three)).Summarise(play("a", day1, blocks...)).Parts; len(parts) != 4 {
		t.Errorf("got %d parts", len(parts))
	}
}
