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
	log := h.w.Events(hollow)
	s := academy.EventService{Store: h.w.Logging()}
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
	if err := domaintest.EveryFault(t, h.w, hollow, func() error { return failure(s.Events(ctx, owner, 0, 9)) }); err != nil {
		t.Error(err)
	}
}

// TestLive: people are told of the students they see, and of nobody else.
func TestLive(t *testing.T) {
	h := open(t)
	s := academy.LiveService{Store: h.w.Live()}
	start := must(s.Last(ctx, coach))(t)
	if start != int64(len(h.w.Events(hollow))) {
		t.Errorf("the last event is %d, want %d", start, len(h.w.Events(hollow)))
	}
	h.assign(ada, 4)
	h.assign(ben, 4)
	for who, c := range map[string]struct {
		a    domain.Actor
		want []domain.ID
	}{"owner": {owner, []domain.ID{ada, ben}}, "coach": {coach, []domain.ID{ada}}, "coach2": {coach2, []domain.ID{ben}},
		"ada": {domaintest.AsAda, []domain.ID{ada}}, "guardian": {guardian, nil}, "nobody": {domaintest.AsNobody, nil}} {
		events, last, err := s.After(ctx, c.a, start)
		var about []domain.ID
		for _, e := range events {
			about = append(about, e.Student)
			if e.Data != nil || e.Kind != "assignment.made" {
				t.Errorf("%s is told %+v, want no data", who, e)
			}
		}
		if err != nil || !slices.Equal(about, c.want) || last != start+2 {
			t.Errorf("%s: got %v up to %d, %v, want %v up to %d", who, about, last, err, c.want, start+2)
		}
	}
	if events, last, err := s.After(ctx, coach, start+2); err != nil || len(events) != 0 || last != start+2 {
		t.Errorf("nothing new: got %v, %d, %v", events, last, err)
	}
	for what, do := range map[string]func() error{
		"Last":  func() error { return failure(s.Last(ctx, coach)) },
		"After": func() error { _, _, err := s.After(ctx, coach, 0); return err },
	} {
		if err := domaintest.EveryFault(t, h.w, hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}
