package api_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fringework/api"
	"fringework/domain"
)

// nobody is an identity that nothing has.
const nobody = "0198c5f2-0000-7000-8000-000000000000"

func names(ms []api.Member) (out []string) {
	for _, m := range ms {
		out = append(out, m.Name)
	}
	slices.Sort(out)
	return out
}

func TestListMembers(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	h.join(c.owner.AccessToken, "Sofia", object{"role": "student"}) // of no coach
	_, software := h.key(c.owner.AccessToken, "members:read")
	var group api.Group
	h.do("POST", "/v1/groups", object{"name": "Saturday", "student_ids": []domain.ID{c.student.Membership.MemberID}}, as(c.owner.AccessToken)).want(201).read(&group)
	h.do("DELETE", "/v1/members/"+string(c.guardian.Membership.MemberID), nil, as(c.owner.AccessToken)).want(204)

	for _, x := range []struct {
		who, token, query string
		want              []string
	}{
		{"owner", c.owner.AccessToken, "", []string{"Carl", "Ines", "Sofia", "Tomas"}},
		{"owner", c.owner.AccessToken, "?removed=true", []string{"Carl", "Greta", "Ines", "Sofia", "Tomas"}},
		{"owner", c.owner.AccessToken, "?role=student", []string{"Sofia", "Tomas"}},
		{"owner", c.owner.AccessToken, "?group_id=" + string(group.ID), []string{"Tomas"}},
		{"owner", c.owner.AccessToken, "?group_id=" + nobody, nil},
		{"coach", c.coach.AccessToken, "", []string{"Carl", "Ines", "Tomas"}},
		{"coach", c.coach.AccessToken, "?role=student", []string{"Tomas"}},
		{"key", software, "?role=coach", []string{"Carl"}},
	} {
		got := names(read[api.MemberPage](h, "/v1/members"+x.query, x.token).Items)
		if diff := cmp.Diff(x.want, got); diff != "" {
			t.Errorf("%s %s (-want +got):\n%s", x.who, x.query, diff)
		}
	}
	h.do("GET", "/v1/members", nil, as(c.student.AccessToken)).problem(403, "role_refused")
	at(t, h.do("GET", "/v1/members?role=boss", nil, as(c.owner.AccessToken)).problem(400, "parameter_invalid"), "role")
	at(t, h.do("GET", "/v1/members?group_id=7", nil, as(c.owner.AccessToken)).problem(400, "parameter_invalid"), "group_id")
	at(t, h.do("GET", "/v1/members?removed=yes", nil, as(c.owner.AccessToken)).problem(400, "parameter_invalid"), "removed")
	at(t, h.do("GET", "/v1/members?role=coach&role=owner", nil, as(c.owner.AccessToken)).problem(400, "parameter_invalid"), "role")
}

// TestMembersAreSecret reads every member as everybody: what one may not see
// does not exist.
func TestMembersAreSecret(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	stranger := h.signUp("Olga")
	sofia := h.join(c.owner.AccessToken, "Sofia", object{"role": "student"})
	_, software := h.key(c.owner.AccessToken, "members:read")
	_, foreign := h.key(stranger.AccessToken, "members:read")
	people := map[string]api.SignedIn{"owner": c.owner, "coach": c.coach, "student": c.student, "guardian": c.guardian, "sofia": sofia}
	sees := map[string][]string{
		"owner": {"owner", "coach", "student", "guardian", "sofia"}, "coach": {"owner", "coach", "student"},
		"student": {"student"}, "guardian": {"student", "guardian"}, "sofia": {"sofia"},
	}
	tokens := map[string]string{"software": software, "foreign": foreign, "stranger": stranger.AccessToken}
	sees["software"] = []string{"owner", "coach", "guardian", "sofia"} // no guardian agreed that software reads the junior
	for name, in := range people {
		tokens[name] = in.AccessToken
	}
	for who, token := range tokens {
		for whom, in := range people {
			want := 404
			if slices.Contains(sees[who], whom) {
				want = 200
			}
			path := "/v1/members/" + string(in.Membership.MemberID)
			if got := h.do("GET", path, nil, as(token)); got.status != want {
				t.Errorf("%s reads %s: %d; want %d", who, whom, got.status, want)
			}
			if got := h.do("PATCH", path, `{}`, as(token)); want == 404 && got.status != 404 && got.status != 403 {
				t.Errorf("%s patches %s: %d; want 404", who, whom, got.status)
			}
		}
	}
	h.do("GET", "/v1/members/7", nil, as(c.owner.AccessToken)).problem(404, "not_found")
	h.do("GET", "/v1/members/"+nobody, nil, as(c.owner.AccessToken)).problem(404, "not_found")
}

func TestPatchMember(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	owner, coach, student := c.owner.AccessToken, c.coach.AccessToken, c.student.AccessToken
	studentPath := "/v1/members/" + string(c.student.Membership.MemberID)
	coachPath := "/v1/members/" + string(c.coach.Membership.MemberID)
	ownerPath := "/v1/members/" + string(c.owner.Membership.MemberID)

	var m api.Member
	h.do("PATCH", studentPath, `{"junior":false}`, as(coach)).problem(403, "owner_only")
	h.do("PATCH", studentPath, `{"junior":false}`, as(owner)).want(200).read(&m)
	if m.Junior {
		t.Error("still a junior")
	}
	h.do("PATCH", studentPath, `{"junior":true}`, as(coach)).want(200)
	h.do("PATCH", studentPath, `{"junior":true}`, as(student)).problem(403, "staff_only")
	h.do("PATCH", ownerPath, `{"name":"Boss"}`, as(coach)).problem(403, "not_yours")
	h.do("PATCH", studentPath, `{"name":"T"}`, as(c.guardian.AccessToken)).problem(403, "not_yours")
	at(t, h.do("PATCH", coachPath, `{"junior":true}`, as(owner)).problem(422, "member_invalid"), "/junior")
	at(t, h.do("PATCH", studentPath, `{"role":"coach"}`, as(owner)).problem(422, "member_invalid"), "/role")
	at(t, h.do("PATCH", studentPath, `{"role":null}`, as(owner)).problem(422, "member_invalid"), "/role")

	// Roles are an owner's to give, and whom one may not see stays a secret.
	h.do("PATCH", coachPath, `{"role":"owner"}`, as(coach)).problem(403, "role_refused")
	h.do("PATCH", coachPath, `{"role":"owner"}`, as(student)).problem(404, "not_found")
	h.do("PATCH", ownerPath, `{"role":"coach"}`, as(owner)).problem(409, "last_owner")
	h.do("PATCH", coachPath, `{"role":"owner"}`, as(owner)).want(200)
	h.do("PATCH", ownerPath, `{"role":"coach"}`, as(owner)).want(200)
	h.do("GET", "/v1/keys", nil, as(owner)).problem(403, "role_refused")
	h.do("GET", "/v1/keys", nil, as(coach)).want(200)
	h.do("DELETE", coachPath, nil, as(coach)).problem(409, "last_owner")
}

func TestRemoveMember(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	path := "/v1/members/" + string(c.student.Membership.MemberID)
	h.do("DELETE", path, nil, as(c.coach.AccessToken)).problem(403, "role_refused")
	h.do("DELETE", path, nil, as(c.owner.AccessToken)).want(204)
	h.do("DELETE", path, nil, as(c.owner.AccessToken)).want(204)
	h.do("DELETE", "/v1/members/"+nobody, nil, as(c.owner.AccessToken)).problem(404, "not_found")
	h.do("GET", "/v1/me", nil, as(c.student.AccessToken)).problem(401, "token_refused")
	if m := read[api.Member](h, path, c.owner.AccessToken); m.RemovedAt == nil {
		t.Error("removed_at is absent")
	}
}

func coachIDs(l api.CoachList) (ids []domain.ID) {
	for _, c := range l.Items {
		ids = append(ids, c.ID)
	}
	return ids
}

func TestCoaches(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	second := h.join(c.owner.AccessToken, "Dora", object{"role": "coach"})
	student := string(c.student.Membership.MemberID)
	base := "/v1/students/" + student + "/coaches"
	link := base + "/" + string(second.Membership.MemberID)

	h.do("GET", base, nil, as(second.AccessToken)).problem(404, "not_found")
	h.do("PUT", link, nil, as(c.coach.AccessToken)).problem(403, "role_refused")
	h.do("PUT", link, nil, as(c.owner.AccessToken)).want(204)
	h.do("PUT", link, nil, as(c.owner.AccessToken)).want(204)
	want := []domain.ID{c.coach.Membership.MemberID, second.Membership.MemberID}
	for who, token := range map[string]string{"the new coach": second.AccessToken, "the student": c.student.AccessToken, "the guardian": c.guardian.AccessToken} {
		if diff := cmp.Diff(want, coachIDs(read[api.CoachList](h, base, token))); diff != "" {
			t.Errorf("%s (-want +got):\n%s", who, diff)
		}
	}
	h.do("DELETE", link, nil, as(c.owner.AccessToken)).want(204)
	h.do("GET", base, nil, as(second.AccessToken)).problem(404, "not_found")
	// Only a coach of this academy can be linked, and only to its student.
	h.do("PUT", base+"/"+student, nil, as(c.owner.AccessToken)).problem(404, "not_found")
	h.do("PUT", base+"/"+nobody, nil, as(c.owner.AccessToken)).problem(404, "not_found")
	h.do("PUT", base+"/7", nil, as(c.owner.AccessToken)).problem(404, "not_found")
	h.do("PUT", "/v1/students/"+nobody+"/coaches/"+string(second.Membership.MemberID), nil, as(c.owner.AccessToken)).problem(404, "not_found")
	stranger := h.signUp("Olga")
	h.do("PUT", link, nil, as(stranger.AccessToken)).problem(404, "not_found")
}

func TestConsent(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	path := "/v1/students/" + string(c.student.Membership.MemberID) + "/consent"
	var m api.Member
	h.do("PUT", path, `{"given":true}`, as(c.guardian.AccessToken)).want(200).read(&m)
	if m.ConsentAt == nil || m.ConsentBy != c.guardian.Membership.MemberID {
		t.Errorf("consent at %v by %q; want the guardian's", m.ConsentAt, m.ConsentBy)
	}
	m = api.Member{}
	h.do("PUT", path, `{"given":false}`, as(c.owner.AccessToken)).want(200).read(&m)
	if m.ConsentAt != nil || m.ConsentBy != "" {
		t.Errorf("consent at %v by %q; want none", m.ConsentAt, m.ConsentBy)
	}
	// Nothing may be taken for a withdrawal.
	at(t, h.do("PUT", path, `{}`, as(c.guardian.AccessToken)).problem(422, "member_missing"), "/given")
	at(t, h.do("PUT", path, `{"given":null}`, as(c.guardian.AccessToken)).problem(422, "member_missing"), "/given")
	h.do("PUT", path, `{"given":true}`, as(c.coach.AccessToken)).problem(403, "role_refused")
	h.do("PUT", path, `{"given":true}`, as(c.student.AccessToken)).problem(403, "role_refused")
	other := h.join(c.coach.AccessToken, "Sofia", object{"role": "student", "junior": true})
	h.do("PUT", "/v1/students/"+string(other.Membership.MemberID)+"/consent", `{"given":true}`, as(c.guardian.AccessToken)).problem(404, "not_found")
	grown := h.join(c.coach.AccessToken, "Uwe", object{"role": "student"})
	h.do("PUT", "/v1/students/"+string(grown.Membership.MemberID)+"/consent", `{"given":true}`, as(c.owner.AccessToken)).problem(409, "not_a_junior")
}

func TestGroups(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	sofia := h.join(c.owner.AccessToken, "Sofia", object{"role": "student"})
	tomas := c.student.Membership.MemberID
	both := []domain.ID{tomas, sofia.Membership.MemberID}

	created := h.do("POST", "/v1/groups", object{"name": "Saturday", "student_ids": both}, as(c.owner.AccessToken)).want(201)
	var g api.Group
	created.read(&g)
	path := "/v1/groups/" + string(g.ID)
	if got := created.header.Get("Location"); got != path {
		t.Errorf("Location %q; want %q", got, path)
	}
	if diff := cmp.Diff(g, read[api.Group](h, path, c.owner.AccessToken)); diff != "" {
		t.Errorf("created (-) and read (+):\n%s", diff)
	}
	// A coach sees the group, and in it the students linked to them.
	if got := read[api.Group](h, path, c.coach.AccessToken); !slices.Equal(got.StudentIDs, []domain.ID{tomas}) {
		t.Errorf("the coach sees %q; want %q alone", got.StudentIDs, tomas)
	}
	// The same revision, but not the same representation.
	byOwner := h.do("GET", path, nil, as(c.owner.AccessToken)).header.Get("ETag")
	h.do("GET", path, nil, as(c.coach.AccessToken), set("If-None-Match", byOwner)).want(200)
	h.do("GET", path, nil, as(c.owner.AccessToken), set("If-None-Match", byOwner)).want(304)

	h.do("PUT", path, object{"name": "Sunday", "student_ids": []domain.ID{}}, as(c.coach.AccessToken)).want(200).read(&g)
	if g.Name != "Sunday" || len(g.StudentIDs) != 0 || g.Revision != 2 {
		t.Errorf("group %+v; want Sunday without the coach's student, revision 2", g)
	}
	if got := read[api.Group](h, path, c.owner.AccessToken); !slices.Equal(got.StudentIDs, []domain.ID{sofia.Membership.MemberID}) {
		t.Errorf("students %q; want the one whom the coach does not see", got.StudentIDs)
	}
	at(t, h.do("PUT", path, object{"name": "Sunday"}, as(c.owner.AccessToken)).problem(422, "member_missing"), "/student_ids")
	at(t, h.do("PUT", path, `{"name":"Sunday","student_ids":null}`, as(c.owner.AccessToken)).problem(422, "member_missing"), "/student_ids")
	at(t, h.do("POST", "/v1/groups", object{"name": "Mine", "student_ids": both}, as(c.coach.AccessToken)).problem(422, "group_invalid"), "/student_ids/1")
	at(t, h.do("POST", "/v1/groups", object{"name": " ", "student_ids": both}, as(c.owner.AccessToken)).problem(422, "group_invalid"), "/name")

	stranger := h.signUp("Olga")
	for _, method := range []string{"GET", "DELETE"} {
		h.do(method, path, nil, as(stranger.AccessToken)).problem(404, "not_found")
	}
	h.do("PUT", path, object{"name": "Mine", "student_ids": []domain.ID{}}, as(stranger.AccessToken)).problem(404, "not_found")
	if page := read[api.GroupPage](h, "/v1/groups", stranger.AccessToken); len(page.Items) != 0 {
		t.Errorf("a stranger sees %+v", page.Items)
	}
	if page := read[api.GroupPage](h, "/v1/groups", c.coach.AccessToken); len(page.Items) != 1 {
		t.Errorf("the coach sees %+v; want one group", page.Items)
	}
	h.do("DELETE", path, nil, as(c.coach.AccessToken)).want(204)
	h.do("GET", path, nil, as(c.owner.AccessToken)).problem(404, "not_found")
}

func TestInvitations(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	var group api.Group
	h.do("POST", "/v1/groups", object{"name": "Saturday", "student_ids": []domain.ID{}}, as(c.owner.AccessToken)).want(201).read(&group)
	made := h.do("POST", "/v1/invitations", object{
		"role": "student", "name": "Sofia", "email": "Sofia@Example.org", "coach_id": c.coach.Membership.MemberID, "group_id": group.ID,
	}, as(c.owner.AccessToken)).want(201)
	if got := made.header.Get("Cache-Control"); got != "no-store" {
		t.Errorf("Cache-Control %q; want no-store", got)
	}
	var i api.InvitationCreated
	made.read(&i)
	if want := "https://fringework.example/join#" + i.Code; i.Link != want || len(i.Code) != 26 {
		t.Errorf("link %q, code %q; want %q", i.Link, i.Code, want)
	}
	if location := made.header.Get("Location"); location != "/v1/invitations/"+string(i.ID) || strings.Contains(location, i.Code) {
		t.Errorf("Location %q", location)
	}
	path := "/v1/invitations/" + string(i.ID)
	read[api.Invitation](h, path, c.owner.AccessToken)
	h.do("GET", path, nil, as(c.coach.AccessToken)).problem(404, "not_found")

	var view api.InvitationView
	typed := strings.ToLower(i.Code[:13]) + " - " + i.Code[13:]
	h.do("POST", "/v1/invitations/inspect", object{"code": typed}).want(200).read(&view)
	want := api.InvitationView{
		AcademyName: "Academy of Ines", Role: "student", Name: "Sofia", InvitedBy: "Ines",
		EmailBound: true, TimeZone: "Europe/Lisbon", ExpiresAt: i.ExpiresAt,
	}
	if diff := cmp.Diff(want, view); diff != "" {
		t.Errorf("view (-want +got):\n%s", diff)
	}
	h.do("POST", "/v1/invitations/inspect", object{"code": "AAAAAAAAAAAAAAAAAAAAAAAAAA"}).problem(404, "no_invitation")

	at(t, h.do("POST", "/v1/invitations/accept", object{"code": i.Code, "name": "Eve", "email": "eve@example.org", "password": password}).
		problem(422, "invitation_bound"), "/email")
	sofia := h.accept(i.Code, "Sofia")
	if again := h.accept(i.Code, "Sofia"); again.Membership.MemberID != sofia.Membership.MemberID {
		t.Errorf("accepting again made %+v of %+v", again.Membership, sofia.Membership)
	}
	h.do("POST", "/v1/invitations/inspect", object{"code": i.Code}).problem(409, "invitation_accepted")
	got := read[api.Invitation](h, path, c.owner.AccessToken)
	if got.State != "accepted" || got.AcceptedBy != sofia.Membership.MemberID || got.AcceptedAt == nil {
		t.Errorf("invitation %+v; want it accepted", got)
	}
	h.do("DELETE", path, nil, as(c.owner.AccessToken)).problem(409, "invitation_accepted")
	if g := read[api.Group](h, "/v1/groups/"+string(group.ID), c.coach.AccessToken); !slices.Equal(g.StudentIDs, []domain.ID{sofia.Membership.MemberID}) {
		t.Errorf("the group has %q; want the new student, whom her coach sees", g.StudentIDs)
	}
}

func TestInvitationsAreRefused(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	for _, x := range []struct {
		token   string
		body    object
		pointer string
	}{
		{c.owner.AccessToken, object{"role": "owner"}, "/role"},
		{c.coach.AccessToken, object{"role": "coach"}, "/role"},
		{c.owner.AccessToken, object{"role": "student", "email": "sofia"}, "/email"},
		{c.owner.AccessToken, object{"role": "student", "coach_id": nobody}, "/coach_id"},
		{c.coach.AccessToken, object{"role": "student", "coach_id": c.owner.Membership.MemberID}, "/coach_id"},
		{c.owner.AccessToken, object{"role": "student", "coach_id": "x"}, "/coach_id"},
		{c.owner.AccessToken, object{"role": "student", "group_id": nobody}, "/group_id"},
		{c.owner.AccessToken, object{"role": "guardian"}, "/student_id"},
		{c.owner.AccessToken, object{"role": "guardian", "student_id": c.coach.Membership.MemberID}, "/student_id"},
		{c.owner.AccessToken, object{"role": "coach", "junior": true}, "/junior"},
		{c.owner.AccessToken, object{"role": "coach", "name": strings.Repeat("x", 101)}, "/name"},
	} {
		at(t, h.do("POST", "/v1/invitations", x.body, as(x.token)).problem(422, "invitation_invalid"), x.pointer)
	}
	h.do("POST", "/v1/invitations", object{"role": "student"}, as(c.student.AccessToken)).problem(403, "role_refused")
}

func TestRevokeInvitation(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	i := h.invite(c.coach.AccessToken, object{"role": "student"})
	path := "/v1/invitations/" + string(i.ID)
	late := h.invite(c.coach.AccessToken, object{"role": "student"})
	if page := read[api.InvitationPage](h, "/v1/invitations?open=true", c.coach.AccessToken); len(page.Items) != 2 {
		t.Errorf("open invitations %+v; want 2", page.Items)
	}
	h.do("DELETE", path, nil, as(c.coach.AccessToken)).want(204)
	h.do("DELETE", path, nil, as(c.coach.AccessToken)).want(204)
	h.do("DELETE", "/v1/invitations/"+nobody, nil, as(c.coach.AccessToken)).problem(404, "not_found")
	h.do("POST", "/v1/invitations/accept", object{"code": i.Code, "name": "Eve", "email": "eve@example.org", "password": password}).problem(409, "invitation_revoked")
	h.clock.Advance(15 * 24 * time.Hour)
	h.do("POST", "/v1/invitations/accept", object{"code": late.Code, "name": "Eve", "email": "eve@example.org", "password": password}).problem(409, "invitation_expired")
}

// TestAcceptSignedIn: whoever is signed in joins one more academy.
func TestAcceptSignedIn(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	stranger := h.signUp("Olga")
	i := h.invite(stranger.AccessToken, object{"role": "coach"})
	var in api.SignedIn
	h.do("POST", "/v1/invitations/accept", object{"code": i.Code}, as(c.coach.AccessToken)).want(200).read(&in)
	if len(in.Memberships) != 2 || in.Membership.AcademyID != stranger.Membership.AcademyID || in.Account.ID != c.coach.Account.ID {
		t.Errorf("signed in as %+v", in)
	}
	j := h.invite(stranger.AccessToken, object{"role": "student"})
	h.do("POST", "/v1/invitations/accept", object{"code": j.Code}, as("x.y.z")).problem(401, "token_refused")
	_, software := h.key(c.owner.AccessToken, "members:read")
	h.do("POST", "/v1/invitations/accept", object{"code": j.Code}, as(software)).problem(403, "members_only")
	h.do("POST", "/v1/invitations/accept", object{"code": j.Code}, as(in.AccessToken)).problem(409, "already_member")
}

// TestPages walks every list while it grows: each row comes exactly once.
func TestPages(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines").AccessToken
	makers := map[string]func(n int) any{
		"/v1/groups": func(n int) any { return object{"name": fmt.Sprint("group ", n), "student_ids": []string{}} },
		"/v1/keys":   func(n int) any { return object{"name": fmt.Sprint("key ", n), "scopes": []string{"calc:use"}} },
		"/v1/invitations": func(n int) any {
			return object{"role": "student", "name": fmt.Sprint("student ", n)}
		},
	}
	for path, body := range makers {
		t.Run(path, func(t *testing.T) {
			type page struct {
				Items []struct{ ID, Name string }
				Links api.Links
			}
			for n := range 5 {
				h.do("POST", path, body(n), as(owner)).want(201)
			}
			seen := map[string]int{}
			for next, n := path+"?limit=2", 5; next != ""; n++ {
				p := read[page](h, next, owner)
				for _, item := range p.Items {
					seen[item.Name]++
				}
				if next = p.Links.Next; n < 8 { // rows added while walking
					h.do("POST", path, body(n), as(owner)).want(201)
				}
			}
			if len(seen) != 8 {
				t.Errorf("saw %d rows; want 8: %v", len(seen), seen)
			}
			for name, times := range seen {
				if times != 1 {
					t.Errorf("%s came %d times", name, times)
				}
			}
			for _, limit := range []string{"0", "-1", "201", "1000000000", "x", "1.5", "99999999999999999999"} {
				at(t, h.do("GET", path+"?limit="+limit, nil, as(owner)).problem(400, "parameter_invalid"), "limit")
			}
		})
	}
	// A cursor is good in its own list alone.
	var p api.GroupPage
	h.do("GET", "/v1/groups?limit=2", nil, as(owner)).want(200).read(&p)
	_, cursor, _ := strings.Cut(p.Links.Next, "cursor=")
	cursor, _, _ = strings.Cut(cursor, "&")
	h.do("GET", "/v1/groups?cursor="+cursor, nil, as(owner)).want(200)
	at(t, h.do("GET", "/v1/keys?cursor="+cursor, nil, as(owner)).problem(400, "parameter_invalid"), "cursor")
	at(t, h.do("GET", "/v1/groups?cursor="+cursor[1:], nil, as(owner)).problem(400, "parameter_invalid"), "cursor")
}

func TestEvents(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	_, software := h.key(c.owner.AccessToken, "events:read")
	var kinds []string
	last := int64(0)
	for next := "/v1/events?limit=3"; next != ""; {
		p := read[api.EventPage](h, next, software)
		for _, e := range p.Items {
			if e.Number != last+1 {
				t.Errorf("event %d after %d", e.Number, last)
			}
			last = e.Number
			kinds = append(kinds, e.Kind)
		}
		if p.Last != last {
			t.Errorf("last %d; want %d", p.Last, last)
		}
		next = p.Links.Next
	}
	want := []string{
		"academy.created", "member.joined",
		"invitation.made", "invitation.accepted", "member.joined",
		"invitation.made", "invitation.accepted", "member.joined",
		"invitation.made", "invitation.accepted", "member.joined",
		"key.created",
	}
	if diff := cmp.Diff(want, kinds); diff != "" {
		t.Errorf("kinds (-want +got):\n%s", diff)
	}
	quiet := fmt.Sprintf("/v1/events?after=%d", last)
	if p := read[api.EventPage](h, quiet, c.owner.AccessToken); len(p.Items) != 0 || p.Last != last || p.Links.Next != "" {
		t.Errorf("after the last event: %+v", p)
	}
	h.do("PATCH", "/v1/academy", `{"name":"Dunes"}`, as(c.owner.AccessToken)).want(200)
	p := read[api.EventPage](h, quiet, c.owner.AccessToken)
	if len(p.Items) != 1 || p.Items[0].Kind != "academy.changed" || p.Items[0].ActorID != c.owner.Membership.MemberID || p.Items[0].Data["name"] != "Dunes" {
		t.Errorf("after a change: %+v", p)
	}
	h.do("GET", "/v1/events", nil, as(c.coach.AccessToken)).problem(403, "role_refused")
	_, other := h.key(c.owner.AccessToken, "members:read")
	refused := h.do("GET", "/v1/events", nil, as(other))
	refused.problem(403, "scope_missing")
	if got := refused.header.Get("WWW-Authenticate"); got != `Bearer realm="fringework", error="insufficient_scope"` {
		t.Errorf("WWW-Authenticate %q; want insufficient_scope (RFC 6750 §3.1)", got)
	}
	for _, after := range []string{"-1", "x", "1e3", "99999999999999999999"} {
		at(t, h.do("GET", "/v1/events?after="+after, nil, as(c.owner.AccessToken)).problem(400, "parameter_invalid"), "after")
	}
	stranger := h.signUp("Olga")
	if p := read[api.EventPage](h, "/v1/events", stranger.AccessToken); len(p.Items) != 2 {
		t.Errorf("a stranger reads %d events; want the 2 of their own academy", len(p.Items))
	}
}

// TestInviteMany tells of each person, and keeps the codes out of caches.
func TestInviteMany(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	got := h.do("POST", "/v1/invitations/bulk", object{"items": []object{{"name": "Edda"}, {"email": "no address"}}}, as(c.coach.AccessToken)).want(200)
	var all api.InviteManyResults
	got.read(&all)
	first, second := all.Results[0], all.Results[1]
	if first.Invitation == nil || first.Invitation.CoachID != c.coach.Membership.MemberID || !strings.HasSuffix(first.Invitation.Link, "#"+first.Invitation.Code) || first.Problem != nil {
		t.Errorf("got %+v; want an invitation of the coach with its link", first)
	}
	if second.Invitation != nil || second.Email != "no address" || second.Problem.Status != 422 || second.Problem.Errors[0].Pointer != "/email" {
		t.Errorf("got %+v; want the e-mail told to be wrong", second)
	}
	if cache := got.header.Get("Cache-Control"); cache != "no-store" {
		t.Errorf("Cache-Control %q; want no-store", cache)
	}
}
