package integration_test

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"

	"fringework/api"
	"fringework/domain"
	"fringework/integration/day"
)

func acceptance(code, name string) object {
	return object{"code": code, "name": name, "email": mailbox(name), "password": password, "time_zone": day.Zone()}
}

// An invitation is good for one person, once, for one role, for a time.
func testInvitations(t *testing.T, s *service) {
	owner := s.found(t, "Inglewood", "Ines")
	coach := owner.join("Carl", object{"role": "coach"})
	anybody := s.caller(t)

	t.Run("single use", func(t *testing.T) {
		i := owner.in(t).invite(object{"role": "student", "name": "Tomas", "coach_id": coach.id})
		first := acceptance(i.Code, "Tomas")
		anybody := anybody.in(t)
		var in, again api.SignedIn
		anybody.post("/v1/invitations/accept", first).want(200).into(&in)
		anybody.post("/v1/invitations/accept", acceptance(i.Code, "Thief")).problem(409, "invitation_accepted")
		anybody.post("/v1/invitations/inspect", object{"code": i.Code}).problem(409, "invitation_accepted")
		// A reply lost on the way: the same person may say the same again.
		anybody.post("/v1/invitations/accept", first).want(200).into(&again)
		if in.Membership.MemberID != again.Membership.MemberID || in.Membership.Role != "student" {
			t.Errorf("accepted as %+v, then as %+v; want the same student", in.Membership, again.Membership)
		}
		got := read[api.Invitation](owner.caller.in(t), "/v1/invitations/"+string(i.ID))
		if got.State != "accepted" || got.AcceptedBy != in.Membership.MemberID || got.AcceptedAt == nil {
			t.Errorf("the invitation is %+v; want it accepted by %s", got, in.Membership.MemberID)
		}
		m := read[api.Member](coach.caller.in(t), "/v1/members/"+string(in.Membership.MemberID))
		if m.Name != "Tomas" || m.TimeZone != day.Zone() {
			t.Errorf("the coach sees %+v; want Tomas in %s", m, day.Zone())
		}
	})
	t.Run("only its hash is stored", func(t *testing.T) {
		i := owner.in(t).invite(object{"role": "student"})
		var stored []byte
		row := s.behind(t).QueryRowContext(t.Context(), fmt.Sprintf("SELECT code FROM invitations WHERE id = '%s'", i.ID))
		if err := row.Scan(&stored); err != nil {
			t.Fatal(err)
		}
		if sum := sha256.Sum256([]byte(i.Code)); hex.EncodeToString(stored) != hex.EncodeToString(sum[:]) {
			t.Errorf("stored %x; want the SHA-256 of the code, %x", stored, sum)
		}
		if list := owner.in(t).get("/v1/invitations?limit=200").want(200); strings.Contains(string(list.body), i.Code) {
			t.Error("the list shows a code")
		}
		if !strings.HasSuffix(i.Link, "/join#"+i.Code) {
			t.Errorf("link %s; want the code in its fragment", i.Link)
		}
	})
	t.Run("typed from paper", func(t *testing.T) {
		code := owner.in(t).invite(object{"role": "student"}).Code
		anybody.in(t).post("/v1/invitations/inspect", object{"code": " " + strings.ToLower(code[:13]) + " " + code[13:]}).want(200)
		anybody.in(t).post("/v1/invitations/inspect", object{"code": "NOTACODENOTACODENOTACODENO"}).problem(404, "no_invitation")
	})
	t.Run("bound to a role", func(t *testing.T) {
		owner, coach := owner.in(t), coach.in(t)
		wrongAt(t, owner.post("/v1/invitations", object{"role": "owner"}).problem(422, "invitation_invalid"), "/role", "coach")
		wrongAt(t, coach.post("/v1/invitations", object{"role": "coach"}).problem(422, "invitation_invalid"), "/role", "student")
		wrongAt(t, owner.post("/v1/invitations", object{"role": "guardian"}).problem(422, "invitation_invalid"), "/student_id", "missing")
		wrongAt(t, owner.post("/v1/invitations", object{"role": "coach", "junior": true}).problem(422, "invitation_invalid"), "/junior", "students")
		c := acceptance(owner.invite(object{"role": "student"}).Code, "Riser")
		c["role"] = "owner"
		wrongAt(t, anybody.in(t).post("/v1/invitations/accept", c).problem(400, "body_invalid"), "/role", "is not a field here")
	})
	t.Run("bound to an e-mail", func(t *testing.T) {
		email := mailbox("Bound")
		i := owner.in(t).invite(object{"role": "student", "email": strings.ToUpper(email)})
		view := view(anybody.in(t), i.Code)
		if !view.EmailBound || view.InvitedBy != "Ines" || view.AcademyName != "Inglewood" {
			t.Errorf("shown %+v; want one by Ines of Inglewood, bound to an e-mail that is not told", view)
		}
		wrongAt(t, anybody.in(t).post("/v1/invitations/accept", acceptance(i.Code, "Other")).problem(422, "invitation_bound"), "/email", "address")
		s.accept(t, i.Code, "Bound", email)
	})
	t.Run("revoked", func(t *testing.T) {
		i := coach.in(t).invite(object{"role": "student"})
		coach.in(t).del("/v1/invitations/" + string(i.ID)).want(204)
		coach.in(t).del("/v1/invitations/" + string(i.ID)).want(204)
		anybody.in(t).post("/v1/invitations/accept", acceptance(i.Code, "Late")).problem(409, "invitation_revoked")
	})
	t.Run("expired", func(t *testing.T) {
		i := owner.in(t).invite(object{"role": "student"})
		if days := i.ExpiresAt.Sub(i.CreatedAt).Hours() / 24; days != 14 {
			t.Errorf("it is open for %v days; want 14", days)
		}
		// Two weeks go by.
		execute(t, s.behind(t), fmt.Sprintf("UPDATE invitations SET expires_at = %d WHERE id = '%s'", i.CreatedAt.UnixMilli()+1, i.ID))
		anybody.in(t).post("/v1/invitations/inspect", object{"code": i.Code}).problem(409, "invitation_expired")
		anybody.in(t).post("/v1/invitations/accept", acceptance(i.Code, "Late")).problem(409, "invitation_expired")
		owner.in(t).del("/v1/invitations/"+string(i.ID)).problem(409, "invitation_expired")
		open := read[api.InvitationPage](owner.caller.in(t), "/v1/invitations?open=true&limit=200")
		for _, x := range open.Items {
			if x.ID == i.ID || x.State != "open" {
				t.Errorf("among the open ones is %+v", x)
			}
		}
	})
	t.Run("its maker has left", func(t *testing.T) {
		leaver := owner.in(t).join("Leaver", object{"role": "coach"})
		i := leaver.invite(object{"role": "student"})
		owner.in(t).del("/v1/members/" + string(leaver.id)).want(204)
		anybody.in(t).post("/v1/invitations/accept", acceptance(i.Code, "Orphan")).problem(409, "invitation_revoked")
	})
	t.Run("into a group", func(t *testing.T) {
		group := made[api.Group](owner.caller.in(t), "/v1/groups", object{"name": "Thursday", "student_ids": []domain.ID{}})
		p := coach.in(t).join("Gerrit", object{"role": "student", "group_id": group.ID})
		got := read[api.Group](coach.caller.in(t), "/v1/groups/"+string(group.ID))
		if len(got.StudentIDs) != 1 || got.StudentIDs[0] != p.id {
			t.Errorf("the group has %v; want %s", got.StudentIDs, p.id)
		}
	})
	t.Run("one account, two academies", func(t *testing.T) {
		p := owner.in(t).join("Wanderer", object{"role": "student"})
		second := s.found(t, "Second Academy", "Sefa")
		in := s.accept(t, second.invite(object{"role": "coach"}).Code, "Wanderer", p.email)
		me := read[api.Me](in.caller, "/v1/me")
		if len(me.Memberships) != 2 || me.Member.Role != "coach" || in.academy != second.academy {
			t.Errorf("signed in to %s as %+v; want the second academy, of two, as its coach", in.academy, me)
		}
		wrong := acceptance(second.invite(object{"role": "coach"}).Code, "Wanderer")
		wrong["email"], wrong["password"] = p.email, "not the password"
		anybody.in(t).post("/v1/invitations/accept", wrong).problem(401, "sign_in_refused")
		// The signed-in way needs no password.
		third := s.found(t, "Third Academy", "Tinka")
		p.post("/v1/invitations/accept", object{"code": third.invite(object{"role": "student"}).Code}).want(200)
		var back api.SignedIn
		p.as("").post("/v1/tokens/refresh", object{"refresh_token": p.refresh, "academy_id": third.academy}).want(200).into(&back)
		if back.Membership.AcademyID != third.academy || len(back.Memberships) != 3 {
			t.Errorf("moved to %+v; want the third of three academies", back.Membership)
		}
	})
	t.Run("a member already", func(t *testing.T) {
		p := owner.in(t).join("Twice", object{"role": "student"})
		p.post("/v1/invitations/accept", object{"code": owner.in(t).invite(object{"role": "coach"}).Code}).problem(409, "already_member")
	})
}

func view(c *caller, code string) (v api.InvitationView) {
	c.Helper()
	c.post("/v1/invitations/inspect", object{"code": code}).want(200).into(&v)
	return v
}

// A junior's practice is kept only while a guardian consents, and the guardian
// reads that junior alone.
func testJuniors(t *testing.T, s *service) {
	owner := s.found(t, "Juniper", "Jorun")
	coach := owner.join("Cato", object{"role": "coach"})
	junior := coach.join("Jonte", object{"role": "student", "junior": true})
	skill := coach.teach(junior, "Pitch", pitchSteps())
	path := "/v1/students/" + string(junior.id)

	session := sessionBody(1, ago(30), test(skill, in(4)))
	id := newID()
	p := junior.put(sessionPath(id), session).problem(409, "consent_missing")
	if !strings.Contains(p.Detail, "it can be sent again") {
		t.Errorf("told %q; want to keep the session and send it again", p.Detail)
	}
	coach.put(path+"/consent", object{"given": true}).problem(403, "role_refused")
	guardian := coach.join("Gunnar", object{"role": "guardian", "student_id": junior.id})
	coach.post("/v1/invitations", object{"role": "guardian", "student_id": coach.join("Adult", object{"role": "student"}).id}).problem(422, "invitation_invalid")

	var member api.Member
	guardian.put(path+"/consent", object{"given": true}).want(200).into(&member)
	if member.ConsentAt == nil || member.ConsentBy != guardian.id {
		t.Errorf("consent %+v; want it given by %s", member, guardian.id)
	}
	junior.store(id, session, 201)
	if got := skillOf(t, progressOf(guardian.caller, junior.id), skill); got.Held != 1 {
		t.Errorf("the guardian reads %d tiers held; want 1", got.Held)
	}
	guardian.get(path + "/now").want(200)
	guardian.get(sessionPath(id)).want(200)
	guardian.put(sessionPath(newID()), sessionBody(1, ago(3))).problem(403, "role_refused")
	guardian.get("/v1/dashboard").problem(403, "role_refused")
	if list := guardian.get("/v1/members"); list.status != 403 {
		t.Errorf("a guardian lists members with %d; want 403", list.status)
	}

	guardian.put(path+"/consent", object{"given": false}).want(200)
	junior.put(sessionPath(newID()), sessionBody(1, ago(3))).problem(409, "consent_withdrawn")
	junior.get(sessionPath(id)).want(200) // what was kept stays
	junior.del(sessionPath(id) + "?revision=2").want(204)
	owner.put(path+"/consent", object{"given": true}).want(200) // on paper
	junior.store(newID(), sessionBody(1, ago(3)), 201)
	adult := coach.join("Grown", object{"role": "student"})
	owner.put("/v1/students/"+string(adult.id)+"/consent", object{"given": true}).problem(409, "not_a_junior")
	// A guardian of two juniors, one account.
	sibling := coach.join("Jette", object{"role": "student", "junior": true})
	guardian.get("/v1/students/"+string(sibling.id)+"/progress").problem(404, "not_found")
	guardian.post("/v1/invitations/accept", object{"code": coach.invite(object{"role": "guardian", "student_id": sibling.id}).Code}).want(200)
	guardian.get("/v1/students/" + string(sibling.id) + "/progress").want(200)
}
