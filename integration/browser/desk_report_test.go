package browser

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"fringework/integration/browser/fixture"
)

// sheet is a leaf of a PDF (ISO 32000-2, 7.7.3.3).
var sheet = regexp.MustCompile(`/Type\s*/Page\b`)

// TestReport prints the report on A4 and on Letter: one student with one skill
// fits on two sheets.
func TestReport(t *testing.T) {
	s := newSetup(t)
	s.practised()
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/report/" + s.StudentID)
	p.see("Progress report: Tomas Brandt", "What was achieved", "Tomas Brandt has logged 3 sessions.", "What comes next", "Next week")
	p.gone("a flag marks a step passed")
	p.press("With the numbers behind it")
	p.see("a flag marks a step passed")
	p.fill("Your own words", "A good start.")
	for name, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
		pdf, err := p.PDF(size[0], size[1])
		s.must(err)
		if n := len(sheet.FindAll(pdf, -1)); !bytes.HasPrefix(pdf, []byte("%PDF-")) || n < 1 || n > 2 {
			t.Errorf("on %s: got %d sheets, want 1 or 2", name, n)
		}
	}

	// A junior's report has the first name and no days.
	s.call(s.Owner, "PATCH", "/v1/members/"+s.StudentID, object{"junior": true}, nil)
	p.reload()
	p.see("Progress report: Tomas", "This report is about a junior")
	text := p.value(`document.querySelector("main").innerText`)
	date := regexp.MustCompile(`\d{1,2} \w{3} 20\d\d`).FindAllString(text, -1)
	if strings.Contains(text, "Brandt") || len(date) != 1 {
		t.Errorf("a junior's report names the family or days other than its own (%q):\n%s", date, text)
	}
}

// TestGuardian is a guardian's desk: consent, and the junior's progress.
func TestGuardian(t *testing.T) {
	s := newSetup(t)
	s.practised()
	s.call(s.Owner, "PATCH", "/v1/members/"+s.StudentID, object{"junior": true}, nil)
	var made struct {
		Code string `json:"code"`
	}
	s.call(s.Owner, "POST", "/v1/invitations", object{"role": "guardian", "student_id": s.StudentID, "name": "Hanne Brandt"}, &made)
	p := s.phone()
	p.open("/join#" + made.Code)
	p.see("guardian of Tomas Brandt")
	p.fill("Your e-mail", "hanne.brandt@example.org")
	p.fill("Password", fixture.Password)
	p.press("Join")
	p.see("Your junior", "Tomas Brandt", "Your consent is needed")
	p.audit("a guardian's desk", wcag...)
	p.press("Give consent")
	p.see("Withdraw consent")
	p.gone("Your consent is needed")
	p.press("Progress report")
	p.see("Progress report: Tomas", "This report is about a junior")
	p.audit("a guardian's report", wcag...)
	if wide := p.value(`String(document.documentElement.scrollWidth - document.documentElement.clientWidth)`); wide != "0" {
		t.Errorf("%s px too wide", wide)
	}
}

// TestKeys makes a key, which is shown once, and revokes it; the log tells.
func TestKeys(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/keys")
	p.see("No keys yet")
	p.fill("Which software", "Club newsletter")
	p.press("Progress, dashboard and what to do now", "Make the key")
	p.see("Key made for Club newsletter", "it is shown only once", "fwk_")
	p.reload()
	p.see("never used")
	p.gone("fwk_")
	p.press("Revoke the key of Club newsletter", "Revoke")
	p.see(fmt.Sprintf("revoked %s", p.value(`[...document.querySelectorAll(".small")].map((e) => /Made ([^,]+),/.exec(e.innerText)?.[1]).find(Boolean)`)))
	p.place("#/log")
	p.see("Key revoked", "Key made", "Club newsletter")
}
