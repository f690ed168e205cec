package practice

import (
	"cmp"
	"context"
	"crypto/sha256"
	"fmt"
	"maps"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// Store is what storing a revision of a session needs kept, seen for one
// academy. What is absent gives a domain.NotFound error.
type Store interface {
	domain.EventLog
	academy.Viewing

	// Open locks the student and gives all that storing a revision depends on,
	// as it stands then.
	Open(ctx context.Context, q Opening) (Opened, error)
	// Save keeps what a revision changed.
	Save(ctx context.Context, c Change) error
	// Periods gives everything that is kept of a student's sessions at a skill,
	// oldest first.
	Periods(ctx context.Context, student, skill domain.ID) ([]progress.Period, error)
	// RecentTimes gives a student's last sessions but for one, oldest first, by
	// start and then by session.
	RecentTimes(ctx context.Context, student, except domain.ID, limit int) ([]progress.SessionTime, error)
}

// Opening asks for what storing a revision of a session depends on.
type Opening struct {
	Session domain.ID
	// Student may be empty for that of the session as it was stored.
	Student domain.ID
	// Asker is the member who asks; empty for software.
	Asker domain.ID
	// Skills are those of the revision; those that were stored come with them.
	Skills     []domain.ID
	Assignment domain.ID
	// Version of the assignment's programme; 0 for what the assignment pins.
	Version int
	// Start and End are when the revision says that the session was.
	Start time.Time
	End   time.Time
}

// Opened is what storing a revision depends on.
type Opened struct {
	// Student is zero when there is no such member, and Linked says whether the
	// asker works with them.
	Student academy.Member
	Linked  bool
	// Before is what stands under the session's ID, a deletion as well, and
	// Fingerprint that of what was sent; Known is false when nothing was ever
	// stored.
	Before      Session
	Fingerprint [sha256.Size]byte
	Known       bool
	// Records are those of the skills that exist, the opened session's period
	// among their periods, before and after.
	Records map[domain.ID]progress.Record
	// Assignment is zero when there is none of that ID.
	Assignment academy.Assignment
	// Version is zero when it was not asked for or was never published.
	Version curriculum.Version
	// Adjustments are the student's, latest first; none without an assignment.
	Adjustments []academy.Adjustment
	Habit       progress.Habit
	// Overlapping are the student's other sessions that share time with
	// the revision; one that goes on is taken to last until its blocks' time is
	// up. They come without blocks.
	Overlapping []Session
}

// Change is what a revision of a session changed.
type Change struct {
	Session     Session
	Fingerprint [sha256.Size]byte
	// Known says that an earlier revision stood.
	Known bool
	// Untold says that no event tells of the revision yet.
	Untold bool
	Skills []SkillChange
	Habit  progress.Habit
	// Counts are by how much assignments' counts of the sessions that count change.
	Counts []AssignmentCount
}

// SkillChange is what a revision changed of a student's record at a skill.
type SkillChange struct {
	State progress.State
	// Before are the milestones as they stood.
	Before []progress.Milestone
	// Periods are those that changed; one without a session is to be forgotten.
	Periods []progress.Period
	// Forget says that nothing is left to be kept.
	Forget bool
}

// ReadStore is what reading sessions needs kept. What is absent gives a
// domain.NotFound error.
type ReadStore interface {
	academy.Viewing
	academy.Listing

	// Session finds a session, a deleted one as well, whose blocks are empty.
	Session(ctx context.Context, id domain.ID) (Session, error)
	// Sessions lists a student's sessions, latest start first; without their
	// balls unless the filter asks for them.
	Sessions(ctx context.Context, f SessionFilter) ([]Session, error)
	// Overlapping gives the sessions of Opened.Overlapping.
	Overlapping(ctx context.Context, s Session) ([]Session, error)
	// Tracks gives a student's tracks for the skills, States where they stand.
	Tracks(ctx context.Context, student domain.ID, skills []domain.ID) (map[domain.ID]progress.Track, error)
	States(ctx context.Context, students []domain.ID) ([]progress.State, error)
	Comments(ctx context.Context, session domain.ID) ([]Comment, error)
}

// SessionFilter asks for a stretch of a student's sessions, latest first.
type SessionFilter struct {
	Student domain.ID
	// Before, when set, is the position after which to go on: a start and,
	// among equal starts, the identity.
	Before   time.Time
	BeforeID domain.ID
	// From and Until, when set, bound the start: From included, Until not.
	From  time.Time
	Until time.Time
	// UpdatedSince, when set, keeps those of which a revision arrived at this instant
	// or later.
	UpdatedSince time.Time
	Limit        int
	// Balls asks for the blocks' balls beside their counts.
	Balls bool
}

// PutResult is a session that stands, with what it did.
type PutResult struct {
	Session    Session
	Milestones []progress.Milestone
	// Results are what the session says about each tier, by skill.
	Results map[domain.ID][]progress.TierResult
	Notices []Notice
	// Created is true when the session was not known before.
	Created bool
}

// Notice is something that student and coach should know about a session that was
// stored.
type Notice struct {
	Code   string
	Detail string
	// Session is the other session that the notice is about, if any.
	Session domain.ID
}

// Service is what can be done with sessions. The edge has checked that the
// actor's role may try.
type Service struct {
	Store domain.Transactor[Store]
	// Importing is a Store in which what was saved is seen by the next Open of the
	// same transaction.
	Importing domain.Transactor[Store]
	Reading   domain.Transactor[ReadStore]
	Talking   domain.Transactor[CommentStore]
	Env       domain.Env
}

// Put stores a revision of a session, whole. The highest revision stands: the
// same one with the same content is a replay and gets the same answer, with
// other content it is a conflict, and a lower one is told what stands. A
// session without a student is the actor's own.
func (s Service) Put(ctx context.Context, a domain.Actor, session Session) (PutResult, error) {
	session.DeletedAt = time.Time{}
	return s.revise(ctx, a, session)
}

// Delete stores a deletion, which is a revision like any other. The session
// need not be known: a deletion may overtake what it deletes.
func (s Service) Delete(ctx context.Context, a domain.Actor, id, student domain.ID, revision int) error {
	now := s.Env.Now()
	_, err := s.revise(ctx, a, Session{ID: id, Student: student, Revision: revision, StartedAt: now, DeletedAt: now})
	return err
}

func (s Service) revise(ctx context.Context, a domain.Actor, session Session) (out PutResult, err error) {
	if session.Student == "" && a.Role == domain.Student {
		session.Student = a.Member
	}
	session.By, session.ReceivedAt = a.Member, s.Env.Now()
	err = s.Store.Write(ctx, a.Academy, func(tx Store) error {
		next := session.asSent()
		o, err := tx.Open(ctx, opening(a, next))
		if err != nil {
			return err
		}
		named := next.Student != ""
		if o.Known && !named {
			next.Student = o.Before.Student
		}
		err = mayWrite(ctx, tx, a, next, o)
		if !named && domain.KindOf(err) == domain.NotFound {
			err = errWhose(next) // as for a session that is not there
		}
		if err != nil {
			return err
		}
		stands, err := settled(next, o)
		if stands {
			next = o.Before // what was acknowledged is so for good, whatever was withdrawn since
		} else {
			if err := cmp.Or(agreed(ctx, tx, next, o), err); err != nil {
				return err
			}
			if next, err = s.store(ctx, tx, a, next, &o); err != nil {
				return err
			}
		}
		if next.Deleted() {
			return nil
		}
		out = o.result(next)
		out.Created = !o.Known
		return nil
	})
	return out, err
}

func opening(a domain.Actor, next Session) Opening {
	q := Opening{
		Session: next.ID, Student: next.Student, Asker: a.Member, Assignment: next.Assignment, Version: next.Version,
		Start: next.StartedAt, End: next.Until(),
	}
	for _, b := range next.Blocks {
		if !slices.Contains(q.Skills, b.Skill) {
			q.Skills = append(q.Skills, b.Skill)
		}
	}
	return q
}

// mayWrite says whether the actor may store this session for the student.
func mayWrite(ctx context.Context, tx Store, a domain.Actor, next Session, o Opened) error {
	if next.Student == "" {
		return errWhose(next)
	}
	if o.Known && o.Before.Student != next.Student {
		// Whoever may not see the other student learns nothing of them.
		if _, err := academy.Student(ctx, tx, a, o.Before.Student); err != nil {
			if domain.KindOf(err) != domain.NotFound {
				return err
			}
			if next.Deleted() {
				return domain.ErrNotFound("session")
			}
			return domain.Errorf(domain.Conflict, "id_taken", "This session ID is in use; make a new UUIDv7.")
		}
		return domain.Errorf(domain.Conflict, "other_student", "This session belongs to another student; make a new UUIDv7.")
	}
	return academy.MaySee(a, o.Student, o.Linked)
}

// agreed refuses a junior's session to which no guardian agrees.
func agreed(ctx context.Context, tx Store, next Session, o Opened) error {
	switch {
	case next.Deleted() || o.Student.MayPractise() && (next.Match == "" || o.Student.ForMatches()):
		return nil
	case o.Student.MayPractise():
		return errMatches(o.Student, "the session was not kept")
	}
	return academy.ErrConsent(ctx, tx, o.Student, "the session was not kept", "Keep it; it can be sent again once they agree.")
}

// errWhose asks for the student.
func errWhose(next Session) error {
	if !next.Deleted() {
		return invalid("/student_id", "is missing; say whose session this is")
	}
	var p domain.Problems
	p.Add("/student_id", "is missing; there is no such session yet, so say whose it would be")
	return p.Err("session_invalid", "Nothing was deleted.")
}

func invalid(pointer, format string, args ...any) error {
	var p domain.Problems
	p.Add(pointer, format, args...)
	return p.Err("session_invalid", "The session was not saved. Keep it, correct it and send it again.")
}

// settled reports whether next is stored already: as a replay of what was sent, or as
// what was read, in which what was left out is filled in; a conflict or an overtaken
// revision is an error that tells what is stored.
func settled(next Session, o Opened) (bool, error) {
	before := o.Before
	if !o.Known || next.Revision > before.Revision {
		return false, nil
	}
	code, detail := "revision_superseded", fmt.Sprintf("Revision %d is stored, so revision %d was not; drop it, or read what is stored and send revision %d.",
		before.Revision, next.Revision, before.Revision+1)
	switch same := next.Revision == before.Revision; {
	case same && (next.Deleted() && before.Deleted() || next.Fingerprint() == o.Fingerprint || next.Fingerprint() == before.Fingerprint()):
		return true, nil
	case same && next.Deleted():
		code, detail = "revision_conflict", fmt.Sprintf("Revision %d of this session is stored. To delete the session, send the deletion with revision %d.", before.Revision, before.Revision+1)
	case same && !before.Deleted():
		code, detail = "revision_conflict", fmt.Sprintf("Revision %d of this session was stored with other content. Read what is stored, merge, and send revision %d.", before.Revision, before.Revision+1)
	case same:
		code, detail = "revision_conflict", fmt.Sprintf("The session was deleted at revision %d. To bring it back, send revision %d.", before.Revision, before.Revision+1)
	case before.Deleted():
		detail = fmt.Sprintf("The session was deleted at revision %d, so revision %d was not saved; drop it, or send revision %d to bring the session back.", before.Revision, next.Revision, before.Revision+1)
	}
	deleted := before.Deleted()
	return false, &domain.Error{Kind: domain.Conflict, Code: code, Detail: detail, Stored: &domain.Standing{Revision: before.Revision, Deleted: &deleted}}
}

// store makes next what stands, with all that depends on it, and gives it as it
// is kept. What depends on it stands in o afterwards.
func (s Service) store(ctx context.Context, tx Store, a domain.Actor, next Session, o *Opened) (Session, error) {
	if err := next.Check(next.ReceivedAt); err != nil {
		return next, err
	}
	if next.Deleted() && o.Known {
		// A deletion keeps when the session was and what it was part of.
		kept := o.Before
		kept.Blocks, kept.Missed, kept.Revision, kept.DeletedAt, kept.By, kept.ReceivedAt = nil, nil, next.Revision, next.DeletedAt, next.By, next.ReceivedAt
		next = kept
	}
	c := Change{Fingerprint: next.Fingerprint(), Known: o.Known}
	if next.TimeZone == "" {
		// Not the zone that stood before: whether it came before is chance.
		next.TimeZone = o.Student.TimeZone
	}
	if err := next.fillPlan(*o); err != nil {
		return next, err
	}
	next.count()
	c.Session = next
	grown := o.Known && !o.Before.Deleted() && o.Before.extendedBy(next)
	event := s.tell(a, next, *o, grown)
	c.Untold = event == nil
	if err := keep(ctx, tx, &c, o); err != nil {
		return next, err
	}
	if err := tx.Save(ctx, c); err != nil {
		return next, err
	}
	if event != nil {
		if err := tx.Record(ctx, *event); err != nil {
			return next, err
		}
	}
	for _, skill := range c.Skills {
		if err := academy.RecordMilestones(ctx, tx, a, next.ReceivedAt, skill.Before, skill.State.Milestones()); err != nil {
			return next, err
		}
	}
	return next, nil
}

// fillPlan checks that the skills and the plan named exist, and notes what the
// plan wanted of each block.
func (s *Session) fillPlan(o Opened) error {
	if s.Deleted() {
		return nil
	}
	if err := s.checkSkills(o); err != nil {
		return err
	}
	if s.Assignment == "" {
		return nil
	}
	if o.Assignment.ID == "" || o.Assignment.Student != s.Student {
		return invalid("/assignment_id", "there is no such assignment of this student; name one, or leave it out")
	}
	if s.Version == 0 {
		s.Version = o.Assignment.Version
	}
	if o.Version.Number != s.Version {
		return invalid("/version", "the programme has no published version %d; name the one that was followed, or leave it out", s.Version)
	}
	s.follow(o.Version, o.played(*s))
	return nil
}

// played gives the adjustments that a session is played by, oldest first.
func (o Opened) played(s Session) (all []curriculum.Adjustment) {
	for _, a := range slices.Backward(o.Adjustments) {
		if a.HoldsFor(s.Assignment) && a.PlayedAt(s.StartedAt, s.Day()) {
			all = append(all, a.Adjustment)
		}
	}
	return all
}

// follow notes the planned seconds of each block that says which block of the
// plan it was, and of those that the session left out. What the version lacks
// stays without a plan, and the student is told. On a day that goes otherwise the plan
// is its version for that day.
func (s *Session) follow(v curriculum.Version, adjusted []curriculum.Adjustment) {
	c := v.Content
	if s.Week > len(c.Weeks) || s.Plan > len(c.Weeks[s.Week-1].Plans) {
		return
	}
	week := c.Weeks[s.Week-1].Adjusted(adjusted)
	plan := week.Plans[s.Plan-1]
	if version, ok := plan.Variant(s.on(), v.ShotOf(week)); ok {
		plan = version
	}
	seconds := plan.BlockSeconds()
	done := make([]bool, len(seconds))
	for i := range s.Blocks {
		b := &s.Blocks[i]
		if j := b.PlanBlock - 1; j >= 0 && j < len(seconds) && !done[j] && b.Kind == plan.Blocks[j].Kind {
			b.Planned, done[j] = seconds[j], true
		}
	}
	for j, planned := range seconds {
		if !done[j] {
			s.Missed = addTime(s.Missed, progress.KindTime{Kind: string(plan.Blocks[j].Kind), Planned: planned})
		}
	}
}

func (s Session) checkSkills(o Opened) error {
	var p domain.Problems
	for i, b := range s.Blocks {
		if _, ok := o.Records[b.Skill]; !ok {
			p.Add(fmt.Sprintf("/blocks/%d/skill_id", i), "there is no skill %q in this academy; name one of the plan's skills", b.Skill)
		}
	}
	return p.Err("session_invalid", "The session was not saved. Keep it, correct it and send it again.")
}

// keep brings everything that depends on the session up to date, in the change
// that is to be saved and in what was opened.
func keep(ctx context.Context, tx Store, c *Change, o *Opened) error {
	stood, stands := o.Known && !o.Before.Deleted(), !c.Session.Deleted()
	c.count(*o)
	summaries := map[domain.ID]*progress.SessionSummary{}
	if stood {
		for _, b := range o.Before.Blocks {
			summaries[b.Skill] = nil
		}
	}
	for _, p := range c.Session.Plays() {
		s := o.Records[p.Skill].Track.Summarise(p)
		summaries[p.Skill] = &s
	}
	for _, skill := range slices.Sorted(maps.Keys(summaries)) {
		if err := keepSkill(ctx, tx, c, o, skill, summaries[skill]); err != nil {
			return err
		}
	}
	var now *progress.SessionTime
	if stands {
		t := c.Session.Time()
		now = &t
	}
	return keepHabit(ctx, tx, c, o, now, one(stands)-one(stood))
}

func keepSkill(ctx context.Context, tx Store, c *Change, o *Opened, skill domain.ID, now *progress.SessionSummary) (err error) {
	record := o.Records[skill]
	if record.Says(c.Session.ID, now) {
		return nil
	}
	after, periods, ok := record.Revise(c.Session.ID, now)
	if !ok {
		if record.Periods, err = tx.Periods(ctx, c.Session.Student, skill); err != nil {
			return err
		}
		record.Whole = true
		after, periods, _ = record.Revise(c.Session.ID, now)
	}
	o.Records[skill] = after
	c.Skills = append(c.Skills, SkillChange{State: after.State, Before: record.State.Milestones(), Periods: periods, Forget: after.Empty()})
	return nil
}

func keepHabit(ctx context.Context, tx Store, c *Change, o *Opened, now *progress.SessionTime, more int) error {
	o.Habit.Student = c.Session.Student
	habit, ok := o.Habit.Revise(c.Session.ID, now, more)
	if !ok {
		others, err := tx.RecentTimes(ctx, c.Session.Student, c.Session.ID, progress.HabitSessions)
		if err != nil {
			return err
		}
		whole := progress.HabitOf(o.Habit.Student, len(others), others)
		habit, _ = whole.Revise(c.Session.ID, now, one(now != nil))
		habit.Sessions = o.Habit.Sessions + more
	}
	c.Habit = habit
	return nil
}

// count notes by how much the assignments' counts of sessions change.
func (c *Change) count(o Opened) {
	before, after := domain.ID(""), domain.ID("")
	if o.Known && o.Before.Counts() {
		before = o.Before.Assignment
	}
	if c.Session.Counts() {
		after = c.Session.Assignment
	}
	if before == after {
		return
	}
	if before != "" {
		c.Counts = append(c.Counts, AssignmentCount{before, -1})
	}
	if after != "" {
		c.Counts = append(c.Counts, AssignmentCount{after, 1})
	}
}

func one(b bool) int {
	if b {
		return 1
	}
	return 0
}

// result tells what a session that stands did, going by the records as they
// stand with it.
func (o Opened) result(s Session) PutResult {
	out := PutResult{Session: s, Results: map[domain.ID][]progress.TierResult{}}
	for _, p := range s.Plays() {
		r := o.Records[p.Skill]
		if results := r.Track.Summarise(p).Results; len(results) > 0 {
			out.Results[p.Skill] = results
		}
		for _, m := range r.State.Milestones() {
			if m.Session == s.ID {
				out.Milestones = append(out.Milestones, m)
			}
		}
	}
	slices.SortFunc(out.Milestones, progress.Milestone.Compare)
	out.Notices = o.notices(out)
	return out
}

// read reads what stands under a session's ID and what it did.
func read(ctx context.Context, tx ReadStore, s Session) (PutResult, error) {
	o := Opened{Records: map[domain.ID]progress.Record{}}
	var skills []domain.ID
	for _, b := range s.Blocks {
		skills = append(skills, b.Skill)
	}
	tracks, err := tx.Tracks(ctx, s.Student, skills)
	if err != nil {
		return PutResult{}, err
	}
	states, err := tx.States(ctx, []domain.ID{s.Student})
	if err != nil {
		return PutResult{}, err
	}
	for _, state := range states {
		o.Records[state.Skill] = progress.Record{Track: tracks[state.Skill], State: state}
	}
	if o.Overlapping, err = tx.Overlapping(ctx, s); err != nil {
		return PutResult{}, err
	}
	return o.result(s), nil
}

// Get reads a session of a student whom the actor may see, with what it did.
func (s Service) Get(ctx context.Context, a domain.Actor, id domain.ID) (o PutResult, err error) {
	err = s.Reading.Read(ctx, a.Academy, func(tx ReadStore) error {
		session, err := visibleSession(ctx, tx, a, id)
		if err != nil {
			return err
		}
		o, err = read(ctx, tx, session)
		return err
	})
	return o, err
}

// visibleSession finds a session, not deleted, of a student whom the actor may see.
func visibleSession(ctx context.Context, tx interface {
	academy.Viewing
	Session(ctx context.Context, id domain.ID) (Session, error)
}, a domain.Actor, id domain.ID) (Session, error) {
	s, err := tx.Session(ctx, id)
	if err != nil {
		return Session{}, err
	}
	hidden := domain.ErrNotFound("session")
	if s.Deleted() {
		return Session{}, hidden
	}
	if _, err := academy.Student(ctx, tx, a, s.Student); err != nil {
		if domain.KindOf(err) == domain.NotFound {
			err = hidden
		}
		return Session{}, err
	}
	return s, nil
}

// List reads a stretch of a student's sessions, latest start first,
// without their balls.
func (s Service) List(ctx context.Context, a domain.Actor, f SessionFilter) (sessions []Session, err error) {
	err = s.Reading.Read(ctx, a.Academy, func(tx ReadStore) error {
		if _, err := academy.Student(ctx, tx, a, f.Student); err != nil {
			return err
		}
		sessions, err = tx.Sessions(ctx, f)
		return err
	})
	return sessions, err
}
