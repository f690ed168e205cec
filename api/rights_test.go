package api_test

import (
	"strings"
	"testing"

	"fringework/api"
)

func TestLeavingAndErasing(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	owner, student := c.owner.AccessToken, c.student.AccessToken
	member := "/v1/members/" + string(c.student.Membership.MemberID)
	h.do("GET", "/v1/me/export", nil, as(student)).want(200)
	h.do("GET", "/v1/me/export/page", nil, as(student)).want(200)
	h.do("GET", "/v1/academy/practised", nil, as(owner)).want(200)

	at(t, h.do("POST", "/v1/me/leave", object{"academy_id": nobody}, as(student)).problem(422, "academy_other"), "/academy_id")
	h.do("POST", member+"/erase", nil, as(owner)).problem(409, "not_removed")
	h.do("POST", "/v1/me/leave", object{"academy_id": c.student.Membership.AcademyID}, as(student)).want(204)
	h.do("GET", "/v1/me", nil, as(student)).problem(401, "token_refused")
	h.do("POST", member+"/erase", nil, as(owner)).want(204)
	h.do("POST", member+"/erase", nil, as(owner)).problem(404, "not_found")
	h.do("POST", "/v1/members/"+nobody+"/erase", nil, as(owner)).problem(404, "not_found")

	at(t, h.do("POST", "/v1/me/deletion", object{"password": "wrong"}, as(c.coach.AccessToken)).problem(422, "password"), "/password")
	h.do("POST", "/v1/me/deletion", object{"password": password}, as(owner)).problem(409, "last_owner")
	h.do("POST", "/v1/me/deletion", object{"password": password}, as(c.coach.AccessToken)).want(204)
}

func TestCalendarAddress(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	student := c.student.AccessToken
	h.do("GET", "/v1/me/calendar", nil, as(student)).problem(404, "not_found")
	h.do("POST", "/v1/me/calendar", nil, as(student)).problem(409, "consent_missing")
	h.do("PUT", "/v1/students/"+string(c.student.Membership.MemberID)+"/consent", `{"given":true}`, as(c.guardian.AccessToken)).want(200)
	var made api.CalendarLinkCreated
	h.do("POST", "/v1/me/calendar", nil, as(student)).want(201).read(&made)
	path := strings.TrimPrefix(made.Address, "https://fringework.example")
	got := h.do("GET", path, nil).want(200)
	if text := string(got.body); !strings.HasPrefix(text, "BEGIN:VCALENDAR\r\n") || !strings.HasSuffix(text, "END:VCALENDAR\r\n") {
		t.Errorf("the calendar is %q", text)
	}
	h.do("GET", path+"?x=1", nil).problem(400, "parameter_invalid")
	h.do("GET", "/v1/me/calendar", nil, as(student)).want(200)
	if strings.Contains(h.log.String(), "fwl_") {
		t.Error("the log has the secret address")
	}
	h.do("DELETE", "/v1/me/calendar", nil, as(student)).want(204)
	h.do("GET", path, nil).problem(404, "no_calendar")
}

func TestGuardiansOfAStudent(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	base := "/v1/students/" + string(c.student.Membership.MemberID) + "/guardians"
	one := base + "/" + string(c.guardian.Membership.MemberID)
	if list := read[api.GuardianList](h, base, c.coach.AccessToken).Items; len(list) != 1 || list[0].Name != "Greta" {
		t.Errorf("the guardians: %+v", list)
	}
	if list := read[api.WardList](h, "/v1/me/juniors", c.guardian.AccessToken).Items; len(list) != 1 || list[0].Name != "Tomas" {
		t.Errorf("the guardian's: %+v", list)
	}
	h.do("PUT", one, nil, as(c.student.AccessToken)).problem(403, "not_yours")
	h.do("PATCH", "/v1/members/"+string(c.student.Membership.MemberID), `{"junior":false}`, as(c.owner.AccessToken)).want(200)
	if list := read[api.GuardianList](h, base, c.student.AccessToken).Items; len(list) != 1 || list[0].AskedAt == nil {
		t.Errorf("who waits: %+v", list)
	}
	h.do("PUT", one, nil, as(c.student.AccessToken)).want(204)
	h.do("DELETE", one, nil, as(c.guardian.AccessToken)).want(204)
	h.do("DELETE", one, nil, as(c.owner.AccessToken)).problem(404, "not_found")
}
