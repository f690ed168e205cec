package auth

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
)

func TestPermissionTable(t *testing.T) {
	shape := regexp.MustCompile(`^[a-z]+\.[a-z]+$`)
	for _, a := range Actions() {
		p := PermissionOf(a)
		if !shape.MatchString(string(a)) {
			t.Errorf("%s: not named noun.verb", a)
		}
		if len(p.Roles) == 0 {
			t.Errorf("%s: nobody may", a)
		}
		if p.Scope != "" && !AllScopes().Has(p.Scope) {
			t.Errorf("%s: scope %q does not exist", a, p.Scope)
		}
		if changes := !strings.HasSuffix(string(a), ".read") && a != MemberList && a != CalcRun; changes && p.Scope != "" {
			t.Errorf("%s: a key may change something by %s", a, p.Scope)
		}
		if p.Anywhere && !strings.HasPrefix(string(a), "account.") {
			t.Errorf("%s: allowed without an academy", a)
		}
		// What a coach may do, an owner may.
		if May(domain.Coach, nil, a) && !May(domain.Owner, nil, a) {
			t.Errorf("%s: a coach may, an owner not", a)
		}
		// A scope never widens what a role may.
		for _, role := range everyone {
			if May(role, AllScopes(), a) != slices.Contains(p.Roles, role) {
				t.Errorf("%s: May for %s does not follow the table", a, role)
			}
		}
		if May("", nil, a) || May("", Scopes{"sessions"}, a) || May("admin", AllScopes(), a) {
			t.Errorf("%s: nobody, an unknown scope or an unknown role may", a)
		}
		if got, want := May("", AllScopes(), a), p.Scope != ""; got != want {
			t.Errorf("%s: a key with all scopes: got %v, want %v", a, got, want)
		}
	}
	for _, scope := range AllScopes() {
		if !slices.ContainsFunc(Actions(), func(a Action) bool { return PermissionOf(a).Scope == scope }) {
			t.Errorf("scope %s opens nothing", scope)
		}
	}
	if May(domain.Owner, AllScopes(), "session.burn") || May(domain.Owner, nil, "") {
		t.Error("an action that is not in the table is allowed")
	}
}

// TestLesserRoles lists everything that students and guardians may change, so
// that a new action cannot slip in.
func TestLesserRoles(t *testing.T) {
	want := map[domain.Role][]Action{
		domain.Student:  {AccountWrite, AppConnect, BagWrite, CalendarManage, CommentReply, DigestManage, GuardianEnd, GuardianLet, MediaDelete, MemberWrite, MessageWrite, QuietSay, RoundWrite, SeasonWrite, SessionWrite, StartTake},
		domain.Guardian: {AccountWrite, ConsentWrite, GuardianEnd, JuniorList, MediaDelete, MemberWrite, QuietSay},
	}
	for role, allowed := range want {
		var got []Action
		for _, a := range Actions() {
			if May(role, nil, a) && !strings.HasSuffix(string(a), ".read") && a != CalcRun {
				got = append(got, a)
			}
		}
		slices.Sort(allowed)
		if !slices.Equal(got, allowed) {
			t.Errorf("%s may change by %q, want %q", role, got, allowed)
		}
	}
	for _, a := range []Action{ProgrammeRead, MemberList, GroupRead, DashboardRead, InsightRead, EventRead, InvitationList, KeyManage, WebhookManage, AppManage} {
		if May(domain.Student, nil, a) || May(domain.Guardian, nil, a) {
			t.Errorf("%s: a student or guardian may", a)
		}
	}
	for _, a := range []Action{AcademyWrite, KeyManage, EventRead, WebhookManage, MemberRemove, RoleWrite} {
		if May(domain.Coach, nil, a) {
			t.Errorf("%s: a coach may", a)
		}
	}
}

func TestPermissionOfIsACopy(t *testing.T) {
	PermissionOf(KeyManage).Roles[0] = domain.Student
	if May(domain.Student, nil, KeyManage) {
		t.Error("the table can be changed from outside")
	}
}

func TestIdentityMay(t *testing.T) {
	homeless := Identity{Account: "a", Family: "f"}
	key := Identity{Actor: domain.Actor{Academy: "x", Key: "k"}, Scopes: Scopes{ProgressRead}}
	student := Identity{Actor: domain.Actor{Academy: "x", Member: "m", Role: domain.Student}, Account: "a", Family: "f"}
	for _, c := range []struct {
		name string
		id   Identity
		a    Action
		want bool
	}{
		{"account without academy", homeless, AccountRead, true},
		{"account without academy", homeless, AcademyRead, false},
		{"account without academy", homeless, CalcRun, false},
		{"key", key, DashboardRead, true},
		{"key", key, InsightRead, true},
		{"key", key, SessionRead, false},
		{"key", key, AccountRead, false},
		{"student", student, SessionWrite, true},
		{"student", student, AccountRead, true},
		{"student", student, DashboardRead, false},
		{"student", student, InsightRead, false},
		{"nobody", Identity{}, AccountRead, false},
	} {
		if got := c.id.May(c.a); got != c.want {
			t.Errorf("%s, %s: got %v, want %v", c.name, c.a, got, c.want)
		}
	}
}

func TestParseScopes(t *testing.T) {
	for text, want := range map[string]string{
		"": "", " ": "", "calc:use": "calc:use",
		"progress:read  sessions:read progress:read": "progress:read sessions:read",
	} {
		got, ok := ParseScopes(text)
		if !ok || got.String() != want {
			t.Errorf("%q: got %q, %v; want %q", text, got, ok, want)
		}
	}
	for _, text := range []string{"all", "calc:use all", "Calc:use", "calc:use,progress:read"} {
		if got, ok := ParseScopes(text); ok {
			t.Errorf("%q: accepted as %q", text, got)
		}
	}
	if got := (Scopes{CalcUse, EventsRead}).Within(Scopes{EventsRead, MembersRead}); !slices.Equal(got, Scopes{EventsRead}) {
		t.Errorf("Within: got %q", got)
	}
}

func TestMayHear(t *testing.T) {
	for noun, action := range reads {
		for _, i := range []Identity{
			{Actor: domain.Actor{Role: domain.Owner}}, {Actor: domain.Actor{Role: domain.Coach}}, {Actor: domain.Actor{Role: domain.Student}},
			{Scopes: Scopes{EventsRead}}, {Scopes: Scopes{EventsRead, SessionsRead}}, {Scopes: AllScopes()},
		} {
			if got := i.MayHear(noun + ".changed"); got != i.May(action) {
				t.Errorf("%+v hears of %s: %v, against the table", i, noun, got)
			}
		}
	}
	owner, key := Identity{Actor: domain.Actor{Role: domain.Owner}}, Identity{Scopes: Scopes{EventsRead, SessionsRead}}
	if owner.MayHear("weather.changed") || owner.MayHear("") || !key.MayHear("session.stored") || key.MayHear("milestone.made") || key.MayHear("message.sent") {
		t.Error("somebody hears of what they may not read, or does not of what they may")
	}
}
