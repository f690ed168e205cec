package academy

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// Digest is what a weekly letter tells: of the week before a Monday, to a coach or to a
// student. It is kept with the letter until that is sent.
type Digest struct {
	// Week is the Monday after the week that is told of.
	Week    domain.Date  `json:"week"`
	Coach   *CoachWeek   `json:"coach,omitempty"`
	Student *StudentWeek `json:"student,omitempty"`
}

// DigestList is the beginning of a list, and how many more there are.
type DigestList[T any] struct {
	Items []T `json:"items,omitempty"`
	More  int `json:"more,omitempty"`
}

// digestLines is how many lines a list of a letter has at most. Our choice.
const digestLines = 12

func digestList[T any](all []T) DigestList[T] {
	n := min(len(all), digestLines)
	return DigestList[T]{Items: all[:n], More: len(all) - n}
}

// CoachWeek is the week of a coach's students.
type CoachWeek struct {
	Practised DigestList[DigestPractice] `json:"practised"`
	Passed    DigestList[DigestStep]     `json:"passed"`
	// Stuck are students whom there is a reason to look at, as on the dashboard.
	Stuck DigestList[DigestReason] `json:"stuck"`
	Ends  DigestList[DigestEnd]    `json:"ends"`
	// Wrote are students whose messages the coach has not read.
	Wrote DigestList[DigestThread] `json:"wrote"`
}

// DigestName is a student in a coach's letter.
type DigestName struct {
	ID   domain.ID `json:"id"`
	Name string    `json:"name"`
}

// DigestPractice is how much a student practised in the week.
type DigestPractice struct {
	DigestName
	Sessions int `json:"sessions"`
	// Minutes are those kept, in whole minutes.
	Minutes int `json:"minutes"`
	// AtLeast says that there may have been more sessions.
	AtLeast bool `json:"at_least,omitempty"`
}

// DigestStep is the hardest step that a student passed at a skill in the week.
type DigestStep struct {
	DigestName
	Skill string `json:"skill"`
	// Step in words, in the reader's units.
	Step string `json:"step"`
}

// DigestReason is the reason to look at a student, in the words of the dashboard.
type DigestReason struct {
	DigestName
	Label string `json:"label"`
	// Skill is empty for a reason that is about none.
	Skill    string `json:"skill,omitempty"`
	Evidence string `json:"evidence"`
	Advice   string `json:"advice"`
	// More is how many further reasons there are.
	More int `json:"more,omitempty"`
}

// DigestEnd is a programme that ends soon.
type DigestEnd struct {
	DigestName
	Programme string      `json:"programme"`
	On        domain.Date `json:"on"`
	// Follows says that the student has another programme after it.
	Follows bool `json:"follows,omitempty"`
}

// DigestThread is a student who wrote.
type DigestThread struct {
	DigestName
	Messages int `json:"messages"`
}

// StudentWeek is a student's week, and the next.
type StudentWeek struct {
	Done DigestPractice `json:"done"`
	// Planned is how many sessions the programmes wanted in the week.
	Planned int `json:"planned"`
	// Last is the day on which the student last practised; zero for never.
	Last   domain.Date  `json:"last"`
	Passed []DigestStep `json:"passed,omitempty"`
	Next   []DigestPlan `json:"next,omitempty"`
}

// DigestPlan is a week of a programme that is played in the week to come.
type DigestPlan struct {
	Programme string `json:"programme"`
	// Number counts the programme's weeks from 1, of Weeks.
	Number int `json:"number"`
	Weeks  int `json:"weeks"`
	// From is its first day in the week to come; zero for Monday.
	From     domain.Date     `json:"from"`
	Title    string          `json:"title,omitempty"`
	Skill    string          `json:"skill"`
	Sessions []DigestSession `json:"sessions"`
	// Step is the next step to pass at the skill, in words; empty when all are.
	Step string `json:"step,omitempty"`
}

// DigestSession is a planned session.
type DigestSession struct {
	Name    string `json:"name,omitempty"`
	Times   int    `json:"times"`
	Minutes int    `json:"minutes"`
}

// quietWeeks is how often a letter is written while nothing happens. Somebody who is
// away would throw the same lines away every week, and then the letter that matters;
// a month is long enough that a word of it is a help. Our choice.
const quietWeeks = 4

// worthWriting says whether a letter is written: when something happened, and while
// there is only something waiting, every fourth week.
func (r dueReader) worthWriting(happened, waiting bool) bool {
	return happened || waiting && (r.Told == domain.Date{} || r.Told.DaysUntil(r.week) >= 7*quietWeeks)
}

// span is a week as instants.
type span struct{ from, until time.Time }

// before gives the week before a Monday in a zone.
func before(monday domain.Date, zone *time.Location) span {
	return span{monday.AddDays(-7).Start(zone), monday.Start(zone)}
}

func (s span) holds(t time.Time) bool { return !t.Before(s.from) && t.Before(s.until) }

// practised counts what of a habit was in a week.
func (s span) practised(name DigestName, h progress.Habit) DigestPractice {
	p := DigestPractice{DigestName: name}
	seconds := 0
	for _, session := range h.Recent {
		if !s.holds(session.StartedAt) {
			continue
		}
		p.Sessions++
		for _, t := range session.Times {
			seconds += t.Spent
		}
	}
	p.Minutes = seconds / 60
	p.AtLeast = p.Sessions > 0 && p.Sessions == len(h.Recent) && h.Sessions > p.Sessions
	return p
}

// passed gives the hardest step of each skill that was passed in a week.
func (s span) passed(st StudentRow, r advice.Reader) (steps []DigestStep) {
	for _, skill := range st.Skills {
		for _, m := range slices.Backward(skill.Milestones) {
			if s.holds(m.At) {
				steps = append(steps, DigestStep{DigestName: nameOf(st.Student), Skill: skill.Skill.Name, Step: advice.Step(r, m.Tier)})
				break
			}
		}
	}
	return steps
}

func nameOf(m Member) DigestName { return DigestName{m.ID, m.Name} }

func readerOf(m Member) advice.Reader { return advice.Reader{Metric: m.Units == InMetres} }

// coachDigest gives what there is to tell a coach of their students, nil for nothing.
// It reads what the dashboard reads.
func coachDigest(ctx context.Context, tx ReadStore, in domain.ID, r dueReader, now time.Time) (*Digest, error) {
	students, err := coached(ctx, tx, r.Member)
	if err != nil || len(students) == 0 {
		return nil, err
	}
	// As a coach, also for an owner, since it tells of those they coach.
	a := domain.Actor{Academy: in, Member: r.Member.ID, Role: domain.Coach}
	rows, err := studentRows(ctx, tx, a, students, now)
	if err != nil {
		return nil, err
	}
	if err := countNew(ctx, tx, a, rows); err != nil {
		return nil, err
	}
	slices.SortStableFunc(rows, compareAttention)
	w := coachWeek(rows, r, now)
	happened := len(w.Practised.Items)+len(w.Passed.Items)+len(w.Ends.Items)+len(w.Wrote.Items) > 0
	if !r.worthWriting(happened, len(w.Stuck.Items) > 0) {
		return nil, nil //nolint:nilnil // nothing to tell is no error
	}
	return &Digest{Week: r.week, Coach: &w}, nil
}

// coached gives the students of a coach or of an owner who coaches. Where there is no
// coach, the owners teach everybody.
func coached(ctx context.Context, tx Listing, m Member) ([]Member, error) {
	students, err := tx.Members(ctx, MemberFilter{Role: domain.Student, VisibleTo: m.ID}, domain.Page{Limit: maxStudents})
	if err != nil || len(students) > 0 || m.Role != domain.Owner {
		return students, err
	}
	coaches, err := tx.Members(ctx, MemberFilter{Role: domain.Coach}, domain.Page{Limit: 1})
	if err != nil || len(coaches) > 0 {
		return nil, err
	}
	return tx.Members(ctx, MemberFilter{Role: domain.Student}, domain.Page{Limit: maxStudents})
}

// coachWeek makes the week of a coach out of the dashboard's rows.
func coachWeek(rows []StudentRow, r dueReader, now time.Time) CoachWeek {
	week, style := before(r.week, r.Member.Zone()), readerOf(r.Member)
	var (
		practised []DigestPractice
		passed    []DigestStep
		stuck     []DigestReason
		ends      []DigestEnd
		wrote     []DigestThread
	)
	for _, row := range rows {
		name := nameOf(row.Student)
		if p := week.practised(name, row.Habit); p.Sessions > 0 {
			practised = append(practised, p)
		}
		passed = append(passed, week.passed(row, style)...)
		ending := row.ends(domain.DateOf(now, row.Student.Zone()))
		ends = append(ends, ending...)
		if reason, ok := row.lead(style, len(ending) > 0); ok {
			stuck = append(stuck, reason)
		}
		if row.NewMessages > 0 {
			wrote = append(wrote, DigestThread{name, row.NewMessages})
		}
	}
	slices.SortStableFunc(practised, func(a, b DigestPractice) int { return b.Minutes - a.Minutes })
	slices.SortStableFunc(ends, func(a, b DigestEnd) int { return b.On.DaysUntil(a.On) })
	return CoachWeek{
		Practised: digestList(practised), Passed: digestList(passed), Stuck: digestList(stuck), Ends: digestList(ends), Wrote: digestList(wrote),
	}
}

// lead gives the one reason that matters, as Today does: the most pressing and, at
// several skills, the one about which something can be done at once. told says that
// what ends is told already.
func (st StudentRow) lead(r advice.Reader, told bool) (DigestReason, bool) {
	var pressing []Attention
	for _, a := range st.Attention {
		if a.Acknowledged == nil && !(told && a.Reason == advice.Ending) {
			pressing = append(pressing, a)
		}
	}
	if len(pressing) == 0 {
		return DigestReason{}, false
	}
	lead := pressing[0]
	for _, a := range pressing {
		if a.Reason == lead.Reason && len(a.Actions(r, st.Plan(a.Stall))) > 0 {
			lead = a
			break
		}
	}
	out := DigestReason{DigestName: nameOf(st.Student), Label: lead.Reason.Label(), More: len(pressing) - 1}
	out.Evidence, out.Advice = lead.Words(r)
	if i := slices.IndexFunc(st.Skills, func(s StudentSkill) bool { return s.State.Skill == lead.Skill }); i >= 0 {
		out.Skill = st.Skills[i].Skill.Name
	}
	return out, true
}

// endsWithin is how many days ahead the end of a programme is told: time to write the
// next one. Our choice.
const endsWithin = 14

// ends gives the programmes that end soon, by their last day.
func (st StudentRow) ends(today domain.Date) (ends []DigestEnd) {
	follows := false
	for _, d := range st.Work {
		switch d.Position.Phase {
		case Upcoming, Paused:
			follows = true
		case Running:
			last := d.Assignment.WeekStart(d.Weeks + 1).AddDays(-1)
			if today.DaysUntil(last) >= endsWithin {
				follows = true
				continue
			}
			ends = append(ends, DigestEnd{DigestName: nameOf(st.Student), Programme: d.Name, On: last})
		}
	}
	for i := range ends {
		ends[i].Follows = follows
	}
	return ends
}

// studentDigest gives what there is to tell a student, nil for nothing.
func (g gathered) studentDigest(r dueReader, now time.Time) *Digest {
	row := g.row(r.Member, now)
	week := before(r.week, r.Member.Zone())
	w := StudentWeek{
		Done: week.practised(nameOf(r.Member), row.Habit), Passed: week.passed(row, readerOf(r.Member)),
	}
	if last := row.Habit.LastAt(); !last.IsZero() {
		w.Last = domain.DateOf(last, r.Member.Zone())
	}
	begins := false
	for _, as := range g.assignments[r.Member.ID] {
		c := g.versions[as.Pins()]
		last, weeks := r.week.AddDays(-1), g.weeks(as, r.Member.ID, r.week)
		w.Planned += as.Planned(last, weeks) - as.Planned(last.AddDays(-7), weeks)
		for _, p := range as.ahead(r.week, len(weeks)) {
			w.Next = append(w.Next, digestPlan(c, weeks[p.Number-1], p, row, readerOf(r.Member)))
			begins = begins || p.Number == 1
		}
	}
	// Who missed one week is told of it; after a second there is nothing new to say.
	lately := w.Last != domain.Date{} && !w.Last.Before(r.week.AddDays(-14))
	if !r.worthWriting(w.Done.Sessions > 0 || len(w.Passed) > 0 || len(w.Next) > 0 && (lately || begins), len(w.Next) > 0) {
		return nil
	}
	return &Digest{Week: r.week, Student: &w}
}

// weeks gives the weeks of an assignment as the student plays them from a day on.
func (g gathered) weeks(as Assignment, student domain.ID, on domain.Date) []curriculum.Week {
	return as.adjustedWeeks(g.versions[as.Pins()].Content.Weeks, g.adjustments[student], on)
}

// ahead gives the weeks of an assignment, of so many, that are played in the seven days
// from a Monday on: at most two, since a programme's weeks may begin on any day.
func (a Assignment) ahead(monday domain.Date, weeks int) (plans []DigestPlan) {
	for i := range 7 {
		day := monday.AddDays(i)
		p := a.On(day, weeks)
		if p.Phase != Running || len(plans) > 0 && plans[len(plans)-1].Number == p.Week {
			continue
		}
		next := DigestPlan{Number: p.Week, Weeks: weeks}
		if i > 0 {
			next.From = day
		}
		plans = append(plans, next)
	}
	return plans
}

// digestPlan fills in what a week asks for.
func digestPlan(v curriculum.Version, week curriculum.Week, p DigestPlan, st StudentRow, r advice.Reader) DigestPlan {
	skill, _ := v.SkillByID(week.Skill)
	p.Programme, p.Title, p.Skill = v.Content.Name, week.Title, skill.Name
	for _, s := range week.Plans {
		p.Sessions = append(p.Sessions, DigestSession{Name: s.Name, Times: s.Times, Minutes: s.Minutes})
	}
	state := progress.State{Ladder: skill.Ladder}
	if i := slices.IndexFunc(st.Skills, func(s StudentSkill) bool { return s.State.Skill == week.Skill }); i >= 0 {
		state = st.Skills[i].State
	}
	if next, open := state.Next(); open {
		p.Step = advice.Step(r, next)
	}
	return p
}
