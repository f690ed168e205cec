package academy

import (
	"context"
	"slices"
	"strconv"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// CohortStore is what looking at a programme's students together needs stored.
type CohortStore interface {
	Listing

	Programme(ctx context.Context, id domain.ID) (curriculum.Programme, error)
	Groups(ctx context.Context, page domain.Page) ([]Group, error)
	// Assignments lists those that were ended as well.
	Assignments(ctx context.Context, f AssignmentFilter, page domain.Page) ([]Assignment, error)
	// VersionsOf gives the versions that the assignments pin.
	VersionsOf(ctx context.Context, as []Assignment) (map[VersionKey]curriculum.Version, error)
	// Stored gives what is stored of the students.
	Stored(ctx context.Context, students []domain.ID) (Stored, error)
	// SessionStarts gives when the students' sessions since an instant started,
	// oldest first.
	SessionStarts(ctx context.Context, students []domain.ID, since time.Time) (map[domain.ID][]time.Time, error)
}

// CohortService looks at all students of a programme together.
type CohortService struct {
	Store domain.Transactor[CohortStore]
	Env   domain.Env
}

// CohortBy says what divides a cohort into the parts that are compared.
type CohortBy string

// What divides a cohort.
const (
	ByVersion CohortBy = "version"
	ByGroup   CohortBy = "group"
)

// CohortBys lists them.
func CohortBys() []CohortBy { return []CohortBy{ByVersion, ByGroup} }

// MinCompared is how many students a part needs to be compared. No source; our
// choice: with fewer the chi-square of the log-rank test means little.
const MinCompared = 5

// CohortFilter narrows a cohort; zero values do not narrow.
type CohortFilter struct {
	Group   domain.ID
	Version int
	// By is what to compare; empty compares versions, or else groups, whichever has
	// two parts with enough students.
	By CohortBy
}

// Cohort is the students of a programme, and how long its steps take them. A
// student counts by the assignment of the programme that they were given last, from
// its first day until its last, the day that it was ended, or today, whichever comes
// first. Days of a pause do not count. A student who has not passed a step by then
// was only followed that long, which the courses take into account; one who passed
// it before the first day says nothing about how long it takes.
type Cohort struct {
	Programme domain.ID
	Name      string
	// Versions and Groups are those that its students have, in order of number and of
	// identity.
	Versions, Groups []CohortPart
	// Students are in order of identity; those whose programme has not begun are
	// left out.
	Students []CohortStudent
	// Steps are those of the skills that the programme trains, skill by skill, from
	// the easiest.
	Steps []CohortStep
	// By is what Steps are compared by; empty where there is nothing to compare.
	By CohortBy
	// Times is what was planned and spent on each kind of block, in the last sessions
	// that each student did by a plan, of which there are Planned in all.
	Times   []progress.KindTime
	Planned int
}

// CohortPart is the students with one version, or of one group.
type CohortPart struct {
	Version  int       // 0 for a group
	Group    domain.ID // empty for a version
	Name     string
	Students int
}

// CohortStudent is one student in a cohort.
type CohortStudent struct {
	Student    Member
	Assignment Assignment
	Position   Position
	// Groups are those that the student is in.
	Groups []domain.ID
	// Days is for how many days the student was followed, Sessions how often they
	// practised in that time.
	Days, Sessions int
	Skills         []CohortSkill
	// Passed counts the steps passed since the start; Since is how many days it is
	// since the last of them or, while there is none, since the start.
	Passed, Since int
	// Open reports whether a step is left to pass.
	Open bool
}

// CohortSkill counts the steps of one skill that a student has passed.
type CohortSkill struct {
	Skill domain.ID
	// Tiers are how many there are, in the student's version.
	Tiers int
	// Before were passed when the programme began, After by the end of following.
	Before, After int
}

// CohortStep is one step, over all who had it.
type CohortStep struct {
	Skill domain.ID
	Name  string // of the skill
	// Number is the step's place among those of its skill, from 1.
	Number int
	Tier   streak.Tier
	// Before passed it before the programme, and Passed in it; for Next it is the
	// next step to pass.
	Before, Passed, Next int
	// All is the course over everybody who had it to pass.
	All CohortCourse
	// Parts are those compared, none where there is nothing to compare.
	Parts []CohortCourse
	// LogRank compares the parts by days; CannotTell says why not.
	LogRank estimate.LogRank
}

// CohortCourse is how long a step takes, in days and in sessions.
type CohortCourse struct {
	Part           CohortPart
	Days, Sessions estimate.Survival
}

// bounds of what one cohort reads.
const (
	maxGiven  = 5 * maxStudents
	maxGroups = 500
)

// Cohort looks at those students of a programme whom the actor may see.
func (s CohortService) Cohort(ctx context.Context, a domain.Actor, programme domain.ID, f CohortFilter) (c Cohort, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx CohortStore) error {
		p, err := tx.Programme(ctx, programme)
		if err != nil {
			return err
		}
		c = Cohort{Programme: programme, Name: p.Draft.Name}
		b, err := s.read(ctx, tx, a, programme, f)
		if err != nil {
			return err
		}
		b.fill(&c, f)
		return nil
	})
	return c, err
}

// cohortBuilder is what a cohort is made of.
type cohortBuilder struct {
	followed []followed
	groups   []Group
	stored   Stored
}

// followed is one student, as long as they are followed.
type followed struct {
	CohortStudent
	version curriculum.Version
	states  []progress.State
	// until is the last day of following, and starts are the sessions in it.
	until  domain.Date
	starts []time.Time
}

func (s CohortService) read(ctx context.Context, tx CohortStore, a domain.Actor, programme domain.ID, f CohortFilter) (b cohortBuilder, err error) {
	members, err := Students(ctx, tx, a, MemberFilter{Group: f.Group})
	if err != nil {
		return b, err
	}
	given, err := tx.Assignments(ctx, AssignmentFilter{Programme: programme, VisibleTo: Scope(a), ForApps: a.ByApp()}, domain.Page{Limit: maxGiven})
	if err != nil {
		return b, err
	}
	versions, err := tx.VersionsOf(ctx, given)
	if err != nil {
		return b, err
	}
	last := lastGiven(given)
	for _, m := range members {
		if as, ok := last[m.ID]; ok && (f.Version == 0 || as.Version == f.Version) {
			if x, begun := follow(m, as, versions[as.Pins()], s.Env.Now()); begun {
				b.followed = append(b.followed, x)
			}
		}
	}
	ids := make([]domain.ID, len(b.followed))
	since := s.Env.Now()
	for i, x := range b.followed {
		ids[i] = x.Student.ID
		if start := x.Assignment.Start.Start(x.Student.Zone()); start.Before(since) {
			since = start
		}
	}
	if b.stored, err = tx.Stored(ctx, ids); err != nil {
		return b, err
	}
	if b.groups, err = tx.Groups(ctx, domain.Page{Limit: maxGroups}); err != nil {
		return b, err
	}
	starts, err := tx.SessionStarts(ctx, ids, since)
	if err != nil {
		return b, err
	}
	states := statesByStudent(b.stored.States)
	for i := range b.followed {
		b.followed[i].look(states[ids[i]], starts[ids[i]], b.groups)
	}
	return b, nil
}

// lastGiven gives the assignment that each student was given last.
func lastGiven(given []Assignment) map[domain.ID]Assignment {
	last := map[domain.ID]Assignment{}
	for _, as := range given {
		if was, ok := last[as.Student]; !ok || !as.CreatedAt.Before(was.CreatedAt) {
			last[as.Student] = as
		}
	}
	return last
}

// follow says until when a student is followed; begun is false before the start.
func follow(m Member, as Assignment, v curriculum.Version, now time.Time) (x followed, begun bool) {
	today := domain.DateOf(now, m.Zone())
	x = followed{CohortStudent: CohortStudent{Student: m, Assignment: as}, version: v, until: today}
	weeks := len(v.Content.Weeks)
	if x.Position = as.On(today, weeks); today.Before(as.Start) {
		return x, false
	}
	ends := []domain.Date{as.WeekStart(weeks + 1).AddDays(-1)}
	if !as.EndedAt.IsZero() {
		ends = append(ends, domain.DateOf(as.EndedAt, m.Zone()))
	}
	for _, end := range ends {
		if end.Before(x.until) {
			x.until = end
		}
	}
	x.Days = max(0, as.days(x.until))
	return x, !x.until.Before(as.Start)
}

// look takes in what is stored of the student.
func (x *followed) look(states []progress.State, starts []time.Time, groups []Group) {
	x.states = states
	zone := x.Student.Zone()
	from, to := x.Assignment.Start.Start(zone), x.until.AddDays(1).Start(zone)
	for _, at := range starts {
		if !at.Before(from) && at.Before(to) {
			x.starts = append(x.starts, at)
		}
	}
	x.Sessions = len(x.starts)
	for _, g := range groups {
		if slices.Contains(g.Students, x.Student.ID) {
			x.Groups = append(x.Groups, g.ID)
		}
	}
	lastPass := 0
	for _, skill := range x.version.Skills {
		k := CohortSkill{Skill: skill.ID, Tiers: len(skill.Ladder.Tiers)}
		for i, tier := range skill.Ladder.Tiers {
			switch p := x.pass(skill.ID, tier); {
			case p.before:
				k.Before, k.After = i+1, i+1
			case p.passed:
				k.After = i + 1
				x.Passed++
				lastPass = max(lastPass, p.day)
			}
		}
		x.Open = x.Open || k.After < k.Tiers
		x.Skills = append(x.Skills, k)
	}
	x.Since = x.Days - lastPass
}

// stepPass is when a student passed a step, if so.
type stepPass struct {
	// before the programme, or passed in it.
	before, passed bool
	// day is the day of the programme, from 1, pauses left out, and session the
	// number of the session since the start; for who did not pass, the last ones.
	day, session int
}

// pass says when the student passed a step.
func (x *followed) pass(skill domain.ID, tier streak.Tier) stepPass {
	hit := firstHit(x.states, skill, tier)
	if hit == nil {
		return stepPass{day: x.Days, session: x.Sessions}
	}
	zone := x.Student.Zone()
	switch on := domain.DateOf(hit.At, zone); {
	case on.Before(x.Assignment.Start):
		return stepPass{before: true}
	case x.until.Before(on):
		return stepPass{day: x.Days, session: x.Sessions}
	default:
		n := 0
		for _, at := range x.starts {
			if !at.After(hit.At) {
				n++
			}
		}
		return stepPass{passed: true, day: max(0, x.Assignment.days(on)), session: n}
	}
}

func firstHit(states []progress.State, skill domain.ID, tier streak.Tier) *progress.Hit {
	for i := range states {
		if states[i].Skill != skill {
			continue
		}
		for _, t := range states[i].Tiers {
			if t.Tier == tier {
				return t.First
			}
		}
	}
	return nil
}

// fill puts a cohort together.
func (b cohortBuilder) fill(c *Cohort, f CohortFilter) {
	for _, x := range b.followed {
		c.Students = append(c.Students, x.CohortStudent)
		h := b.stored.Habits[x.Student.ID]
		c.Planned += h.Planned
		c.Times = progress.AddTimes(c.Times, h.Times)
	}
	c.Versions, c.Groups = b.versionParts(), b.groupParts()
	parts := b.compared(c, f.By)
	for _, step := range b.steps() {
		b.course(&step, parts)
		c.Steps = append(c.Steps, step)
	}
}

func (b cohortBuilder) versionParts() []CohortPart {
	counts := map[int]int{}
	for _, x := range b.followed {
		counts[x.Assignment.Version]++
	}
	var parts []CohortPart
	for number, n := range counts {
		parts = append(parts, CohortPart{Version: number, Name: "version " + strconv.Itoa(number), Students: n})
	}
	slices.SortFunc(parts, func(a, b CohortPart) int { return a.Version - b.Version })
	return parts
}

func (b cohortBuilder) groupParts() []CohortPart {
	var parts []CohortPart
	for _, g := range b.groups {
		n := 0
		for _, x := range b.followed {
			if slices.Contains(x.Groups, g.ID) {
				n++
			}
		}
		if n > 0 {
			parts = append(parts, CohortPart{Group: g.ID, Name: g.Name, Students: n})
		}
	}
	return parts
}

// compared chooses the parts to compare: those with enough students, where there are
// two or more. Students of several groups are in none of them here, since nobody can
// be on both sides.
func (b cohortBuilder) compared(c *Cohort, wanted CohortBy) []CohortPart {
	for _, by := range CohortBys() {
		if wanted != "" && by != wanted {
			continue
		}
		parts := c.Versions
		if by == ByGroup {
			parts = c.Groups
		}
		enough := slices.DeleteFunc(slices.Clone(parts), func(p CohortPart) bool { return b.of(p) < MinCompared })
		if len(enough) > 1 {
			c.By = by
			return enough
		}
	}
	return nil
}

// of counts the students of a part that is compared.
func (b cohortBuilder) of(p CohortPart) int {
	n := 0
	for _, x := range b.followed {
		if x.in(p) {
			n++
		}
	}
	return n
}

// in reports whether a student is of a part that is compared.
func (x followed) in(p CohortPart) bool {
	if p.Version != 0 {
		return x.Assignment.Version == p.Version
	}
	return len(x.Groups) == 1 && x.Groups[0] == p.Group
}

// steps lists the steps of all versions that the students have.
func (b cohortBuilder) steps() []CohortStep {
	var skills []curriculum.Skill
	tiers := map[domain.ID][]streak.Tier{}
	latest := slices.SortedStableFunc(slices.Values(b.followed), func(x, y followed) int { return y.Assignment.Version - x.Assignment.Version })
	for _, x := range latest {
		for _, skill := range x.version.Skills {
			if !slices.ContainsFunc(skills, func(s curriculum.Skill) bool { return s.ID == skill.ID }) {
				skills = append(skills, skill)
			}
			for _, tier := range skill.Ladder.Tiers {
				if !slices.Contains(tiers[skill.ID], tier) {
					tiers[skill.ID] = append(tiers[skill.ID], tier)
				}
			}
		}
	}
	var steps []CohortStep
	for _, skill := range skills {
		slices.SortFunc(tiers[skill.ID], progress.CompareTiers)
		for i, tier := range tiers[skill.ID] {
			steps = append(steps, CohortStep{Skill: skill.ID, Name: skill.Name, Number: i + 1, Tier: tier})
		}
	}
	return steps
}

// course works out how long a step takes.
func (b cohortBuilder) course(step *CohortStep, parts []CohortPart) {
	days, sessions := make([][]estimate.Wait, len(parts)+1), make([][]estimate.Wait, len(parts)+1)
	for _, x := range b.followed {
		skill, _ := x.version.SkillByID(step.Skill)
		at := slices.Index(skill.Ladder.Tiers, step.Tier)
		if at < 0 {
			continue
		}
		p := x.pass(step.Skill, step.Tier)
		if p.before {
			step.Before++
			continue
		}
		if p.passed {
			step.Passed++
		}
		if i := slices.IndexFunc(x.Skills, func(k CohortSkill) bool { return k.Skill == step.Skill }); x.Skills[i].After == at {
			step.Next++
		}
		for i := range days {
			if i == 0 || x.in(parts[i-1]) {
				days[i] = append(days[i], estimate.Wait{Time: float64(p.day), Passed: p.passed})
				sessions[i] = append(sessions[i], estimate.Wait{Time: float64(p.session), Passed: p.passed})
			}
		}
	}
	step.All = CohortCourse{Days: estimate.SurvivalOf(days[0]), Sessions: estimate.SurvivalOf(sessions[0])}
	var compared [][]estimate.Wait
	for i, part := range parts {
		if len(days[i+1]) >= MinCompared {
			part.Students = len(days[i+1])
			step.Parts = append(step.Parts, CohortCourse{Part: part, Days: estimate.SurvivalOf(days[i+1]), Sessions: estimate.SurvivalOf(sessions[i+1])})
			compared = append(compared, days[i+1])
		}
	}
	if len(compared) < 2 {
		step.Parts, step.LogRank = nil, estimate.LogRank{CannotTell: estimate.FewStudents}
		return
	}
	step.LogRank = estimate.LogRankOf(compared)
}
