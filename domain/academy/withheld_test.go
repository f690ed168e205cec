package academy_test

import (
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
)

// TestJuniorsAreWithheldFromSoftware: with a key, and by an app that somebody let in,
// nothing is heard about a junior before a guardian agreed to apps; people hear as ever.
func TestJuniorsAreWithheldFromSoftware(t *testing.T) {
	h := open(t)
	s := h.mem.EventService()
	start := int64(len(h.mem.Events(hollow)))
	err := h.mem.Doctor(hollow, func(tx practice.RebuildStore) error {
		for _, e := range []domain.Event{
			{Kind: "session.stored", Subject: "s", Student: june, Actor: june, Data: map[string]any{"balls": 3}},
			{Kind: "member.changed", Subject: june, Actor: coach.Member},
			{Kind: "skill.changed", Subject: "k", Actor: coach.Member},
		} {
			if err := tx.Record(ctx, e); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	app := coach
	app.App = "app"
	hears := func(when string, want map[string][]string) {
		t.Helper()
		for who, a := range map[string]domain.Actor{"owner": owner, "key": key, "coach": coach, "app": app} {
			if got := heard(must(s.Changes(ctx, a, start, 9, everyKind))(t)); !slices.Equal(got, want[who]) {
				t.Errorf("%s the %s hears %v, want %v", when, who, got, want[who])
			}
		}
	}
	all := []string{"session.stored", "member.changed", "skill.changed"}
	hears("without consent", map[string][]string{"owner": all, "key": {"skill.changed"}, "coach": {"session.stored", "skill.changed"}, "app": {"skill.changed"}})
	for name, read := range map[string]func(domain.Actor) ([]domain.Event, error){
		"the log": func(a domain.Actor) ([]domain.Event, error) { return s.Events(ctx, a, start, 9) },
		"its end": func(a domain.Actor) ([]domain.Event, error) {
			events, err := s.Latest(ctx, a, 0, 3)
			slices.Reverse(events)
			return events, err
		},
	} {
		told, full := must(read(key))(t), must(read(owner))(t)
		if len(told) != 3 || len(full) != 3 {
			t.Fatalf("%s has %d events for a key and %d for an owner, want 3", name, len(told), len(full))
		}
		for i, e := range told[:2] {
			if e.Seq != full[i].Seq || e.Kind != full[i].Kind || e.Subject != "" || e.Student != "" || e.Actor != "" || e.Data != nil {
				t.Errorf("%s tells a key %+v, want number, time and kind alone", name, e)
			}
		}
		if told[2].Subject != "k" || full[0].Student != june || full[0].Data == nil {
			t.Errorf("%s tells a key of a skill %+v, and an owner of a junior %+v", name, told[2], full[0])
		}
	}
	yes := true
	must(h.people.Consent(ctx, domaintest.AsGuardian, june, academy.ConsentChange{Given: true, Apps: &yes}))(t)
	all = append(all, "consent.given")
	hears("once agreed", map[string][]string{"owner": all, "key": all, "coach": {"session.stored", "skill.changed", "consent.given"}, "app": {"session.stored", "skill.changed", "consent.given"}})
	for _, read := range []func() error{
		func() error { return failure(s.Changes(ctx, key, start, 9, everyKind)) },
		func() error { return failure(s.Events(ctx, key, start, 9)) },
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, read); err != nil {
			t.Error(err)
		}
	}
}
