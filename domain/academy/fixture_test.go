package academy_test

import (
	"context"
	"errors"
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// now is Monday 4 May 2026, 11:00 in Lisbon and 06:00 in New York.
var (
	now = time.Date(2026, time.May, 4, 10, 0, 0, 0, time.UTC)
	ctx = context.Background()
)

const (
	hollow = domaintest.Hollow
	ada    = domaintest.AdaID
	ben    = domaintest.BenID
	june   = domaintest.JuneID
	gone   = domaintest.GoneID
)

var (
	owner    = domaintest.AsOwner
	coach    = domaintest.AsCoach
	coach2   = domaintest.AsCoach2
	guardian = domaintest.AsGuardian
	key      = domaintest.AsKey
)

// agreed is a guardian who agrees that practice is kept, and to no sharing.
var agreed = academy.ConsentChange{Given: true}

// fixture is an academy with everything that it takes to practise in it.
type fixture struct {
	t           *testing.T
	mem         *domaintest.Memory
	people      academy.Service
	reading     academy.ReadService
	seen        academy.AcknowledgeService
	curriculum  curriculum.Service
	practice    practice.Service
	pitch, chip curriculum.Skill
	// programme has one version, of two weeks: pitch, then chip.
	programme domain.ID
}

func open(t *testing.T) *fixture {
	t.Helper()
	mem := domaintest.Populated(now)
	h := &fixture{
		t: t, mem: mem, people: mem.People(), reading: mem.Reading(),
		seen:       academy.AcknowledgeService{Store: mem.Acknowledging(), Env: mem.Env()},
		curriculum: curriculum.Service{Store: mem.Curriculum(), Env: mem.Env()}, practice: mem.Practice(),
	}
	h.pitch = must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: "Pitch", Kind: curriculum.Pitch, Ladder: domaintest.PitchLadder()}))(t)
	h.chip = must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: "Chip", Kind: curriculum.ChipAndRun, Ladder: domaintest.ChipLadder()}))(t)
	h.programme = must(h.curriculum.CreateProgramme(ctx, coach, domaintest.Programme(h.pitch.ID, h.chip.ID)))(t).ID
	h.publish()
	return h
}

// publish freezes the programme's draft.
func (h *fixture) publish() {
	h.t.Helper()
	must(h.curriculum.Publish(ctx, coach, h.programme, 0))(h.t)
}

// assign gives version 1 to a student from a day of May.
func (h *fixture) assign(student domain.ID, start int) academy.Assignment {
	h.t.Helper()
	return must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 1, Students: []domain.ID{student}, Start: may(start)}))(h.t)[0]
}

// practised lets a student practise a test block of one skill, n balls inside
// in a row, by the first plan of a week of an assignment.
func (h *fixture) practised(student, id domain.ID, at time.Time, skill domain.ID, n int, as domain.ID, week int) practice.PutResult {
	h.t.Helper()
	s := practice.Session{ID: id, Student: student, StartedAt: at, EndedAt: at.Add(time.Hour), TimeZone: "UTC", Revision: 1, Assignment: as}
	s.Blocks = []practice.Block{testBlock(skill, n)}
	if as != "" { // with a card for the rest, so that the session counts
		s.Week, s.Plan = week, 1
		s.Blocks = append(s.Blocks, practice.Block{Kind: curriculum.Technique, Skill: skill, Radius: 5 * domain.Foot, Attested: &progress.Attested{Balls: 30}})
	}
	return must(h.practice.Put(ctx, owner, s))(h.t)
}

// testBlock is a quarter of an hour of n balls inside in a row.
func testBlock(skill domain.ID, n int) practice.Block {
	b := practice.Block{Kind: curriculum.Test, Skill: skill, Radius: 5 * domain.Foot, Seconds: 900}
	for range n {
		b.Balls = append(b.Balls, practice.Ball{Outcome: streak.In})
	}
	return b
}

// must gives the value, or ends the test.
func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func failure[T any](_ T, err error) error { return err }

// wantError checks an error's kind and code.
func wantError(t *testing.T, what string, err error, kind domain.Kind, code string) {
	t.Helper()
	var e *domain.Error
	if !errors.As(err, &e) || e.Kind != kind || e.Code != code {
		t.Errorf("%s: got %v, want %s (kind %d)", what, err, code, kind)
	}
}

// wantFields checks what an Invalid error tells, pointer and sentence in turn.
func wantFields(t *testing.T, what string, err error, want ...string) {
	t.Helper()
	var got []string
	for _, f := range domain.FieldsOf(err) {
		got = append(got, f.Pointer, f.Detail)
	}
	if !reflect.DeepEqual(got, want) || domain.KindOf(err) != domain.Invalid {
		t.Errorf("%s:\ngot  %v\nwant %v", what, err, want)
	}
}

// wantEvent checks the last event of the log, by an actor who is a member.
func (h *fixture) wantEvent(a domain.Actor, kind string, subject, student domain.ID, data map[string]any) {
	h.t.Helper()
	log := h.mem.Events(hollow)
	want := domain.Event{Seq: int64(len(log)), At: h.mem.Now(), Actor: a.Member, Kind: kind, Subject: subject, Student: student, Data: data}
	if got := log[len(log)-1]; !reflect.DeepEqual(got, want) {
		h.t.Errorf("last event:\ngot  %+v\nwant %+v", got, want)
	}
}

// wantNoEvent checks that the log did not grow.
func (h *fixture) wantNoEvent(since int) {
	h.t.Helper()
	if log := h.mem.Events(hollow); len(log) != since {
		h.t.Errorf("the log grew by %+v", log[since:])
	}
}
