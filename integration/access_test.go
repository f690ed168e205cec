package integration_test

import (
	"cmp"
	"fmt"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fringework/api"
	"fringework/auth"
	"fringework/domain"
)

// things are what paths and bodies name.
type things struct {
	student, coach, guardian, skill, programme, assignment, session, round, group, invitation, key, member, message, link, adjustment, comment, app, connection, hook, delivery, lesson, photo domain.ID
}

// without gives things of which those that are hidden are nowhere: all of them
// from a stranger, the student's from others of the academy.
func (th things) without(mark string) things {
	th.student, th.member, th.assignment, th.session, th.round, th.invitation, th.message, th.link, th.adjustment, th.connection, th.lesson, th.photo = newID(), newID(), newID(), newID(), newID(), newID(), newID(), newID(), newID(), newID(), newID(), newID()
	if mark == academyMark {
		th.coach, th.skill, th.programme, th.group, th.key, th.app, th.hook, th.delivery = newID(), newID(), newID(), newID(), newID(), newID(), newID(), newID()
	}
	return th
}

// hiding says from whom a thing is hidden, beside other academies.
type hiding int

const (
	// nothing is named that could be hidden.
	nothing hiding = iota
	// ofAcademy things are everybody's in the academy whose role may ask.
	ofAcademy
	// ofStudent things are hidden from those who do not work with the student.
	ofStudent
	// ofMaker things are hidden from coaches who have not made them.
	ofMaker
)

// row says how to ask for one operation.
type row struct {
	// may are the roles that may ask, key the scope that lets software ask.
	may   []domain.Role
	key   auth.Scope
	hides hiding
	// hidden is the answer about a hidden thing: 404, unless it is named in the
	// body.
	hidden int
	// ask fills the path's parameters and makes the rest of a request that
	// succeeds for whoever may.
	ask func(th things) (path []domain.ID, query string, body any)
	// fresh makes what a success uses up.
	fresh func(w *fixture, th *things)
	// except are roles that may try what then is refused all the same, for a
	// reason of its own.
	except map[domain.Role]int
	// answer is that to whoever may ask, where the table cannot ask for a success:
	// it would change how everybody in it signs in. A chapter sees the success.
	answer int
	// media is that of the body, unless it is JSON.
	media string
	// stream marks an answer that does not end.
	stream bool
}

// fixture is everybody who asks: an academy, people in it who have nothing to do
// with its student, and another academy.
type fixture struct {
	academy
	// its are the academy's things.
	its     things
	service *service
	// other people of the same academy, with a student of their own.
	others academy
	// strangers are of another academy.
	strangers academy
	// callers whose tokens are no good, or good for no academy.
	nowhere, signedOut, removed, expired, nobody *caller
	keys                                         map[auth.Scope]key // with one scope each
	but                                          map[auth.Scope]key // with every scope but one
	foreignKey, revoked                          key
	// app is an app of the academy that may ask for everything, and apps what it is let
	// do by people of each role; foreignApp is one of the strangers' owner.
	app        api.AppCreated
	apps       map[domain.Role]connected
	foreignApp connected
}

// marks are words that stand in everything of the academy, and of its student.
const (
	academyMark = "Quillfeather"
	studentMark = "Sunniva"
)

func newFixture(t *testing.T, s *service) *fixture {
	w := &fixture{service: s, academy: s.open(t, academyMark), strangers: s.open(t, "Elsewhere")}
	w.others.owner = w.owner
	w.others.coach = w.owner.join("Cosimo Aside", object{"role": "coach"})
	w.others.student = w.others.coach.join("Selwyn Aside", object{"role": "student", "junior": true})
	w.others.guardian = w.others.coach.join("Giles Aside", object{"role": "guardian", "student_id": w.others.student.id})
	w.its = things{student: w.student.id, coach: w.coach.id, guardian: w.guardian.id, member: w.student.id}
	w.its.skill = w.owner.skill("Pitch of "+academyMark, pitchSteps()).ID
	w.its.programme = w.coach.publish(course("Course of "+academyMark, w.its.skill))
	w.its.assignment = w.coach.assign(w.its.programme, ago(72), w.student)[0].ID
	w.its.adjustment = w.coach.adjust(w.student.id, object{"kind": "radius", "skill_id": w.its.skill, "radius_m": 1.3, "text": "For " + studentMark}).Adjustment.ID
	w.guardian.put("/v1/students/"+string(w.student.id)+"/consent", object{"given": true, "media": true, "matches": true}).want(200)
	w.its.session = newID()
	cards := test(w.its.skill, in(3))
	cards["kind"] = "random"
	played := sessionBody(1, ago(24), test(w.its.skill, in(10)), cards)
	played["note"] = "Note of " + studentMark
	played["match_id"] = theMatch
	w.student.store(w.its.session, played, 201)
	w.its.comment = made[api.Comment](w.coach.caller, sessionPath(w.its.session)+"/comments", object{"text": "For " + studentMark}).ID
	w.its.round = newID()
	round := roundBody(1, ago(26))
	round["note"] = "Round of " + studentMark
	w.student.put("/v1/rounds/"+string(w.its.round), round).want(201)
	w.its.group = made[api.Group](w.coach.caller, "/v1/groups", object{"name": "Group of " + academyMark, "student_ids": []domain.ID{w.student.id}}).ID
	w.its.invitation = w.coach.invite(object{"role": "student", "name": "Friend of " + studentMark, "group_id": w.its.group}).ID
	w.its.message = made[api.Message](w.coach.caller, "/v1/students/"+string(w.student.id)+"/messages", object{"text": "For " + studentMark}).ID
	w.its.link = w.coach.share(w.student)
	w.its.lesson = w.coach.planLesson(w.student, ago(30))
	w.coach.put(lessonPath(w.its.lesson), lessonBody(ago(30), "Cue of "+studentMark)).want(200)
	w.its.photo = w.coach.photograph(w.its.lesson)
	freshHook(w, &w.its)
	w.makeKeys()
	w.makeApps()
	w.makeBadTokens(t)
	return w
}

func (w *fixture) makeKeys() {
	w.keys, w.but = map[auth.Scope]key{}, map[auth.Scope]key{}
	for _, scope := range auth.AllScopes() {
		w.keys[scope] = w.owner.key(string(scope))
		w.but[scope] = w.owner.key(strings.Fields(auth.AllScopes().Without(auth.Scopes{scope}).String())...)
	}
	w.its.key = w.keys[auth.CalcUse].ID
	all := strings.Fields(auth.AllScopes().String())
	w.foreignKey, w.revoked = w.strangers.owner.key(all...), w.owner.key(all...)
	w.owner.del("/v1/keys/" + string(w.revoked.ID)).want(204)
}

func (w *fixture) makeApps() {
	everything := object{"name": "App of " + academyMark, "redirect_uris": []string{returnTo}, "scopes": strings.Fields(auth.AllScopes().String())}
	w.app = w.owner.registerApp(everything)
	w.apps = map[domain.Role]connected{}
	for _, p := range []*person{w.owner, w.coach, w.student} {
		w.apps[p.role()] = p.connect(w.app)
	}
	w.its.app, w.its.connection = w.app.ID, w.apps[domain.Student].ID
	everything["name"] = "App"
	w.foreignApp = w.strangers.owner.connect(w.strangers.owner.registerApp(everything))
}

func (w *fixture) makeBadTokens(t *testing.T) {
	w.nobody = w.owner.as("")
	again := w.owner.signIn()
	w.signedOut = again.caller
	again.post("/v1/sign-out", nil).want(204)
	w.expired = w.owner.as(w.service.forger(t).forge(w.owner.token, func(_, claims object) { claims["exp"] = claims["iat"].(float64) - 60 }))
	leaver := w.owner.join("Leander Leaver", object{"role": "coach"})
	w.removed = leaver.caller
	w.owner.del("/v1/members/" + string(leaver.id)).want(204)
	var signed api.SignedIn
	leaver.as("").post("/v1/sign-in", object{"email": leaver.email, "password": password}).want(200).into(&signed)
	if signed.Membership != nil {
		t.Errorf("somebody removed signed in to %+v; want no academy", *signed.Membership)
	}
	w.nowhere = leaver.as(signed.AccessToken)
}

// by gives an academy's person of a role.
func (a academy) by(r domain.Role) *person {
	return map[domain.Role]*person{domain.Owner: a.owner, domain.Coach: a.coach, domain.Student: a.student, domain.Guardian: a.guardian}[r]
}

// Every operation, for everybody who may not ask and everybody who may.
func testAccess(t *testing.T, s *service) {
	w := newFixture(t, s)
	routes := api.New(api.Config{}).Routes()
	seen := map[string]bool{}
	for _, r := range routes {
		op := r.Method + " " + r.Path
		seen[op] = true
		if r.Public {
			if !slices.Contains(publicOperations, op) {
				t.Errorf("%s asks for no token; if that is meant, name it in publicOperations", op)
			}
			continue
		}
		row, ok := rows[op]
		if !ok {
			t.Errorf("%s has no row in the table of who may ask for what; write one", op)
			continue
		}
		t.Run(op, func(t *testing.T) { (&probe{T: t, fixture: w, row: row, route: r}).run() })
	}
	for _, op := range slices.Concat(slices.Sorted(maps.Keys(rows)), publicOperations) {
		if !seen[op] {
			t.Errorf("%s is in the table, and there is no such route", op)
		}
	}
}

// probe asks for one operation as everybody.
type probe struct {
	*testing.T
	*fixture
	row   row
	route api.Route
}

func (p *probe) run() {
	allowed := auth.PermissionOf(p.route.Action)
	if !slices.Equal(allowed.Roles, p.row.may) || allowed.Scope != p.row.key {
		p.Errorf("it asks for %s, which is for %v and the scope %q; want %v and %q", p.route.Action, allowed.Roles, allowed.Scope, p.row.may, p.row.key)
	}
	p.badTokens(allowed)
	for _, role := range everybody {
		if !slices.Contains(allowed.Roles, role) {
			for _, a := range []academy{p.academy, p.others, p.strangers} {
				p.refused(a.by(role).caller, p.its, 403, "role_refused")
			}
		}
	}
	p.keysRefused(allowed)
	for _, role := range allowed.Roles {
		p.intruder(p.strangers.by(role).caller, academyMark)
		if role != domain.Owner {
			p.intruder(p.others.by(role).caller, studentMark)
		}
		p.succeeds(p.by(role).caller, cmp.Or(p.row.except[role], p.row.answer))
	}
	if allowed.Scope != "" {
		p.intruder(p.foreignKey.caller, academyMark)
		p.succeeds(p.keys[allowed.Scope].caller, 0)
	}
	p.byApps(allowed)
}

// byApps asks as apps that people have let in: they may what the person may, of
// what software may at all.
func (p *probe) byApps(allowed auth.Permission) {
	if p.route.Action == auth.AccountWrite { // a new password has disconnected them
		p.makeApps()
	}
	for role, app := range p.apps {
		switch {
		case allowed.Scope == "":
			p.refused(app.caller, p.its, 403, "members_only")
		case len(auth.Scopes{allowed.Scope}.Useful(role)) == 0: // it was not let in for that
			p.refused(app.caller, p.its, 403, "scope_missing")
		case !slices.Contains(allowed.Roles, role):
			p.refused(app.caller, p.its, 403, "role_refused")
		default:
			p.succeeds(app.caller, p.row.except[role])
		}
	}
	if allowed.Scope != "" {
		p.intruder(p.foreignApp.caller, academyMark)
	}
}

// badTokens are refused whatever they ask for.
func (p *probe) badTokens(allowed auth.Permission) {
	p.refused(p.nobody, p.its, 401, "token_missing")
	p.refused(p.nobody.as("nonsense"), p.its, 401, "token_refused")
	p.refused(p.expired, p.its, 401, "token_expired")
	for _, c := range []*caller{p.signedOut, p.removed, p.revoked.caller} {
		p.refused(c, p.its, 401, "token_refused")
	}
	if p.route.Method == http.MethodGet && !p.row.stream {
		p.headRefused()
	}
	if allowed.Anywhere {
		p.succeeds(p.nowhere, p.row.answer)
	} else {
		p.refused(p.nowhere, p.its, 403, "academy_missing")
	}
}

// headRefused asks by HEAD, which is answered wherever GET is.
func (p *probe) headRefused() {
	p.Helper()
	route := p.route
	route.Method = http.MethodHead
	head := *p
	head.route = route
	head.ask(p.nobody, p.its).want(401)
}

func (p *probe) keysRefused(allowed auth.Permission) {
	if allowed.Scope == "" {
		for _, k := range p.keys {
			p.refused(k.caller, p.its, 403, "members_only")
		}
		return
	}
	got := p.refused(p.but[allowed.Scope].caller, p.its, 403, "scope_missing")
	if challenge := got.header.Get("WWW-Authenticate"); !strings.Contains(challenge, `error="insufficient_scope"`) {
		p.Errorf("challenge %q; want insufficient_scope (RFC 6750, section 3.1)", challenge)
	}
}

var (
	uuids    = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`)
	instants = regexp.MustCompile(`\d{4}-\d\d-\d\dT[0-9:.]+Z`)
)

// ask sends the operation's request about some things.
func (p *probe) ask(c *caller, th things) answer {
	p.Helper()
	ids, query, body := p.row.ask(th)
	path := p.route.Path
	for _, id := range ids {
		start, end := strings.Index(path, "{"), strings.Index(path, "}")
		path = path[:start] + string(id) + path[end+1:]
	}
	if p.row.stream {
		return c.in(p.T).glance(path)
	}
	var changes []change
	if p.row.media != "" {
		changes = append(changes, header("Content-Type", p.row.media))
	}
	return c.in(p.T).do(p.route.Method, path+query, body, changes...)
}

// refused wants a refusal that tells nothing of the academy.
func (p *probe) refused(c *caller, th things, status int, code string) answer {
	p.Helper()
	got := p.ask(c, th)
	got.problem(status, code)
	p.silent(got, academyMark, th)
	return got
}

// intruder asks for what is hidden, and must not learn that it is there.
func (p *probe) intruder(c *caller, mark string) {
	p.Helper()
	hides := p.row.hides
	switch {
	case hides == nothing && p.row.fresh == nil, mark == studentMark && hides == ofAcademy && p.route.Method == http.MethodGet:
		p.silent(p.ask(c, p.its), mark, p.its)
		return
	case hides == nothing, mark == studentMark && hides == ofAcademy:
		return // it is allowed, and changes things
	}
	there := p.ask(c, p.its)
	there.want(cmp.Or(p.row.hidden, 404))
	p.silent(there, mark, p.its)
	not := p.ask(c, p.its.without(mark))
	if got, want := anonymous(there), anonymous(not); got != want {
		p.Errorf("%s is told of a hidden thing\n%s\nand of one that is not there\n%s", c.address, got, want)
	}
}

// anonymous is an answer without the identities and the times in it.
func anonymous(a answer) string {
	body := instants.ReplaceAll(uuids.ReplaceAll(a.body, []byte("…")), []byte("then"))
	return fmt.Sprintf("%d %s", a.status, body)
}

// silent wants an answer without a word of somebody else's, and without an
// identity that was not in the request.
func (p *probe) silent(a answer, mark string, th things) {
	p.Helper()
	if strings.Contains(string(a.body), mark) {
		p.Errorf("%s: the answer has %s in it\n%s", a.what, mark, a.body)
	}
	ids, query, body := p.row.ask(th)
	asked := fmt.Sprint(ids, query, body)
	secret := []domain.ID{p.student.id, p.its.session, p.its.assignment, p.its.invitation}
	if mark == academyMark {
		secret = append(secret, p.coach.id, p.its.skill, p.its.programme, p.its.group, p.its.key)
	}
	for _, id := range secret {
		if strings.Contains(string(a.body), string(id)) && !strings.Contains(asked, string(id)) {
			p.Errorf("%s: the answer has the identity %s in it, which was not asked for\n%s", a.what, id, a.body)
		}
	}
}

// succeeds wants a success, or the exception.
func (p *probe) succeeds(c *caller, except int) {
	p.Helper()
	th := p.its
	if p.row.fresh != nil {
		p.row.fresh(p.in(p.T), &th)
	}
	got := p.ask(c, th)
	if except = cmp.Or(except, p.row.answer); except != 0 {
		got.want(except)
	} else if got.status < 200 || got.status > 299 {
		p.Errorf("%s: status %d; want a success\n%s", got.what, got.status, got.body)
	}
}

// in gives the same fixture inside a subtest.
func (w *fixture) in(t *testing.T) *fixture {
	other := *w
	other.academy = academy{w.owner.in(t), w.coach.in(t), w.student.in(t), w.guardian.in(t)}
	return &other
}
