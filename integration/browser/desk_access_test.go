package browser

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"

	"fringework/integration/browser/fixture"
)

// practised gives the student a history and a stall: an eight-week programme
// since four weeks ago, three sessions in it, none for nearly three weeks. The first
// and the last are never in the same week, so that there is a chart of weeks.
func (s *setup) practised() {
	s.t.Helper()
	spot := object{"text": "Same spot, same club.", "radius_m": 1.524}
	week := object{"title": "Pitching", "skill_id": s.PitchID, "plans": array{object{"name": "Short session", "minutes": 30, "times": 2, "blocks": array{object{"kind": "test", "share": 100, "drill": spot}}}}}
	var programme struct {
		ID string `json:"id"`
	}
	s.call(s.Owner, "POST", "/v1/programmes", object{"name": "Eight weeks of pitching", "weeks": slices.Repeat(array{week}, 8)}, &programme)
	s.call(s.Owner, "POST", "/v1/programmes/"+programme.ID+"/versions", nil, nil)
	s.call(s.Owner, "POST", "/v1/assignments", object{
		"programme_id": programme.ID, "student_ids": array{s.StudentID}, "start_date": s.Clock.Now().AddDate(0, 0, -28).Format(time.DateOnly),
	}, nil)
	for _, days := range []int{27, 22, 19} {
		l := s.newSession(s.Student, s.PitchID)
		l.started = s.Clock.Now().AddDate(0, 0, -days)
		if days == 19 {
			l.landings = slices.Repeat(array{
				object{"club": "Sand wedge", "loft_deg": 56, "lie": "fairway", "carry_m": 6.096, "total_m": 12.192, "aim_m": 6.4},
				object{"club": "9-iron", "loft_deg": 41, "lie": "rough", "carry_m": 5.4864, "total_m": 14.0208},
			}, 12)
		}
		l.strike("in", "out", "in", "holed", "out", "in", "in", "in", "out", "out")
		if days == 19 {
			s.call(s.Owner, "POST", "/v1/sessions/"+l.id+"/comments", object{"text": "A good start."}, nil)
			s.last = l.id
		}
	}
	s.call(s.Owner, "POST", "/v1/groups", object{"name": "Saturday morning", "student_ids": array{s.StudentID}}, nil)
	_, err := s.Invite(s.t.Context(), "student", "Edda Marchetti")
	s.must(err)
	s.must(s.LearnAll(s.t.Context()))
}

// deskPage is an address on the desk, and what it shows.
type deskPage struct{ at, text string }

// lesson plans a lesson of the student, of the day after tomorrow.
func (s *setup) lesson() string {
	s.t.Helper()
	var made struct {
		Items []struct {
			ID string `json:"id"`
		} `json:"items"`
	}
	s.call(s.Owner, "POST", "/v1/lessons", object{"student_ids": array{s.StudentID}, "starts_at": s.Clock.Now().AddDate(0, 0, 2)}, &made)
	return made.Items[0].ID
}

// deskPages are all pages of the desk, for an owner.
func (s *setup) deskPages() []deskPage {
	s.t.Helper()
	var programmes struct {
		Items []struct {
			ID string `json:"id"`
		} `json:"items"`
	}
	s.call(s.Owner, "GET", "/v1/programmes", nil, &programmes)
	programme := programmes.Items[0].ID
	return []deskPage{
		{"#/today", "Not practising"}, {"#/live", "Nobody is practising"},
		{"#/students", "1 student."}, {"#/students?name=nobody", "Nobody matches"}, {"#/proposals", "1 student goes on as planned"}, {"#/student/" + s.StudentID, "Latest sessions"},
		{"#/sessions/" + s.StudentID, "Own practice"}, {"#/session/" + s.last, "A good start."}, {"#/lessons", "No lesson on this day"}, {"#/lesson/" + s.lesson(), "What to look at"}, {"#/rounds/" + s.StudentID, "No round yet"}, {"#/report/" + s.StudentID, "Please keep in mind"},
		{"#/programmes", "Write a new programme"}, {"#/programme/" + programme, "Ready to publish"}, {"#/versions/" + programme, "Steps as they were"}, {"#/cohort/" + programme, "Who stands where"},
		{"#/skills", "Pitch to a landing spot"}, {"#/skill/" + s.PitchID, "no long break so far"}, {"#/skill/new", "Create the skill"},
		{"#/bulk", "What to do"}, {"#/messages", "Message to students"}, {"#/messages/" + s.StudentID, "No messages yet"}, {"#/cards", "Which week"},
		{"#/assign", "First day of week 1"}, {"#/import", "Its schema"},
		{"#/match", "Who plays"}, {"#/people", "2 members"}, {"#/member/" + s.StudentID, "Saturday morning"}, {"#/invitations", "Edda Marchetti"}, {"#/groups", "Saturday morning: 1 student"},
		{"#/academy", "Name of the academy"}, {"#/data", "Import sessions"}, {"#/keys", "No keys yet"}, {"#/webhooks", "No webhooks yet"}, {"#/log", "Session saved"}, {"#/settings", "Change your password"},
		{"#/nothing", "There is no such page"}, {"#/student/01a211ef-1832-783f-b732-da2d950732d5", "could not be loaded"},
	}
}

// TestDeskAccessible holds every page of the desk to axe-core, on a laptop in
// light and on a phone in the dark, dialogs included, and to narrow windows.
func TestDeskAccessible(t *testing.T) {
	s := newSetup(t)
	s.practised()
	for _, look := range []struct {
		width, height int64
		scheme        string
	}{{1440, 900, "light"}, {390, 844, "dark"}} {
		p := s.tab(look.width, look.height)
		s.must(p.Prefer(map[string]string{"prefers-color-scheme": look.scheme, "prefers-reduced-motion": "reduce"}))
		if look.scheme == "light" {
			p.signInDesk(s.OwnerEmail)
		}
		p.open("/desk")
		for _, page := range s.deskPages() {
			p.place(page.at)
			p.see(page.text)
			p.audit(fmt.Sprintf("%s at %d, %s", page.at, look.width, look.scheme), wcag...)
			if look.scheme == "light" {
				p.reflows(page.at)
				s.must(p.Size(look.width, look.height))
			}
		}
		for _, dialog := range []string{"Seen: Not practising, Tomas Brandt", "Write a comment, Tomas Brandt", "Change the plan, Tomas Brandt", "Pause, Tomas Brandt"} {
			p.place("#/live")
			p.place("#/today") // with nothing unfolded
			p.press("Why, Tomas Brandt")
			p.audit("a line unfolded", wcag...)
			p.press(dialog)
			p.wait("the dialog "+dialog, `document.querySelector("dialog[open] button")`)
			p.gone("Loading")
			p.audit(dialog, wcag...)
			s.must(p.Keys(kb.Escape))
			p.wait("the dialog to go", `!document.querySelector("dialog[open]")`)
		}
		p.place("#/student/" + s.StudentID)
		p.press("Pitch to a landing spot")
		p.see("Minutes by the week")
		p.audit("a skill unfolded", wcag...)
		p.press("Show as table")
		p.see("80 % band")
		p.audit("a chart as a table", wcag...)
		p.Close()
	}
}

// reflows holds a page to 200 % zoom on a laptop (720 CSS pixels) and to 320 CSS
// pixels (WCAG 2.2, 1.4.10): nothing but tables and code, which scroll by
// themselves, may be wider than the window. Nothing moves for whoever prefers so.
func (p *page) reflows(where string) {
	p.s.t.Helper()
	for _, width := range []int64{720, 320} {
		p.s.must(p.Size(width, 640))
		p.drawn()
		if wide := p.value(`String(document.documentElement.scrollWidth - document.documentElement.clientWidth)`); wide != "0" {
			p.s.t.Errorf("%s is %s px wider than a window of %d px", where, wide, width)
		}
		if moving := p.value(`String(document.getAnimations().length)`); moving != "0" {
			p.s.t.Errorf("%s: %s things move at %d px", where, moving, width)
		}
	}
}

// drawn waits until what was changed has been drawn.
func (p *page) drawn() { p.s.t.Helper(); p.value(drawn + `.then(() => "")`) }

const drawn = `new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)))`

const focused = `((e) => (e.getAttribute("aria-label") ?? e.labels?.[0]?.innerText ?? e.innerText ?? "").replace(/\s+/g, " ").trim())(document.activeElement)`

// tabTo presses the tab key until the focus is on what is called name, or, with
// an asterisk at its end, is called something that begins so. It sees that the
// focus can be seen.
func (p *page) tabTo(name string) {
	p.s.t.Helper()
	begins, open := strings.CutSuffix(name, "*")
	var passed []string
	// A page may redraw meanwhile and lose the focus; then it goes round again.
	for began := time.Now(); len(passed) < 200 || time.Since(began) < time.Minute; {
		p.s.must(p.Keys(kb.Tab))
		got := p.value(drawn + `.then(() => ` + focused + `)`)
		if got == name || open && strings.HasPrefix(got, begins) {
			if outline := p.value(`((e) => getComputedStyle(e.type === "radio" || e.type === "checkbox" ? e.closest("label") : e).outlineStyle)(document.activeElement)`); outline == "none" {
				p.s.t.Errorf("the focus on %q cannot be seen", name)
			}
			return
		}
		passed = append(passed, got)
	}
	p.s.t.Fatalf("the tab key does not reach %q; it passed %q", name, passed)
}

func (p *page) keys(keys string) { p.s.t.Helper(); p.s.must(p.Keys(keys)) }

// TestDeskByKeyboard does the coach's main job without a mouse.
func TestDeskByKeyboard(t *testing.T) {
	s := newSetup(t)
	s.practised()
	p := s.laptop()
	p.open("/desk")
	p.see("E-mail")
	p.tabTo("E-mail")
	p.keys(s.OwnerEmail)
	p.tabTo("Password")
	p.keys(fixture.Password + kb.Enter)
	p.see("Not practising")

	// Past the navigation, and a reason seen; the focus is in the dialog
	// while it is open and not lost after it.
	p.reload()
	p.see("Not practising")
	p.tabTo("Skip to the content")
	p.keys(kb.Enter)
	p.wait("the focus on the content", `document.activeElement.id === "main"`)
	p.tabTo("Why, Tomas Brandt*")
	p.keys(kb.Enter)
	p.tabTo("Seen: Not practising*")
	p.keys(kb.Enter)
	p.wait("the focus in the dialog", `document.activeElement.closest("dialog[open]")`)
	p.keys(kb.Escape)
	p.wait("the focus back", focused+`.startsWith("Seen: Not practising")`)
	p.keys(kb.Enter)
	p.see("Remind me in")
	p.tabTo("Remind me then")
	p.keys(kb.Enter)
	p.see("Seen: 1")
	p.wait("the focus near", `document.activeElement.closest("main section")`)

	// A programme, from its name to its students.
	p.tabTo("Programmes")
	p.keys(kb.Enter)
	p.heading("Programmes")
	p.wait("the focus on the page", `document.activeElement.tagName === "H1"`)
	p.tabTo("Name")
	p.keys("By keys" + kb.Enter)
	p.heading("By keys")
	p.tabTo("Skill")
	p.keys("Pitch")
	p.see("Ready to publish", "Saved.")
	p.tabTo("Copy block 4*")
	p.keys(kb.Enter)
	p.see("25 % too much")
	p.tabTo("Remove block 5*")
	p.keys(kb.Enter)
	p.see("Shares: 100 of 100 %")
	p.wait("the focus near", `document.activeElement.closest("main section")`)
	// The focus stays with what is moved, and it is said where that is now.
	p.tabTo("Move down block 1*")
	p.keys(kb.Enter)
	p.see("Block 1, Technique, is block 2 now.")
	p.wait("the focus on the same block", focused+`.startsWith("Move down block 2")`)
	p.keys(kb.Enter)
	p.see("Block 2, Technique, is block 3 now.")
	p.keys(kb.Enter)
	p.see("Block 3, Technique, is block 4 now.")
	p.wait("the focus on what is left to press", focused+`.startsWith("Move up block 4")`)
	p.see("Saved.")
	p.tabTo("Publish version 1")
	p.keys(kb.Enter)
	p.see("Publish version 1?", "Students", "None yet.")
	p.tabTo("Publish it")
	p.keys(kb.Enter)
	p.see("Version 1 is published")
	p.tabTo("Assign it")
	p.keys(kb.Enter)
	p.heading("Assign a programme")
	p.tabTo("Tomas Brandt")
	p.keys(" ")
	p.see("(1 chosen)")
	p.tabTo("Assign from*")
	p.keys(kb.Enter)
	p.see("Assigned to 1 student")

	// A comment on the last session.
	p.tabTo("Students")
	p.keys(kb.Enter)
	p.heading("Students")
	p.tabTo("Tomas Brandt")
	p.keys(kb.Enter)
	p.heading("Tomas Brandt")
	p.tabTo("Comment on the last session")
	p.keys(kb.Enter)
	p.see("What the student will read")
	p.tabTo("What the student will read")
	p.keys("Written without a mouse.")
	p.tabTo("Send the comment")
	p.keys(kb.Enter)
	p.gone("What the student will read")
	p.place("#/session/" + s.last)
	p.see("Written without a mouse.", "Where balls landed and stopped", "24 balls logged; the green: 9 ft on the stimpmeter, 1° uphill.", "20 → 40", "18 → 46")
}
