package academy_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
)

func TestAcademy(t *testing.T) {
	h := open(t)
	got := must(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{Name: new("Hollow Links"), TimeZone: new("Europe/Dublin")}))(t)
	if got.Name != "Hollow Links" || got.TimeZone != "Europe/Dublin" || got.ID != hollow {
		t.Errorf("got %+v, want it renamed", got)
	}
	h.wantEvent(owner, "academy.changed", hollow, "", map[string]any{"name": "Hollow Links", "time_zone": "Europe/Dublin", "challenge": 70, "erase_removed_days": 0, "forget_events_days": 0})
	if named := must(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{TimeZone: new("UTC")}))(t); named.Name != "Hollow Links" || named.TimeZone != "UTC" {
		t.Errorf("another zone alone: got %+v, want the name kept", named)
	}
	got = must(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{}))(t)
	if read := must(h.people.Academy(ctx, coach))(t); read != got {
		t.Errorf("read %+v, want %+v", read, got)
	}
	if other := must(h.people.Academy(ctx, domaintest.AsOther))(t); other.Name != "Next Door" {
		t.Errorf("the academy next door is now %+v", other)
	}
	log := len(h.mem.Events(hollow))
	_, err := h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{Name: new(" "), TimeZone: new("Lisbon")})
	wantFields(t, "no name, no zone", err, "/name", "is empty; give a name of 1 to 120 characters",
		"/time_zone", `"Lisbon" is not a time zone; use an IANA name such as Europe/Lisbon`)
	_, err = h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{Name: new(strings.Repeat("é", 121)), TimeZone: new("UTC")})
	wantFields(t, "a long name", err, "/name", "has 121 characters; use at most 120")
	_, err = h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{Name: new("a\x00"), TimeZone: new("UTC")})
	wantFields(t, "a NUL", err, "/name", "contains a NUL character; remove it")
	for _, share := range []int{49, 91} {
		_, err = h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{Challenge: &share})
		wantFields(t, "a challenge", err, "/challenge", fmt.Sprintf("is %d %%; give a share of success from 50 to 90 %%", share))
	}
	h.wantNoEvent(log)
	for _, share := range []int{50, 90} {
		if got := must(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{Challenge: &share}))(t); got.Challenge != share || got.Name != "Hollow Links" {
			t.Errorf("got %+v, want a challenge of %d %%", got, share)
		}
	}
}

func TestChangeMember(t *testing.T) {
	h := open(t)
	change := academy.MemberChange{Name: new("Ada B"), TimeZone: new("UTC"), Units: new(academy.InMetres)}
	got := must(h.people.ChangeMember(ctx, domaintest.AsAda, ada, 1, change))(t)
	if got.Name != "Ada B" || got.TimeZone != "UTC" || got.Units != academy.InMetres || got.Revision != 2 || got.Zone() != time.UTC {
		t.Errorf("got %+v, want it changed", got)
	}
	h.wantEvent(domaintest.AsAda, "member.changed", ada, ada, map[string]any{"name": "Ada B", "role": domain.Student, "time_zone": "UTC", "junior": false})
	if read := must(h.people.Member(ctx, owner, ada))(t); !reflect.DeepEqual(read, got) {
		t.Errorf("read %+v, want %+v", read, got)
	}
	_, err := h.people.ChangeMember(ctx, coach, ada, 1, change)
	wantError(t, "a revision not read", err, domain.Stale, "stale")
	_, err = h.people.ChangeMember(ctx, coach, ada, 0, academy.MemberChange{Name: new(""), TimeZone: new("x"), Units: new(academy.Units("yards"))})
	wantFields(t, "bad words", err, "/name", "is empty; give a name of 1 to 120 characters",
		"/time_zone", `"x" is not a time zone; use an IANA name such as Europe/Lisbon`, "/units", `is "yards"; use feet or metres`)
	promoted := must(h.people.ChangeMember(ctx, owner, domaintest.CoachID, 0, academy.MemberChange{Role: new(domain.Owner)}))(t)
	if promoted.Role != domain.Owner {
		t.Errorf("got %+v, want an owner", promoted)
	}
	h.wantEvent(owner, "member.changed", domaintest.CoachID, "", map[string]any{"name": "Carl", "role": domain.Owner, "time_zone": "Europe/Lisbon", "junior": false})
}

func TestWhoMayChangeWhom(t *testing.T) {
	name := academy.MemberChange{Name: new("New")}
	role := academy.MemberChange{Role: new(domain.Owner)}
	junior := academy.MemberChange{Junior: new(true)}
	for _, c := range []struct {
		why    string
		a      domain.Actor
		id     domain.ID
		change academy.MemberChange
		kind   domain.Kind
		code   string // empty when it may be done
	}{
		{"a coach their own student", coach, ada, name, 0, ""},
		{"a coach another's student", coach, ben, name, domain.NotFound, "not_found"},
		{"a coach another coach", coach, domaintest.Coach2ID, name, domain.Forbidden, "not_yours"},
		{"a coach an owner", coach, domaintest.OwnerID, name, domain.Forbidden, "not_yours"},
		{"a coach themselves", coach, domaintest.CoachID, name, 0, ""},
		{"an owner anybody", owner, domaintest.GuardianID, name, 0, ""},
		{"a guardian their junior", guardian, june, name, domain.Forbidden, "not_yours"},
		{"a guardian themselves", guardian, domaintest.GuardianID, name, 0, ""},
		{"a student another", domaintest.AsAda, ben, name, domain.NotFound, "not_found"},
		{"a key", key, ada, name, domain.Forbidden, "not_yours"},
		{"a role by a coach", coach, ada, role, domain.Forbidden, "owner_only"},
		{"one's own role", coach, domaintest.CoachID, role, domain.Forbidden, "owner_only"},
		{"a role by a key", key, domaintest.CoachID, role, domain.Forbidden, "owner_only"},
		{"a student to an owner", owner, ada, role, domain.Invalid, "member_invalid"},
		{"a coach to a student", owner, domaintest.CoachID, academy.MemberChange{Role: new(domain.Student)}, domain.Invalid, "member_invalid"},
		{"a junior by a coach", coach, ada, junior, 0, ""},
		{"a junior by the student", domaintest.AsAda, ada, junior, domain.Forbidden, "staff_only"},
		{"no longer a junior, by the junior", domaintest.AsJune, june, academy.MemberChange{Junior: new(false)}, domain.Forbidden, "staff_only"},
		{"a junior coach", owner, domaintest.CoachID, junior, domain.Invalid, "member_invalid"},
		{"somebody who is not there", owner, "none", name, domain.NotFound, "not_found"},
	} {
		h := open(t)
		_, err := h.people.ChangeMember(ctx, c.a, c.id, 0, c.change)
		if c.code == "" && err != nil {
			t.Errorf("%s: %v", c.why, err)
		}
		if c.code != "" {
			wantError(t, c.why, err, c.kind, c.code)
		}
	}
}

func TestLastOwner(t *testing.T) {
	h := open(t)
	demote := academy.MemberChange{Role: new(domain.Coach)}
	_, err := h.people.ChangeMember(ctx, owner, domaintest.OwnerID, 0, demote)
	wantError(t, "the last owner steps down", err, domain.Conflict, "last_owner")
	err = h.people.RemoveMember(ctx, owner, domaintest.OwnerID)
	wantError(t, "the last owner leaves", err, domain.Conflict, "last_owner")
	must(h.people.ChangeMember(ctx, owner, domaintest.CoachID, 0, academy.MemberChange{Role: new(domain.Owner)}))(t)
	must(h.people.ChangeMember(ctx, owner, domaintest.OwnerID, 0, demote))(t)
	second := owner
	second.Member = domaintest.CoachID
	err = h.people.RemoveMember(ctx, second, domaintest.CoachID)
	wantError(t, "the owner who is last now", err, domain.Conflict, "last_owner")
}

func TestRemoveMember(t *testing.T) {
	h := open(t)
	if err := h.people.RemoveMember(ctx, owner, ada); err != nil {
		t.Fatal(err)
	}
	h.wantEvent(owner, "member.removed", ada, ada, map[string]any{"name": "Ada", "role": domain.Student})
	if err := failure(h.reading.Now(ctx, coach, ada)); domain.KindOf(err) != domain.NotFound {
		t.Errorf("the coach still reads Ada: %v", err)
	}
	log := len(h.mem.Events(hollow))
	if err := h.people.RemoveMember(ctx, owner, ada); err != nil {
		t.Errorf("removing again: %v, want no error", err)
	}
	h.wantNoEvent(log)
	wantError(t, "removing a hidden member", h.people.RemoveMember(ctx, coach, ben), domain.NotFound, "not_found")
	left := must(h.people.Members(ctx, owner, academy.MemberFilter{Role: domain.Student, Removed: true}, domain.Page{Limit: 50}))(t)
	if len(left) != 4 || left[0].ID != ada || !left[0].RemovedAt.Equal(now) {
		t.Errorf("got %+v, want all four students, Ada removed now", left)
	}
}

// TestConsent: a junior's practice may be kept from a guardian's consent on.
func TestConsent(t *testing.T) {
	h := open(t)
	m := must(h.people.Member(ctx, owner, june))(t)
	if m.MayPractise() || !must(h.people.Member(ctx, owner, ada))(t).MayPractise() {
		t.Errorf("June may practise without consent, or Ada may not")
	}
	given := must(h.people.Consent(ctx, guardian, june, agreed))(t)
	if !given.MayPractise() || !given.ConsentAt.Equal(now) || given.ConsentBy != domaintest.GuardianID || given.Revision != 2 {
		t.Errorf("got %+v, want consent by the guardian", given)
	}
	h.wantEvent(guardian, "consent.given", june, june, map[string]any{"apps": false, "matches": false, "media": false, "reports": false})
	taken := must(h.people.Consent(ctx, guardian, june, academy.ConsentChange{}))(t)
	if taken.MayPractise() || taken.ConsentBy != "" || !taken.ConsentAt.IsZero() {
		t.Errorf("got %+v, want consent withdrawn", taken)
	}
	h.wantEvent(guardian, "consent.withdrawn", june, june, map[string]any{"apps": false, "matches": false, "media": false, "reports": false})
	_, err := h.people.Consent(ctx, guardian, ada, agreed)
	wantError(t, "another's child", err, domain.NotFound, "not_found")
	_, err = h.people.Consent(ctx, owner, ada, agreed)
	wantError(t, "not a junior", err, domain.Conflict, "not_a_junior")
}

func TestZoneLost(t *testing.T) {
	if got := (academy.Member{TimeZone: "Atlantis/Deep"}).Zone(); got != time.UTC {
		t.Errorf("a zone that the database has lost is read as %v, want UTC", got)
	}
}

func TestGroups(t *testing.T) {
	h := open(t)
	g := must(h.people.CreateGroup(ctx, owner, "Juniors", []domain.ID{june, ben, june, ada}))(t)
	if want := []domain.ID{ada, ben, june}; !slices.Equal(g.Students, want) || g.Revision != 1 || !g.CreatedAt.Equal(now) {
		t.Errorf("got %+v, want students %v, each once and in order", g, want)
	}
	h.wantEvent(owner, "group.created", g.ID, "", map[string]any{"name": "Juniors", "students": g.Students})

	// The coach sees Ada and June in it, and changes leave Ben where he is.
	if got := must(h.people.Group(ctx, coach, g.ID))(t); !slices.Equal(got.Students, []domain.ID{ada, june}) {
		t.Errorf("the coach sees %v in it, want Ada and June", got.Students)
	}
	changed := must(h.people.ChangeGroup(ctx, coach, g.ID, 1, "Juniors", []domain.ID{june}))(t)
	if !slices.Equal(changed.Students, []domain.ID{june}) || changed.Name != "Juniors" || changed.Revision != 2 {
		t.Errorf("got %+v, want June alone for the coach", changed)
	}
	h.wantEvent(coach, "group.changed", g.ID, "", map[string]any{"name": "Juniors", "students": []domain.ID{ben, june}})
	if all := must(h.people.Groups(ctx, owner, domain.Page{Limit: 9}))(t); len(all) != 1 || !slices.Equal(all[0].Students, []domain.ID{ben, june}) {
		t.Errorf("the owner sees %+v, want Ben and June", all)
	}
	if all := must(h.people.Groups(ctx, coach2, domain.Page{Limit: 9}))(t); len(all) != 1 || !slices.Equal(all[0].Students, []domain.ID{ben}) {
		t.Errorf("the other coach sees %+v, want Ben", all)
	}
	members := must(h.people.Members(ctx, owner, academy.MemberFilter{Group: g.ID}, domain.Page{Limit: 9}))(t)
	if len(members) != 2 || members[0].ID != ben {
		t.Errorf("members of the group: got %+v", members)
	}
	if err := h.people.DeleteGroup(ctx, owner, g.ID, 0); err != nil {
		t.Error(err)
	}
	h.wantEvent(owner, "group.deleted", g.ID, "", map[string]any{"name": "Juniors", "students": []domain.ID{ben, june}})
	for what, err := range map[string]error{
		"reading": failure(h.people.Group(ctx, owner, g.ID)), "deleting": h.people.DeleteGroup(ctx, owner, g.ID, 0),
		"changing": failure(h.people.ChangeGroup(ctx, owner, g.ID, 0, "x", nil)),
	} {
		wantError(t, what+" a group that is not there", err, domain.NotFound, "not_found")
	}
}

// A group belongs to who made it and to the owners: other coaches put their own
// students in and take them out, and that is all.
func TestNoCoachRenamesOrDeletesAnothersGroup(t *testing.T) {
	h := open(t)
	refused := func(what string, err error) {
		t.Helper()
		wantError(t, what, err, domain.Forbidden, "others_group")
	}
	theirs := must(h.people.CreateGroup(ctx, coach2, "Early", []domain.ID{ben}))(t)
	if theirs.By != coach2.Member {
		t.Errorf("made by %q, want %q", theirs.By, coach2.Member)
	}
	refused("renaming another's", failure(h.people.ChangeGroup(ctx, coach, theirs.ID, 0, "Mine", nil)))
	refused("deleting another's", h.people.DeleteGroup(ctx, coach, theirs.ID, 0))
	must(h.people.ChangeGroup(ctx, coach, theirs.ID, 0, "Early", []domain.ID{ada}))(t)
	refused("deleting one's own with another's student", h.people.DeleteGroup(ctx, coach2, theirs.ID, 0))
	must(h.people.ChangeGroup(ctx, coach2, theirs.ID, 0, "Earlier", []domain.ID{ben}))(t)
	must(h.people.ChangeGroup(ctx, coach, theirs.ID, 0, "Earlier", nil))(t)
	must(0, h.people.DeleteGroup(ctx, coach2, theirs.ID, 0))(t)

	// Of these nobody knows who made them, as of what software makes.
	unknown := func(students ...domain.ID) domain.ID {
		g := must(h.people.CreateGroup(ctx, domaintest.AsKey, "Found", students))(t)
		return g.ID
	}
	refused("renaming one with the unseen", failure(h.people.ChangeGroup(ctx, coach, unknown(ada, ben), 0, "Mine", nil)))
	refused("deleting one with the unseen", h.people.DeleteGroup(ctx, coach, unknown(ada, ben), 0))
	own := unknown(ada)
	wantError(t, "deleting what changed since it was read", h.people.DeleteGroup(ctx, coach, own, 9), domain.Stale, "stale")
	must(h.people.ChangeGroup(ctx, coach, own, 0, "Mine", []domain.ID{ada}))(t)
	must(0, h.people.DeleteGroup(ctx, coach, own, 0))(t)
	must(0, h.people.DeleteGroup(ctx, domaintest.AsKey, unknown(ada, ben), 0))(t)
	must(0, h.people.DeleteGroup(ctx, owner, unknown(ada, ben), 0))(t)
}

func TestGroupRefusals(t *testing.T) {
	h := open(t)
	log := len(h.mem.Events(hollow))
	_, err := h.people.CreateGroup(ctx, coach, "", []domain.ID{ada, ben, gone, "none"})
	wantFields(t, "a group of the unseen", err, "/name", "is empty; give a name of 1 to 120 characters",
		"/student_ids/1", `you have no student "m-student-ben"; check the ID`,
		"/student_ids/2", `you have no student "m-student-gone"; check the ID`,
		"/student_ids/3", `you have no student "none"; check the ID`)
	_, err = h.people.CreateGroup(ctx, owner, "Crowd", slices.Repeat([]domain.ID{ada}, 501))
	wantFields(t, "a crowd", err, "/student_ids", "has 501 students; put at most 500 in a group")
	h.wantNoEvent(log)
	g := must(h.people.CreateGroup(ctx, owner, "Empty", nil))(t)
	_, err = h.people.ChangeGroup(ctx, owner, g.ID, 7, "x", nil)
	wantError(t, "a revision not read", err, domain.Stale, "stale")
	_, err = h.people.ChangeGroup(ctx, owner, g.ID, 1, "", nil)
	wantFields(t, "no name", err, "/name", "is empty; give a name of 1 to 120 characters")
	_, err = h.people.Group(ctx, domaintest.AsOther, g.ID)
	wantError(t, "another academy's group", err, domain.NotFound, "not_found")
}
