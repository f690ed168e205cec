package mail

import (
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
)

// Section is a list under a heading.
type Section struct {
	Title string
	Lines []Line
	// More says how many lines were left out, and MoreLink where they are; both may
	// be empty.
	More, MoreLink string
}

// Line is one thing to tell.
type Line struct {
	// Name is what it is about, and Link where that is; both may be empty.
	Name, Link string
	Text       string
	// Note is said in a smaller voice; it may be empty.
	Note string
}

// digestWords writes the weekly letter.
func digestWords(l auth.Letter, base string) (t Text, err error) {
	base = strings.TrimSuffix(base, "/")
	switch d := l.Digest; {
	case d == nil || (d.Coach == nil) == (d.Student == nil):
		return t, fmt.Errorf("mail: the weekly letter %s is neither a coach's nor a student's", l.ID)
	case d.Coach != nil:
		t = coachWords(*d.Coach, d.Week, l.Academy, base)
	default:
		t = studentWords(*d.Student, d.Week, l.Academy, base)
	}
	for _, s := range t.Sections {
		for i, line := range s.Lines {
			s.Lines[i].Name, s.Lines[i].Text, s.Lines[i].Note = oneLine(line.Name), oneLine(line.Text), oneLine(line.Note)
		}
	}
	t.Unsubscribe, t.Account = base+"/unsubscribe/"+l.Token, base+"/account"
	return t, nil
}

// coachWords tells of the week of a coach's students.
func coachWords(w academy.CoachWeek, monday domain.Date, at, base string) Text {
	page := func(name string, id domain.ID) string { return base + "/desk#/" + name + "/" + string(id) }
	today := base + "/desk#/today"
	t := Text{
		Subject: "Your students' week: " + coachSubject(w),
		Words:   []string{fmt.Sprintf("What happened at %s %s.", at, weekWords(monday))},
		Button:  "Open Today", Link: today,
		After: []string{fmt.Sprintf("You get this letter on Mondays, because you coach at %s.", at)},
	}
	t.Sections = sections(
		section("New messages", w.Wrote, today, func(x academy.DigestThread) Line {
			return Line{Name: x.Name, Link: page("messages", x.ID), Text: count(x.Messages, "message") + " not read"}
		}),
		section("Needs attention", w.Stuck, today, func(x academy.DigestReason) Line {
			return Line{Name: x.Name, Link: page("student", x.ID), Text: reasonWords(x), Note: capital(x.Evidence) + " " + x.Advice}
		}),
		section("Steps passed", w.Passed, today, func(x academy.DigestStep) Line {
			return Line{Name: x.Name, Link: page("student", x.ID), Text: x.Skill + ", " + x.Step}
		}),
		section("Practised", w.Practised, base+"/desk#/students", func(x academy.DigestPractice) Line {
			return Line{Name: x.Name, Link: page("student", x.ID), Text: practisedWords(x)}
		}),
		section("Programmes that end soon", w.Ends, today, func(x academy.DigestEnd) Line {
			return Line{Name: x.Name, Link: page("student", x.ID), Text: endWords(x)}
		}),
	)
	return t
}

// coachSubject says the week in a line.
func coachSubject(w academy.CoachWeek) string {
	practised, passed := len(w.Practised.Items)+w.Practised.More, len(w.Passed.Items)+w.Passed.More
	who := fmt.Sprintf("%d practised", practised)
	if practised == 0 {
		who = "nobody practised"
	}
	if passed > 0 {
		who += ", " + count(passed, "step") + " passed"
	}
	return who
}

func reasonWords(x academy.DigestReason) string {
	text := x.Label
	if x.Skill != "" {
		text += ", " + x.Skill
	}
	if x.More > 0 {
		text += " (and " + count(x.More, "more reason") + ")"
	}
	return text
}

func practisedWords(x academy.DigestPractice) string {
	text := count(x.Sessions, "session") + ", " + lengthWords(x.Minutes)
	if x.AtLeast {
		return "at least " + text
	}
	return text
}

func endWords(x academy.DigestEnd) string {
	text := fmt.Sprintf("%s ends on %s", x.Programme, dayWords(x.On))
	if !x.Follows {
		text += "; nothing follows"
	}
	return text
}

// studentWords tells of a student's week, and of the next.
func studentWords(w academy.StudentWeek, monday domain.Date, at, base string) Text {
	t := Text{
		Subject: studentSubject(w), Words: []string{doneWords(w, monday)},
		Button: "Open your practice", Link: base + "/green",
		After: []string{fmt.Sprintf("You get this letter on Mondays, because you practise at %s.", at)},
	}
	passed := section("Steps passed", academy.DigestList[academy.DigestStep]{Items: w.Passed}, "", func(x academy.DigestStep) Line {
		return Line{Name: x.Skill, Link: base + "/green#/progress", Text: x.Step}
	})
	t.Sections = sections(passed)
	for _, p := range w.Next {
		t.Sections = append(t.Sections, planSection(p, base))
	}
	return t
}

func studentSubject(w academy.StudentWeek) string {
	switch ahead := planned(w.Next); {
	case w.Done.Sessions == 0 && ahead > 0:
		return "Your week ahead: " + count(ahead, "session")
	case w.Done.Sessions == 0: // a step was passed in a session that began the week before
		return "Your week"
	case w.Done.Sessions <= w.Planned && !w.Done.AtLeast:
		return fmt.Sprintf("Your week: %d of %s", w.Done.Sessions, count(w.Planned, "session"))
	}
	return "Your week: " + count(w.Done.Sessions, "session")
}

// planned counts the sessions of the weeks that begin on Monday.
func planned(next []academy.DigestPlan) (n int) {
	for _, p := range next {
		for _, s := range p.Sessions {
			if p.From == (domain.Date{}) || len(next) == 1 {
				n += s.Times
			}
		}
	}
	return n
}

// doneWords tells what was done last week, against the plan.
func doneWords(w academy.StudentWeek, monday domain.Date) string {
	when, plan := capital(weekWords(monday)), count(w.Planned, "session")+" were planned"
	if w.Planned == 1 {
		plan = "1 session was planned"
	}
	switch {
	case w.Done.Sessions == 0 && w.Planned > 0:
		text := fmt.Sprintf("%s %s, and none was logged.", when, plan)
		if w.Last != (domain.Date{}) {
			text += " Your last session was on " + noon(w.Last).Format("2 January") + "."
		}
		return text
	case w.Done.Sessions == 0:
		return fmt.Sprintf("%s no session was logged.", when)
	case w.Planned == 0:
		return fmt.Sprintf("%s you did %s in all.", when, practisedWords(w.Done))
	}
	return fmt.Sprintf("%s you did %s in all; %s.", when, practisedWords(w.Done), plan)
}

// planSection tells a week of a programme.
func planSection(p academy.DigestPlan, base string) Section {
	s := Section{Title: fmt.Sprintf("This week: %s, week %d of %d", p.Programme, p.Number, p.Weeks)}
	if p.From != (domain.Date{}) {
		s.Title = fmt.Sprintf("From %s: %s, week %d of %d", dayWords(p.From), p.Programme, p.Number, p.Weeks)
	}
	about := p.Skill
	if p.Title != "" && p.Title != p.Skill {
		about = p.Title + " (" + p.Skill + ")"
	}
	goal := Line{Name: about, Link: base + "/green", Text: "all steps passed"}
	if p.Step != "" {
		goal.Text = "the next step is " + p.Step
	}
	s.Lines = append(s.Lines, goal)
	for i, session := range p.Sessions {
		name := session.Name
		if name == "" {
			name = fmt.Sprintf("Session %d", i+1)
		}
		if session.Times > 1 {
			name = fmt.Sprintf("%d × %s", session.Times, name)
		}
		s.Lines = append(s.Lines, Line{Text: name + ", " + lengthWords(session.Minutes)})
	}
	return s
}

// section writes the lines of a list.
func section[T any](title string, list academy.DigestList[T], more string, line func(T) Line) Section {
	s := Section{Title: title}
	for _, x := range list.Items {
		s.Lines = append(s.Lines, line(x))
	}
	if list.More > 0 {
		s.More, s.MoreLink = fmt.Sprintf("and %d more", list.More), more
	}
	return s
}

// sections leaves out those without lines.
func sections(all ...Section) (some []Section) {
	for _, s := range all {
		if len(s.Lines) > 0 {
			some = append(some, s)
		}
	}
	return some
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// lengthWords writes minutes: "45 min", "1 h 35 min".
func lengthWords(minutes int) string {
	h, m := minutes/60, minutes%60
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}

// weekWords writes the week before a Monday: "from 27 April to 3 May".
func weekWords(monday domain.Date) string {
	const day = "2 January"
	first, last := noon(monday.AddDays(-7)), noon(monday.AddDays(-1))
	from := first.Format(day)
	if first.Month() == last.Month() {
		from = first.Format("2")
	}
	return "from " + from + " to " + last.Format(day)
}

func dayWords(d domain.Date) string { return noon(d).Format("Monday 2 January") }

func noon(d domain.Date) time.Time { return time.Date(d.Year, d.Month, d.Day, 12, 0, 0, 0, time.UTC) }

// capital begins a sentence.
func capital(text string) string {
	if text == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}
