package practice_test

import (
	"reflect"
	"testing"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
)

// TestSessionWithoutSteps: a session of a student without a programme says why it
// moved nothing, to whoever reads it, and no longer once one is assigned. Ben has
// no programme; Ada's trains the pitch and the chip, and not the lob.
func TestSessionWithoutSteps(t *testing.T) {
	h := open(t)
	lob := must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: "Lob", Kind: curriculum.Lob, Ladder: domaintest.ChipLadder()}))(t).ID
	pitches, chips, lobs := block(curriculum.Test, h.pitch, "ioi"), block(curriculum.Test, h.chip, "hh"), block(curriculum.Test, lob, "i")
	chips.Radius = 3 * domain.Foot
	const remedy = "is assigned, so there is no step to pass. Once a coach assigns one, these balls count."
	for id, c := range map[domain.ID]struct {
		who    domain.Actor
		blocks []practice.Block
		want   string
	}{
		"s1": {domaintest.AsBen, []practice.Block{pitches}, "These balls moved no step: no programme with this skill " + remedy},
		"s2": {domaintest.AsBen, []practice.Block{pitches, chips, pitches}, "These balls moved no step: no programme with their skills " + remedy},
		"s3": {ada, []practice.Block{pitches, lobs}, "Some of these balls moved no step: no programme with their skill " + remedy},
		"s4": {ada, []practice.Block{pitches, chips}, ""},
		"s5": {ada, []practice.Block{lobs}, "These balls moved no step: no programme with this skill " + remedy},
	} {
		s := session(id, 1, c.blocks...)
		days := int(id[1] - '0') // apart, so that they do not overlap
		s.StartedAt, s.EndedAt = s.StartedAt.AddDate(0, 0, -days), s.EndedAt.AddDate(0, 0, -days)
		var want []practice.Notice
		if c.want != "" {
			want = []practice.Notice{{Code: "no_programme", Detail: c.want}}
		}
		if got := h.put(c.who, s).Notices; !reflect.DeepEqual(got, want) {
			t.Errorf("%s, stored: got %+v, want %+v", id, got, want)
		}
		if got := must(h.s.Get(ctx, domaintest.AsOwner, id))(t).Notices; !reflect.DeepEqual(got, want) {
			t.Errorf("%s, as the owner reads it: got %+v, want %+v", id, got, want)
		}
	}
	p := must(h.curriculum.CreateProgramme(ctx, coach, domaintest.Programme(h.pitch, h.chip)))(t)
	must(h.curriculum.Publish(ctx, coach, p.ID, 0))(t)
	must(h.people.Assign(ctx, domaintest.AsOwner, academy.AssignRequest{Programme: p.ID, Version: 1, Students: []domain.ID{domaintest.BenID}, Start: monday}))(t)
	if got := must(h.s.Get(ctx, domaintest.AsBen, "s1"))(t).Notices; got != nil {
		t.Errorf("once a programme is assigned: got %+v, want nothing", got)
	}
}
