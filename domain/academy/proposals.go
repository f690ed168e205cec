package academy

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// ProposalStore is what proposing next week needs stored.
type ProposalStore interface {
	domain.EventLog
	Viewing
	Listing
	Gathering

	Academy(ctx context.Context) (Academy, error)
	// Fades gives what was learned last of how skills fade; a skill of which nothing
	// was is left out.
	Fades(ctx context.Context, skills []domain.ID) (map[domain.ID]estimate.Fade, error)
	// Refusals are in order of student, skill and kind.
	Refusals(ctx context.Context, students []domain.ID) ([]Refusal, error)
	// SaveRefusal keeps one for each student, skill and kind.
	SaveRefusal(ctx context.Context, r Refusal) error
	// DropRefusal forgets one; it is no error if there is none.
	DropRefusal(ctx context.Context, r RefusalKey) error
}

// ProposalService proposes next week for each student.
type ProposalService struct {
	Store domain.Transactor[ProposalStore]
	Env   domain.Env
}

// RefusalKey names what may be refused.
type RefusalKey struct {
	Student domain.ID
	Skill   domain.ID
	Kind    curriculum.AdjustmentKind
}

// Refusal is a coach's word that something is not to be proposed again for a while.
type Refusal struct {
	RefusalKey
	// Until is the last day of that, in the student's time zone.
	Until domain.Date
	// Now and Then are the chances of success that were told, from 0 to 1.
	Now, Then float64
	By        domain.ID
	At        time.Time
}

// refusedDays is how long what was refused is not proposed again, and muchChanged by
// how much a chance may change meanwhile, in logits: from 20 to 40 %. Both are our
// choice.
const (
	refusedDays = 14
	muchChanged = 1.0
)

// Silences says whether the refusal keeps a proposal back on a day.
func (r Refusal) Silences(p advice.Proposal, on domain.Date) bool {
	return !r.Until.Before(on) && !changedMuch(r.Now, p.Now) && !changedMuch(r.Then, p.Then)
}

func changedMuch(from, to float64) bool {
	logit := func(p float64) float64 {
		p = min(max(p, 0.001), 0.999)
		return math.Log(p / (1 - p))
	}
	return math.Abs(logit(to)-logit(from)) > muchChanged
}

// NextWeek is what is proposed for a student.
type NextWeek struct {
	Student Member
	// Monday is the week's first day, in the student's time zone.
	Monday domain.Date
	Items  []Proposed
	// Given are the adjustments that the week, or one of the two after it, is played by
	// already, oldest first; steps that were passed are left out.
	Given []Adjustment
}

// Absent is a student for whom nothing is proposed: no programme runs in the week, or it
// begins in their off-season.
type Absent struct {
	Student Member
	Why     Absence
}

// Absence is why no programme of a student runs in a week.
type Absence string

// Why no programme runs, the nearest to running first.
const (
	AbsentOffSeason Absence = "off_season"
	AbsentPaused    Absence = "paused"
	AbsentUpcoming  Absence = "upcoming"
	AbsentFinished  Absence = "finished"
	AbsentNone      Absence = "no_programme"
)

// Absences lists them.
func Absences() []Absence {
	return []Absence{AbsentOffSeason, AbsentPaused, AbsentUpcoming, AbsentFinished, AbsentNone}
}

// Proposed is a proposal for an assignment.
type Proposed struct {
	advice.Proposal
	Assignment domain.ID
	Skill      curriculum.Skill
}

// key names the proposal for a refusal.
func (p Proposed) key(student domain.ID) RefusalKey {
	return RefusalKey{Student: student, Skill: p.Skill.ID, Kind: p.Adjustment.Kind}
}

// Proposals are next week's for all students whom somebody sees.
type Proposals struct {
	// Challenge is the academy's, in whole per cent.
	Challenge int
	Students  []NextWeek
	// Absent are the others whom the actor sees, in order of name.
	Absent []Absent
}

// NextWeek proposes the week from the next Monday on for every student whom the actor
// may see, of a group if one is given, in order of name. Students for whom no
// programme runs then are named with the reason, and what was refused is left out. Circles are proposed
// in the reader's units. Nothing happens until it is accepted, which gives the
// adjustments: see [AdjustService.Give].
func (s ProposalService) NextWeek(ctx context.Context, a domain.Actor, group domain.ID, r advice.Reader) (out Proposals, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx ProposalStore) error {
		members, err := Students(ctx, tx, a, MemberFilter{Group: group})
		if err != nil {
			return err
		}
		p, err := s.proposer(ctx, tx, members, r)
		if err != nil {
			return err
		}
		out = Proposals{Challenge: p.academy.Challenge}
		for _, m := range members {
			if w, runs := p.nextWeek(m); runs {
				w.Items = slices.DeleteFunc(w.Items, func(x Proposed) bool { return p.refused(x, m) })
				out.Students = append(out.Students, w)
			} else {
				out.Absent = append(out.Absent, Absent{Student: m, Why: p.absence(m, w.Monday)})
			}
		}
		slices.SortFunc(out.Students, func(a, b NextWeek) int { return byNameOf(a.Student, b.Student) })
		slices.SortFunc(out.Absent, func(a, b Absent) int { return byNameOf(a.Student, b.Student) })
		return nil
	})
	return out, err
}

func byNameOf(a, b Member) int {
	return cmp.Or(strings.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID))
}

// proposer is what the proposals for some students are made of.
type proposer struct {
	gathered
	academy  Academy
	fades    map[domain.ID]estimate.Fade
	refusals map[RefusalKey]Refusal
	reader   advice.Reader
	now      time.Time
}

func (s ProposalService) proposer(ctx context.Context, tx ProposalStore, members []Member, r advice.Reader) (p proposer, err error) {
	ids := make([]domain.ID, len(members))
	for i, m := range members {
		ids[i] = m.ID
	}
	p = proposer{reader: r, now: s.Env.Now(), refusals: map[RefusalKey]Refusal{}}
	if p.gathered, err = gather(ctx, tx, ids); err != nil {
		return p, err
	}
	if p.academy, err = tx.Academy(ctx); err != nil {
		return p, err
	}
	skills := make([]domain.ID, 0, len(p.skills))
	for id := range p.skills {
		skills = append(skills, id)
	}
	slices.Sort(skills)
	if p.fades, err = tx.Fades(ctx, skills); err != nil {
		return p, err
	}
	refusals, err := tx.Refusals(ctx, ids)
	for _, r := range refusals {
		p.refusals[r.RefusalKey] = r
	}
	return p, err
}

func (p proposer) refused(x Proposed, m Member) bool {
	r, known := p.refusals[x.key(m.ID)]
	return known && x.Adjustment.Kind != "" && r.Silences(x.Proposal, domain.DateOf(p.now, m.Zone()))
}

// nextWeek proposes a student's; runs is false when no programme does then.
func (p proposer) nextWeek(m Member) (w NextWeek, runs bool) {
	row := p.row(m, p.now)
	today := domain.DateOf(p.now, m.Zone())
	w = NextWeek{Student: m, Monday: today.Monday().AddDays(7)}
	ahead := advice.Ahead{
		Practice: advice.Practice{Habit: row.Habit, Today: today, Zone: m.Zone()},
		Skills:   p.states[m.ID], Fades: p.fades, Challenge: float64(p.academy.Challenge) / 100, Reader: p.reader,
	}
	ahead.Since, ahead.PerWeek, ahead.Expected = expected(row, today)
	ahead.Competitions = row.Season.toPrepare()
	if row.Season.Off.Has(w.Monday) {
		return w, false
	}
	for _, as := range p.assignments[m.ID] {
		v := p.versions[as.Pins()]
		starts, measured := p.starts(as, v, m, today)
		w.Items = append(w.Items, starts...)
		week, ok := p.weekAhead(as, v, w.Monday)
		if runs = runs || ok || len(starts) > 0; !ok {
			continue
		}
		w.Given = append(w.Given, p.given(as, w.Monday)...)
		ahead.Weeks = []advice.WeekAhead{week}
		for _, x := range append(advice.Propose(ahead), p.later(as, v, ahead, row.Season.Off)...) {
			if p.adjusted(as, x, w.Monday) || slices.Contains(measured, x.Skill) {
				continue
			}
			skill, known := v.SkillByID(x.Skill)
			if !known {
				skill = p.skills[x.Skill]
			}
			w.Items = append(w.Items, Proposed{Proposal: x, Assignment: as.ID, Skill: skill})
		}
	}
	return w, runs
}

// later is what a competition or a restart asks for in the weeks after the next.
func (p proposer) later(as Assignment, v curriculum.Version, ahead advice.Ahead, off OffSeason) (all []advice.Proposal) {
	for n := 1; n < advice.WeeksAhead; n++ {
		monday := ahead.Weeks[0].Monday.AddDays(7 * n)
		if week, runs := p.weekAhead(as, v, monday); runs && !off.Has(monday) {
			all = append(all, ahead.Later(week, n)...)
		}
	}
	return all
}

// given lists an assignment's adjustments that are played on a Monday or begin within the
// weeks that are proposed, oldest first, without the steps that were passed.
func (p proposer) given(as Assignment, monday domain.Date) (out []Adjustment) {
	last := monday.AddDays(7*advice.WeeksAhead - 1)
	for _, a := range slices.Backward(p.adjustments[as.Student]) {
		played := a.on(monday) || monday.Before(a.From) && !last.Before(a.From)
		if a.Assignment == as.ID && a.EndedAt.IsZero() && played && !p.passed(a) {
			out = append(out, a)
		}
	}
	return out
}

// passed says whether an adjustment is a step that its student has passed.
func (p proposer) passed(a Adjustment) bool {
	return a.Kind == curriculum.ExtraStep && slices.ContainsFunc(p.states[a.Student], func(s progress.State) bool {
		return s.Skill == a.Skill && slices.Contains(s.Ladder.Tiers[:min(s.Held, len(s.Ladder.Tiers))], a.Tier)
	})
}

// absence says why none of a student's programmes runs in the week from a Monday on.
func (p proposer) absence(m Member, monday domain.Date) Absence {
	if p.seasons[m.ID].Off.Has(monday) {
		return AbsentOffSeason
	}
	why := AbsentNone
	for _, as := range p.assignments[m.ID] {
		at := as.On(monday, len(p.versions[as.Pins()].Content.Weeks))
		if here := Absence(at.Phase); slices.Index(Absences(), here) >= 0 && slices.Index(Absences(), here) < slices.Index(Absences(), why) {
			why = here
		}
	}
	return why
}

// adjusted says whether what is proposed for an assignment was given for that day
// already, in this form or another: no more is moved in a week. A step may have
// another before it.
func (p proposer) adjusted(as Assignment, x advice.Proposal, day domain.Date) bool {
	if x.From != (domain.Date{}) {
		day = x.From
	}
	return slices.ContainsFunc(played(p.adjustments[as.Student], as.ID, day), func(a curriculum.Adjustment) bool {
		return a.Kind == x.Adjustment.Kind && a.Kind != curriculum.ExtraStep
	})
}

// weekAhead is an assignment's week from a Monday on, as the student plays it then; of
// one that starts in that week its first. ok is false when it does not run.
func (p proposer) weekAhead(as Assignment, v curriculum.Version, monday domain.Date) (w advice.WeekAhead, ok bool) {
	day := monday
	if sunday := monday.AddDays(6); day.Before(as.Start) && !sunday.Before(as.Start) {
		day = as.Start
	}
	weeks := v.Content.Weeks
	at := as.On(day, len(weeks))
	if at.Phase != Running {
		return w, false
	}
	return p.weekOf(as, v, at.Week, monday, day), true
}

// weekOf is a 1-based week of an assignment from a Monday on, as the student plays it on
// a day.
func (p proposer) weekOf(as Assignment, v curriculum.Version, number int, monday, day domain.Date) advice.WeekAhead {
	weeks := v.Content.Weeks
	w := advice.WeekAhead{
		Week: weeks[number-1].Adjusted(played(p.adjustments[as.Student], as.ID, day)), Monday: monday, Limits: v.Content.Limits,
		Shots: map[domain.ID]curriculum.SkillKind{},
	}
	for _, s := range v.Skills {
		w.Shots[s.ID] = s.Kind
	}
	for _, before := range weeks[:number-1] {
		if !slices.Contains(w.Earlier, before.Skill) {
			w.Earlier = append(w.Earlier, before.Skill)
		}
	}
	return w
}

// maxRefused is how many proposals may be refused at once.
const maxRefused = 400

// Refuse keeps proposals back for two weeks, today the first day, unless the chances
// of success change much meanwhile; with again they are proposed again at once. All
// are refused, or none.
func (s ProposalService) Refuse(ctx context.Context, a domain.Actor, keys []RefusalKey, again bool) (done []Refusal, err error) {
	var p domain.Problems
	CheckRefusals(&p, keys)
	if err := p.Err("refusal_invalid", "Nothing was refused."); err != nil {
		return nil, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx ProposalStore) error {
		visible, err := visibleStudents(ctx, tx, a)
		if err != nil {
			return err
		}
		students := make([]domain.ID, len(keys))
		for i, k := range keys {
			students[i] = k.Student
		}
		var members []Member
		for _, id := range keepVisible(visible, students) {
			members = append(members, visible[id])
		}
		p, err := s.proposer(ctx, tx, members, advice.Reader{})
		if err != nil {
			return err
		}
		done = make([]Refusal, len(keys))
		for i, k := range keys {
			at := fmt.Sprintf("/items/%d", i)
			m, ok := visible[k.Student]
			if !ok {
				return notRefused(at+"/student_id", "you have no student %q; check the ID", k.Student)
			}
			if done[i], err = p.refusal(m, k, again, at); err != nil {
				return err
			}
			if err := keep(ctx, tx, a, &done[i], p.now); err != nil {
				return err
			}
		}
		return nil
	})
	return done, err
}

// CheckRefusals notes what is wrong with keys of proposals, at /items.
func CheckRefusals(p *domain.Problems, keys []RefusalKey) {
	if p.Entries("/items", "proposals", len(keys), maxRefused); len(keys) > maxRefused {
		return
	}
	for i, k := range keys {
		at := fmt.Sprintf("/items/%d", i)
		if k.Student == "" {
			p.Add(at+"/student_id", "is missing; give the ID of the student")
		}
		if k.Skill == "" {
			p.Add(at+"/skill_id", "is missing; give the ID of the skill")
		}
		k.Kind.Check(p, at+"/kind")
	}
}

// refusal makes the refusal of a proposal that stands, or of none to propose it again.
func (p proposer) refusal(m Member, k RefusalKey, again bool, at string) (Refusal, error) {
	r := Refusal{RefusalKey: k}
	if again {
		return r, nil
	}
	w, _ := p.nextWeek(m)
	i := slices.IndexFunc(w.Items, func(x Proposed) bool { return x.Adjustment.Kind != "" && x.key(m.ID) == k })
	if i < 0 {
		return r, notRefused(at, "is not proposed for %s; read the proposals anew", m.Name)
	}
	r.Until = domain.DateOf(p.now, m.Zone()).AddDays(refusedDays - 1)
	r.Now, r.Then = w.Items[i].Now, w.Items[i].Then
	return r, nil
}

// keep keeps a refusal, or forgets it when it has no end, and tells of it.
func keep(ctx context.Context, tx ProposalStore, a domain.Actor, r *Refusal, now time.Time) error {
	r.By, r.At = a.Member, now
	kind, save := "proposal.refused", func() error { return tx.SaveRefusal(ctx, *r) }
	if r.Until == (domain.Date{}) {
		kind, save = "proposal.restored", func() error { return tx.DropRefusal(ctx, r.RefusalKey) }
	}
	if err := save(); err != nil {
		return err
	}
	return tx.Record(ctx, a.Event(now, kind, r.Student, r.Student, map[string]any{"kind": r.Kind, "skill_id": r.Skill, "until": r.Until.String()}))
}

func notRefused(pointer, format string, args ...any) error {
	var p domain.Problems
	p.Add(pointer, format, args...)
	return p.Err("refusal_invalid", "Nothing was refused.")
}

// Starts are what is proposed for a student after first tests and was not refused, at
// one skill or at all.
func (s ProposalService) Starts(ctx context.Context, a domain.Actor, student, skill domain.ID, r advice.Reader) (items []Proposed, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx ProposalStore) error {
		m, err := Student(ctx, tx, a, student)
		if err != nil {
			return err
		}
		p, err := s.proposer(ctx, tx, []Member{m}, r)
		if err != nil {
			return err
		}
		today := domain.DateOf(p.now, m.Zone())
		items = nil
		for _, as := range p.assignments[m.ID] {
			starts, _ := p.starts(as, p.versions[as.Pins()], m, today)
			for _, x := range starts {
				if (skill == "" || x.Skill.ID == skill) && !p.refused(x, m) {
					items = append(items, x)
				}
			}
		}
		return nil
	})
	return items, err
}

// StartService lets a student begin.
type StartService struct {
	Propose ProposalService
	Adjust  AdjustService
}

// Begin gives what is proposed for a student at a skill after a first test, as a coach
// does who accepts it: nobody has to wait for an answer. What a coach refused is not
// given, and what was given is undone as ever. It is a domain.Conflict when nothing is
// proposed.
func (s StartService) Begin(ctx context.Context, a domain.Actor, student, skill domain.ID, r advice.Reader) ([]Given, error) {
	items, err := s.Propose.Starts(ctx, a, student, skill, r)
	if err != nil {
		return nil, err
	}
	var wanted []Adjustment
	for _, x := range items {
		if x.Adjustment.Kind == "" {
			continue
		}
		wanted = append(wanted, Adjustment{
			Student: student, Assignment: x.Assignment, Adjustment: x.Adjustment, From: x.From, Until: x.Until, Text: x.ToStudent(r),
		})
	}
	if len(wanted) == 0 {
		return nil, domain.Errorf(domain.Conflict, "nothing_proposed", "Nothing is proposed at this skill now. Take the first test first; where it is done, what it proposed was taken already or is over, and the plan says how to go on.")
	}
	return s.Adjust.Give(ctx, a, wanted)
}
