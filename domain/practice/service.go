package practice

import (
	"context"
	"crypto/sha256"
	"fmt"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// Store is what practice needs kept, seen for one academy. What is absent
// gives a domain.NotFound error.
type Store interface {
	domain.EventLog
	progress.Keeper
	academy.Viewing

	// Session finds a session, a deleted one as well, whose blocks are empty.
	// It locks the row until the transaction ends when writing.
	Session(ctx context.Context, id domain.ID) (Session, error)
	// Stored gives what stands under a session's ID without its blocks, and the
	// fingerprint of what was sent; ok is false when nothing was ever stored.
	Stored(ctx context.Context, id domain.ID) (s Session, fingerprint [sha256.Size]byte, ok bool, err error)
	// SaveSession makes s what stands; its blocks replace those before.
	SaveSession(ctx context.Context, s Session, fingerprint [sha256.Size]byte) error
	// Sessions lists a student's standing sessions without their balls, latest
	// start first.
	Sessions(ctx context.Context, f SessionFilter) ([]Session, error)
	// Overlapping gives the student's other standing sessions that share time
	// with s; one that goes on is taken to last until its blocks' time is up.
	Overlapping(ctx context.Context, s Session) ([]Session, error)
	// MilestonesOf gives the milestones that stand and were made in a session.
	MilestonesOf(ctx context.Context, session domain.ID) ([]progress.Milestone, error)
	// ReadingsOf gives the session's readings by skill.
	ReadingsOf(ctx context.Context, session domain.ID) (map[domain.ID][]progress.TierResult, error)

	SkillsByID(ctx context.Context, ids []domain.ID) (map[domain.ID]curriculum.Skill, error)
	Assignment(ctx context.Context, id domain.ID) (academy.Assignment, error)
	Version(ctx context.Context, programme domain.ID, number int) (curriculum.Version, error)
	// CountSession adds to an assignment's count of sessions.
	CountSession(ctx context.Context, assignment domain.ID, delta int) error

	// Comments lists a session's comments, in order of identity.
	Comments(ctx context.Context, session domain.ID) ([]Comment, error)
	AddComment(ctx context.Context, c Comment) error
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
	Limit int
}

// Comment is what a coach or a student wrote under a session.
type Comment struct {
	ID      domain.ID
	Session domain.ID
	Author  domain.ID
	// AuthorName is filled in by the service; the store does not keep it.
	AuthorName string
	Text       string
	At         time.Time
}

// PutResult is a session that stands, with what it did.
type PutResult struct {
	Session    Session
	Milestones []progress.Milestone
	// Readings are what the session says about each tier, by skill.
	Readings map[domain.ID][]progress.TierResult
	Notices  []Notice
	// Created is true when the session was not known before.
	Created bool
}

// Notice is something the student should know about a session that was stored.
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
	Env   domain.Env
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
		before, stamp, known, err := tx.Stored(ctx, session.ID)
		if err != nil {
			return err
		}
		next := session.asSent()
		named := next.Student != ""
		if known && !named {
			next.Student = before.Student
		}
		student, err := s.mayWrite(ctx, tx, a, next, before, known)
		if !named && domain.KindOf(err) == domain.NotFound {
			err = errWhose() // as for a session that is not there
		}
		if err != nil {
			return err
		}
		stands, err := settled(next, before, stamp, known)
		if err != nil {
			return err
		}
		if !stands {
			if err := s.store(ctx, tx, a, next, before, known, student); err != nil {
				return err
			}
		}
		if next.Deleted() {
			return nil
		}
		out, err = outcome(ctx, tx, session.ID)
		out.Created = !known
		return err
	})
	return out, err
}

// mayWrite finds the student, if the actor may store this session for them.
func (s Service) mayWrite(ctx context.Context, tx Store, a domain.Actor, next, before Session, known bool) (academy.Member, error) {
	if next.Student == "" {
		return academy.Member{}, errWhose()
	}
	if known && before.Student != next.Student {
		// Whoever may not see the other student learns nothing of them.
		if _, err := academy.Student(ctx, tx, a, before.Student); err != nil {
			if domain.KindOf(err) != domain.NotFound {
				return academy.Member{}, err
			}
			return academy.Member{}, domain.Errorf(domain.Conflict, "id_taken", "This session ID is in use; make a new UUIDv7.")
		}
		return academy.Member{}, domain.Errorf(domain.Conflict, "other_student", "This session belongs to another student; make a new UUIDv7.")
	}
	student, err := academy.Student(ctx, tx, a, next.Student)
	if err != nil {
		return academy.Member{}, err
	}
	if !student.MayPractise() && !next.Deleted() {
		return academy.Member{}, domain.Errorf(domain.Conflict, "consent_missing",
			"A guardian has not given consent to keep this junior's practice yet. Keep the session and send it again once they have.")
	}
	return student, nil
}

// errWhose asks for the student.
func errWhose() error { return invalid("/student_id", "is missing; say whose session this is") }

func invalid(pointer, format string, args ...any) error {
	var p domain.Problems
	p.Add(pointer, format, args...)
	return p.Err("session_invalid", "The session cannot be stored as it is; keep it and send it again corrected.")
}

// settled reports whether next stands already, as a replay; a conflict or an
// overtaken revision is an error that tells what stands.
func settled(next, before Session, stamp [sha256.Size]byte, known bool) (bool, error) {
	if !known || next.Revision > before.Revision {
		return false, nil
	}
	standing := map[string]any{"revision": before.Revision, "deleted": before.Deleted()}
	if next.Revision == before.Revision {
		if next.Deleted() && before.Deleted() || next.Fingerprint() == stamp {
			return true, nil
		}
		return false, &domain.Error{Kind: domain.Conflict, Code: "revision_conflict", Standing: standing,
			Detail: fmt.Sprintf("Revision %d of this session was stored with other content. Read what stands, merge, and send revision %d.", before.Revision, before.Revision+1)}
	}
	detail := fmt.Sprintf("Revision %d stands, so revision %d was not stored; drop it, or read what stands and send revision %d.", before.Revision, next.Revision, before.Revision+1)
	if before.Deleted() {
		detail = fmt.Sprintf("The session was deleted at revision %d, so revision %d was not stored; drop it, or send revision %d to bring the session back.", before.Revision, next.Revision, before.Revision+1)
	}
	return false, &domain.Error{Kind: domain.Conflict, Code: "revision_superseded", Standing: standing, Detail: detail}
}

// store makes next what stands, with all that depends on it.
func (s Service) store(ctx context.Context, tx Store, a domain.Actor, next, before Session, known bool, student academy.Member) error {
	if err := next.Check(next.ReceivedAt); err != nil {
		return err
	}
	if next.Deleted() && known {
		// A deletion keeps when the session was and what it was part of.
		kept := before
		kept.Blocks, kept.Missed, kept.Revision, kept.DeletedAt, kept.By, kept.ReceivedAt = nil, nil, next.Revision, next.DeletedAt, next.By, next.ReceivedAt
		next = kept
	}
	stamp := next.Fingerprint()
	if next.TimeZone == "" {
		// Not the zone that stood before: whether it came before is chance.
		next.TimeZone = student.TimeZone
	}
	if err := fillPlan(ctx, tx, &next); err != nil {
		return err
	}
	event, err := s.tell(ctx, tx, a, next, before, known)
	if err != nil {
		return err
	}
	if err := tx.SaveSession(ctx, next, stamp); err != nil {
		return err
	}
	if err := keep(ctx, tx, next, before, known); err != nil {
		return err
	}
	return tx.Record(ctx, event)
}

// fillPlan checks that the skills and the plan named exist, and notes what the
// plan wanted of each block.
func fillPlan(ctx context.Context, tx Store, s *Session) error {
	if s.Deleted() {
		return nil
	}
	if err := checkSkills(ctx, tx, *s); err != nil {
		return err
	}
	if s.Assignment == "" {
		return nil
	}
	as, err := tx.Assignment(ctx, s.Assignment)
	if domain.KindOf(err) == domain.NotFound || err == nil && as.Student != s.Student {
		return invalid("/assignment_id", "there is no such assignment of this student; name one, or leave it out")
	}
	if err != nil {
		return err
	}
	if s.Version == 0 {
		s.Version = as.Version
	}
	v, err := tx.Version(ctx, as.Programme, s.Version)
	if domain.KindOf(err) == domain.NotFound {
		return invalid("/version", "the programme has no published version %d; name the one that was followed, or leave it out", s.Version)
	}
	if err != nil {
		return err
	}
	s.follow(v.Content)
	return nil
}

// follow notes the planned seconds of each block that says which block of the
// plan it was, and of those that the session left out. What the version lacks
// stays without a plan, and the student is told.
func (s *Session) follow(c curriculum.Content) {
	if s.Week > len(c.Weeks) || s.Plan > len(c.Weeks[s.Week-1].Plans) {
		return
	}
	plan := c.Weeks[s.Week-1].Plans[s.Plan-1]
	minutes := plan.BlockMinutes()
	done := make([]bool, len(minutes))
	for i := range s.Blocks {
		b := &s.Blocks[i]
		if j := b.PlanBlock - 1; j >= 0 && j < len(minutes) && !done[j] {
			b.Planned, done[j] = 60*minutes[j], true
		}
	}
	if s.EndedAt.IsZero() {
		return // what is not done yet is not missed yet
	}
	for j, m := range minutes {
		if !done[j] {
			s.Missed = addTime(s.Missed, progress.KindTime{Kind: string(plan.Blocks[j].Kind), Planned: 60 * m})
		}
	}
}

func checkSkills(ctx context.Context, tx Store, s Session) error {
	ids := make([]domain.ID, len(s.Blocks))
	for i, b := range s.Blocks {
		ids[i] = b.Skill
	}
	skills, err := tx.SkillsByID(ctx, ids)
	if err != nil {
		return err
	}
	var p domain.Problems
	for i, id := range ids {
		if _, ok := skills[id]; !ok {
			p.Add(fmt.Sprintf("/blocks/%d/skill_id", i), "there is no skill %q in this academy; name one of the plan's skills", id)
		}
	}
	return p.Err("session_invalid", "The session cannot be stored as it is; keep it and send it again corrected.")
}

// keep brings everything that depends on the session up to date.
func keep(ctx context.Context, tx Store, next, before Session, known bool) error {
	stood := known && !before.Deleted()
	stands := !next.Deleted()
	if stood && before.Assignment != "" {
		if err := tx.CountSession(ctx, before.Assignment, -1); err != nil {
			return err
		}
	}
	if stands && next.Assignment != "" {
		if err := tx.CountSession(ctx, next.Assignment, 1); err != nil {
			return err
		}
	}
	digests, err := digest(ctx, tx, next)
	if err != nil {
		return err
	}
	if err := progress.Update(ctx, tx, next.Student, next.ID, digests); err != nil {
		return err
	}
	return progress.UpdateHabit(ctx, tx, next.Student, one(stands)-one(stood))
}

func one(b bool) int {
	if b {
		return 1
	}
	return 0
}

func digest(ctx context.Context, tx Store, s Session) ([]progress.SessionSummary, error) {
	plays := s.Plays()
	ids := make([]domain.ID, len(plays))
	for i, p := range plays {
		ids[i] = p.Skill
	}
	tracks, err := tx.Tracks(ctx, s.Student, ids)
	if err != nil {
		return nil, err
	}
	digests := make([]progress.SessionSummary, len(plays))
	for i, p := range plays {
		digests[i] = tracks[p.Skill].Summarise(p)
	}
	return digests, nil
}

// outcome reads what stands under a session's ID and what it did.
func outcome(ctx context.Context, tx Store, id domain.ID) (o PutResult, err error) {
	if o.Session, err = tx.Session(ctx, id); err != nil {
		return o, err
	}
	if o.Milestones, err = tx.MilestonesOf(ctx, id); err != nil {
		return o, err
	}
	if o.Readings, err = tx.ReadingsOf(ctx, id); err != nil {
		return o, err
	}
	others, err := tx.Overlapping(ctx, o.Session)
	o.Notices = notices(o, others)
	return o, err
}

// Get reads a session of a student whom the actor may see, with what it did.
func (s Service) Get(ctx context.Context, a domain.Actor, id domain.ID) (o PutResult, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		if _, err := visibleSession(ctx, tx, a, id); err != nil {
			return err
		}
		o, err = outcome(ctx, tx, id)
		return err
	})
	return o, err
}

// visibleSession finds a standing session of a student whom the actor may see.
func visibleSession(ctx context.Context, tx Store, a domain.Actor, id domain.ID) (Session, error) {
	s, _, ok, err := tx.Stored(ctx, id)
	if err != nil {
		return Session{}, err
	}
	hidden := domain.ErrNotFound("session")
	if !ok || s.Deleted() {
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

// List reads a stretch of a student's standing sessions, latest start first,
// without their balls.
func (s Service) List(ctx context.Context, a domain.Actor, f SessionFilter) (sessions []Session, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		if _, err := academy.Student(ctx, tx, a, f.Student); err != nil {
			return err
		}
		sessions, err = tx.Sessions(ctx, f)
		return err
	})
	return sessions, err
}

// Comment keeps a comment under a session.
func (s Service) Comment(ctx context.Context, a domain.Actor, session domain.ID, text string) (c Comment, err error) {
	var p domain.Problems
	if strings.TrimSpace(text) == "" {
		p.Add("/text", "is empty; write what you want to say")
	}
	checkText(&p, "/text", text, maxNote)
	if err := p.Err("comment_invalid", "The comment cannot be kept as it is."); err != nil {
		return Comment{}, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx Store) error {
		on, err := visibleSession(ctx, tx, a, session)
		if err != nil {
			return err
		}
		c = Comment{ID: s.Env.NewID(), Session: session, Author: a.Member, Text: text, At: s.Env.Now()}
		if err := tx.AddComment(ctx, c); err != nil {
			return err
		}
		if err := tx.Record(ctx, a.Event(c.At, "comment.made", session, on.Student, map[string]any{"comment_id": c.ID})); err != nil {
			return err
		}
		named := []Comment{c}
		err = nameAuthors(ctx, tx, named)
		c = named[0]
		return err
	})
	return c, err
}

// Comments lists the comments under a session.
func (s Service) Comments(ctx context.Context, a domain.Actor, session domain.ID) (cs []Comment, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		if _, err := visibleSession(ctx, tx, a, session); err != nil {
			return err
		}
		if cs, err = tx.Comments(ctx, session); err != nil {
			return err
		}
		return nameAuthors(ctx, tx, cs)
	})
	return cs, err
}

// nameAuthors fills in who wrote the comments: one look for each author.
func nameAuthors(ctx context.Context, tx Store, cs []Comment) error {
	names := map[domain.ID]string{"": ""} // software has no name here
	for i, c := range cs {
		if _, known := names[c.Author]; !known {
			author, err := tx.Member(ctx, c.Author)
			if err != nil {
				return err
			}
			names[c.Author] = author.Name
		}
		cs[i].AuthorName = names[c.Author]
	}
	return nil
}
