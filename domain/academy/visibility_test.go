package academy_test

import (
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
)

var everyone = map[string]domain.Actor{
	"owner": owner, "coach": coach, "coach2": coach2, "ada": domaintest.AsAda, "ben": domaintest.AsBen, "june": domaintest.AsJune,
	"guardian": guardian, "key": key, "nobody": domaintest.AsNobody,
	"stranger": domaintest.AsStranger, "other owner": domaintest.AsOther,
}

// TestWhoSeesWhichStudent walks every asker and every student, through use
// cases that read one student and through the lists.
func TestWhoSeesWhichStudent(t *testing.T) {
	h := open(t)
	sees := map[string][]domain.ID{
		"owner": {ada, ben, june}, "key": {ada, ben}, // no guardian agreed to apps
		"coach": {ada, june}, "coach2": {ben},
		"ada": {ada}, "ben": {ben}, "june": {june}, "guardian": {june},
	}
	absent := domain.ErrNotFound("student").Error()
	for who, a := range everyone {
		for _, id := range []domain.ID{ada, ben, june, gone, domaintest.CoachID, domaintest.OwnerID, domaintest.GuardianID, domaintest.StrangerID, "none"} {
			if a.Academy != hollow && id == domaintest.StrangerID {
				continue // their own
			}
			may := slices.Contains(sees[who], id)
			for what, err := range map[string]error{
				"coaches of": failure(h.people.CoachesOf(ctx, a, id)),
				"progress":   failure(h.reading.Progress(ctx, a, id)),
				"now":        failure(h.reading.Now(ctx, a, id)),
			} {
				if may && err != nil || !may && (err == nil || err.Error() != absent) {
					t.Errorf("%s reads the %s %s: got %v, may see: %v", who, what, id, err, may)
				}
			}
		}
		if a.Academy != hollow {
			continue
		}
		var rows []domain.ID
		for _, row := range must(h.reading.Dashboard(ctx, a, academy.DashboardFilter{}))(t) {
			rows = append(rows, row.Student.ID)
		}
		if slices.Sort(rows); !slices.Equal(rows, sees[who]) {
			t.Errorf("%s has on the dashboard %v, want %v", who, rows, sees[who])
		}
	}
}

func TestWhoSeesWhichMember(t *testing.T) {
	h := open(t)
	staff := []domain.ID{domaintest.CoachID, domaintest.Coach2ID, domaintest.OwnerID}
	all := []domain.ID{domaintest.CoachID, domaintest.Coach2ID, domaintest.GuardianID, domaintest.OwnerID, ada, ben, june}
	sees := map[string][]domain.ID{
		"owner": all, "key": slices.DeleteFunc(slices.Clone(all), func(id domain.ID) bool { return id == june }),
		"coach": append(slices.Clone(staff), ada, june), "coach2": append(slices.Clone(staff), ben),
		"ada": {ada}, "ben": {ben}, "june": {june}, "guardian": {domaintest.GuardianID, june},
	}
	absent := domain.ErrNotFound("member").Error()
	for who, a := range everyone {
		if a.Academy != hollow {
			continue
		}
		var list []domain.ID
		for _, m := range must(h.people.Members(ctx, a, academy.MemberFilter{}, domain.Page{Limit: 50}))(t) {
			list = append(list, m.ID)
		}
		if !slices.Equal(list, sees[who]) {
			t.Errorf("%s lists %v, want %v", who, list, sees[who])
		}
		for _, id := range append(all, gone, domaintest.StrangerID, "none") {
			m, err := h.people.Member(ctx, a, id)
			may := slices.Contains(sees[who], id) || a.SeesAll() && id == gone // who left is known to those who see all
			if may && (err != nil || m.ID != id) || !may && (err == nil || err.Error() != absent) {
				t.Errorf("%s reads %s: got %v, %v, may see: %v", who, id, m.ID, err, may)
			}
		}
	}
}

// TestLinksTakeEffectAtOnce: a coach sees a student from the link on, and no
// longer than it lasts.
func TestLinksTakeEffectAtOnce(t *testing.T) {
	h := open(t)
	sees := func() bool { return failure(h.reading.Now(ctx, coach, ben)) == nil }
	if sees() {
		t.Fatal("the coach sees Ben before the link")
	}
	if err := h.people.Link(ctx, owner, domaintest.CoachID, ben, true); err != nil || !sees() {
		t.Errorf("linked: %v, the coach sees Ben: %v", err, sees())
	}
	h.wantEvent(owner, "coach.linked", domaintest.CoachID, ben, nil)
	if got := must(h.people.CoachesOf(ctx, owner, ben))(t); !slices.Equal(got, []domain.ID{domaintest.CoachID, domaintest.Coach2ID}) {
		t.Errorf("Ben's coaches are %v", got)
	}
	if err := h.people.Link(ctx, owner, domaintest.CoachID, ben, false); err != nil || sees() {
		t.Errorf("unlinked: %v, the coach sees Ben: %v", err, sees())
	}
	h.wantEvent(owner, "coach.unlinked", domaintest.CoachID, ben, nil)

	log := len(h.mem.Events(hollow))
	for what, err := range map[string]error{
		"a coach who is not there":   h.people.Link(ctx, owner, "none", ben, true),
		"a student as a coach":       h.people.Link(ctx, owner, ada, ben, true),
		"a guardian as a coach":      h.people.Link(ctx, owner, domaintest.GuardianID, ben, true),
		"a coach as a student":       h.people.Link(ctx, owner, domaintest.CoachID, domaintest.Coach2ID, true),
		"a student not of the coach": h.people.Link(ctx, coach, domaintest.CoachID, ben, true),
	} {
		wantError(t, what, err, domain.NotFound, "not_found")
	}
	h.wantNoEvent(log)
}
