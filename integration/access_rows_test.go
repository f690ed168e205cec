package integration_test

import (
	"strings"
	"time"

	"fringework/api"
	"fringework/domain"
	"fringework/domain/curriculum"
)

// publicOperations need no token.
var publicOperations = []string{
	"GET /healthz", "GET /readyz", "GET /openapi.json", "GET /programme.schema.json",
	"POST /v1/academies", "POST /v1/sign-in", "POST /v1/sign-out", "POST /v1/tokens/refresh", "POST /v1/oauth/token",
	"POST /v1/sign-in/code", "GET /v1/sign-in/ways", "POST /v1/sign-in/passkey", "POST /v1/sign-in/passkey/begin", "POST /v1/password/forgotten", "POST /v1/password/reset", "POST /v1/email/confirm", "POST /v1/academies/confirm",
	"POST /v1/oauth/revoke", "POST /v1/oauth/introspect", "GET /.well-known/oauth-authorization-server",
	"POST /v1/invitations/inspect", "POST /v1/invitations/accept", "POST /v1/shared-reports",
	"GET /calendars/{file}", "GET /unsubscribe/{token}", "POST /unsubscribe/{token}",
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

// ofTheStudent asks for what is the student's.
func ofTheStudent(th things) ([]domain.ID, string, any) {
	return nil, "?student_id=" + string(th.student), nil
}

func theStudent(th things) domain.ID    { return th.student }
func theMember(th things) domain.ID     { return th.member }
func theSkill(th things) domain.ID      { return th.skill }
func theProgramme(th things) domain.ID  { return th.programme }
func theAssignment(th things) domain.ID { return th.assignment }
func theAdjustment(th things) domain.ID { return th.adjustment }
func theSession(th things) domain.ID    { return th.session }
func theRound(th things) domain.ID      { return th.round }
func theGroup(th things) domain.ID      { return th.group }
func theInvitation(th things) domain.ID { return th.invitation }
func theLink(th things) domain.ID       { return th.link }
func theLesson(th things) domain.ID     { return th.lesson }
func theKey(th things) domain.ID        { return th.key }
func theApp(th things) domain.ID        { return th.app }
func theConnection(th things) domain.ID { return th.connection }

// theGuardian names the student and the guardian.
func theGuardian(th things) ([]domain.ID, string, any) {
	return []domain.ID{th.student, th.guardian}, "", nil
}

// theComment names a comment of the coach's.
func theComment(body any) asker {
	return func(th things) ([]domain.ID, string, any) { return []domain.ID{th.session, th.comment}, "", body }
}

// notTheirs are those who see the coach's comment, and did not write it.
var notTheirs = map[domain.Role]int{domain.Owner: 403, domain.Student: 403}

func freshGuardian(w *fixture, th *things) {
	th.guardian = w.owner.join("Gudrun Fresh", object{"role": "guardian", "student_id": th.student}).id
}

// What a success uses up.
func freshMember(w *fixture, th *things) {
	th.member = w.owner.join("Sunniva Fresh", object{"role": "student"}).id
}

func freshSkill(w *fixture, th *things) { th.skill = w.owner.skill("Fresh pitch", pitchSteps()).ID }

func freshProgramme(w *fixture, th *things) {
	th.programme = w.owner.publish(course("Fresh course", w.its.skill))
}

func freshDraft(w *fixture, th *things) {
	th.programme = made[api.Programme](w.owner.caller, "/v1/programmes", course("Fresh draft", w.its.skill)).ID
}

func freshAssignment(w *fixture, th *things) {
	freshProgramme(w, th)
	th.assignment = w.owner.assign(th.programme, ago(72), w.student)[0].ID
}

// freshTest has a skill that is new to the student, and a first test of it.
func freshTest(w *fixture, th *things) {
	freshSkill(w, th)
	w.owner.assign(w.owner.publish(course("Fresh start", th.skill)), ago(-24), w.student)
	w.student.practise(ago(2), measured(test(th.skill, strings.Repeat("+...", 5)), "first_test"))
}

func freshPaused(w *fixture, th *things) {
	freshAssignment(w, th)
	w.owner.post("/v1/assignments/"+string(th.assignment)+"/pause", nil).want(200)
}

func freshSession(w *fixture, th *things) { th.session = w.student.practise(ago(48)).ID }

func freshRound(w *fixture, th *things) {
	th.round = newID()
	w.student.put("/v1/rounds/"+string(th.round), roundBody(1, ago(50))).want(201)
}

func freshGroup(w *fixture, th *things) {
	th.group = made[api.Group](w.coach.caller, "/v1/groups", object{"name": "Fresh group", "student_ids": []domain.ID{}}).ID
}

func freshInvitation(w *fixture, th *things) {
	th.invitation = w.coach.invite(object{"role": "student"}).ID
}

func freshLink(w *fixture, th *things) { th.link = w.coach.share(w.student) }

// thePhoto names the lesson and the photo.
func thePhoto(th things) ([]domain.ID, string, any) { return []domain.ID{th.lesson, th.photo}, "", nil }

func freshLesson(w *fixture, th *things) { th.lesson = w.coach.planLesson(w.student, ago(40)) }

func freshPhoto(w *fixture, th *things) {
	freshLesson(w, th)
	th.photo = w.coach.photograph(th.lesson)
}

func freshKey(w *fixture, th *things) { th.key = w.owner.key("calc:use").ID }

func freshApp(w *fixture, th *things) { th.app = w.owner.registerApp(anApp).ID }

func freshConnection(w *fixture, th *things) { th.connection = w.student.connect(w.app).ID }

// mine makes nothing: the request itself changes only what is the asker's.
func mine(*fixture, *things) {}

var aSkill = object{"name": "Bunker shot", "kind": "bunker_shot", "ladder": pitchSteps()}

// Who may ask.
var (
	everybody  = []domain.Role{domain.Owner, domain.Coach, domain.Student, domain.Guardian}
	teachers   = []domain.Role{domain.Owner, domain.Coach}
	players    = []domain.Role{domain.Owner, domain.Coach, domain.Student}
	consenters = []domain.Role{domain.Owner, domain.Guardian}
	owners     = []domain.Role{domain.Owner}
)

// rows says for each operation that needs a token who may ask for it, what it
// hides from whom, and how to ask.
var rows = map[string]row{
	"GET /v1/me":          {may: everybody, ask: plain(nil)},
	"PATCH /v1/me":        {may: everybody, ask: plain(object{"units": "metres"}), fresh: mine},
	"PUT /v1/me/password": {may: everybody, ask: plain(object{"current_password": password, "new_password": password}), fresh: mine},

	"GET /v1/me/export":      {may: everybody, ask: plain(nil)},
	"GET /v1/me/export/page": {may: everybody, ask: plain(nil)},
	"POST /v1/me/leave":      {may: everybody, answer: 422, ask: func(things) ([]domain.ID, string, any) { return nil, "", object{"academy_id": newID()} }, fresh: mine},
	"POST /v1/me/deletion":   {may: everybody, answer: 422, ask: plain(object{"password": "not mine"}), fresh: mine},
	"GET /v1/me/juniors":     {may: []domain.Role{domain.Guardian}, ask: plain(nil)},
	"POST /v1/me/calendar":   {may: []domain.Role{domain.Student}, ask: plain(nil), fresh: mine},
	"GET /v1/me/calendar": {may: []domain.Role{domain.Student}, ask: plain(nil), fresh: func(w *fixture, _ *things) {
		w.student.post("/v1/me/calendar", nil).want(201)
	}},
	"DELETE /v1/me/calendar":                   {may: []domain.Role{domain.Student}, ask: plain(nil), fresh: mine},
	"GET /v1/academy/practised":                {may: owners, ask: plain(nil)},
	"GET /v1/me/second-factor":                 {may: everybody, ask: plain(nil)},
	"POST /v1/me/authenticator":                {may: everybody, ask: plain(object{"password": password}), fresh: mine},
	"POST /v1/me/authenticator/confirm":        {may: everybody, ask: plain(object{"code": "no code"}), fresh: mine, answer: 422},
	"POST /v1/me/authenticator/remove":         {may: everybody, ask: plain(object{"password": password, "code": "no code"}), fresh: mine, answer: 422},
	"POST /v1/me/passkeys/begin":               {may: everybody, ask: plain(object{"password": password}), fresh: mine},
	"POST /v1/me/passkeys":                     {may: everybody, ask: plain(object{"ticket": "no ticket", "name": "Phone", "credential": object{}}), fresh: mine, answer: 409},
	"POST /v1/me/passkeys/{passkey_id}/remove": {may: everybody, ask: named(theKey, object{"password": password, "code": "no code"}), fresh: mine, answer: 422},
	"POST /v1/me/recovery-codes":               {may: everybody, ask: plain(object{"password": password, "code": "no code"}), fresh: mine, answer: 422},
	"GET /v1/me/weekly-letter":                 {may: players, ask: plain(nil)},
	"PUT /v1/me/weekly-letter":                 {may: players, ask: plain(object{"wanted": false}), fresh: mine},
	"PUT /v1/me/email":                         {may: everybody, ask: plain(object{"email": "x@example.org", "password": "no password"}), fresh: mine, answer: 422},
	"POST /v1/me/email/verify":                 {may: everybody, ask: plain(nil), fresh: mine, answer: 409},
	"POST /v1/members/{member_id}/reset-link":  {may: teachers, hides: ofStudent, ask: named(theMember, nil)},
	"PUT /v1/academy/second-factor":            {may: owners, ask: plain(object{"required": false}), fresh: mine},

	"POST /v1/invitations": {may: teachers, hides: ofStudent, hidden: 422, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"role": "guardian", "student_id": th.student}
	}},
	"POST /v1/invitations/bulk": {may: teachers, hides: ofAcademy, hidden: 422, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"items": []object{{"name": "Wilma Many"}}, "group_id": th.group}
	}},
	"GET /v1/invitations":                    {may: teachers, ask: plain(nil)},
	"GET /v1/invitations/{invitation_id}":    {may: teachers, hides: ofMaker, ask: named(theInvitation, nil)},
	"DELETE /v1/invitations/{invitation_id}": {may: teachers, hides: ofMaker, ask: named(theInvitation, nil), fresh: freshInvitation},

	"POST /v1/keys":            {may: owners, ask: plain(object{"name": "Newsletter", "scopes": []string{"calc:use"}}), fresh: mine},
	"GET /v1/keys":             {may: owners, ask: plain(nil)},
	"GET /v1/keys/{key_id}":    {may: owners, hides: ofAcademy, ask: named(theKey, nil)},
	"DELETE /v1/keys/{key_id}": {may: owners, hides: ofAcademy, ask: named(theKey, nil), fresh: freshKey},

	"POST /v1/apps":                     {may: owners, ask: plain(anApp), fresh: mine},
	"GET /v1/apps":                      {may: owners, ask: plain(nil)},
	"GET /v1/apps/{app_id}":             {may: owners, hides: ofAcademy, ask: named(theApp, nil)},
	"DELETE /v1/apps/{app_id}":          {may: owners, hides: ofAcademy, ask: named(theApp, nil), fresh: freshApp},
	"GET /v1/apps/{app_id}/connections": {may: owners, hides: ofAcademy, ask: named(theApp, nil)},
	"GET /v1/connections":               {may: players, ask: plain(nil)},
	"DELETE /v1/connections/{connection_id}": {may: players, hides: ofStudent, ask: named(theConnection, nil), fresh: freshConnection,
		except: map[domain.Role]int{domain.Coach: 404}}, // it is the student's
	"POST /v1/oauth/authorizations/inspect": {may: players, hides: ofAcademy, hidden: 422, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", asked(th.app)
	}},
	"POST /v1/oauth/authorizations": {may: players, hides: ofAcademy, hidden: 422, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", allowing(th.app)
	}},

	"GET /v1/academy":   {may: everybody, key: "members:read", ask: plain(nil)},
	"PATCH /v1/academy": {may: owners, ask: plain(object{"time_zone": "Europe/Lisbon"}), fresh: mine},

	"GET /v1/members":                {may: teachers, key: "members:read", ask: plain(nil)},
	"GET /v1/members/{member_id}":    {may: everybody, key: "members:read", hides: ofStudent, ask: named(theMember, nil)},
	"DELETE /v1/members/{member_id}": {may: owners, hides: ofStudent, ask: named(theMember, nil), fresh: freshMember},
	"PATCH /v1/members/{member_id}": {may: everybody, hides: ofStudent, ask: named(theMember, object{"units": "feet"}),
		except: map[domain.Role]int{domain.Guardian: 403}}, // a guardian reads

	"GET /v1/students/{student_id}/coaches": {may: everybody, key: "members:read", hides: ofStudent, ask: named(theStudent, nil)},
	"PUT /v1/students/{student_id}/coaches/{coach_id}": {may: owners, hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.student, th.coach}, "", nil
	}},
	"DELETE /v1/students/{student_id}/coaches/{coach_id}": {may: owners, hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.member, th.coach}, "", nil
	}, fresh: freshMember},
	"POST /v1/members/{member_id}/erase": {may: owners, hides: ofStudent, ask: named(theMember, nil), fresh: func(w *fixture, th *things) {
		freshMember(w, th)
		w.owner.del("/v1/members/" + string(th.member)).want(204)
	}},
	"GET /v1/students/{student_id}/guardians": {may: everybody, key: "members:read", hides: ofStudent, ask: named(theStudent, nil)},
	"PUT /v1/students/{student_id}/guardians/{guardian_id}": {may: []domain.Role{domain.Student}, hides: ofStudent, ask: theGuardian,
		except: map[domain.Role]int{domain.Student: 403}}, // a junior is not asked
	"DELETE /v1/students/{student_id}/guardians/{guardian_id}": {may: []domain.Role{domain.Owner, domain.Student, domain.Guardian}, hides: ofStudent, fresh: freshGuardian,
		ask: theGuardian, except: map[domain.Role]int{domain.Student: 403, domain.Guardian: 403}}, // neither a junior nor another guardian
	"PUT /v1/students/{student_id}/consent": {may: consenters, hides: ofStudent, ask: named(theStudent, object{"given": true})},

	"POST /v1/groups": {may: teachers, hides: ofStudent, hidden: 422, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"name": "Juniors", "student_ids": []domain.ID{th.student}}
	}},
	"GET /v1/groups":               {may: teachers, key: "members:read", ask: plain(nil)},
	"GET /v1/groups/{group_id}":    {may: teachers, key: "members:read", hides: ofAcademy, ask: named(theGroup, nil)},
	"DELETE /v1/groups/{group_id}": {may: teachers, hides: ofAcademy, ask: named(theGroup, nil), fresh: freshGroup},
	"PUT /v1/groups/{group_id}":    {may: teachers, hides: ofAcademy, ask: named(theGroup, object{"name": "Fresh group", "student_ids": []string{}}), fresh: freshGroup},

	"POST /v1/webhooks":                        {may: owners, fresh: mine, ask: plain(object{"name": "Hook", "url": "https://hook.example"})},
	"GET /v1/webhooks":                         {may: owners, ask: plain(nil)},
	"GET /v1/webhooks/{webhook_id}":            {may: owners, hides: ofAcademy, ask: named(theHook, nil)},
	"PUT /v1/webhooks/{webhook_id}":            {may: owners, hides: ofAcademy, ask: named(theHook, object{"name": "Hook", "url": "https://hook.example"}), fresh: mine},
	"DELETE /v1/webhooks/{webhook_id}":         {may: owners, hides: ofAcademy, ask: named(theHook, nil), fresh: freshHook},
	"POST /v1/webhooks/{webhook_id}/rotate":    {may: owners, hides: ofAcademy, ask: named(theHook, nil), fresh: mine},
	"POST /v1/webhooks/{webhook_id}/test":      {may: owners, hides: ofAcademy, ask: named(theHook, nil), fresh: mine},
	"GET /v1/webhooks/{webhook_id}/deliveries": {may: owners, hides: ofAcademy, ask: named(theHook, nil)},
	"POST /v1/webhooks/{webhook_id}/deliveries/{delivery_id}/resend": {may: owners, hides: ofAcademy, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.hook, th.delivery}, "", nil
	}},

	"GET /v1/events":  {may: owners, key: "events:read", ask: plain(nil)},
	"GET /v1/changes": {may: everybody, key: "events:read", ask: plain(nil)},

	"POST /v1/skills":                    {may: teachers, ask: plain(aSkill), fresh: mine},
	"GET /v1/skills":                     {may: everybody, key: "programmes:read", ask: plain(nil)},
	"GET /v1/skills/{skill_id}":          {may: everybody, key: "programmes:read", hides: ofAcademy, ask: named(theSkill, nil)},
	"GET /v1/skills/{skill_id}/insights": {may: teachers, key: "progress:read", hides: ofAcademy, ask: named(theSkill, nil)},
	"PUT /v1/skills/{skill_id}":          {may: teachers, hides: ofAcademy, ask: named(theSkill, aSkill), fresh: freshSkill},
	"POST /v1/skills/{skill_id}/archive": {may: teachers, hides: ofAcademy, ask: named(theSkill, nil), fresh: freshSkill},
	"POST /v1/skills/{skill_id}/restore": {may: teachers, hides: ofAcademy, ask: named(theSkill, nil), fresh: freshSkill},
	"POST /v1/skills/{skill_id}/ladder/preview": {may: teachers, key: "progress:read", hides: ofAcademy, fresh: mine,
		ask: named(theSkill, object{"tiers": pitchSteps()["tiers"], "balls": 30})},

	"GET /v1/starting-points": {may: teachers, key: "programmes:read", ask: plain(nil)},

	"POST /v1/programmes": {may: teachers, hides: ofAcademy, hidden: 422, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", course("Weeks", th.skill)
	}},
	"GET /v1/programmes":                          {may: teachers, key: "programmes:read", ask: plain(nil)},
	"POST /v1/programmes/import":                  {may: teachers, ask: plain(object{"format": "fringework-programme/1", "name": "Imported"}), fresh: mine},
	"GET /v1/programmes/{programme_id}":           {may: teachers, key: "programmes:read", hides: ofAcademy, ask: named(theProgramme, nil)},
	"PUT /v1/programmes/{programme_id}":           {may: teachers, hides: ofAcademy, ask: named(theProgramme, object{"name": "Draft"}), fresh: freshProgramme},
	"POST /v1/programmes/{programme_id}/clone":    {may: teachers, hides: ofAcademy, ask: named(theProgramme, nil), fresh: mine},
	"POST /v1/programmes/{programme_id}/archive":  {may: teachers, hides: ofAcademy, ask: named(theProgramme, nil), fresh: freshProgramme},
	"POST /v1/programmes/{programme_id}/restore":  {may: teachers, hides: ofAcademy, ask: named(theProgramme, nil), fresh: freshProgramme},
	"GET /v1/programmes/{programme_id}/document":  {may: teachers, key: "programmes:read", hides: ofAcademy, ask: named(theProgramme, nil)},
	"POST /v1/programmes/{programme_id}/versions": {may: teachers, hides: ofAcademy, ask: named(theProgramme, nil), fresh: freshDraft},
	"GET /v1/programmes/{programme_id}/versions":  {may: teachers, key: "programmes:read", hides: ofAcademy, ask: named(theProgramme, nil)},
	"GET /v1/programmes/{programme_id}/versions/{number}": {may: teachers, key: "programmes:read", hides: ofAcademy, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.programme, "1"}, "", nil
	}},
	"GET /v1/programmes/{programme_id}/differences": {may: teachers, key: "programmes:read", hides: ofAcademy, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.programme}, "?from=1&to=1", nil
	}},

	"GET /v1/programmes/{programme_id}/days": {may: teachers, key: "programmes:read", hides: ofAcademy, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.programme}, "?week=1&plan=1", nil
	}},
	"GET /v1/programmes/{programme_id}/cohort": {may: teachers, key: "progress:read", hides: ofAcademy, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.programme}, "", nil
	}},

	"POST /v1/assignments": {may: teachers, hides: ofStudent, hidden: 422, fresh: freshProgramme, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"programme_id": th.programme, "version": 1, "student_ids": []domain.ID{th.student}, "start_date": "2026-05-04"}
	}},
	"POST /v1/assignments/bulk": {may: teachers, hides: ofStudent, hidden: 200, fresh: freshAssignment, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"action": "pause", "programme_id": th.programme, "student_ids": []domain.ID{th.student}}
	}},
	"GET /v1/assignments":                         {may: everybody, key: "programmes:read", ask: plain(nil)},
	"GET /v1/assignments/{assignment_id}":         {may: everybody, key: "programmes:read", hides: ofStudent, ask: named(theAssignment, nil)},
	"POST /v1/assignments/{assignment_id}/pause":  {may: teachers, hides: ofStudent, ask: named(theAssignment, nil), fresh: freshAssignment},
	"POST /v1/assignments/{assignment_id}/resume": {may: teachers, hides: ofStudent, ask: named(theAssignment, nil), fresh: freshPaused},
	"POST /v1/assignments/{assignment_id}/move":   {may: teachers, hides: ofStudent, ask: named(theAssignment, object{"version": 1}), fresh: freshAssignment},
	"POST /v1/assignments/{assignment_id}/end":    {may: teachers, hides: ofStudent, ask: named(theAssignment, nil), fresh: freshAssignment},
	"POST /v1/assignments/{assignment_id}/tests":  {may: teachers, hides: ofStudent, ask: named(theAssignment, object{"asked": false}), fresh: freshAssignment},
	"GET /v1/sessions":                            {may: everybody, key: "sessions:read", hides: ofStudent, ask: ofTheStudent},
	"GET /v1/sessions/{session_id}":               {may: everybody, key: "sessions:read", hides: ofStudent, ask: named(theSession, nil)},
	"PUT /v1/sessions/{session_id}": {may: players, hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		session := sessionBody(1, ago(5))
		session["student_id"] = th.student
		return []domain.ID{newID()}, "", session
	}},
	"DELETE /v1/sessions/{session_id}": {may: players, hides: ofStudent, fresh: freshSession, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.session}, "?revision=7&student_id=" + string(th.student), nil
	}},
	"GET /v1/rounds":            {may: everybody, key: "sessions:read", hides: ofStudent, ask: ofTheStudent},
	"GET /v1/rounds/{round_id}": {may: everybody, key: "sessions:read", hides: ofStudent, ask: named(theRound, nil)},
	"PUT /v1/rounds/{round_id}": {may: players, hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		round := roundBody(1, ago(6))
		round["student_id"] = th.student
		return []domain.ID{newID()}, "", round
	}},
	"DELETE /v1/rounds/{round_id}": {may: players, hides: ofStudent, fresh: freshRound, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.round}, "?revision=7&student_id=" + string(th.student), nil
	}},
	"GET /v1/students/{student_id}/matches": {may: everybody, key: "sessions:read", hides: ofStudent, ask: named(theStudent, nil)},
	"GET /v1/matches/{match_id}": {may: everybody, key: "sessions:read", hides: ofStudent, ask: func(things) ([]domain.ID, string, any) {
		return []domain.ID{theMatch}, "", nil
	}},
	"GET /v1/students/{student_id}/course":                {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"GET /v1/students/{student_id}/played-out":            {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"POST /v1/sessions/{session_id}/comments":             {may: teachers, hides: ofStudent, ask: named(theSession, object{"text": "Well kept to the plan."})},
	"PUT /v1/sessions/{session_id}/comments/{comment_id}": {may: players, hides: ofStudent, ask: theComment(object{"text": "Well struck."}), except: notTheirs, fresh: mine},
	"DELETE /v1/sessions/{session_id}/comments/{comment_id}": {may: players, hides: ofStudent, ask: theComment(nil), except: notTheirs, fresh: func(w *fixture, th *things) {
		th.comment = made[api.Comment](w.coach.caller, sessionPath(th.session)+"/comments", object{"text": "Soon gone."}).ID
	}},
	"POST /v1/sessions/{session_id}/comments/{comment_id}/replies": {may: players, hides: ofStudent, ask: theComment(object{"text": "Thank you."})},
	"GET /v1/sessions/{session_id}/comments":                       {may: everybody, key: "sessions:read", hides: ofStudent, ask: named(theSession, nil)},

	"GET /v1/exports/sessions":   {may: everybody, key: "sessions:read", hides: ofStudent, ask: ofTheStudent},
	"GET /v1/exports/balls":      {may: everybody, key: "sessions:read", hides: ofStudent, ask: ofTheStudent},
	"GET /v1/exports/milestones": {may: everybody, key: "progress:read", hides: ofStudent, ask: ofTheStudent},
	"GET /v1/exports/progress":   {may: everybody, key: "progress:read", hides: ofStudent, ask: ofTheStudent},
	"GET /v1/exports/academy":    {may: owners, ask: plain(nil)},
	"POST /v1/imports/sessions": {may: players, hides: ofStudent, hidden: 422, media: "text/csv", fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", "student_id,started_at,kind,skill_id,radius_m,seconds,outcome\n" +
			string(th.student) + "," + ago(300).Format(time.RFC3339) + ",test," + string(th.skill) + ",2,60,in\n"
	}},

	"POST /v1/messages": {may: teachers, hides: ofStudent, hidden: 200, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"student_ids": []domain.ID{th.student}, "text": "Bring the 56."}
	}},
	"GET /v1/messages/unread":                 {may: teachers, ask: plain(nil)},
	"POST /v1/students/{student_id}/messages": {may: players, hides: ofStudent, ask: named(theStudent, object{"text": "Windy today."})},
	"GET /v1/students/{student_id}/messages":  {may: everybody, hides: ofStudent, ask: named(theStudent, nil)},
	"PUT /v1/students/{student_id}/messages/read": {may: everybody, hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.student}, "", object{"up_to": th.message}
	}},
	"POST /v1/lessons": {may: teachers, hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"student_ids": []domain.ID{th.student}, "starts_at": ago(3), "minutes": 45}
	}},
	"GET /v1/lessons":             {may: everybody, key: "progress:read", hides: ofStudent, ask: ofTheStudent},
	"GET /v1/lessons/{lesson_id}": {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theLesson, nil)},
	"PUT /v1/lessons/{lesson_id}": {may: teachers, hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.lesson}, "", lessonBody(ago(30), "Brush the grass after the ball")
	}},
	"DELETE /v1/lessons/{lesson_id}":          {may: teachers, hides: ofStudent, fresh: freshLesson, ask: named(theLesson, nil)},
	"GET /v1/lessons/{lesson_id}/preparation": {may: teachers, hides: ofStudent, ask: named(theLesson, nil)},
	"POST /v1/lessons/{lesson_id}/media": {may: teachers, hides: ofStudent, fresh: freshLesson, media: "image/jpeg", ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.lesson}, "?days=30", aPhoto
	}},
	"GET /v1/lessons/{lesson_id}/media/{media_id}":    {may: everybody, hides: ofStudent, ask: thePhoto},
	"DELETE /v1/lessons/{lesson_id}/media/{media_id}": {may: everybody, hides: ofStudent, fresh: freshPhoto, ask: thePhoto},
	"GET /v1/academy/media":                           {may: teachers, ask: plain(nil)},

	"POST /v1/students/{student_id}/report-links": {may: teachers, hides: ofStudent, ask: named(theStudent, object{"days": 14, "words": "A good spring."})},
	"GET /v1/students/{student_id}/report-links":  {may: teachers, hides: ofStudent, ask: named(theStudent, nil)},
	"DELETE /v1/students/{student_id}/report-links/{link_id}": {may: teachers, hides: ofStudent, fresh: freshLink, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.student, theLink(th)}, "", nil
	}},

	"GET /v1/students/{student_id}/bag":   {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"PUT /v1/students/{student_id}/bag":   {may: players, hides: ofStudent, ask: named(theStudent, object{"hand": "left", "clubs": []object{{"name": "My 57", "loft_deg": 57}}}), fresh: mine},
	"GET /v1/students/{student_id}/now":   {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"GET /v1/students/{student_id}/tests": {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"POST /v1/students/{student_id}/start": {may: players, hides: ofStudent, fresh: freshTest, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.student}, "", object{"skill_id": th.skill}
	}},
	"GET /v1/students/{student_id}/days":        {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"GET /v1/students/{student_id}/season":      {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"PUT /v1/students/{student_id}/season":      {may: players, hides: ofStudent, ask: named(theStudent, object{"goal": "Half of them up and down", "competitions": []object{{"name": "Club day", "date": "2026-07-04"}}}), fresh: mine},
	"GET /v1/students/{student_id}/progress":    {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"GET /v1/students/{student_id}/learning":    {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"PUT /v1/students/{student_id}/quiet-tests": {may: everybody, hides: ofStudent, ask: named(theStudent, object{"agrees": false})},
	"GET /v1/students/{student_id}/adjustments": {may: everybody, key: "progress:read", hides: ofStudent, ask: named(theStudent, nil)},
	"POST /v1/adjustments": {may: teachers, hides: ofStudent, hidden: 200, fresh: mine, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"items": []object{{"student_id": th.student, "kind": "radius", "skill_id": th.skill, "radius_m": 1.1}}}
	}},
	"POST /v1/adjustments/{adjustment_id}/end": {may: teachers, hides: ofStudent, fresh: mine, ask: named(theAdjustment, nil)},
	"POST /v1/acknowledgements": {may: teachers, hides: ofStudent, hidden: 200, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"items": []object{{"student_id": th.student, "reason": "flat", "days": 7}}}
	}},
	"GET /v1/proposals": {may: teachers, key: "progress:read", ask: plain(nil)},
	"POST /v1/proposals/refusals": {may: teachers, hides: ofStudent, hidden: 422, ask: func(th things) ([]domain.ID, string, any) {
		return nil, "", object{"items": []object{{"student_id": th.student, "skill_id": th.skill, "kind": "step"}}, "again": true}
	}},
	"PUT /v1/students/{student_id}/acknowledgements": {may: teachers, hides: ofStudent, ask: named(theStudent, object{"reason": "flat", "days": 7})},
	"GET /v1/students/{student_id}/skills/{skill_id}/history": {may: everybody, key: "progress:read", hides: ofStudent, ask: func(th things) ([]domain.ID, string, any) {
		return []domain.ID{th.student, th.skill}, "", nil
	}},
	"GET /v1/dashboard": {may: teachers, key: "progress:read", ask: plain(nil)},
	"GET /v1/live":      {may: everybody, key: "progress:read", ask: plain(nil), stream: true},

	"GET /v1/calc": {may: everybody, key: "calc:use", ask: plain(nil)},
	"POST /v1/calc/{name}": {may: everybody, key: "calc:use", ask: func(things) ([]domain.ID, string, any) {
		return []domain.ID{"split"}, "", object{"minutes": 70, "shares": []int{20, 35, 15, 30}}
	}},
}

// theMatch is the match in which the session of the matrix was played, dealt by its code.
var theMatch = curriculum.Match{Kind: curriculum.Pitch, Balls: 6, Seed: 2026}.ID()
