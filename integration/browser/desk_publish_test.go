package browser

import (
	"fmt"
	"testing"

	"fringework/cmd/fringework/client"
	"fringework/integration/browser/fixture"
)

// written is a programme as the API gives it.
type written struct {
	ID    string `json:"id"`
	Draft object `json:"draft"`
}

// onlyProgramme reads the academy's programme.
func (s *setup) onlyProgramme() (w written) {
	s.t.Helper()
	var list struct {
		Items []written `json:"items"`
	}
	s.call(s.Owner, "GET", "/v1/programmes", nil, &list)
	s.call(s.Owner, "GET", "/v1/programmes/"+list.Items[0].ID, nil, &w)
	return w
}

// rewrite changes the first week of a programme's draft.
func (s *setup) rewrite(change func(week object, blocks array)) string {
	s.t.Helper()
	w := s.onlyProgramme()
	week := w.Draft["weeks"].(array)[0].(object)
	change(week, week["plans"].(array)[0].(object)["blocks"].(array))
	s.call(s.Owner, "PUT", "/v1/programmes/"+w.ID, w.Draft, nil)
	return w.ID
}

// judge sets the target radius of a block, in metres.
func judge(block any, radius float64) { block.(object)["drill"].(object)["radius_m"] = radius }

// TestPublishing: what the student will see, what changes for whom, moving those
// who follow the programme at once, and what cannot be passed.
func TestPublishing(t *testing.T) {
	s := newSetup(t)
	programme := s.rewrite(func(week object, blocks array) {
		week["title"] = "Pitching from the rough"
		judge(blocks[4], 1.2192) // 4 ft, and the ladder asks for 5
	})
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/programme/" + programme)
	p.press("Preview")
	p.see("As the student will see it", "60 minutes · week 1 of 1 · Pitching from the rough · 2 times this week", "no step of Pitch to a landing spot has a circle of 4 ft")
	// Shares of 15, 20, 20, 20 and 25 % of an hour.
	p.wait("the hour in its parts", `[...document.querySelectorAll("dialog .hour li")].map((e) => e.innerText.replace(/\s+/g, " ")).join() === "Warm-up 9 min,Technique 12 min,Stations 12 min,Random 12 min,Test 15 min"`)
	p.wait("parts as wide as they last", `(() => { const w = [...document.querySelectorAll("dialog .hour li")].map((e) => e.getBoundingClientRect().width); return Math.abs(w[4] / w[0] - 25 / 15) < 0.05; })()`)
	p.see("3 in a row inside 5 ft", "4 ft around the hole", "One landing spot, three clubs in turn.")
	p.audit("the preview", wcag...)
	p.press("Close")
	p.gone("As the student will see it")

	p.press("Publish version 2")
	p.see("Publish version 2?", "2 changes", "Week 1", "Plan 1, block 5, target radius: 5 ft", "4 ft", "Pitching from the rough",
		"1 student on version 1: Tomas Brandt", "Worth a look: ", "no step of Pitch to a landing spot has a circle of 4 ft")
	p.audit("the summary", wcag...)
	p.press("Move Tomas Brandt to version 2 now")
	p.see("Each stays in the same week.")
	p.press("Publish it")
	p.see("Version 2 is published", "1 student moved to version 2: Tomas Brandt")
	var followed struct {
		Version int `json:"version"`
	}
	s.call(s.Owner, "GET", "/v1/assignments/"+s.AssignmentID, nil, &followed)
	if followed.Version != 2 {
		t.Errorf("Tomas follows version %d, want 2", followed.Version)
	}
	p.press("Keep editing")
	p.gone("Version 2 is published")
	p.press("Publish version 3")
	p.see("Nothing has changed since version 2.")
	p.press("Close")

	p.place("#/versions/" + programme)
	p.see("2 changes", "Week 1", "Title: Pitching from the fairway", "Plan 1, block 5, target radius: 5 ft")

	s.rewrite(func(_ object, blocks array) { judge(blocks[4], 2.4384) }) // 8 ft
	p.place("#/programme/" + programme)
	p.see("1 thing to do")
	p.press("Publish version 3")
	p.see("To do before it can be published:", "this circle is 8 ft, and every step of Pitch to a landing spot needs 5 ft or less")
	p.press("week 1, plan 1 (Long session), block 5 (test): this circle is 8 ft")
	p.wait("the focus on the radius", `document.activeElement?.labels?.[0]?.innerText.startsWith("Target radius")`)
}

// TestMovingFails: whoever cannot be moved is named and keeps their version.
func TestMovingFails(t *testing.T) {
	s := newSetup(t)
	programme := s.rewrite(func(week object, _ array) { week["title"] = "Another title" })
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/programme/" + programme)
	p.press("Publish version 2")
	p.see("1 student on version 1: Tomas Brandt")
	s.call(s.Owner, "POST", "/v1/assignments/"+s.AssignmentID+"/end", nil, nil) // meanwhile
	p.press("Move Tomas Brandt to version 2 now", "Publish it")
	p.see("Version 2 is published", "Not moved; they keep their version", "Tomas Brandt:")
}

// TestCouldNotCount: the coach reads why a session of a student without a
// programme moved nothing, with the session and with the student.
func TestCouldNotCount(t *testing.T) {
	s := newSetup(t)
	code, err := s.Invite(t.Context(), "student", "Zita Okoro")
	s.must(err)
	var in client.SignedIn
	zita := s.Anybody()
	s.call(zita, "POST", "/v1/invitations/accept", object{
		"code": code, "name": "Zita Okoro", "email": "zita@example.org", "password": fixture.Password, "time_zone": "Europe/Lisbon",
	}, &in)
	zita.Token = in.AccessToken
	l := s.newSession(zita, s.PitchID)
	l.strike("in", "in", "in", "out")
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/session/" + l.id)
	p.see("Could not count", "no programme with this skill is assigned, so there is no step to pass", "Assign a programme")
	p.place("#/student/" + in.Membership.MemberID)
	p.see("Could not count", "No programme with this skill is assigned")
	s.call(s.Owner, "POST", "/v1/assignments", object{
		"programme_id": s.onlyProgramme().ID, "student_ids": array{in.Membership.MemberID}, "start_date": s.Clock.Now().Format("2006-01-02"),
	}, nil)
	p.place("#/session/" + l.id)
	p.reload()
	p.see("Passed 3 in a row inside 5 ft")
	p.gone("Could not count")
}

// TestLadderPreview: each step with the chance at every rate and the academy's
// own students, on a phone without scrolling sideways.
func TestLadderPreview(t *testing.T) {
	s := newSetup(t)
	s.practised() // five of ten balls inside, three times
	for _, width := range []int64{390, 1440} {
		p := s.tab(width, 844)
		if width == 390 {
			p.signInDesk(s.OwnerEmail)
		}
		p.open("/desk#/skill/" + s.PitchID)
		// Three in a row were made, five with one holed were not.
		p.see("the circle may stay or shrink; it never grows", "Step 1: 3 in a row inside 5 ft", "Your student has passed.", "Step 2: 5 in a row inside 5 ft", "Your student has not passed yet;", "within 4 sessions.")
		// The rates begin where beginners are; at one ball of ten inside three in a
		// row in 30 balls come in 0.1³ · (1 + 27 · 0.9) = 2.5 % of sessions.
		p.wait("the chances at each rate", `document.querySelectorAll(".chances")[0]?.querySelectorAll(".bar").length === 10 && document.querySelector(".chances title")?.textContent === "10 % inside: 2.5 %"`)
		p.wait("nothing wider than the page", fmt.Sprintf(`[...document.querySelectorAll(".ladder-preview *")].every((e) => e.getBoundingClientRect().right <= %d)`, width))
		p.press("Show as table")
		p.see("Sessions on average")
		p.wait("a table no wider than the page", fmt.Sprintf(`document.querySelector(".ladder-preview table").getBoundingClientRect().right <= %d`, width))
		p.audit(fmt.Sprintf("the ladder at %d", width), wcag...)
		p.Close()
	}
}
