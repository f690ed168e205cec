package academy

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// StudentRow is one student as a coach sees them.
type StudentRow struct {
	Student Member
	Habit   progress.Habit
	Work    []Duty
	// Week is the present one of the first programme that runs, as the student
	// plays it; nil without one.
	Week *curriculum.Week
	// Limits are those of the programmes that run or follow.
	Limits []curriculum.Limit
	// Adjustments are those that stand and are not over, latest first.
	Adjustments []Adjustment
	Skills      []StudentSkill
	// Attention are the reasons to look at the student, most pressing first,
	// those acknowledged last.
	Attention []Attention
	// Load is how much the student practises; see ReadService.Progress.
	Load *StudentLoad
	// Season is the student's, as far as they set one.
	Season Season
	// Course counts the student's latest rounds.
	Course course.Tally
	// NewMessages counts the student's messages that whoever reads the dashboard
	// has not read.
	NewMessages int
}

// Duty is an assignment with what was planned of it so far.
type Duty struct {
	Assignment Assignment
	Name       string
	Weeks      int
	Position   Position
	// PerWeek is how many sessions the present week wants; 0 before the start.
	PerWeek int
	// Planned is how many sessions the programme wanted by today; done are
	// Assignment.Sessions.
	Planned int
}

// StudentSkill is a student at one skill.
type StudentSkill struct {
	Skill curriculum.Skill
	State progress.State
	// Learned is what the academy's students teach, which State is read under.
	Learned progress.Learned
	// Week is the count of the present practice week.
	Week progress.Tally
	// Milestones are in order of when they were made.
	Milestones []progress.Milestone
	// Stalls are the reasons to look at the student that are about the skill.
	Stalls []advice.Stall
}

// Attention is one reason to look at a student.
type Attention struct {
	advice.Stall
	// Acknowledged is the coach's word that it is seen, while it is silent.
	Acknowledged *Acknowledgement
}

// DashboardFilter narrows the dashboard; zero values do not narrow.
type DashboardFilter struct {
	Group     domain.ID
	Programme domain.ID
	Reason    advice.Reason
}

// Dashboard gives every student whom the actor may see, those who need
// attention first: by the most pressing reason that is not acknowledged, then by
// how many, then by how long they have not been seen, then by name. Its cost is that of the students
// shown, whatever the length of their histories.
func (s ReadService) Dashboard(ctx context.Context, a domain.Actor, f DashboardFilter) (rows []StudentRow, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx ReadStore) error {
		members, err := Students(ctx, tx, a, MemberFilter{Group: f.Group})
		if err != nil {
			return err
		}
		if rows, err = studentRows(ctx, tx, a, members, s.Env.Now()); err != nil || a.Software() {
			return err
		}
		return countNew(ctx, tx, a, rows)
	})
	rows = slices.DeleteFunc(rows, func(r StudentRow) bool { return !f.keeps(r) })
	slices.SortStableFunc(rows, compareAttention)
	return rows, err
}

// countNew notes how many of the students' messages the actor has not read.
func countNew(ctx context.Context, tx ReadStore, a domain.Actor, rows []StudentRow) error {
	threads, err := tx.UnreadThreads(ctx, a.Member)
	for _, t := range threads {
		if i := slices.IndexFunc(rows, func(r StudentRow) bool { return r.Student.ID == t.Student }); i >= 0 {
			rows[i].NewMessages = t.Messages
		}
	}
	return err
}

func (f DashboardFilter) keeps(r StudentRow) bool {
	if f.Programme != "" && !slices.ContainsFunc(r.Work, func(d Duty) bool { return d.Assignment.Programme == f.Programme }) {
		return false
	}
	return f.Reason == "" || slices.ContainsFunc(r.Attention, func(x Attention) bool { return x.Reason == f.Reason })
}

func compareAttention(a, b StudentRow) int {
	first := func(s StudentRow) int {
		if pressing(s.Attention) == 0 {
			return 1000
		}
		return s.Attention[0].Reason.Urgency()
	}
	return cmp.Or(cmp.Compare(first(a), first(b)), cmp.Compare(pressing(b.Attention), pressing(a.Attention)),
		a.Habit.LastAt().Compare(b.Habit.LastAt()), strings.Compare(a.Student.Name, b.Student.Name), cmp.Compare(a.Student.ID, b.Student.ID))
}

// Progress gives one student whom the actor may see, with their load.
func (s ReadService) Progress(ctx context.Context, a domain.Actor, student domain.ID) (st StudentRow, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx ReadStore) error {
		m, err := Student(ctx, tx, a, student)
		if err != nil {
			return err
		}
		rows, err := studentRows(ctx, tx, a, []Member{m}, s.Env.Now())
		if err != nil {
			return err
		}
		st = rows[0]
		st.Load, err = readLoad(ctx, tx, m, domain.DateOf(s.Env.Now(), m.Zone()).Monday())
		return err
	})
	return st, err
}

// studentRows gathers what is kept of the members in a fixed number of reads. Who
// has no coach is told to those who can give them one.
func studentRows(ctx context.Context, tx ReadStore, a domain.Actor, members []Member, now time.Time) ([]StudentRow, error) {
	ids := make([]domain.ID, len(members))
	for i, m := range members {
		ids[i] = m.ID
	}
	g, err := gather(ctx, tx, ids)
	if err != nil {
		return nil, err
	}
	if a.SeesAll() {
		if g.uncoached, err = tx.Uncoached(ctx); err != nil {
			return nil, err
		}
	}
	rows := make([]StudentRow, len(members))
	for i, m := range members {
		rows[i] = g.row(m, now)
	}
	return rows, nil
}

// gathered is everything that the rows of some students are made of.
type gathered struct {
	assignments map[domain.ID][]Assignment
	versions    map[VersionKey]curriculum.Version
	states      map[domain.ID][]progress.State
	priors      progress.Priors
	habits      map[domain.ID]progress.Habit
	skills      map[domain.ID]curriculum.Skill
	silences    map[domain.ID][]Acknowledgement
	course      map[domain.ID]course.Tally
	uncoached   []domain.ID // in order
	adjustments map[domain.ID][]Adjustment
	seasons     map[domain.ID]Season
}

func gather(ctx context.Context, tx Gathering, ids []domain.ID) (g gathered, err error) {
	stored, err := tx.Stored(ctx, ids)
	if err != nil {
		return g, err
	}
	if g.versions, err = tx.VersionsOf(ctx, stored.Assignments); err != nil {
		return g, err
	}
	stored.learn()
	g.priors = stored.Priors
	g.habits, g.course, g.seasons = stored.Habits, stored.Course, stored.Seasons
	g.assignments = groupBy(stored.Assignments, func(a Assignment) domain.ID { return a.Student })
	g.states = statesByStudent(stored.States)
	g.adjustments = groupBy(stored.Adjustments, func(a Adjustment) domain.ID { return a.Student })
	g.silences = groupBy(stored.Acknowledgements, func(k Acknowledgement) domain.ID { return k.Student })
	g.skills, err = tx.SkillsByID(ctx, skillsOf(stored.States))
	return g, err
}

// statesByStudent cuts states in order of student into those of each. A state
// is large, so none is copied.
func statesByStudent(states []progress.State) map[domain.ID][]progress.State {
	m := map[domain.ID][]progress.State{}
	for len(states) > 0 {
		of := states[0].Student
		n := 1
		for n < len(states) && states[n].Student == of {
			n++
		}
		m[of], states = states[:n:n], states[n:]
	}
	return m
}

func groupBy[T any](all []T, key func(T) domain.ID) map[domain.ID][]T {
	m := map[domain.ID][]T{}
	for _, x := range all {
		m[key(x)] = append(m[key(x)], x)
	}
	return m
}

func skillsOf(states []progress.State) []domain.ID {
	ids := make([]domain.ID, len(states))
	for i := range states {
		ids[i] = states[i].Skill
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

func (g gathered) row(m Member, now time.Time) StudentRow {
	today := domain.DateOf(now, m.Zone())
	st := StudentRow{Student: m, Habit: g.habits[m.ID], Season: g.seasons[m.ID], Course: g.course[m.ID]}
	for _, as := range g.assignments[m.ID] {
		c := g.versions[as.Pins()].Content
		weeks := as.adjustedWeeks(c.Weeks, g.adjustments[m.ID], today)
		d := Duty{
			Assignment: as, Name: c.Name, Weeks: len(weeks),
			Position: as.On(today, len(weeks)), Planned: as.Planned(today, weeks),
		}
		if d.Position.Phase != Finished {
			st.Limits = append(st.Limits, c.Limits...)
		}
		if d.Position.Week > 0 {
			week := weeks[d.Position.Week-1]
			d.PerWeek = week.Sessions()
			if st.Week == nil && d.Position.Phase == Running {
				st.Week = &week
			}
		}
		st.Work = append(st.Work, d)
	}
	for _, x := range g.adjustments[m.ID] {
		if x.Until == (domain.Date{}) || !x.Until.Before(today) {
			st.Adjustments = append(st.Adjustments, x)
		}
	}
	states := g.states[m.ID]
	st.Skills = make([]StudentSkill, 0, len(states))
	for _, state := range states {
		state.Assessment.Forecast = st.Season.Off.forecast(state.Assessment.Forecast, domain.DateOf(state.LastAt, m.Zone()))
		st.Skills = append(st.Skills, StudentSkill{
			Skill: g.skills[state.Skill], State: state, Learned: g.priors.About(state), Week: state.InWeek(today.Monday()), Milestones: state.Milestones(),
		})
	}
	st.Attention = g.attention(st, m, today)
	for i := range st.Skills {
		for _, a := range st.Attention {
			if a.Skill == st.Skills[i].State.Skill {
				st.Skills[i].Stalls = append(st.Skills[i].Stalls, a.Stall)
			}
		}
	}
	return st
}

// Plan is what may be changed for a reason to look at the student.
func (st StudentRow) Plan(s advice.Stall) advice.Plan {
	first, _, _ := strings.Cut(st.Student.Name, " ")
	p := advice.Plan{Student: first, Week: st.Week, Limits: st.Limits}
	at := map[domain.ID]StudentSkill{}
	for _, skill := range st.Skills {
		at[skill.State.Skill] = skill
	}
	p.Shot = at[s.Skill].Skill.Kind
	for _, x := range st.Adjustments {
		if x.Kind != curriculum.ExtraStep || x.CreatedAt.After(at[x.Skill].State.LastAt) {
			p.Standing = append(p.Standing, x.Adjustment)
		}
	}
	return p
}

// attention gathers the reasons to look at a student.
func (g gathered) attention(st StudentRow, m Member, today domain.Date) []Attention {
	p := advice.Practice{Habit: st.Habit, Today: today, Zone: m.Zone()}
	p.Since, p.PerWeek, p.Expected = expected(st, today)
	p.Standing = g.standing(st, m)
	var reasons []Attention
	for _, stall := range advice.Weigh(p, g.states[m.ID]) {
		reasons = append(reasons, Attention{Stall: stall})
	}
	silence(reasons, g.silences[m.ID], today)
	return reasons
}

// expected says whether a student is meant to practise today, since when
// without a break, and how often a week. Nobody is in the off-season, and its end ends
// a break.
func expected(st StudentRow, today domain.Date) (since domain.Date, perWeek float64, running bool) {
	for _, d := range st.Work {
		if d.Position.Phase != Running {
			continue
		}
		running = true
		perWeek += float64(d.PerWeek)
		begun := d.Assignment.runsSince(today)
		if since == (domain.Date{}) || begun.Before(since) {
			since = begun
		}
	}
	off := st.Season.Off
	if off.Has(today) {
		return domain.Date{}, 0, false
	}
	if off != (OffSeason{}) && off.Until.Before(today) && since.Before(off.Until) && since != (domain.Date{}) {
		since = off.Until.AddDays(1)
	}
	return since, perWeek, running
}

// standing is how a student stands, but for the sessions.
func (g gathered) standing(st StudentRow, m Member) *advice.Standing {
	s := &advice.Standing{}
	if !m.JoinedAt.IsZero() {
		s.Joined = domain.DateOf(m.JoinedAt, m.Zone())
	}
	_, s.Uncoached = slices.BinarySearch(g.uncoached, m.ID)
	open := false // a programme whose last day is not known yet
	for _, d := range st.Work {
		switch d.Position.Phase {
		case Upcoming, Paused:
			s.Planned, open = true, true
		case Running:
			s.Planned = true
		}
	}
	if open {
		return s
	}
	for _, d := range st.Work {
		if s.Planned && d.Position.Phase != Running {
			continue
		}
		if last := d.Assignment.WeekStart(d.Weeks + 1).AddDays(-1); s.Ends.Before(last) {
			s.Programme, s.Ends = d.Name, last
		}
	}
	return s
}
