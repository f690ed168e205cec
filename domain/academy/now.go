package academy

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/progress"
)

// ReadStore is what the pages of reading need stored.
type ReadStore interface {
	Viewing
	Listing
	Gathering
	Bagging
	Quieting

	// SkillRecord gives what a student did at a skill, without the state: the latest
	// sessions, at least so many of those that count for its tiers if there are,
	// and all since a period.
	SkillRecord(ctx context.Context, student, skill domain.ID, sessions, since int) (progress.Record, error)
	// DoneInWeek tells what was done of an assignment's week (Assignment.CountsFor) in
	// the sessions that stand.
	DoneInWeek(ctx context.Context, as Assignment, week int) (WeekDone, error)
	// PlayedOut gives the places that the student's last so many sessions with any
	// played out, latest first.
	PlayedOut(ctx context.Context, student domain.ID, sessions int) ([]course.Outing, error)
	// PeriodsOf gives what a student did at all skills since a period, in order of
	// skill, then oldest first.
	PeriodsOf(ctx context.Context, student domain.ID, since int) ([]progress.Period, error)
	// TaskCounts counts, by skill, what came of the balls of random blocks in the
	// student's last so many sessions that started before an instant; in order of
	// task, each once.
	TaskCounts(ctx context.Context, student domain.ID, before time.Time, sessions int) (map[domain.ID][]curriculum.TaskCount, error)
	// UnreadThreads is that of MessageStore.
	UnreadThreads(ctx context.Context, member domain.ID) ([]UnreadThread, error)
	// Uncoached lists the active students whom no active coach works with, in order
	// of identity; nobody in an academy without coaches, where the owners teach.
	Uncoached(ctx context.Context) ([]domain.ID, error)
}

// Gathering is what rows of students are made of.
type Gathering interface {
	// Stored gives what is stored of the students.
	Stored(ctx context.Context, students []domain.ID) (Stored, error)
	SkillsByID(ctx context.Context, ids []domain.ID) (map[domain.ID]curriculum.Skill, error)
	// VersionsOf gives the versions that the assignments pin.
	VersionsOf(ctx context.Context, as []Assignment) (map[VersionKey]curriculum.Version, error)
}

// Stored is what is stored of some students.
type Stored struct {
	// Assignments are those that were not ended, in order of identity.
	Assignments []Assignment
	// States are of every skill that a student practised or was assigned, in
	// order of student and skill.
	States []progress.State
	// Priors are those that were learned last from the academy's students.
	Priors progress.Priors
	// Habits has every student asked for, also one without practice.
	Habits map[domain.ID]progress.Habit
	// Course counts the latest rounds of those who have any; see TallyRounds.
	Course map[domain.ID]course.Tally
	// Acknowledgements are in order of student, skill and reason.
	Acknowledgements []Acknowledgement
	// Adjustments are those that stand, by student, latest first.
	Adjustments []Adjustment
	// Seasons has the students who set one.
	Seasons map[domain.ID]Season
}

// learn puts the states under the priors.
func (s Stored) learn() {
	for i := range s.States {
		s.States[i] = s.States[i].Under(s.Priors)
	}
}

// VersionKey names a published version.
type VersionKey struct {
	Programme domain.ID
	Number    int
}

// Pins names the version an assignment pins.
func (a Assignment) Pins() VersionKey { return VersionKey{a.Programme, a.Version} }

// Now is what a student does next.
type Now struct {
	Student Member
	// On is today in the student's time zone.
	On   domain.Date
	Work []Work
	// Skills are those of the present weeks first, then earlier ones whose
	// ladder is still open.
	Skills []OpenSkill
	// Hand is which way round the student plays.
	Hand greenside.Hand
	// Stations are the clubs that blocks of stations are played with now and next week.
	Stations []Station
	// Habit is how the student practises, which tells their pace.
	Habit progress.Habit
	// Tests are the first tests and end tests that the student is asked for.
	Tests []TestDue
	// Retests are those that are due, the longest due first.
	Retests []DueSkill
	// Quiet says whether tests of the plan are drawn by lot to hide the run.
	Quiet QuietAgreement
	// counts are what came of random blocks before today, by skill; nil unless a
	// block is dealt by them.
	counts map[domain.ID][]curriculum.TaskCount
}

// Work is one assignment as it stands today.
type Work struct {
	Assignment Assignment
	Version    curriculum.Version
	Position   Position
	// WeekStart is the first day of the present week; the start of the
	// programme while it is upcoming.
	WeekStart domain.Date
	// Weeks are those of the version as the student plays them.
	Weeks []curriculum.Week
	// Week is the present one of them; nil while upcoming.
	Week *curriculum.Week
	// Adjustments are those that hold for the assignment and stand, latest first.
	Adjustments []Adjustment
	// Done is what was done of this week's plans.
	Done WeekDone
}

// WeekDone is what was done of a week's plans.
type WeekDone struct {
	// Sessions counts those that count, by the 1-based plan.
	Sessions map[int]int
	// Dealt counts the balls for which a task was dealt, by their block of a plan, in
	// all sessions.
	Dealt map[PlanBlock]int
}

// PlanBlock names a block of a week's plans, or of a version of one for another day;
// both count from 1.
type PlanBlock struct {
	Plan, Block int
	Variant     curriculum.Variant
}

// OpenSkill is a skill whose ladder the student may work on.
type OpenSkill struct {
	Skill curriculum.Skill
	State progress.State
	// Earlier marks a skill of a week gone by.
	Earlier bool
}

// ReadService answers what is read: the student's present, the progress, the
// coach's dashboard.
type ReadService struct {
	Store     domain.Transactor[ReadStore]
	Freshness domain.Transactor[FreshStore]
	Env       domain.Env
}

// Now tells a student what to do today.
func (s ReadService) Now(ctx context.Context, a domain.Actor, student domain.ID) (n Now, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx ReadStore) error {
		m, err := Student(ctx, tx, a, student)
		if err != nil {
			return err
		}
		n = Now{Student: m, On: domain.DateOf(s.Env.Now(), m.Zone())}
		stored, err := tx.Stored(ctx, []domain.ID{student})
		if err != nil {
			return err
		}
		if n.Work, err = works(ctx, tx, stored, n.On); err != nil {
			return err
		}
		if err := n.carry(ctx, tx, stored.States); err != nil {
			return err
		}
		stored.learn()
		n.Skills = openSkills(n.Work, stored.States, student)
		n.Habit = stored.Habits[student]
		n.Retests = dueRetests(n.Work, stored.States, today(s.Env.Now(), m))
		words, err := tx.QuietWords(ctx, student)
		if err != nil {
			return err
		}
		n.Quiet = agreementOf(m, words)
		if n.dealsByMisses() {
			n.counts, err = tx.TaskCounts(ctx, student, n.On.Start(m.Zone()), missesSessions)
		}
		return err
	})
	return n, err
}

// missesSessions is from how many sessions it is read what a student misses: about
// a month of three a week, as far as a habit looks back (our choice).
const missesSessions = progress.HabitSessions

// dealsByMisses reports whether a block of the present week or of the next is dealt
// by what the student misses.
func (n Now) dealsByMisses() bool {
	return slices.ContainsFunc(n.near(curriculum.Random), func(b curriculum.Block) bool { return b.Drill.MoreOfMisses })
}

func works(ctx context.Context, tx ReadStore, stored Stored, on domain.Date) ([]Work, error) {
	versions, err := tx.VersionsOf(ctx, stored.Assignments)
	if err != nil {
		return nil, err
	}
	var work []Work
	for _, as := range stored.Assignments {
		w := Work{Assignment: as, Version: versions[as.Pins()], WeekStart: as.Start}
		for _, x := range stored.Adjustments {
			if x.HoldsFor(as.ID) && x.trainedBy(w.Version) {
				w.Adjustments = append(w.Adjustments, x)
			}
		}
		w.Weeks = as.adjustedWeeks(w.Version.Content.Weeks, w.Adjustments, on)
		if w.Position = as.On(on, len(w.Weeks)); w.Position.Week > 0 {
			w.Week = &w.Weeks[w.Position.Week-1]
			w.WeekStart = as.WeekStart(w.Position.Week)
			if w.Done, err = tx.DoneInWeek(ctx, as, w.Position.Week); err != nil {
				return nil, err
			}
		}
		work = append(work, w)
	}
	return work, nil
}

// openSkills lists the skills of the present weeks, then the earlier ones that
// are not finished.
func openSkills(work []Work, states []progress.State, student domain.ID) []OpenSkill {
	var open []OpenSkill
	add := func(v curriculum.Version, id domain.ID, earlier bool) {
		skill, ok := v.SkillByID(id)
		if !ok || slices.ContainsFunc(open, func(o OpenSkill) bool { return o.Skill.ID == id }) {
			return
		}
		state := progress.State{Student: student, Skill: id, Ladder: skill.Ladder}
		if i := slices.IndexFunc(states, func(s progress.State) bool { return s.Skill == id }); i >= 0 {
			state = states[i]
		}
		if _, unfinished := state.Next(); earlier && !unfinished {
			return
		}
		open = append(open, OpenSkill{Skill: skill, State: state, Earlier: earlier})
	}
	addWeek := func(v curriculum.Version, week curriculum.Week, earlier bool) {
		add(v, week.Skill, earlier)
		for _, p := range week.Plans {
			for _, b := range p.Blocks {
				add(v, week.SkillOf(b), earlier)
			}
		}
	}
	for _, w := range work {
		if w.Week != nil {
			addWeek(w.Version, *w.Week, false)
		}
	}
	for _, w := range work {
		for i := range w.Position.Week - 1 {
			addWeek(w.Version, w.Weeks[i], true)
		}
	}
	return open
}

// Deck deals the tasks of a block that deals them, by its 1-based place in the work;
// nil for another kind of block. It begins where the sessions of the week have ended,
// and follows the walk around the hole. Weights rest on what was kept before the day,
// so that they do not change after a session.
func (n Now) Deck(w Work, week, plan, block int) []curriculum.Stop {
	return n.deck(w, week, plan, block, w.Weeks[week-1].Plans[plan-1], curriculum.Day{})
}

// deck deals for a block of the plan p, which is that of the work or its version for a
// day.
func (n Now) deck(w Work, week, plan, block int, p curriculum.Plan, on curriculum.Day) []curriculum.Stop {
	b := p.Blocks[block-1]
	minutes := p.BlockMinutes()
	if !b.Kind.Dealt() || minutes == nil {
		return nil
	}
	tasks := curriculum.Evenly(b.Drill)
	if b.Drill.MoreOfMisses && b.Kind == curriculum.Random {
		tasks = curriculum.ByMisses(b.Drill, n.counts[w.Weeks[week-1].SkillOf(b)])
	}
	balls := curriculum.DeckBalls(minutes[block-1])
	switch {
	case b.Kind == curriculum.Playout:
		balls = playoutDeck
	case on.Variant != "":
		balls = min(balls, versionDeck)
	}
	from := 0
	if week == w.Position.Week {
		from = w.Done.Dealt[PlanBlock{plan, block, on.Variant}]
	}
	place := []any{w.Assignment.ID, week, plan, block}
	if on.Variant != "" {
		place = append(place, on)
	}
	return curriculum.Round(tasks, from, balls, balls, n.Student.ID, place...)
}

// playoutDeck is enough for two sessions, for a phone that has not reached the service
// in between.
const playoutDeck = 2 * curriculum.MaxPlaces

// versionDeck is how many tasks a version of a plan has at most: a phone keeps six versions of
// each plan, of which one may be played, and begins anew after so many.
const versionDeck = 36
