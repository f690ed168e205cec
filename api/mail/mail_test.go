package mail_test

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"math/big"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net"
	"net/mail"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"

	letters "fringework/api/mail"
	"fringework/auth"
	"fringework/domain"
)

const base = "https://short.example"

var (
	from = mail.Address{Name: "Saltmarsh", Address: "post@saltmarsh.example"}
	then = time.Date(2026, 5, 4, 8, 30, 0, 0, time.UTC)
)

var kinds = []auth.LetterKind{
	auth.LetterInvitation, auth.LetterReset, auth.LetterVerify, auth.LetterMoved, auth.LetterSignUp, auth.LetterHasAccount, auth.LetterJoin, auth.LetterMayJoin,
	auth.LetterSignIn, auth.LetterReplayed, auth.LetterPassword, auth.LetterFactor, auth.LetterHandedReset, auth.LetterDigest,
}

func letter(kind auth.LetterKind) auth.Letter {
	l := auth.Letter{
		ID: "0190a0c0-0000-7000-8000-000000000001", Kind: kind, To: "tomas@example.org", Name: "Tomás Brandt", At: then, Expires: then.Add(14 * 24 * time.Hour),
		Academy: "Links End <Short> Game", By: "Ines Duarte", Role: domain.Student, Code: "EXAMPLEONLYNOTAREALCODE234", Token: "fwt_Ab-9_x", Address: "new@example.org",
	}
	if kind == auth.LetterDigest {
		l.Digest = aCoachsWeek()
	}
	return l
}

// written is a letter as a reader of mail sees it.
type written struct {
	header     mail.Header
	text, html string
}

// parse reads a letter with the standard library alone, which wrote none of it.
func parse(t *testing.T, raw []byte) (w written) {
	t.Helper()
	m, err := mail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	w.header = m.Header
	kind, params, err := mime.ParseMediaType(m.Header.Get("Content-Type"))
	if err != nil || kind != "multipart/alternative" {
		t.Fatalf("content type %q, %v; want multipart/alternative", kind, err)
	}
	parts := multipart.NewReader(m.Body, params["boundary"])
	for _, want := range []string{"text/plain", "text/html"} {
		part, err := parts.NextRawPart()
		if err != nil {
			t.Fatal(err)
		}
		kind, params, err := mime.ParseMediaType(part.Header.Get("Content-Type"))
		if err != nil || kind != want || !strings.EqualFold(params["charset"], "UTF-8") {
			t.Errorf("part %q of %v, %v; want %s in UTF-8", kind, params, err, want)
		}
		if encoding := part.Header.Get("Content-Transfer-Encoding"); encoding != "quoted-printable" {
			t.Errorf("encoding %q", encoding)
		}
		body, err := io.ReadAll(quotedprintable.NewReader(part))
		if err != nil {
			t.Fatal(err)
		}
		if want == "text/plain" {
			w.text = string(body)
		} else {
			w.html = string(body)
		}
	}
	if _, err := parts.NextRawPart(); !errors.Is(err, io.EOF) {
		t.Errorf("a third part: %v", err)
	}
	return w
}

func write(t *testing.T, l auth.Letter) []byte {
	t.Helper()
	words, err := letters.Words(l, base+"/")
	if err != nil {
		t.Fatal(err)
	}
	m, err := letters.Write(words, letters.Envelope{From: from, To: l.To, ID: string(l.ID), Date: l.At})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if _, err := m.WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// subject decodes a subject as a reader does.
func (w written) subject(t *testing.T) string {
	t.Helper()
	s, err := new(mime.WordDecoder).DecodeHeader(w.header.Get("Subject"))
	if err != nil {
		t.Error(err)
	}
	return s
}

func TestEveryLetterIsRead(t *testing.T) {
	links := map[auth.LetterKind]string{
		auth.LetterInvitation: base + "/join#EXAMPLEONLYNOTAREALCODE234", auth.LetterReset: base + "/reset#fwt_Ab-9_x",
		auth.LetterVerify: base + "/confirm#fwt_Ab-9_x", auth.LetterSignUp: base + "/begin#fwt_Ab-9_x", auth.LetterJoin: base + "/begin#fwt_Ab-9_x",
		auth.LetterDigest: base + "/unsubscribe/fwt_Ab-9_x",
	}
	for _, kind := range kinds {
		t.Run(string(kind), func(t *testing.T) {
			raw := write(t, letter(kind))
			w := parse(t, raw)
			for name, want := range map[string]string{
				"Message-Id": "<0190a0c0-0000-7000-8000-000000000001@saltmarsh.example>", "To": "<tomas@example.org>",
				"From": `"Saltmarsh" <post@saltmarsh.example>`, "Auto-Submitted": "auto-generated",
			} {
				if got := w.header.Get(name); got != want {
					t.Errorf("%s: got %q, want %q", name, got, want)
				}
			}
			if date, err := w.header.Date(); err != nil || !date.Equal(then) {
				t.Errorf("date %v, %v; want %v", date, err, then)
			}
			if w.subject(t) == "" {
				t.Error("no subject")
			}
			for _, want := range []string{"Hello Tomás Brandt,", links[kind]} {
				if !strings.Contains(w.text, want) || !strings.Contains(w.html, strings.ReplaceAll(want, "+", "&#43;")) {
					t.Errorf("%q is not in both forms:\n%s", want, w.text)
				}
			}
			if strings.Contains(w.html, "<Short>") || strings.Contains(w.html, "http-equiv") || strings.Contains(w.html, "<img") {
				t.Error("the HTML has somebody's words unescaped, or fetches something")
			}
			for line := range strings.SplitSeq(string(raw), "\r\n") {
				if len(line) > 998 {
					t.Errorf("a line of %d bytes; RFC 5322 allows 998", len(line))
				}
			}
		})
	}
	if _, err := letters.Words(letter("unheard-of"), base); err == nil {
		t.Error("a letter without words was written")
	}
}

// TestNothingIsInjected: whatever people call themselves and their academies, a
// letter has the headers, the recipient and the parts it should have.
func TestNothingIsInjected(t *testing.T) {
	plain := len(parse(t, write(t, letter(auth.LetterInvitation))).header)
	for _, evil := range []string{
		"Ann\r\nBcc: all@example.org", "Ann\nBcc: all@example.org", "Ann\r\n\r\n<script>x</script>", "Ann\u2028Bcc: x@example.org",
		"=?utf-8?q?Ann=0D=0ABcc:_all@example.org?=", "Ann\x00\x1b[2J", `"><img src=x>`, "{{.}}", strings.Repeat("ä ", 400), "\r\n.\r\nMAIL FROM:<x@example.org>",
	} {
		l := letter(auth.LetterInvitation)
		l.By, l.Academy, l.Name = evil, evil, evil
		raw := write(t, l)
		w := parse(t, raw)
		if len(w.header) != plain || w.header.Get("Bcc") != "" || w.header.Get("To") != "<tomas@example.org>" {
			t.Errorf("%.20q: headers %v", evil, w.header)
		}
		if subject := w.subject(t); strings.ContainsAny(subject, "\r\n\x00\u2028") {
			t.Errorf("%.20q: subject %q has more than a line", evil, subject)
		}
		if strings.Contains(w.html, "<script") || strings.Contains(w.html, "<img") {
			t.Errorf("%.20q: the HTML has it unescaped", evil)
		}
	}
	l := letter(auth.LetterReset)
	l.To = "ann@example.org\r\nRCPT TO:<all@example.org>"
	words, err := letters.Words(l, base)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := letters.Write(words, letters.Envelope{From: from, To: l.To, ID: "x", Date: then}); err == nil {
		t.Error("an address with a line break was taken")
	}
}

// box is a mail server on this machine, made of an independent library. It wants
// STARTTLS and a password, and refuses the first letters if told so.
type box struct {
	mu      sync.Mutex
	refuse  int // how many letters more
	how     *smtp.SMTPError
	letters []received
}

type received struct {
	from string
	to   []string
	data []byte
	tls  bool
}

// visit is one connection to the box.
type visit struct {
	box   *box
	conn  *smtp.Conn
	known bool
	got   received
}

func (b *box) NewSession(c *smtp.Conn) (smtp.Session, error) { return &visit{box: b, conn: c}, nil }

func (*visit) AuthMechanisms() []string { return []string{sasl.Plain} }

func (v *visit) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != "post" || password != "se cret:" {
			return smtp.ErrAuthFailed
		}
		v.known = true
		return nil
	}), nil
}

func (v *visit) Mail(from string, _ *smtp.MailOptions) error {
	if !v.known {
		return smtp.ErrAuthRequired
	}
	_, secure := v.conn.TLSConnectionState()
	v.got = received{from: from, tls: secure}
	return nil
}

func (v *visit) Rcpt(to string, _ *smtp.RcptOptions) error {
	v.got.to = append(v.got.to, to)
	return nil
}

func (v *visit) Data(r io.Reader) (err error) {
	if v.got.data, err = io.ReadAll(r); err != nil {
		return err
	}
	v.box.mu.Lock()
	defer v.box.mu.Unlock()
	if v.box.refuse > 0 {
		v.box.refuse--
		return v.box.how
	}
	v.box.letters = append(v.box.letters, v.got)
	return nil
}

func (v *visit) Reset()        { v.got = received{} }
func (v *visit) Logout() error { return nil }

// certificate is one for the machine itself, and what trusts it.
func certificate(t *testing.T) (tls.Certificate, *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	form := &x509.Certificate{
		SerialNumber: big.NewInt(1), NotBefore: time.Unix(0, 0), NotAfter: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, BasicConstraintsValid: true, IsCA: true, KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageDigitalSignature,
	}
	der, err := x509.CreateCertificate(rand.Reader, form, form, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	parsed, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(parsed)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, pool
}

// open opens a box, and gives its address and what trusts it.
func open(t *testing.T, encrypted bool) (b *box, address string, roots *x509.CertPool) {
	t.Helper()
	b = &box{}
	s := smtp.NewServer(b)
	s.Domain, s.AllowInsecureAuth = "box.example", false
	if encrypted {
		cert, pool := certificate(t)
		s.TLSConfig, roots = &tls.Config{Certificates: []tls.Certificate{cert}}, pool
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	go func() { _ = s.Serve(l) }()
	t.Cleanup(func() { _ = s.Close() })
	return b, l.Addr().String(), roots
}

// queue holds letters in order.
type queue struct {
	waiting []auth.Letter
	again   []time.Duration
}

func (q *queue) NextLetter(context.Context, time.Duration) (auth.Letter, error) {
	if len(q.waiting) == 0 {
		return auth.Letter{}, domain.ErrNotFound("letter")
	}
	l := q.waiting[0]
	q.waiting = q.waiting[1:]
	l.Tries++
	return l, nil
}

func (q *queue) SettleLetter(_ context.Context, _ auth.Letter, again time.Duration) error {
	q.again = append(q.again, again)
	return nil
}

func courier(t *testing.T, q *queue, server string, roots *x509.CertPool) (letters.Courier, *bytes.Buffer) {
	t.Helper()
	s, err := letters.ParseServer(server, "short.example")
	if err != nil {
		t.Fatal(err)
	}
	if roots != nil {
		s.Roots = &tls.Config{RootCAs: roots, ServerName: "127.0.0.1", MinVersion: tls.VersionTLS12}
	}
	log := &bytes.Buffer{}
	still := func(_ context.Context, l auth.Letter) (bool, error) { return l.Member == "", nil }
	return letters.Courier{Queue: q, Sender: s, From: from, Base: base, Still: still, Log: slog.New(slog.NewTextHandler(log, nil))}, log
}

// TestDelivery: letters reach a server that wants encryption and a password, as
// they were written.
func TestDelivery(t *testing.T) {
	b, address, roots := open(t, true)
	q := &queue{waiting: []auth.Letter{letter(auth.LetterInvitation), letter(auth.LetterReset)}}
	c, log := courier(t, q, "smtp://post:se%20cret%3A@"+address, roots)
	sent, err := c.Deliver(t.Context())
	if err != nil || sent != 2 || len(b.letters) != 2 {
		t.Fatalf("%d sent, %d received, %v\n%s", sent, len(b.letters), err, log)
	}
	for _, got := range b.letters {
		if !got.tls || got.from != "post@saltmarsh.example" || fmt.Sprint(got.to) != "[tomas@example.org]" {
			t.Errorf("got from %s to %v, encrypted %v", got.from, got.to, got.tls)
		}
	}
	if w := parse(t, b.letters[0].data); w.subject(t) != "Ines Duarte invites you to Links End <Short> Game" || !strings.Contains(w.text, "Ines Duarte invites you to join") {
		t.Errorf("got %q\n%s", w.subject(t), w.text)
	}
	if fmt.Sprint(q.again) != "[0s 0s]" {
		t.Errorf("again after %v; want both forgotten", q.again)
	}
}

// TestDeliveryIsTriedAgain: what a server will not have now is tried later, and
// what it never will is given up; the log names no address and no secret.
func TestDeliveryIsTriedAgain(t *testing.T) {
	for name, c := range map[string]struct {
		how  *smtp.SMTPError
		want time.Duration
		told letters.Outcome
	}{
		"busy":    {&smtp.SMTPError{Code: 451, Message: "later"}, time.Minute, letters.Later},
		"refused": {&smtp.SMTPError{Code: 550, Message: "never"}, 0, letters.GivenUp},
	} {
		t.Run(name, func(t *testing.T) {
			b, address, roots := open(t, true)
			b.refuse, b.how = 1, c.how
			q := &queue{waiting: []auth.Letter{letter(auth.LetterReset), letter(auth.LetterVerify)}}
			by, log := courier(t, q, "smtp://post:se%20cret%3A@"+address, roots)
			var told []letters.Outcome
			by.Begin = func(ctx context.Context) (context.Context, func(letters.Outcome, error)) {
				return ctx, func(o letters.Outcome, err error) {
					if told = append(told, o); (err == nil) != (o == letters.Sent) {
						t.Errorf("told of %s with %v", o, err)
					}
				}
			}
			sent, err := by.Deliver(t.Context())
			if fmt.Sprint(told) != fmt.Sprint([]letters.Outcome{c.told, letters.Sent}) {
				t.Errorf("told of %v; want the first %s", told, c.told)
			}
			if err != nil || sent != 1 || len(q.again) != 2 || q.again[0] != c.want || q.again[1] != 0 {
				t.Errorf("%d sent, again after %v, %v; want the first after %v", sent, q.again, err, c.want)
			}
			for _, secret := range []string{"tomas", "fwt_", "cret"} {
				if strings.Contains(log.String(), secret) {
					t.Errorf("the log tells %q:\n%s", secret, log)
				}
			}
		})
	}
}

// TestDeliveryIsEncrypted: nothing is sent to a server that offers no encryption,
// or a certificate that nobody trusts, or with a wrong password.
func TestDeliveryIsEncrypted(t *testing.T) {
	plain, plainAddress, _ := open(t, false)
	strange, strangeAddress, roots := open(t, true)
	for name, c := range map[string]struct {
		server string
		roots  *x509.CertPool
	}{
		"no encryption":       {"smtp://post:se%20cret%3A@" + plainAddress, nil},
		"unknown certificate": {"smtp://post:se%20cret%3A@" + strangeAddress, nil},
		"wrong password":      {"smtp://post:wrong@" + strangeAddress, roots},
		"no password":         {"smtp://" + strangeAddress, roots},
		"nobody there":        {"smtp://127.0.0.1:1", nil},
	} {
		q := &queue{waiting: []auth.Letter{letter(auth.LetterReset)}}
		by, _ := courier(t, q, c.server, c.roots)
		sent, err := by.Deliver(t.Context())
		if err != nil || sent != 0 || len(q.again) != 1 {
			t.Errorf("%s: %d sent, again after %v, %v; want it kept", name, sent, q.again, err)
		}
	}
	if n := len(plain.letters) + len(strange.letters); n != 0 {
		t.Errorf("%d letters got through", n)
	}
}

func TestParseServer(t *testing.T) {
	for text, good := range map[string]bool{
		"smtp://mail.example": true, "smtps://a:b@mail.example:465": true, "smtp+plain://localhost:2525": true, "smtp://[::1]:587": true,
		"": false, "mail.example": false, "http://mail.example": false, "smtp://": false, "smtp://mail.example/path": false,
		"smtp://mail.example:0": false, "smtp://mail.example:99999": false, "smtp+plain://a:b@localhost": false, "smtp://mail.example?tls=no": false,
	} {
		_, err := letters.ParseServer(text, "short.example")
		if (err == nil) != good {
			t.Errorf("%q: got %v; want good %v", text, err, good)
		}
		if err != nil && strings.Contains(err.Error(), "a:b@") {
			t.Errorf("%q: the error tells the password", text)
		}
	}
	if _, err := letters.ParseFrom("nobody"); err == nil {
		t.Error("no address, and taken")
	}
	if a, err := letters.ParseFrom("Saltmarsh <post@saltmarsh.example>"); err != nil || a != from {
		t.Errorf("got %v, %v", a, err)
	}
}

// TestPictures writes each letter's HTML where LETTERS names a folder, to be looked
// at; it always checks that they could be.
func TestPictures(t *testing.T) {
	dir := os.Getenv("LETTERS")
	all := map[string]auth.Letter{}
	for _, kind := range kinds {
		all[string(kind)] = letter(kind)
	}
	maps.Copy(all, weeklyLetters())
	for name, l := range all {
		w := parse(t, write(t, l))
		if !strings.HasPrefix(w.html, "<!doctype html>") {
			t.Errorf("%s: the HTML begins %.20q", name, w.html)
		}
		if dir == "" {
			continue
		}
		for ending, body := range map[string]string{".html": w.html, ".txt": w.text} {
			if err := os.WriteFile(filepath.Join(dir, name+ending), []byte(body), 0o600); err != nil {
				t.Error(err)
			}
		}
	}
}
