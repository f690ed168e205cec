package integration_test

import (
	"fringework/api"
	"fringework/domain"
)

// publicOperations need no token.
var publicOperations = []string{
	"GET /healthz", "GET /readyz", "GET /openapi.json", "GET /programme.schema.json",
	"POST /v1/academies", "POST /v1/sign-in", "POST /v1/sign-out", "POST /v1/tokens/refresh", "POST /v1/oauth/token",
	"POST /v1/invitations/inspect", "POST /v1/invitations/accept",
}

// asker makes a request for things.
type asker = func(th things) (path []domain.ID, query string, body any)

// plain asks without naming anything.
func plain(body any) asker {
	return func(things) ([]domain.ID, string, any) { return nil, "", body }
}

// named asks with one thing in the path.
func named(pick func(things) domain.ID, body any) asker {
	return func(th things) ([]domain.ID, string, any) { return []domain.ID{pick(th)}, "", body }
}

func theStudent(th things) domain.ID    { return th.student }
func theMember(th things) domain.ID     { return th.member }
func theSkill(th things) domain.ID      { return th.skill }
func theProgramme(th things) domain.ID  { return th.programme }
func theAssignment(th things) domain.ID { return th.assignment }
func theSession(th things) domain.ID    { return th.session }
func theGroup(th things) domain.ID      { return th.group }
func theInvitation(th things) domain.ID { return th.invitation }
func theKey(th things) domain.ID        { return th.key }

// What a success uses up.
func freshMember(w *world, th *things) {
	th.member = w.owner.join("Sunniva Fresh", object{"role": "student"}).id
}

func freshSkill(w *world, th *things) { th.skill = w.owner.skill("Fresh pitch", rungs()).ID }

func freshProgramme(w *world, th *things) {
	th.programme = w.owner.publish(course("Fresh course", w.its.skill))
}

func freshDraft(w *world, th *things) {
	th.programme = made[api.Programme](w.owner.caller, "/v1/programmes", course("Fresh draft", w.its.skill)).ID
}

func freshAssignment(w *world, th *things) {
	freshProgramme(w, th)
	th.assignment = w.owner.assign(th.programme, ago(72), w.student)[0].ID
}

func freshPaused(w *world, th *things) {
	freshAssignment(w, th)
	w.owner.post("/v1/assignments/"+string(th.assignment)+"/pause", nil).want(200)
}

func freshSession(w *world, th *things) { th.session = w.student.practise(ago(48)).ID }

func freshGroup(w *world, th *things) {
	th.group = made[api.Group](w.owner.caller, "/v1/groups", object{"name": "Fresh group", "student_ids": []domain.ID{}}).ID
}

func freshInvitation(w *world, th *things) {
	th.invitation = w.coach.invite(object{"role": "student"}).ID
}

func freshKey(w *world, th *things) { th.key = w.owner.key("calc:use").ID }

// mine makes nothing: the request itself changes only what is the asker's.
func mine(*world, *things) {}

var aSkill = object{"name": "Bunker shot", "kind": "bunker_shot", "ladder": rungs()}

// rows says for each operation that needs a token how to ask for it. Who may is
// said by the table in auth and by what the row hides.
var rows = map[string]row{
	"GET /v1/me":          {ask: plain(nil)},
	"PATCH /v1/me":        {ask: plain(object{"units": "metres"}), fresh: mine},
	"PUT /v1/me/password": {ask: plain(object{"current_password": password, "new_password": password}), fresh: mine},

	"POST /v1/invitations": {hides: ofStudent, hidden: 422, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"role": "guardian", "student_id": th.student}
	}},
	"GET /v1/invitations":                    {ask: plain(nil)},
	"GET /v1/invitations/{invitation_id}":    {hides: ofMaker, ask: named(theInvitation, nil)},
	"DELETE /v1/invitations/{invitation_id}": {hides: ofMaker, ask: named(theInvitation, nil), fresh: freshInvitation},

	"POST /v1/keys":            {ask: plain(object{"name": "Newsletter", "scopes": []string{"calc:use"}}), fresh: mine},
	"GET /v1/keys":             {ask: plain(nil)},
	"GET /v1/keys/{key_id}":    {hides: ofAcademy, ask: named(theKey, nil)},
	"DELETE /v1/keys/{key_id}": {hides: ofAcademy, ask: named(theKey, nil), fresh: freshKey},

	"GET /v1/academy":   {ask: plain(nil)},
	"PATCH /v1/academy": {ask: plain(object{"time_zone": "Europe/Lisbon"}), fresh: mine},

	"GET /v1/members":                {ask: plain(nil)},
	"GET /v1/members/{member_id}":    {hides: ofStudent, ask: named(theMember, nil)},
	"DELETE /v1/members/{member_id}": {hides: ofStudent, ask: named(theMember, nil), fresh: freshMember},
	"PATCH /v1/members/{member_id}": {hides: ofStudent, ask: named(theMember, object{"units": "feet"}),
		except: map[domain.Role]int{domain.Guardian: 403}}, // a guardian reads

	"GET /v1/students/{student_id}/coaches": {hides: ofStudent, ask: named(theStudent, nil)},
	"PUT /v1/students/{student_id}/coaches/{coach_id}": {hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.student, th.coach}, "", nil
	}},
	"DELETE /v1/students/{student_id}/coaches/{coach_id}": {hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.member, th.coach}, "", nil
	}, fresh: freshMember},
	"PUT /v1/students/{student_id}/consent": {hides: ofStudent, ask: named(theStudent, object{"given": true})},

	"POST /v1/groups": {hides: ofStudent, hidden: 422, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"name": "Juniors", "student_ids": []domain.ID{th.student}}
	}},
	"GET /v1/groups":               {ask: plain(nil)},
	"GET /v1/groups/{group_id}":    {hides: ofAcademy, ask: named(theGroup, nil)},
	"DELETE /v1/groups/{group_id}": {hides: ofAcademy, ask: named(theGroup, nil), fresh: freshGroup},
	"PUT /v1/groups/{group_id}":    {hides: ofAcademy, ask: named(theGroup, object{"name": "Seniors", "student_ids": []string{}}), fresh: freshGroup},

	"GET /v1/events": {ask: plain(nil)},

	"POST /v1/skills":                    {ask: plain(aSkill), fresh: mine},
	"GET /v1/skills":                     {ask: plain(nil)},
	"GET /v1/skills/{skill_id}":          {hides: ofAcademy, ask: named(theSkill, nil)},
	"PUT /v1/skills/{skill_id}":          {hides: ofAcademy, ask: named(theSkill, aSkill), fresh: freshSkill},
	"POST /v1/skills/{skill_id}/archive": {hides: ofAcademy, ask: named(theSkill, nil), fresh: freshSkill},
	"POST /v1/skills/{skill_id}/restore": {hides: ofAcademy, ask: named(theSkill, nil), fresh: freshSkill},

	"POST /v1/programmes": {hides: ofAcademy, hidden: 422, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", course("Weeks", th.skill)
	}},
	"GET /v1/programmes":                          {ask: plain(nil)},
	"POST /v1/programmes/import":                  {ask: plain(object{"format": "fringework-programme/1", "name": "Imported"}), fresh: mine},
	"GET /v1/programmes/{programme_id}":           {hides: ofAcademy, ask: named(theProgramme, nil)},
	"PUT /v1/programmes/{programme_id}":           {hides: ofAcademy, ask: named(theProgramme, object{"name": "Draft"}), fresh: freshProgramme},
	"POST /v1/programmes/{programme_id}/clone":    {hides: ofAcademy, ask: named(theProgramme, nil), fresh: mine},
	"POST /v1/programmes/{programme_id}/archive":  {hides: ofAcademy, ask: named(theProgramme, nil), fresh: freshProgramme},
	"POST /v1/programmes/{programme_id}/restore":  {hides: ofAcademy, ask: named(theProgramme, nil), fresh: freshProgramme},
	"GET /v1/programmes/{programme_id}/document":  {hides: ofAcademy, ask: named(theProgramme, nil)},
	"POST /v1/programmes/{programme_id}/versions": {hides: ofAcademy, ask: named(theProgramme, nil), fresh: freshDraft},
	"GET /v1/programmes/{programme_id}/versions":  {hides: ofAcademy, ask: named(theProgramme, nil)},
	"GET /v1/programmes/{programme_id}/versions/{number}": {hides: ofAcademy, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.programme, "1"}, "", nil
	}},
	"GET /v1/programmes/{programme_id}/differences": {hides: ofAcademy, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.programme}, "?from=1&to=1", nil
	}},

	"POST /v1/assignments": {hides: ofStudent, hidden: 422, fresh: freshProgramme, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"programme_id": th.programme, "version": 1, "student_ids": []domain.ID{th.student}, "start_date": "2026-05-04"}
	}},
	"GET /v1/assignments":                         {ask: plain(nil)},
	"GET /v1/assignments/{assignment_id}":         {hides: ofStudent, ask: named(theAssignment, nil)},
	"POST /v1/assignments/{assignment_id}/pause":  {hides: ofStudent, ask: named(theAssignment, nil), fresh: freshAssignment},
	"POST /v1/assignments/{assignment_id}/resume": {hides: ofStudent, ask: named(theAssignment, nil), fresh: freshPaused},
	"POST /v1/assignments/{assignment_id}/move":   {hides: ofStudent, ask: named(theAssignment, object{"version": 1}), fresh: freshAssignment},
	"POST /v1/assignments/{assignment_id}/end":    {hides: ofStudent, ask: named(theAssignment, nil), fresh: freshAssignment},
	"GET /v1/sessions": {hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "?student_id=" + string(th.student), nil
	}},
	"GET /v1/sessions/{session_id}": {hides: ofStudent, ask: named(theSession, nil)},
	"PUT /v1/sessions/{session_id}": {hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		session := outing(1, ago(5))
		session["student_id"] = th.student
		return []domain.ID{newID()}, "", session
	}},
	"DELETE /v1/sessions/{session_id}": {hides: ofStudent, fresh: freshSession, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.session}, "?revision=7&student_id=" + string(th.student), nil
	}},
	"POST /v1/sessions/{session_id}/comments": {hides: ofStudent, ask: named(theSession, object{"text": "Well kept to the plan."})},
	"GET /v1/sessions/{session_id}/comments":  {hides: ofStudent, ask: named(theSession, nil)},

	"GET /v1/students/{student_id}/now":              {hides: ofStudent, ask: named(theStudent, nil)},
	"GET /v1/students/{student_id}/progress":         {hides: ofStudent, ask: named(theStudent, nil)},
	"PUT /v1/students/{student_id}/acknowledgements": {hides: ofStudent, ask: named(theStudent, object{"reason": "flat", "days": 7})},
	"GET /v1/students/{student_id}/skills/{skill_id}/history": {hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.student, th.skill}, "", nil
	}},
	"GET /v1/dashboard": {ask: plain(nil)},
	"GET /v1/live":      {ask: plain(nil), stream: true},

	"GET /v1/calc": {ask: plain(nil)},
	"POST /v1/calc/{name}": {ask: func(things) ([]domain.ID, string, any) {
		return []domain.ID{"split"}, "", object{"minutes": 50, "shares": []int{25, 25, 25, 25}}
	}},
}
