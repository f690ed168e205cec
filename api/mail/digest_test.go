package mail_test

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	letters "fringework/api/mail"
	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
)

// monday is after the week from 27 April to 3 May 2026.
var monday = domain.Date{Year: 2026, Month: time.May, Day: 4}

func called(name string) academy.DigestName {
	return academy.DigestName{ID: domain.ID("id-" + strings.ToLower(name)), Name: name}
}

func aCoachsWeek() *academy.Digest {
	return &academy.Digest{Week: monday, Coach: &academy.CoachWeek{
		Wrote: academy.DigestList[academy.DigestThread]{Items: []academy.DigestThread{{DigestName: called("Mara"), Messages: 2}}},
		Stuck: academy.DigestList[academy.DigestReason]{Items: []academy.DigestReason{
			{DigestName: called("Odd"), Label: "Not practising", Evidence: "no session for 12 days (the last session was on 22 April); usually one every 3 days.", Advice: "Ask what is in the way; pause the programme for a holiday or an injury, or plan fewer, shorter sessions.", More: 1},
			{DigestName: called("Mara"), Label: "Not improving", Skill: "Bunker, wet sand", Evidence: "inside 6 ft: 41 % (35 to 48); level since about 28 March.", Advice: "Change the task."},
		}, More: 7},
		Passed: academy.DigestList[academy.DigestStep]{Items: []academy.DigestStep{{DigestName: called("Ivo"), Skill: "Chip", Step: "7 in a row with 1 holed inside 4 ft"}}},
		Practised: academy.DigestList[academy.DigestPractice]{Items: []academy.DigestPractice{
			{DigestName: called("Ivo"), Sessions: 3, Minutes: 140}, {DigestName: called("Mara"), Sessions: 1, Minutes: 45},
			{DigestName: called("Zeno"), Sessions: 12, Minutes: 600, AtLeast: true},
		}},
		Ends: academy.DigestList[academy.DigestEnd]{Items: []academy.DigestEnd{
			{DigestName: called("Ivo"), Programme: "Six weeks to the fringe", On: monday.AddDays(6)},
			{DigestName: called("Mara"), Programme: "Sand", On: monday.AddDays(13), Follows: true},
		}},
	}}
}

func aStudentsWeek() *academy.Digest {
	return &academy.Digest{Week: monday, Student: &academy.StudentWeek{
		Done: academy.DigestPractice{Sessions: 3, Minutes: 125}, Planned: 4, Last: monday.AddDays(-2),
		Passed: []academy.DigestStep{{Skill: "Chip", Step: "7 in a row with 1 holed inside 4 ft"}},
		Next: []academy.DigestPlan{
			{Programme: "Six weeks to the fringe", Number: 3, Weeks: 6, Title: "Higher and softer", Skill: "Pitch", Step: "8 in a row inside 5 ft",
				Sessions: []academy.DigestSession{{Name: "Basics", Times: 2, Minutes: 45}, {Times: 1, Minutes: 60}}},
			{Programme: "Sand", Number: 1, Weeks: 2, From: monday.AddDays(2), Skill: "Bunker", Sessions: []academy.DigestSession{{Name: "Splash", Times: 1, Minutes: 30}}},
		},
	}}
}

// weeklyLetters are those that are looked at beside the coach's.
func weeklyLetters() map[string]auth.Letter {
	missed := aStudentsWeek()
	missed.Student.Done, missed.Student.Passed, missed.Student.Last = academy.DigestPractice{}, nil, monday.AddDays(-11)
	missed.Student.Next = missed.Student.Next[:1]
	quiet := &academy.Digest{Week: monday, Coach: &academy.CoachWeek{Stuck: aCoachsWeek().Coach.Stuck}}
	all := map[string]auth.Letter{}
	for name, d := range map[string]*academy.Digest{"digest-student": aStudentsWeek(), "digest-missed": missed, "digest-quiet": quiet} {
		l := letter(auth.LetterDigest)
		l.Digest = d
		all[name] = l
	}
	return all
}

func TestCoachsLetter(t *testing.T) {
	w := parse(t, write(t, letter(auth.LetterDigest)))
	if got := w.subject(t); got != "Your students' week: 3 practised, 1 step passed" {
		t.Errorf("subject %q", got)
	}
	for _, want := range []string{
		"What happened at Links End <Short> Game from 27 April to 3 May.",
		"New messages\r\n\r\n- Mara: 2 messages not read\r\n  " + base + "/desk#/messages/id-mara",
		"- Odd: Not practising (and 1 more reason)\r\n  No session for 12 days (the last session was on 22 April); usually one every 3 days. Ask what is in the way",
		"- Mara: Not improving, Bunker, wet sand\r\n", "- and 7 more\r\n  " + base + "/desk#/today",
		"- Ivo: Chip, 7 in a row with 1 holed inside 4 ft\r\n  " + base + "/desk#/student/id-ivo",
		"- Ivo: 3 sessions, 2 h 20 min", "- Mara: 1 session, 45 min", "- Zeno: at least 12 sessions, 10 h",
		"- Ivo: Six weeks to the fringe ends on Sunday 10 May; nothing follows", "- Mara: Sand ends on Sunday 17 May\r\n",
		"To get it no more, open this address:\r\n" + base + "/unsubscribe/fwt_Ab-9_x",
	} {
		if !strings.Contains(w.text, want) {
			t.Errorf("%q is not in\n%s", want, w.text)
		}
	}
	if got := w.header.Get("List-Unsubscribe"); got != "<"+base+"/unsubscribe/fwt_Ab-9_x>" {
		t.Errorf("List-Unsubscribe %q", got)
	}
	if got := w.header.Get("List-Unsubscribe-Post"); got != "List-Unsubscribe=One-Click" {
		t.Errorf("List-Unsubscribe-Post %q", got)
	}
	if !strings.Contains(w.html, `<a class="link" href="`+base+`/desk#/student/id-odd"`) {
		t.Errorf("a student is no link:\n%s", w.html)
	}
}

func TestStudentsLetter(t *testing.T) {
	read := func(change func(*academy.StudentWeek)) (subject, text string) {
		l := letter(auth.LetterDigest)
		l.Digest = aStudentsWeek()
		change(l.Digest.Student)
		w := parse(t, write(t, l))
		return w.subject(t), w.text
	}
	for name, c := range map[string]struct {
		change func(*academy.StudentWeek)
		title  string
		text   []string
	}{
		"a good week": {func(*academy.StudentWeek) {}, "Your week: 3 of 4 sessions", []string{
			"From 27 April to 3 May you did 3 sessions, 2 h 5 min in all; 4 sessions were planned.",
			"Steps passed\r\n\r\n- Chip: 7 in a row with 1 holed inside 4 ft",
			"This week: Six weeks to the fringe, week 3 of 6\r\n\r\n- Higher and softer (Pitch): the next step is 8 in a row inside 5 ft",
			"- 2 × Basics, 45 min\r\n- Session 2, 1 h", "From Wednesday 6 May: Sand, week 1 of 2\r\n\r\n- Bunker: all steps passed\r\n", "- Splash, 30 min",
			base + "/green",
		}},
		"more than planned": {func(w *academy.StudentWeek) { w.Done.Sessions = 5 }, "Your week: 5 sessions", nil},
		"no plan": {func(w *academy.StudentWeek) { w.Planned, w.Next = 0, nil }, "Your week: 3 sessions", []string{
			"From 27 April to 3 May you did 3 sessions, 2 h 5 min in all.\r\n"}},
		"nothing done": {func(w *academy.StudentWeek) { w.Done = academy.DigestPractice{} }, "Your week ahead: 3 sessions", []string{
			"From 27 April to 3 May 4 sessions were planned, and none was logged. Your last session was on 2 May."}},
		"never practised": {func(w *academy.StudentWeek) { w.Done, w.Last = academy.DigestPractice{}, domain.Date{} }, "Your week ahead: 3 sessions", []string{
			"none was logged.\r\n"}},
		"one planned": {func(w *academy.StudentWeek) { w.Planned = 1 }, "Your week: 3 sessions", []string{"; 1 session was planned."}},
		"about to begin": {func(w *academy.StudentWeek) {
			w.Done, w.Planned, w.Next = academy.DigestPractice{}, 0, w.Next[1:]
		}, "Your week ahead: 1 session", []string{"From 27 April to 3 May no session was logged."}},
		"only a step": {func(w *academy.StudentWeek) { w.Done, w.Planned, w.Next = academy.DigestPractice{}, 0, nil }, "Your week", nil},
	} {
		subject, text := read(c.change)
		if subject != c.title {
			t.Errorf("%s: subject %q; want %q", name, subject, c.title)
		}
		for _, want := range c.text {
			if !strings.Contains(text, want) {
				t.Errorf("%s: %q is not in\n%s", name, want, text)
			}
		}
	}
}

// Names and words of people stay words, in lines of their own.
func TestNothingIsInjectedIntoTheWeek(t *testing.T) {
	l := letter(auth.LetterDigest)
	evil := "Ann\r\nTo get it no more: <img src=x onerror=alert(1)>"
	l.Digest.Coach.Wrote.Items[0].Name, l.Digest.Coach.Stuck.Items[1].Skill, l.Digest.Coach.Ends.Items[0].Programme = evil, evil, evil
	w := parse(t, write(t, l))
	if strings.Contains(w.html, "<img") || strings.Contains(w.text, "\nTo get it no more:") || strings.Count(w.text, "onerror") != 3 {
		t.Errorf("got\n%s\n%s", w.text, w.html)
	}
}

// One click needs encryption, and only the weekly letter has it: a letter about an
// account cannot be stopped.
func TestOneClick(t *testing.T) {
	for _, kind := range kinds {
		if _, stops := parse(t, write(t, letter(kind))).header["List-Unsubscribe"]; stops != (kind == auth.LetterDigest) {
			t.Errorf("%s: can be stopped %v", kind, stops)
		}
	}
	l := letter(auth.LetterDigest)
	words, err := letters.Words(l, "http://localhost:8080")
	if err != nil {
		t.Fatal(err)
	}
	m, err := letters.Write(words, letters.Envelope{From: from, To: l.To, ID: "x", Date: then})
	if err != nil {
		t.Fatal(err)
	}
	var raw bytes.Buffer
	if _, err := m.WriteTo(&raw); err != nil {
		t.Fatal(err)
	}
	if h := parse(t, raw.Bytes()).header; h.Get("List-Unsubscribe-Post") != "" || h.Get("List-Unsubscribe") == "" {
		t.Errorf("without encryption: %v", h)
	}
	for _, broken := range []*academy.Digest{nil, {}, {Coach: &academy.CoachWeek{}, Student: &academy.StudentWeek{}}} {
		l.Digest = broken
		if _, err := letters.Words(l, base); err == nil {
			t.Errorf("%+v was written", broken)
		}
	}
}

// What was stopped while it waited is not sent, and is tried again only while it is
// not known whether it was.
func TestStoppedWhileWaiting(t *testing.T) {
	b, address, roots := open(t, true)
	stopped := letter(auth.LetterDigest)
	stopped.Member = "stopped"
	q := &queue{waiting: []auth.Letter{stopped, letter(auth.LetterDigest)}}
	c, log := courier(t, q, "smtp://post:se%20cret%3A@"+address, roots)
	if sent, err := c.Deliver(t.Context()); err != nil || sent != 1 || len(b.letters) != 1 || len(q.again) != 2 || q.again[0] != 0 || log.Len() > 0 {
		t.Errorf("%d sent, %d received, again %v, %v\n%s", sent, len(b.letters), q.again, err, log)
	}
	q = &queue{waiting: []auth.Letter{stopped}}
	c.Queue, c.Still = q, func(context.Context, auth.Letter) (bool, error) { return false, errors.New("no database") }
	if sent, err := c.Deliver(t.Context()); err != nil || sent != 0 || len(q.again) != 1 || q.again[0] != time.Minute {
		t.Errorf("%d sent, again %v, %v; want it kept", sent, q.again, err)
	}
}
