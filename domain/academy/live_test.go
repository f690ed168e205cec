package academy_test

import (
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
)

func TestEvents(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	log := h.mem.Events(hollow)
	s := h.mem.EventService()
	for _, a := range []domain.Actor{owner, key} {
		got := must(s.Events(ctx, a, 1, 2))(t)
		if len(got) != 2 || got[0].Seq != 2 || got[1].Seq != 3 || got[0].Kind != log[1].Kind || len(got[0].Data) == 0 {
			t.Errorf("got %+v, want the second and third events whole", got)
		}
	}
	if got := must(s.Events(ctx, owner, int64(len(log)), 9))(t); len(got) != 0 {
		t.Errorf("after the last: got %+v", got)
	}
	for who, a := range map[string]domain.Actor{"coach": coach, "student": domaintest.AsAda, "guardian": guardian, "nobody": domaintest.AsNobody} {
		wantError(t, who, failure(s.Events(ctx, a, 0, 9)), domain.Forbidden, "owner_only")
	}
	if err := domaintest.EveryFault(t, h.mem, hollow, func() error { return failure(s.Events(ctx, owner, 0, 9)) }); err != nil {
		t.Error(err)
	}
}

// TestLive: people are told of the students they see, and of nobody else.
func TestLive(t *testing.T) {
	h := open(t)
	s := academy.LiveService{Store: h.mem.Changes()}
	start := must(s.Last(ctx, coach))(t)
	if start != int64(len(h.mem.Events(hollow))) {
		t.Errorf("the last event is %d, want %d", start, len(h.mem.Events(hollow)))
	}
	h.assign(ada, 4)
	h.assign(ben, 4)
	for who, c := range map[string]struct {
		a    domain.Actor
		want []domain.ID
	}{"owner": {owner, []domain.ID{ada, ben}}, "coach": {coach, []domain.ID{ada}}, "coach2": {coach2, []domain.ID{ben}},
		"ada": {domaintest.AsAda, []domain.ID{ada}}, "guardian": {guardian, nil}, "nobody": {domaintest.AsNobody, nil}} {
		events, err := s.Viewer(c.a, start).CatchUp(ctx)
		var about []domain.ID
		for _, e := range events {
			about = append(about, e.Student)
			if e.Data != nil || e.Kind != "assignment.made" {
				t.Errorf("%s is told %+v, want no data", who, e)
			}
		}
		if err != nil || !slices.Equal(about, c.want) {
			t.Errorf("%s: got %v, %v, want %v", who, about, err, c.want)
		}
	}
	v := s.Viewer(coach, start)
	first, second := must(v.CatchUp(ctx))(t), must(v.CatchUp(ctx))(t)
	if len(first) != 1 || len(second) != 0 {
		t.Errorf("told %v, then %v, want one event once", first, second)
	}
	for what, do := range map[string]func() error{
		"Last":    func() error { return failure(s.Last(ctx, coach)) },
		"CatchUp": func() error { return failure(s.Viewer(coach, 0).CatchUp(ctx)) },
		"Hear":    func() error { return failure(s.Viewer(coach, 0).Hear(ctx, []academy.News{{Kind: academy.Grown}})) },
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// TestHear: a session that grows is told at once to those who see the student,
// and to nobody from the moment that they do no more.
func TestHear(t *testing.T) {
	h := open(t)
	s := academy.LiveService{Store: h.mem.Changes()}
	start := must(s.Last(ctx, coach))(t)
	grown := []academy.News{{Academy: hollow, At: now, Kind: academy.Grown, Subject: "s", Student: ada}}
	v, other := s.Viewer(coach, start), s.Viewer(coach2, start)
	got := must(v.Hear(ctx, grown))(t)
	if len(got) != 1 || got[0].Kind != "session.extended" || got[0].Subject != "s" || got[0].Student != ada || got[0].Seq != 0 || !got[0].At.Equal(now) {
		t.Errorf("the student's coach hears %+v, want the session without a number", got)
	}
	if got := must(other.Hear(ctx, grown))(t); len(got) != 0 {
		t.Errorf("another coach hears %+v", got)
	}
	if err := h.people.Link(ctx, owner, domaintest.CoachID, ada, false); err != nil {
		t.Fatal(err)
	}
	log := h.mem.Events(hollow)
	unlinked := log[len(log)-1]
	if got := must(v.Hear(ctx, []academy.News{{Kind: unlinked.Kind, Student: ada}}))(t); len(got) != 0 {
		t.Errorf("the coach who was unlinked hears %+v", got)
	}
	if got := must(v.Hear(ctx, grown))(t); len(got) != 0 {
		t.Errorf("the coach who was unlinked hears of the session: %+v", got)
	}
}
