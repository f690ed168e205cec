package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/google/uuid"

	"fringework/cmd/fringework/client"
	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
)

type (
	object = map[string]any
	array  = []any
)

// phoneBelow is the width, in CSS pixels, below which the editor folds its blocks.
const phoneBelow = 640

// demoOwner owns the demo's academy.
const demoOwner = "odile@larkmoor.example"

// signInDesk signs in on the desk and waits for its first page.
func (p *photographer) signInDesk(email, password string) {
	p.signIn("/desk", email, password)
	p.heading("Today")
}

// heading waits until a page has opened and has what it shows.
func (p *photographer) heading(text string) {
	p.do(func() error {
		return p.tab.Wait("the page "+text, fmt.Sprintf("document.querySelector('h1')?.innerText.includes(%q) && !document.body.innerText.includes('Loading')", text))
	})
}

// at goes to a page of the desk and takes a picture of it.
func (p *photographer) at(name, address, heading string) {
	p.place(address)
	p.heading(heading)
	p.shot("desk-"+name, true)
}

// link gives the address of the first link that begins so.
func (p *photographer) link(begins string) (address string) {
	p.do(func() (err error) {
		address, err = chrome.Eval[string](p.tab, fmt.Sprintf(`document.querySelector('main a[href^="%s"]')?.getAttribute("href") ?? ""`, begins))
		if err == nil && address == "" {
			err = fmt.Errorf("no link to %s on the page", begins)
		}
		return err
	})
	return address
}

// dialog opens a dialog, takes a picture and closes it.
func (p *photographer) dialog(name, opener string) {
	p.press(opener)
	p.do(func() error {
		return p.tab.Wait("the dialog", `document.querySelector("dialog[open]") && !document.querySelector("dialog[open]").innerText.includes("Loading")`)
	})
	p.shot("desk-"+name, false)
	p.do(func() error { return p.tab.Keys("\x1b") })
}

// coach is the coach's round on the desk, with students on the green.
func (p *photographer) coach() {
	p.signInDesk(demoCoach, demoPassword)
	p.see("in a row now")
	p.shot("desk-today", true)
	student := p.link("#/student/")
	p.press("Why")
	p.shot("desk-today-why", true)
	p.dialog("today-seen", "Seen")
	p.dialog("today-comment", "Write a comment")
	p.dialog("today-plan", "Change the plan")
	p.dialog("today-pause", "Pause")
	p.at("lessons", "#/lessons", "Lessons today")
	p.press("Plan lessons")
	p.see("First at")
	p.shot("desk-lessons-plan", true)
	p.place(p.link("#/lesson/"))
	p.see("What to look at")
	p.shot("desk-lesson", true)
	p.at("live", "#/live", "On the green")
	p.at("students", "#/students", "Students")
	p.at("students-nobody", "#/students?name=nobody", "Students")
	p.at("next-week", "#/proposals", "Next week")
	name := student[strings.LastIndex(student, "/")+1:]
	p.place(student)
	p.see("Latest sessions")
	p.shot("desk-student", true)
	p.press("in the next session")
	p.see("Minutes by the week")
	p.shot("desk-student-skill", true)
	p.press("Show as table")
	p.shot("desk-student-table", true)
	p.at("messages-one", "#/messages/"+name, "Messages with")
	p.at("sessions", "#/sessions/"+name, "Sessions of")
	p.at("session", p.link("#/session/"), "Session of")
	p.at("rounds", "#/rounds/"+name, "Rounds on the course")
	p.place("#/report/" + name)
	p.press("With the numbers behind it")
	p.see("a flag marks a step passed")
	p.shot("desk-report", true)
	p.programmes()
	p.people()
}

func (p *photographer) programmes() {
	p.at("programmes", "#/programmes", "Programmes")
	programme := p.link("#/programme/")
	p.place(programme)
	p.see("Ready to publish")
	p.shot("desk-programme", true)
	p.press("Ladder of ")
	p.see("Even odds at")
	p.shot("desk-programme-ladder", true)
	p.place("#/programmes")
	p.heading("Programmes")
	p.fill("Name", "A new programme")
	p.press("Pitch")
	p.press("Greenside bunker")
	p.press("Short putts")
	p.shot("desk-programmes-ticked", true)
	p.press("Begin")
	p.heading("A new programme")
	p.press("Add a week")
	p.see("What does week 4 train?")
	p.shot("desk-programme-week", false)
	p.press("Choose later")
	p.see("1 thing to do")
	p.press("Before publication")
	if p.size[0] < phoneBelow {
		p.press("Block 1: ")
	}
	p.press("Drill: ")
	p.press("Limits on the time split")
	p.shot("desk-programme-new", true)
	p.do(func() error { p.service.Wire.Cut(); return nil })
	p.fill("Title", "Written on the train")
	p.see("once there is a connection")
	p.shot("desk-programme-offline", false)
	p.do(func() error { p.service.Wire.Mend(); return nil })
	p.see("Saved.")
	p.press("Archive")
	p.see("Bring back")
	p.at("versions", "#/versions/"+strings.TrimPrefix(programme, "#/programme/"), "Versions of")
	p.place("#/cohort/" + strings.TrimPrefix(programme, "#/programme/"))
	p.see("Who stands where")
	p.shot("desk-cohort", true)
	p.at("skills", "#/skills", "Skills")
	p.place(p.link("#/skill/01"))
	p.see("Even odds at")
	p.see("After days away")
	p.press("Technique: ")
	p.press("Test: ")
	p.shot("desk-skill", true)
	p.at("assign", "#/assign", "Assign")
	p.at("import", "#/import", "Import")
	p.fill("Document", "format: fringework-programme/1\nname: [\n")
	p.press("Import")
	p.place("#/import")
}

func (p *photographer) people() {
	p.at("people", "#/people", "People")
	p.at("member", p.link("#/member/"), "")
	p.at("data", "#/data", "Data")
	p.place("#/invitations")
	p.see("Invite a person")
	p.fill("Name", "Someone new")
	p.press("Make the invitation")
	p.see("Invitation made for")
	p.shot("desk-invitations", true)
	p.fill("Paste your students", "Edda Falk\nFinn Holm, finn.holm@example.org\nGry Solberg")
	p.press("Invite 3 students")
	p.see("3 invitations made")
	p.shot("desk-invitations-sheet", true)
	p.at("groups", "#/groups", "Groups")
	p.at("bulk", "#/bulk", "Change programmes for several students")
	p.at("messages", "#/messages", "Message to students")
	p.at("cards", "#/cards", "Practice cards")
	p.at("academy", "#/academy", "Academy")
	p.at("settings", "#/settings", "Settings")
}

// owner is what only an owner sees.
func (p *photographer) owner() {
	p.signInDesk(demoOwner, demoPassword)
	p.at("owner-keys", "#/keys", "Keys")
	p.fill("Which software", "Club newsletter")
	p.press("Sessions and comments")
	p.press("Make the key")
	p.see("Key made for")
	p.shot("desk-owner-key-made", true)
	p.connecting()
	p.webhooks()
	p.at("owner-log", "#/log", "Log")
	p.at("owner-academy", "#/academy", "Academy")
}

// connecting is an app from being registered to being let in.
func (p *photographer) connecting() {
	const back = "https://diary.example/connected"
	p.at("owner-apps", "#/apps", "Apps")
	p.fill("Name, as people will see it", "Swing diary")
	p.fill("Where people return to", back)
	p.press("Sessions and comments")
	p.press("Progress, dashboard and what to do now")
	p.press("Register it")
	p.see("Swing diary is registered")
	p.shot("desk-owner-app-registered", true)
	ask := url.Values{
		"response_type": {"code"}, "redirect_uri": {back}, "code_challenge_method": {"S256"}, "code_challenge": {"E9Melhoa2OwvFrEMTJguCHaoeK1t8URWbuGJSstw-cM"},
	}
	secret := ""
	p.do(func() error {
		shown, err := chrome.Eval[[]string](p.tab, "[...document.querySelectorAll('.notice .secret')].map((e) => e.textContent)")
		if err == nil {
			ask.Set("client_id", shown[0])
			secret = shown[1]
		}
		return err
	})
	p.open("/connect?" + ask.Encode())
	p.see("It asks to")
	p.shot("connect", true)
	p.allow(ask, secret)
	ask.Set("scope", "everything")
	p.open("/connect?" + ask.Encode())
	p.see("cannot be connected")
	p.shot("connect-wrong", true)
	p.open("/apps")
	p.see("You have let these apps")
	p.shot("apps", true)
	p.press("Disconnect")
	p.see("Keep it")
	p.press("Disconnect")
	p.see("No apps yet")
	p.shot("apps-empty", true)
	p.open("/desk#/log")
}

// allow lets the app in, as the page's button does and then the app, which is at no
// address here. The verifier is that of RFC 7636, appendix B, as the challenge is.
func (p *photographer) allow(ask url.Values, secret string) {
	p.do(func() error {
		owner := p.service.Anybody()
		var in client.SignedIn
		if err := owner.Call(p.ctx, "POST", "/v1/sign-in", object{"email": demoOwner, "password": demoPassword}, &in); err != nil {
			return err
		}
		owner.Token = in.AccessToken
		body := object{"allow": true}
		for name := range ask {
			body[name] = ask.Get(name)
		}
		var allowed struct {
			ReturnTo string `json:"return_to"`
		}
		if err := owner.Call(p.ctx, "POST", "/v1/oauth/authorizations", body, &allowed); err != nil {
			return err
		}
		back, err := url.Parse(allowed.ReturnTo)
		if err != nil {
			return err
		}
		res, err := http.PostForm(owner.Base+"/v1/oauth/token", url.Values{ //nolint:noctx // a command at a service of its own
			"grant_type": {"authorization_code"}, "code": {back.Query().Get("code")}, "redirect_uri": {ask.Get("redirect_uri")},
			"client_id": {ask.Get("client_id")}, "client_secret": {secret}, "code_verifier": {"dBjftJeZ4CVP-mB92K27uhbUJU1p1r_wW1gFWFOEjXk"},
		})
		if err != nil {
			return err
		}
		if err := res.Body.Close(); err != nil || res.StatusCode != http.StatusOK {
			return errors.Join(err, fmt.Errorf("the app's code gives %s", res.Status))
		}
		return nil
	})
}

// webhooks is an address that is told of events, from the first.
func (p *photographer) webhooks() {
	p.at("owner-webhooks-empty", "#/webhooks", "Webhooks")
	p.fill("Which software", "Club board")
	p.fill("Its address", "https://club.example/hooks/practice")
	p.press("Steps passed")
	p.press("Make the webhook")
	p.see("Secret of Club board")
	p.shot("desk-owner-webhooks", true)
}

// bare are the states of the desk with nothing in it, with very long names, and
// without an answer.
func (p *photographer) bare() {
	p.signInDesk(p.long.OwnerEmail, fixture.Password)
	p.see("Nobody is practising")
	p.shot("desk-long-today", true)
	student := "#/student/" + p.long.StudentID
	p.at("long-students", "#/students", "Students")
	p.at("long-student", student, p.long.StudentName)
	p.at("long-report", "#/report/"+p.long.StudentID, "Progress report")
	p.at("long-programmes", "#/programmes", "Programmes")
	p.place(p.link("#/programme/"))
	p.see("Ready to publish")
	p.shot("desk-long-programme", true)
	p.at("long-assign", "#/assign", "Assign")
	p.at("long-people", "#/people", "People")
	p.at("long-member", "#/member/"+p.long.StudentID, p.long.StudentName)
	p.at("failed-student", "#/student/01a211ef-1832-783f-b732-da2d950732d5", "Student")
	p.do(func() error { p.service.Wire.Cut(); return nil })
	p.place("#/sessions/01a211ef-1832-783f-b732-da2d950732d5")
	p.see("once there is a connection")
	p.shot("desk-failed-sessions", true)
	p.at("stale-students", "#/students", "Students")
	p.do(func() error { p.service.Wire.Mend(); return nil })
	p.at("empty-groups", "#/groups", "Groups")
	p.at("empty-keys", "#/keys", "Keys")
	p.at("nowhere", "#/nowhere", "Nothing here")
}

// first is an academy in its first minute.
func (p *photographer) first() {
	email := fmt.Sprintf("first-%d-%s@example.org", p.size[0], p.scheme)
	p.do(func() error {
		return p.service.Anybody().Call(p.ctx, "POST", "/v1/academies", object{
			"academy_name": "Heather Banks", "time_zone": "Europe/Lisbon", "name": "Ines Duarte", "email": email, "password": fixture.Password,
		}, nil)
	})
	p.signInDesk(email, fixture.Password)
	p.see("Four steps")
	p.shot("desk-first-today", true)
	p.at("first-students", "#/students", "Students")
	p.at("first-programmes", "#/programmes", "Programmes")
	p.at("first-skills", "#/skills", "Skills")
	p.at("first-assign", "#/assign", "Assign")
	p.place("#/skill/new")
	p.see("Even odds at")
	p.shot("desk-first-skill", true)
}

// practising sends sessions of a few of the demo's students that go on now.
func practising(ctx context.Context, s *fixture.Service) error {
	outcomes := []string{"in", "in", "out", "holed", "in", "in", "in", "out", "in", "in", "in", "in", "in"}
	for i, name := range []string{"anouk", "bastian", "cosima", "edda"} {
		var in client.SignedIn
		c := s.Anybody()
		if err := c.Call(ctx, "POST", "/v1/sign-in", object{"email": name + "@larkmoor.example", "password": demoPassword}, &in); err != nil {
			return err
		}
		c.Token = in.AccessToken
		if err := goingOn(ctx, c, s.Clock.Now(), in.Membership.MemberID, outcomes[:5+2*i]); err != nil {
			return err
		}
		if i == 0 {
			if err := coached(ctx, s, in.Membership.MemberID); err != nil {
				return err
			}
		}
	}
	return nil
}

// coached is what the coach says to a student, and changes for them.
func coached(ctx context.Context, s *fixture.Service, student string) error {
	var in client.SignedIn
	c := s.Anybody()
	if err := c.Call(ctx, "POST", "/v1/sign-in", object{"email": demoCoach, "password": demoPassword}, &in); err != nil {
		return err
	}
	c.Token = in.AccessToken
	var sessions struct {
		Items []struct {
			ID string `json:"id"`
		} `json:"items"`
	}
	if err := c.Call(ctx, "GET", "/v1/sessions?limit=2&student_id="+student, nil, &sessions); err != nil || len(sessions.Items) < 2 {
		return err
	}
	if err := c.Call(ctx, "POST", "/v1/sessions/"+sessions.Items[1].ID+"/comments", object{"text": "Good rhythm. Let the ball come to you in the bunker."}, nil); err != nil {
		return err
	}
	if err := c.Call(ctx, "POST", "/v1/students/"+student+"/messages", object{"text": "The green is cut short on Thursday: try the test then."}, nil); err != nil {
		return err
	}
	return c.Call(ctx, "POST", "/v1/adjustments", object{"items": array{object{
		"student_id": student, "kind": "sessions", "sessions_per_week": 2, "until": s.Clock.Now().AddDate(0, 0, 20).Format(time.DateOnly), "text": "Two sessions a week are enough for now.",
	}}}, nil)
}

// goingOn sends one session that goes on.
func goingOn(ctx context.Context, c client.Client, now time.Time, student string, outcomes []string) error {
	var present struct {
		Skills []struct {
			ID string `json:"id"`
		} `json:"skills"`
	}
	if err := c.Call(ctx, "GET", "/v1/students/"+student+"/now", nil, &present); err != nil || len(present.Skills) == 0 {
		return err
	}
	var balls array
	for i, o := range outcomes {
		balls = append(balls, object{"outcome": o, "after_s": 20 * (i + 1)})
	}
	return c.Call(ctx, "PUT", "/v1/sessions/"+uuid.Must(uuid.NewV7()).String(), object{
		"revision": 1, "started_at": now.Add(-15 * time.Minute).Format(time.RFC3339),
		"blocks": array{object{"kind": "test", "skill_id": present.Skills[0].ID, "radius_m": 1.524, "seconds": 20 * len(balls), "balls": balls}},
	}, nil)
}
