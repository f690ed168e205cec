package practice_test

import (
	"context"
	"errors"
	"reflect"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// now is Sunday 10 May 2026; monday is the start of that week.
var (
	now    = time.Date(2026, time.May, 10, 18, 0, 0, 0, time.UTC)
	monday = domain.Date{Year: 2026, Month: time.May, Day: 4}
	ctx    = context.Background()
)

const (
	hollow = domaintest.Hollow
	adaID  = domaintest.AdaID
	benID  = domaintest.BenID
	juneID = domaintest.JuneID
	ft3    = 3 * domain.Foot
	ft5    = 5 * domain.Foot
)

var (
	owner = domaintest.AsOwner
	coach = domaintest.AsCoach
	ada   = domaintest.AsAda
	ben   = domaintest.AsBen
	june  = domaintest.AsJune
)

// test is what tests and property tests have in common.
type test interface {
	Helper()
	Fatal(args ...any)
	Fatalf(format string, args ...any)
	Errorf(format string, args ...any)
}

// fixture is an academy to practise in.
type fixture struct {
	t           test
	mem         *domaintest.Memory
	s           practice.Service
	people      academy.Service
	curriculum  curriculum.Service
	pitch, chip domain.ID
	// work is Ada's assignment of two weeks, pitch then chip, from monday on.
	work domain.ID
}

func open(t test) *fixture { return openWith(t, domaintest.PitchLadder()) }

// openWith opens an academy whose pitch has the ladder.
func openWith(t test, pitch streak.Ladder) *fixture {
	t.Helper()
	mem := domaintest.Populated(now)
	h := &fixture{t: t, mem: mem, s: mem.Practice(), people: mem.People(),
		curriculum: curriculum.Service{Store: mem.Curriculum(), Env: mem.Env()}}
	skill := func(name string, kind curriculum.SkillKind, l streak.Ladder) domain.ID {
		return must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: name, Kind: kind, Ladder: l}))(t).ID
	}
	h.pitch, h.chip = skill("Pitch", curriculum.Pitch, pitch), skill("Chip", curriculum.ChipAndRun, domaintest.ChipLadder())
	p := must(h.curriculum.CreateProgramme(ctx, coach, domaintest.Programme(h.pitch, h.chip)))(t)
	must(h.curriculum.Publish(ctx, coach, p.ID, 0))(t)
	h.work = must(h.people.Assign(ctx, coach, academy.AssignRequest{Programme: p.ID, Version: 1, Students: []domain.ID{adaID}, Start: monday}))(t)[0].ID
	return h
}

// must gives the value, or ends the test.
func must[T any](v T, err error) func(test) T {
	return func(t test) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func failure[T any](_ T, err error) error { return err }

// balls reads outcomes: "o" out, "i" in, "h" holed, and in left two feet away
// "2".
func balls(outcomes string) []practice.Ball {
	var all []practice.Ball
	for _, o := range outcomes {
		var b practice.Ball
		switch o {
		case 'i':
			b.Outcome = streak.In
		case 'h':
			b.Outcome = streak.Holed
		case '2':
			b = practice.Ball{Outcome: streak.In, Leave: 2 * domain.Foot, Measured: true}
		}
		all = append(all, b)
	}
	return all
}

// block is a quarter of an hour judged at five feet.
func block(kind curriculum.BlockKind, skill domain.ID, outcomes string) practice.Block {
	return practice.Block{Kind: kind, Skill: skill, Radius: ft5, Seconds: 900, Balls: balls(outcomes)}
}

// session is an hour that ended an hour ago.
func session(id domain.ID, revision int, blocks ...practice.Block) practice.Session {
	return practice.Session{ID: id, Revision: revision, TimeZone: "UTC", StartedAt: now.Add(-2 * time.Hour), EndedAt: now.Add(-time.Hour), Blocks: blocks}
}

func (h *fixture) put(a domain.Actor, s practice.Session) practice.PutResult {
	h.t.Helper()
	return must(h.s.Put(ctx, a, s))(h.t)
}

// kept reads what the store keeps of a student.
func (h *fixture) kept(student domain.ID) (k practice.Kept) {
	h.t.Helper()
	err := h.mem.Rebuilding().Read(ctx, hollow, func(tx practice.RebuildStore) (err error) {
		k, err = tx.Kept(ctx, student)
		return err
	})
	if err != nil {
		h.t.Fatal(err)
	}
	return k
}

// events lists the kinds of events about sessions.
func (h *fixture) events() (kinds []string) {
	for _, e := range h.sessionEvents() {
		kinds = append(kinds, e.Kind)
	}
	return kinds
}

func (h *fixture) sessionEvents() (events []domain.Event) {
	for _, e := range h.mem.Events(hollow) {
		if len(e.Kind) > 8 && e.Kind[:8] == "session." {
			events = append(events, e)
		}
	}
	return events
}

// wantError checks an error's kind, code and what it says stands.
func wantError(t test, what string, err error, kind domain.Kind, code string, stored *domain.Standing) {
	t.Helper()
	var e *domain.Error
	if !errors.As(err, &e) || e.Kind != kind || e.Code != code || !reflect.DeepEqual(e.Stored, stored) {
		t.Errorf("%s: got %+v, want %s (kind %d) with %v stored", what, err, code, kind, stored)
	}
}

// wantFields checks what an Invalid error tells, pointer and sentence in turn.
func wantFields(t test, what string, err error, want ...string) {
	t.Helper()
	var got []string
	for _, f := range domain.FieldsOf(err) {
		got = append(got, f.Pointer, f.Detail)
	}
	if !reflect.DeepEqual(got, want) || domain.KindOf(err) != domain.Invalid {
		t.Errorf("%s:\ngot  %v\nwant %v", what, err, want)
	}
}

// milestones lists what a student has passed.
func milestones(k practice.Kept) (all []progress.Milestone) {
	for _, s := range k.States {
		all = append(all, s.Milestones()...)
	}
	return all
}
