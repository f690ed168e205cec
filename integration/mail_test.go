package integration_test

import (
	"bytes"
	"io"
	"mime/quotedprintable"
	"net"
	"net/http"
	"net/mail"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"fringework/api"
	"fringework/domain"
	"fringework/integration/day"
)

// mailServer takes letters on this machine; it is made of another library than the
// one that sends them.
type mailServer struct {
	testing.TB
	address string
	letters chan letter
}

// letter is one that arrived.
type letter struct {
	to, subject, body string
	header            mail.Header
}

func (m *mailServer) NewSession(*smtp.Conn) (smtp.Session, error) { return &delivery{server: m}, nil }

type delivery struct {
	server *mailServer
	to     string
}

func (*delivery) Mail(string, *smtp.MailOptions) error { return nil }
func (d *delivery) Rcpt(to string, _ *smtp.RcptOptions) error {
	d.to = to
	return nil
}
func (*delivery) Reset()        {}
func (*delivery) Logout() error { return nil }
func (d *delivery) Data(r io.Reader) error {
	m, err := mail.ReadMessage(r)
	if err != nil {
		return err
	}
	raw, err := io.ReadAll(m.Body)
	if err != nil {
		return err
	}
	body, err := io.ReadAll(quotedprintable.NewReader(bytes.NewReader(raw)))
	d.server.letters <- letter{d.to, m.Header.Get("Subject"), string(body), m.Header}
	return err
}

func newMailServer(t testing.TB) *mailServer {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	m := &mailServer{TB: t, address: l.Addr().String(), letters: make(chan letter, 100)}
	s := smtp.NewServer(m)
	s.Domain = "box.example"
	go func() { _ = s.Serve(l) }()
	t.Cleanup(func() { _ = s.Close() })
	return m
}

var tokens = regexp.MustCompile(publicURL + `/(?:reset|confirm|begin|join)#(\w[\w-]*)`)

// token takes the next letter, which must be to an address, and gives the secret in
// its link; empty if there is none.
func (m *mailServer) token(to, subject string) string {
	m.Helper()
	select {
	case l := <-m.letters:
		if l.to != to || !strings.Contains(l.subject, subject) {
			m.Fatalf("letter %q to %s; want %q to %s", l.subject, l.to, subject, to)
		}
		if found := tokens.FindStringSubmatch(l.body); found != nil {
			return found[1]
		}
	case <-time.After(time.Minute):
		m.Fatalf("no letter %q to %s came", subject, to)
	}
	return ""
}

// Everything that a service with mail does by it.
func testMail(t *testing.T, _ *service) {
	box := newMailServer(t)
	s := start(t, engines[0], "--mail-server", "smtp+plain://"+box.address, "--mail-from", "Saltmarsh <post@saltmarsh.example>")
	c := s.caller(t)
	var ways api.SignInWays
	c.get("/v1/sign-in/ways").want(200).into(&ways)
	if !ways.Mail {
		t.Error("the service does not say that it sends mail")
	}

	email := mailbox("Odile")
	up := object{"academy_name": "Posted", "time_zone": "UTC", "name": "Odile", "email": email, "password": password}
	c.post("/v1/academies", up).want(202)
	var in api.SignedIn
	c.post("/v1/academies/confirm", object{"token": box.token(email, "Make your academy")}).want(201).into(&in)
	owner := s.signedIn(t, in, "Odile")
	up["password"] = "another of mine"
	c.post("/v1/academies", up).want(202)
	box.token(email, "You have an account already")

	invited := mailbox("Conrad")
	owner.invite(object{"role": "coach", "email": invited})
	coach := s.accept(t, box.token(invited, "invites you to Posted"), "Conrad", invited)
	coach.post("/v1/me/email/verify", nil).want(202)
	c.post("/v1/email/confirm", object{"token": box.token(invited, "Confirm")}).want(204)
	moved := mailbox("Conrad")
	coach.put("/v1/me/email", object{"email": moved, "password": password}).want(200)
	c.post("/v1/email/confirm", object{"token": box.token(moved, "Confirm")}).want(204)
	box.token(invited, "address was changed")
	box.token(moved, "address was changed")

	// An invitation that is bound to no e-mail tells nobody who has an account.
	open, fresher := owner.invite(object{"role": "student"}), mailbox("Fresher")
	joining := object{"code": open.Code, "name": "Fresher", "email": moved, "password": "not the password"}
	known := c.post("/v1/invitations/accept", joining).want(202)
	joining["email"] = fresher
	if unknown := c.post("/v1/invitations/accept", joining).want(202); string(unknown.body) != string(known.body) {
		t.Errorf("an address with an account is answered %s, another %s", known.body, unknown.body)
	}
	box.token(moved, "You have an account already")
	c.post("/v1/academies/confirm", object{"token": box.token(fresher, "Join Posted")}).want(201).into(&in)
	if joined := s.signedIn(t, in, "Fresher"); joined.role() != domain.Student || joined.academy != owner.academy {
		t.Errorf("joined as %s", joined.role())
	}

	c.post("/v1/password/forgotten", object{"email": mailbox("Nobody")}).want(202)
	c.post("/v1/password/forgotten", object{"email": moved}).want(202)
	const fresh = "eleven tin whistles"
	reset := object{"token": box.token(moved, "Set a new password"), "new_password": fresh}
	c.post("/v1/password/reset", reset).want(204)
	c.post("/v1/password/reset", reset).problem(404, "no_reset")
	coach.get("/v1/me").problem(401, "token_refused")
	c.post("/v1/sign-in", object{"email": moved, "password": fresh}).want(200)
	box.token(moved, "Your password was changed")
}

// next takes the next letter, to whomever it is.
func (m *mailServer) next() letter {
	m.Helper()
	select {
	case l := <-m.letters:
		return l
	case <-time.After(time.Minute):
		m.Fatal("no letter came")
		return letter{}
	}
}

// On Monday morning a coach and a student are written to, and a mail program stops the
// letter by its address alone.
func testWeeklyLetter(t *testing.T, _ *service) {
	box := newMailServer(t)
	post := []string{"--mail-server", "smtp+plain://" + box.address, "--mail-from", "Saltmarsh <post@saltmarsh.example>"}
	s := start(t, engines[0], post...)
	c := s.caller(t)
	email := mailbox("Oona")
	c.post("/v1/academies", object{"academy_name": "Weekly", "time_zone": day.Zone(), "name": "Oona", "email": email, "password": password}).want(202)
	var in api.SignedIn
	c.post("/v1/academies/confirm", object{"token": box.token(email, "Make your academy")}).want(201).into(&in)
	owner := s.signedIn(t, in, "Oona")
	join := func(by *person, name string, invitation object) *person {
		t.Helper()
		to := mailbox(name)
		invitation["email"] = to
		by.invite(invitation)
		p := s.accept(t, box.token(to, "invites you to Weekly"), name, to)
		p.post("/v1/me/email/verify", nil).want(202)
		c.post("/v1/email/confirm", object{"token": box.token(to, "Confirm")}).want(204)
		return p
	}
	coach := join(owner, "Cato", object{"role": "coach"})
	student := join(coach, "Sanna", object{"role": "student"})
	pitch := coach.skill("Pitch", pitchSteps()).ID
	coach.assign(coach.publish(course("Three weeks", pitch, pitch, pitch)), ago(24), student)
	student.practise(ago(1), test(pitch, "+++"))
	var w api.WeeklyLetter
	student.get("/v1/me/weekly-letter").want(200).into(&w)
	if !w.Wanted || w.Missing != "" {
		t.Errorf("got %+v; want that it comes", w)
	}
	s.stop()

	where, err := domain.Zone(day.Zone())
	if err != nil {
		t.Fatal(err)
	}
	monday := domain.DateOf(clock.Now(), where).Monday().AddDays(7).Start(where).Add(8 * time.Hour)
	const secure = "https://short.example"
	s = startOn(t, s.database, s.keys, slices.Concat(post, []string{"--relaxed", "--public-url", secure, "--clock", monday.Format(time.RFC3339)})...)
	c = s.caller(t)
	letters := map[string]letter{}
	for range 2 {
		l := box.next()
		letters[l.to] = l
	}
	for p, subject := range map[*person]string{coach: "Your students' week:", student: "Your week"} {
		l := letters[p.email]
		address, found := strings.CutPrefix(strings.Trim(l.header.Get("List-Unsubscribe"), "<>"), secure)
		if !found || !strings.HasPrefix(l.subject, subject) || l.header.Get("List-Unsubscribe-Post") != "List-Unsubscribe=One-Click" || !strings.Contains(l.body, secure+address) {
			t.Fatalf("to %s: %q, %v\n%s", p.name, l.subject, l.header, l.body)
		}
		if p != student {
			continue
		}
		c.get(address).want(200)
		c.do(http.MethodPost, address, "List-Unsubscribe=One-Click", header("Content-Type", "application/x-www-form-urlencoded")).want(200)
		c.get(address[:len(address)-1]).problem(404, "no_letter")
		in = api.SignedIn{}
		c.post("/v1/sign-in", object{"email": p.email, "password": password}).want(200).into(&in)
		c.as(in.AccessToken).get("/v1/me/weekly-letter").want(200).into(&w)
		if w.Wanted {
			t.Error("it was not stopped")
		}
	}
}

// Without mail, links are handed on.
func testResets(t *testing.T, s *service) {
	a := s.open(t, "Resetter")
	c := s.caller(t)
	var ways api.SignInWays
	c.get("/v1/sign-in/ways").want(200).into(&ways)
	if ways.Mail {
		t.Error("the service says that it sends mail")
	}
	c.post("/v1/password/forgotten", object{"email": a.student.email}).problem(409, "mail_off")
	a.student.post("/v1/me/email/verify", nil).problem(409, "mail_off")
	link := made[api.ResetLink](a.coach.caller, "/v1/members/"+string(a.student.id)+"/reset-link", nil)
	if link.Link != publicURL+"/reset#"+link.Token {
		t.Errorf("link %q; want it to the page with the token", link.Link)
	}
	wrongAt(t, c.post("/v1/password/reset", object{"token": link.Token, "new_password": "password1"}).problem(422, "password"), "/new_password", "guessed first")
	c.post("/v1/password/reset", object{"token": link.Token, "new_password": "eleven tin whistles"}).want(204)
	var in api.SignedIn
	c.post("/v1/sign-in", object{"email": a.student.email, "password": "eleven tin whistles"}).want(200).into(&in)
	if len(in.Notices) != 1 || in.Notices[0].By != a.coach.name {
		t.Errorf("told %+v; want that %s made a link", in.Notices, a.coach.name)
	}
	fresh := mailbox("Moved")
	var change api.EmailChange
	a.guardian.put("/v1/me/email", object{"email": fresh, "password": password}).want(200).into(&change)
	if change.Waiting {
		t.Error("without mail the change waits for a link")
	}
	c.post("/v1/sign-in", object{"email": fresh, "password": password}).want(200)
}
