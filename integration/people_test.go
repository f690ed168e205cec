package integration_test

import (
	"fmt"
	"strings"
	"sync/atomic"
	"testing"

	"fringework/api"
	"fringework/domain"
	"fringework/integration/day"
)

// password is everybody's.
const password = "seventeen brass kettles"

// person is somebody who has signed in.
type person struct {
	*caller
	// id is the member, academy the academy.
	id, academy domain.ID
	name, email string
	refresh     string
}

// in gives the same person inside a subtest.
func (p *person) in(t testing.TB) *person {
	other := *p
	other.caller = p.caller.in(t)
	return &other
}

var people atomic.Uint32

// mailbox makes an e-mail that nobody else has.
func mailbox(name string) string {
	return fmt.Sprintf("%s.%d@example.org", strings.ToLower(strings.Fields(name)[0]), people.Add(1))
}

func (s *service) signedIn(t testing.TB, in api.SignedIn, name string) *person {
	t.Helper()
	if in.Membership == nil {
		t.Fatalf("%s signed in to no academy", name)
	}
	return &person{
		caller: s.caller(t).as(in.AccessToken), id: in.Membership.MemberID, academy: in.Membership.AcademyID,
		name: name, email: in.Account.Email, refresh: in.RefreshToken,
	}
}

// found signs up an academy and gives its owner.
func (s *service) found(t testing.TB, academy, owner string) *person {
	t.Helper()
	in := made[api.SignedIn](s.caller(t), "/v1/academies", object{
		"academy_name": academy, "time_zone": day.Zone(), "name": owner, "email": mailbox(owner), "password": password,
	})
	return s.signedIn(t, in, owner)
}

// invite makes an invitation.
func (p *person) invite(invitation object) api.InvitationCreated {
	p.Helper()
	return made[api.InvitationCreated](p.caller, "/v1/invitations", invitation)
}

// join invites somebody and accepts as them, with a new account.
func (p *person) join(name string, invitation object) *person {
	p.Helper()
	return p.service.accept(p.TB, p.invite(invitation).Code, name, mailbox(name))
}

// accept accepts an invitation.
func (s *service) accept(t testing.TB, code, name, email string) *person {
	t.Helper()
	var in api.SignedIn
	s.caller(t).post("/v1/invitations/accept", object{"code": code, "name": name, "email": email, "password": password}).want(200).into(&in)
	return s.signedIn(t, in, name)
}

// signIn starts another sign-in of the same person.
func (p *person) signIn() *person {
	p.Helper()
	var in api.SignedIn
	p.as("").post("/v1/sign-in", object{"email": p.email, "password": password, "academy_id": p.academy}).want(200).into(&in)
	return p.service.signedIn(p.TB, in, p.name)
}

// academy is one with people of every role. The student is a junior with a
// guardian, who has given consent, and linked to the coach.
type academy struct {
	owner, coach, student, guardian *person
}

// open founds an academy. Its people bear its name, so that none of them can be
// mistaken for somebody of another.
func (s *service) open(t testing.TB, name string) (a academy) {
	t.Helper()
	a.owner = s.found(t, name+" Academy", "Odile "+name)
	a.coach = a.owner.join("Conrad "+name, object{"role": "coach"})
	a.student = a.coach.join("Sunniva "+name, object{"role": "student", "junior": true})
	a.guardian = a.coach.join("Gerda "+name, object{"role": "guardian", "student_id": a.student.id})
	a.guardian.put("/v1/students/"+string(a.student.id)+"/consent", object{"given": true, "reports": true, "apps": true}).want(200)
	return a
}

// key is an application key with a token of its.
type key struct {
	*caller
	api.KeyCreated
}

// key makes an application key with scopes.
func (p *person) key(scopes ...string) key {
	p.Helper()
	k := made[api.KeyCreated](p.caller, "/v1/keys", object{"name": "Key of " + p.name, "scopes": scopes})
	var token api.OAuthToken
	c := p.service.caller(p.TB)
	c.post("/v1/oauth/token", "grant_type=client_credentials", form, basic(string(k.ID), k.ClientSecret)).want(200).into(&token)
	return key{c.as(token.AccessToken), k}
}

// form says that a body is a form.
var form = header("Content-Type", "application/x-www-form-urlencoded")

// basic gives a request credentials by HTTP Basic.
func basic(id, secret string) change {
	return func(r *request) { r.SetBasicAuth(id, secret) }
}
