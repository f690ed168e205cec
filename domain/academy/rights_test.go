package academy_test

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strconv"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
)

// who is a student of the fixture as an actor.
func who(id domain.ID) domain.Actor {
	return domain.Actor{Academy: hollow, Member: id, Role: domain.Student}
}

func TestLeave(t *testing.T) {
	h := open(t)
	rights := h.mem.Rights()
	must(0, rights.Leave(ctx, who(ada)))(t)
	m := must(h.people.Member(ctx, owner, ada))(t)
	if !m.RemovedAt.Equal(now) || m.Revision != 2 {
		t.Errorf("after leaving: %+v", m)
	}
	h.wantEvent(who(ada), "member.left", ada, ada, map[string]any{"role": domain.Student})
	wantError(t, "the last owner", rights.Leave(ctx, owner), domain.Conflict, "last_owner")
	must(h.people.ChangeMember(ctx, owner, domaintest.CoachID, 0, academy.MemberChange{Role: new(domain.Owner)}))(t)
	must(0, rights.Leave(ctx, owner))(t)
}

func TestEraseARemovedMember(t *testing.T) {
	h := open(t)
	rights := h.mem.Rights()
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 9, as.ID, 1)
	h.practised(ben, "s2", now.Add(-3*time.Hour), h.pitch.ID, 4, "", 0)
	before := must(rights.Practised(ctx, owner))(t)
	wantError(t, "a member who is there", rights.Erase(ctx, owner, ada), domain.Conflict, "not_removed")
	must(0, h.people.RemoveMember(ctx, owner, ada))(t)
	for what, a := range map[string]domain.Actor{"a coach": coach, "software": key, "another academy": domaintest.AsOther} {
		wantError(t, what, rights.Erase(ctx, a, ada), domain.NotFound, "not_found")
	}
	must(0, rights.Erase(ctx, owner, ada))(t)
	wantError(t, "once erased", rights.Erase(ctx, owner, ada), domain.NotFound, "not_found")
	wantError(t, "nobody", rights.Erase(ctx, owner, domain.Nobody), domain.NotFound, "not_found")
	wantError(t, "reading nobody", failure(h.people.Member(ctx, owner, domain.Nobody)), domain.NotFound, "not_found")
	digest := sha256.Sum256([]byte(ada))
	h.wantEvent(owner, "member.erased", domain.Nobody, "", map[string]any{"member_sha256": hex.EncodeToString(digest[:])})

	after := must(rights.Practised(ctx, owner))(t)
	i := slices.IndexFunc(before, func(p academy.Practised) bool { return p.Skill == h.pitch.ID })
	want := before[i]
	want.Erased = 1
	if after[i] != want || want.Students != 2 || want.Sessions != 2 || want.Balls != 13 {
		t.Errorf("practised\ngot  %+v\nwant %+v, of two students with 13 balls", after[i], want)
	}
	for _, e := range h.mem.Events(hollow) {
		if e.Student == ada || e.Subject == ada || e.Actor == ada {
			t.Errorf("the log still tells of the member: %+v", e)
		}
	}
}

// An academy erases who left, and forgets who did what, after as many days as it
// says, and nothing before.
func TestRetention(t *testing.T) {
	h := open(t)
	rights := h.mem.Rights()
	retain := func(erased int) academy.Kept {
		t.Helper()
		k := must(rights.Retain(ctx, hollow))(t)
		if k.Erased != erased {
			t.Errorf("erased %d, want %d", k.Erased, erased)
		}
		return k
	}
	h.mem.Pass(4000 * 24 * time.Hour)
	if k := retain(0); k.Forgotten != 0 {
		t.Errorf("forgot %d events without being asked to", k.Forgotten)
	}
	must(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{EraseRemoved: new(30)}))(t)
	retain(1) // who left before
	must(0, h.people.RemoveMember(ctx, owner, ada))(t)
	h.mem.Pass(30*24*time.Hour - time.Second)
	retain(0)
	h.mem.Pass(time.Second)
	if k := retain(1); k.Forgotten != 0 {
		t.Errorf("forgot %d events without being asked to", k.Forgotten)
	}
	wantError(t, "Ada", failure(h.people.Member(ctx, owner, ada)), domain.NotFound, "not_found")
	must(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{ForgetEvents: new(90)}))(t)
	if k := retain(0); k.Forgotten == 0 {
		t.Error("no event was forgotten after ten years")
	}
	log := h.mem.Events(hollow)
	if first, last := log[0], log[len(log)-1]; first.Actor != "" || len(first.Data) != 0 || first.Kind == "" || first.Seq != 1 || last.Kind != "academy.changed" || len(last.Data) == 0 {
		t.Errorf("the log begins with %+v and ends with %+v", first, last)
	}
	for _, days := range []int{-1, 1, 29, 3651} {
		wantFields(t, "days", failure(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{EraseRemoved: &days, ForgetEvents: &days})),
			"/erase_removed_days", "is "+strconv.Itoa(days)+"; give 30 to 3650 days, or 0 to keep everything",
			"/forget_events_days", "is "+strconv.Itoa(days)+"; give 30 to 3650 days, or 0 to keep everything")
	}
	got := must(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{EraseRemoved: new(0), ForgetEvents: new(3650)}))(t)
	if got.EraseRemoved != 0 || got.ForgetEvents != 3650 {
		t.Errorf("got %+v", got)
	}
}

// Only an owner says that a junior is one no more; then nobody reads on until the
// student says so, and what was agreed before is over for good.
func TestAJuniorGrowsUp(t *testing.T) {
	h := open(t)
	guards := h.mem.Guardians()
	yes := true
	must(h.people.Consent(ctx, guardian, june, academy.ConsentChange{Given: true, Reports: &yes, Apps: &yes}))(t)
	grown := academy.MemberChange{Junior: new(false)}
	wantError(t, "a coach", failure(h.people.ChangeMember(ctx, coach, june, 0, grown)), domain.Forbidden, "owner_only")
	must(h.people.ChangeMember(ctx, coach, ada, 0, academy.MemberChange{Junior: &yes}))(t)
	asJune := who(june)
	wantError(t, "a junior says who reads", guards.Let(ctx, asJune, june, domaintest.GuardianID), domain.Forbidden, "not_yours")
	wantError(t, "a junior ends it", guards.End(ctx, asJune, june, domaintest.GuardianID), domain.Forbidden, "not_yours")
	wards := must(guards.Wards(ctx, guardian))(t)
	if len(wards) != 1 || wards[0].ID != june {
		t.Errorf("the guardian's: %+v", wards)
	}

	m := must(h.people.ChangeMember(ctx, owner, june, 0, grown))(t)
	if !m.ConsentAt.IsZero() || !m.ReportsAt.IsZero() || !m.AppsAt.IsZero() || !m.MatchesAt.IsZero() || !m.ForMatches() || !m.MayPractise() || !m.ForApps() || !m.ForReports() {
		t.Errorf("grown up: %+v", m)
	}
	if len(must(guards.Wards(ctx, guardian))(t)) != 0 {
		t.Error("the guardian still lists the student")
	}
	wantError(t, "the guardian reads", failure(h.people.Member(ctx, guardian, june)), domain.NotFound, "not_found")
	waiting := must(guards.Guardians(ctx, asJune, june))(t)
	if len(waiting) != 1 || !waiting[0].AskedAt.Equal(now) {
		t.Errorf("who waits: %+v", waiting)
	}
	wantError(t, "the coach lets", guards.Let(ctx, coach, june, domaintest.GuardianID), domain.Forbidden, "not_yours")
	wantError(t, "no such guardian", guards.Let(ctx, asJune, june, domaintest.CoachID), domain.NotFound, "not_found")
	must(0, guards.Let(ctx, asJune, june, domaintest.GuardianID))(t)
	h.wantEvent(asJune, "guardian.allowed", domaintest.GuardianID, june, nil)
	must(0, guards.Let(ctx, asJune, june, domaintest.GuardianID))(t)
	must(h.people.Member(ctx, guardian, june))(t)
	must(0, guards.End(ctx, asJune, june, domaintest.GuardianID))(t)
	h.wantEvent(asJune, "guardian.ended", domaintest.GuardianID, june, nil)
	wantError(t, "again", guards.End(ctx, asJune, june, domaintest.GuardianID), domain.NotFound, "not_found")

	// Marked as a junior again, everybody has to agree anew.
	again := must(h.people.ChangeMember(ctx, owner, june, 0, academy.MemberChange{Junior: &yes}))(t)
	if again.MayPractise() || again.ForApps() || again.ForReports() {
		t.Errorf("an old consent came alive: %+v", again)
	}
}

func TestGuardiansEnd(t *testing.T) {
	h := open(t)
	guards := h.mem.Guardians()
	end := func(a domain.Actor) error { return guards.End(ctx, a, june, domaintest.GuardianID) }
	wantError(t, "the coach", end(coach), domain.Forbidden, "not_yours")
	wantError(t, "a stranger", end(domaintest.AsOther), domain.NotFound, "not_found")
	wantError(t, "a coach of others", end(coach2), domain.NotFound, "not_found")
	wantError(t, "of nobody", guards.End(ctx, guardian, "none", domaintest.GuardianID), domain.NotFound, "not_found")
	must(h.people.ChangeMember(ctx, owner, june, 0, academy.MemberChange{Junior: new(false)}))(t)
	must(0, end(guardian))(t) // also while waiting
	wantError(t, "listing", failure(guards.Guardians(ctx, guardian, june)), domain.NotFound, "not_found")
	wantError(t, "the owner, once ended", end(owner), domain.NotFound, "not_found")
}

// Each sharing is asked for by itself, and a refusal tells who withdrew and when.
func TestConsentIsAskedForEachSharing(t *testing.T) {
	h := open(t)
	reports := h.mem.Reports()
	share := func() error { return failure(reports.Share(ctx, coach, june, 9, "", [32]byte{7})) }
	say := func(given bool, report, apps *bool) academy.Member {
		t.Helper()
		h.mem.Pass(time.Hour)
		return must(h.people.Consent(ctx, guardian, june, academy.ConsentChange{Given: given, Reports: report, Apps: apps}))(t)
	}
	yes, no := true, false
	wantError(t, "before anybody was asked", share(), domain.Conflict, "consent_missing")
	first := say(true, nil, nil)
	wantError(t, "practice alone", share(), domain.Conflict, "sharing_not_agreed")
	m := say(true, &yes, nil)
	if !m.ConsentAt.Equal(first.ConsentAt) || !m.ReportsAt.Equal(h.mem.Now()) || m.ForApps() {
		t.Errorf("with reports: %+v", m)
	}
	must(0, share())(t)
	must(reports.Shared(ctx, hollow, [32]byte{7}))(t)
	if m = say(true, nil, &yes); !m.ForReports() || !m.ForApps() {
		t.Errorf("with both: %+v", m)
	}
	say(true, &no, nil)
	wantError(t, "a link once reports are off", failure(reports.Shared(ctx, hollow, [32]byte{7})), domain.NotFound, "no_report")
	say(true, &yes, nil)
	if m = say(false, &yes, &yes); m.ForReports() || m.ForApps() || m.MayPractise() || m.ConsentEndedBy != domaintest.GuardianID {
		t.Errorf("withdrawn: %+v", m)
	}
	err := share()
	wantError(t, "withdrawn", err, domain.Conflict, "consent_withdrawn")
	const want = "consent_withdrawn: Consent for June was withdrawn on 4 May 2026 by Gwen: the report was not shared. Ask the guardian first."
	if err.Error() != want {
		t.Errorf("got  %s\nwant %s", err, want)
	}
	must(0, h.people.RemoveMember(ctx, owner, domaintest.GuardianID))(t)
	must(0, h.mem.Rights().Erase(ctx, owner, domaintest.GuardianID))(t)
	if err := share(); err.Error() != "consent_withdrawn: Consent for June was withdrawn on 4 May 2026 by a guardian who has left: the report was not shared. Ask the guardian first." {
		t.Error(err)
	}
	if m = must(h.people.Consent(ctx, owner, june, agreed))(t); !m.MayPractise() || !m.ConsentEndedAt.IsZero() {
		t.Errorf("given anew: %+v", m)
	}
}

func TestRightsFaults(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 9, as.ID, 1)
	must(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{EraseRemoved: new(30), ForgetEvents: new(30)}))(t)
	h.mem.Pass(40 * 24 * time.Hour)
	rights, guards, cals := h.mem.Rights(), h.mem.Guardians(), h.mem.Calendars()
	must(cals.Make(ctx, who(ada), [32]byte{1}))(t)
	for _, c := range []struct {
		what string
		do   func() error
	}{
		{"Leave", func() error { return rights.Leave(ctx, who(ben)) }},
		{"Practised", func() error { return failure(rights.Practised(ctx, owner)) }},
		{"Consent", func() error { return failure(h.people.Consent(ctx, guardian, june, agreed)) }},
		{"Guardians", func() error { return failure(guards.Guardians(ctx, coach, june)) }},
		{"Wards", func() error { return failure(guards.Wards(ctx, guardian)) }},
		{"Shown", func() error { return failure(cals.Shown(ctx, hollow, [32]byte{1})) }},
		{"Link", func() error { return failure(cals.Link(ctx, who(ada))) }},
		{"Make", func() error { return failure(cals.Make(ctx, who(ada), [32]byte{2})) }},
		{"Withdraw", func() error { return cals.Withdraw(ctx, who(ada)) }},
		{"End", func() error { return guards.End(ctx, owner, june, domaintest.GuardianID) }},
		{"Erase", func() error { return rights.Erase(ctx, owner, gone) }},
		{"Retain", func() error { return failure(rights.Retain(ctx, hollow)) }},
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, c.do); err != nil {
			t.Errorf("%s: %v", c.what, err)
		}
	}
}
