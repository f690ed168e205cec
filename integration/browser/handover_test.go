package browser

import (
	"fmt"
	"strings"
	"testing"

	"fringework/integration/browser/fixture"
)

// TestPasteNames pastes thirty names, one of them wrong, and gives whoever joins
// a programme: two fields, one press.
func TestPasteNames(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/invitations")
	p.see("Invite several students")
	lines := make([]string, 30)
	for i := range lines {
		lines[i] = fmt.Sprintf("Student %c%c", 'A'+i/6, 'a'+i%6)
	}
	lines[4] += ", nobody@"
	lines[7] += " <seventh@example.org>"
	p.fill("Paste your students", strings.Join(lines, "\n"))
	p.choose("Assign a programme", "Six weeks around the green")
	p.press("Invite 30 students")
	p.see("29 invitations made", "1 line to correct", "Student Ae, nobody@: is not an e-mail address", "Student Bb")
	p.audit("invitations made", wcag...)
	if n := p.value(`String(document.querySelectorAll(".code-card").length)`); n != "29" {
		t.Errorf("the sheet has %s cards; want 29", n)
	}
	if left := p.value(`document.querySelector("textarea").value`); left != "Student Ae, nobody@" {
		t.Errorf("left to correct is %q; want the one that was refused", left)
	}
	pdf, err := p.PDF(8.27, 11.69)
	s.must(err)
	if n := len(sheet.FindAll(pdf, -1)); n < 2 || n > 5 {
		t.Errorf("the codes take %d sheets of A4; want 2 to 5", n)
	}
	link := p.value(`document.querySelectorAll(".code-card .secret")[0].innerText`)
	_, code, _ := strings.Cut(link, "#")

	// The open ones are listed, and one that is withdrawn is not any more.
	p.press("Withdraw the invitation of Student Ee")
	p.wait("it to go", `![...document.querySelectorAll("li")].some((e) => e.innerText.includes("Student Ee"))`)
	p.press("Show accepted, withdrawn and expired ones as well")
	p.see("Student Ee, student: withdrawn")

	phone := s.phone()
	phone.open("/join#" + code)
	phone.see("Maren Holt invites you to join as a student")
	phone.fill("Your e-mail", "student.aa@example.org")
	phone.fill("Password", fixture.Password)
	phone.press("Join")
	phone.see("Six weeks around the green starts on")
}

// TestBulk pauses several students at once, and tells of one who is refused.
func TestBulk(t *testing.T) {
	s := newSetup(t)
	ids := array{s.StudentID}
	for i, name := range []string{"Anouk Brenner", "Zita Okoro"} {
		code, err := s.Invite(t.Context(), "student", name)
		s.must(err)
		var in struct {
			Membership struct {
				MemberID string `json:"member_id"`
			} `json:"membership"`
		}
		s.call(s.Anybody(), "POST", "/v1/invitations/accept", object{
			"code": code, "name": name, "email": fmt.Sprintf("student%d@example.org", i), "password": fixture.Password, "time_zone": "Europe/Lisbon",
		}, &in)
		ids = append(ids, in.Membership.MemberID)
	}
	s.call(s.Owner, "POST", "/v1/groups", object{"name": "Sunday", "student_ids": ids[:2]}, nil)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)

	// Whoever lacks the group's programme is offered it in one press.
	p.place("#/groups")
	p.press("Sunday: 2 students")
	p.press("Save the group")
	p.see("The group follows Six weeks around the green; Anouk Brenner does not")
	p.press("Assign it, in step with the group")
	p.see("Anouk Brenner: Six weeks around the green from")

	p.place("#/today")
	p.place("#/groups") // with the group folded
	p.press("Sunday: 2 students", "Programmes of Sunday")
	p.see("Students (2 chosen)")
	p.press("Pause", "Zita Okoro")
	p.fill("Why", "Camp")
	p.audit("programmes of many students", wcag...)
	p.press("Pause 3 students")
	p.see("Done for 2 of 3 students", "Zita Okoro: Zita Okoro has no programme to pause", "Tomas Brandt: paused from")
	p.press("End")
	p.press("End for 3 students")
	p.see("Done for 2 of 3 students", "Tomas Brandt: ended")
}

// TestSharedReport shares a report by a link, which somebody without an account
// opens, until it is withdrawn.
func TestSharedReport(t *testing.T) {
	s := newSetup(t)
	s.practised()
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/report/" + s.StudentID)
	p.see("What was achieved")
	p.fill("Your own words", "A good start, Tomas.")
	p.press("Share by a link", "Make a link")
	p.see("Share this now; it is shown only once")
	p.audit("sharing a report", wcag...)
	_, token, _ := strings.Cut(p.value(`document.querySelector("a.secret").href`), "/report#")

	s.elsewhere()
	guest := s.phone()
	guest.open("/report#" + token)
	guest.see("Tomas’s progress", "A good start, Tomas.", "What was achieved", "in a row inside 5 ft", "What comes next", "Six weeks around the green")
	guest.accessible("a shared report")
	text := guest.value(`document.body.innerText`)
	for _, secret := range []string{"Brandt", s.StudentEmail, s.OwnerEmail} {
		if strings.Contains(text, secret) {
			t.Errorf("the report has %q in it:\n%s", secret, text)
		}
	}
	if robots := guest.value(`fetch("/report").then((r) => r.headers.get("X-Robots-Tag"))`); robots != "noindex" {
		t.Errorf("X-Robots-Tag %q; want noindex", robots)
	}
	p.press(fmt.Sprintf("Withdraw the link made %s", p.value(`/Withdraw the link made (.*)/.exec(document.querySelector("button[aria-label^='Withdraw the link']").getAttribute("aria-label"))[1]`)))
	p.see("withdrawn")
	guest.reload()
	guest.see("This link shows no report any more")
}

// TestMessages writes to a student, who reads it on the first page and answers.
func TestMessages(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/messages")
	p.see("Message to students")
	p.fill("Message", "Bring the 56 on Tuesday.")
	p.press("Tomas Brandt")
	p.audit("a message to many", wcag...)
	p.press("Send to 1 student")
	p.see("Sent to 1 of 1 student")

	s.elsewhere()
	phone := s.phone()
	phone.signIn()
	phone.see("Message from Maren Holt", "Bring the 56 on Tuesday.")
	phone.accessible("a message on the first page")
	phone.tap("Answer")
	phone.see("Message to your coach")
	phone.fill("Message to your coach", "I will. Which lie?")
	phone.tap("Send")
	phone.see("You,")
	phone.accessible("messages")
	phone.place("#/now")
	phone.see("Messages with your coach")

	p.place("#/today")
	p.see("New messages: Tomas Brandt")
	p.press("Tomas Brandt")
	p.see("I will. Which lie?")
	p.audit("a thread", wcag...)
	p.place("#/today")
	p.gone("New messages")
}

// TestCards prints the cards of the present week for a group.
func TestCards(t *testing.T) {
	s := newSetup(t)
	s.call(s.Owner, "POST", "/v1/groups", object{"name": "Sunday", "student_ids": array{s.StudentID}}, nil)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/cards")
	p.see("Students (0 chosen)")
	p.choose("Add the students of a group", "Sunday, 1 student")
	p.see("Students (1 chosen)")
	p.press("Make the cards of 1 student")
	p.see("Nothing is planned in that week for Tomas Brandt")
	p.press("This week", "Make the cards of 1 student")
	p.see("1 card", "Six weeks around the green, week 1: Long session", "One box a ball")
	p.audit("practice cards", wcag...)
	pdf, err := p.PDF(8.27, 11.69)
	s.must(err)
	if n := len(sheet.FindAll(pdf, -1)); n < 1 || n > 2 {
		t.Errorf("one card takes %d sheets of A4; want 1 or 2", n)
	}
}
