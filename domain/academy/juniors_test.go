package academy_test

import (
	"fmt"
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
)

// TestJuniorsGetLess: a programme given to a junior comes with shorter sessions and
// distances from closer in, as changes that everybody sees and the coach undoes; anybody
// else's programme is as published. What changes nothing is not there.
func TestJuniorsGetLess(t *testing.T) {
	h := open(t)
	adjust := academy.AdjustService{Store: h.mem.Adjusting(), Env: h.mem.Env()}
	of := func(student domain.ID) (all []academy.Adjustment) {
		return must(adjust.List(ctx, coach, student))(t)
	}
	h.often()
	h.assign(ada, 4)
	if got := of(ada); len(got) != 0 {
		t.Errorf("an adult's: %+v", got)
	}
	as := h.assign(june, 4)
	var kinds []string
	for _, x := range of(june) {
		kinds = append(kinds, fmt.Sprint(x.Kind, " ", x.Skill, x.Minutes, x.PerWeek, x.DistancePart))
		if x.Assignment != as.ID || x.Throughout || x.CreatedBy != owner.Member || x.Text == "" || !x.EndedAt.IsZero() || x.From != may(4) {
			t.Errorf("got %+v", x)
		}
	}
	want := []string{
		fmt.Sprint("minutes ", 40, 0, 0), fmt.Sprint("sessions ", 0, 3, 0), fmt.Sprint("distance ", h.pitch.ID, 0, 0, 75), fmt.Sprint("distance ", h.chip.ID, 0, 0, 75),
	}
	slices.Sort(kinds)
	slices.Sort(want)
	if !slices.Equal(kinds, want) {
		t.Errorf("got %q, want %q", kinds, want)
	}
	n := must(h.reading.Now(ctx, coach, june))(t)
	if plan := n.Work[0].Weeks[0].Plans[0]; plan.Minutes != 40 || len(n.Work[0].Adjustments) != len(want) {
		t.Errorf("plays %d minutes with %d changes", plan.Minutes, len(n.Work[0].Adjustments))
	}
	for _, x := range of(june) {
		if x.Kind == curriculum.ShorterSessions {
			must(adjust.Undo(ctx, coach, x.ID))(t)
		}
	}
	if n := must(h.reading.Now(ctx, domaintest.AsJune, june))(t); n.Work[0].Weeks[0].Plans[0].Minutes == 40 {
		t.Error("still forty minutes after the coach undid it")
	}
}

// often makes version 1 of another programme the fixture's: both skills from distances of
// their own, four times a week.
func (h *fixture) often() {
	c := domaintest.Programme(h.pitch.ID, h.chip.ID)
	for _, w := range c.Weeks {
		w.Plans[0].Times = 4
		for i := range w.Plans[0].Blocks {
			w.Plans[0].Blocks[i].Drill.Distances = []domain.Length{20 * domain.Yard}
		}
	}
	h.programme = must(h.curriculum.CreateProgramme(ctx, coach, c))(h.t).ID
	h.publish()
}

// TestJuniorsKeepTheCoachsChange: what the coach changed before is not overruled, and a
// programme that is given again brings its changes again.
func TestJuniorsKeepTheCoachsChange(t *testing.T) {
	h := open(t)
	h.often()
	adjust := academy.AdjustService{Store: h.mem.Adjusting(), Env: h.mem.Env()}
	as := h.assign(june, 4)
	must(h.people.End(ctx, coach, as.ID, 0))(t)
	h.assign(june, 4)
	standing := 0
	for _, x := range must(adjust.List(ctx, coach, june))(t) {
		if x.EndedAt.IsZero() {
			standing++
		}
	}
	if standing != 4 {
		t.Errorf("%d changes stand after it was given again, want 4", standing)
	}
	mine := academy.Adjustment{Student: june, Adjustment: curriculum.Adjustment{Kind: curriculum.ShorterSessions, Minutes: 30}}
	if given := must(adjust.Give(ctx, coach, []academy.Adjustment{mine}))(t); domain.KindOf(given[0].Err) != domain.Conflict {
		t.Errorf("a second change of the minutes: %v", given[0].Err)
	}
	for _, x := range must(adjust.List(ctx, coach, june))(t) {
		if x.EndedAt.IsZero() && x.Kind == curriculum.ShorterSessions {
			must(adjust.Undo(ctx, coach, x.ID))(t)
		}
	}
	if given := must(adjust.Give(ctx, coach, []academy.Adjustment{mine}))(t); given[0].Err != nil {
		t.Fatal(given[0].Err)
	}
	h.often()
	h.assign(june, 4)
	for _, x := range must(adjust.List(ctx, coach, june))(t) {
		if x.EndedAt.IsZero() && x.Kind == curriculum.ShorterSessions && x.Minutes != 30 {
			t.Errorf("the coach's thirty minutes are overruled by %d", x.Minutes)
		}
	}
}
