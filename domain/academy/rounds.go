package academy

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"fringework/domain"
	"fringework/domain/course"
)

// RoundStore keeps rounds. What is absent gives a domain.NotFound error.
type RoundStore interface {
	domain.EventLog
	Viewing

	// Round finds a round, a deleted one as well, whose shots are empty.
	Round(ctx context.Context, id domain.ID) (course.Round, error)
	// Rounds lists a student's rounds that are not deleted, latest first.
	Rounds(ctx context.Context, f RoundFilter) ([]course.Round, error)
	// SaveRound keeps a revision of a round, and the student's tally of the latest
	// rounds. It gives domain.Stale unless the revision is above what stands, of the
	// same student.
	SaveRound(ctx context.Context, r course.Round) error
}

// TallyRounds is how many of a student's latest rounds the tally counts.
const TallyRounds = 20

// RoundFilter asks for a stretch of a student's rounds, latest first.
type RoundFilter struct {
	Student domain.ID
	// Before, when set, is the position after which to go on: when a round was
	// played and, among equal ones, the identity.
	Before   time.Time
	BeforeID domain.ID
	Limit    int
}

// RoundService is what can be done with rounds. The edge has checked that the
// actor's role may try.
type RoundService struct {
	Store   domain.Transactor[RoundStore]
	Reading domain.Transactor[ReadStore]
	Env     domain.Env
	// Baseline is what strokes gained are counted against.
	Baseline course.Baseline
}

// RoundResult is a round that stands, with what it says.
type RoundResult struct {
	Round course.Round
	Tally course.Tally
	// Gained is against the baseline.
	Gained course.Sum
	// Created is true when the round was not known before.
	Created bool
}

func (s RoundService) result(r course.Round) RoundResult {
	return RoundResult{Round: r, Tally: course.TallyOf(r), Gained: s.Baseline.Of(r)}
}

// Put stores a revision of a round, whole, by the rules of a session: the highest
// revision stands, the same one with the same content is a replay and gets the same
// answer, with other content it is a conflict, and a lower one is told what stands.
// A round without a student is the actor's own.
func (s RoundService) Put(ctx context.Context, a domain.Actor, r course.Round) (RoundResult, error) {
	r.DeletedAt = time.Time{}
	return s.revise(ctx, a, r)
}

// Delete stores a deletion, which is a revision like any other. The round need not
// be known: a deletion may overtake what it deletes.
func (s RoundService) Delete(ctx context.Context, a domain.Actor, id, student domain.ID, revision int) error {
	_, err := s.revise(ctx, a, course.Round{ID: id, Student: student, Revision: revision, DeletedAt: s.Env.Now()})
	return err
}

func (s RoundService) revise(ctx context.Context, a domain.Actor, r course.Round) (out RoundResult, err error) {
	if r.Student == "" && a.Role == domain.Student {
		r.Student = a.Member
	}
	r.PlayedAt = r.PlayedAt.UTC().Truncate(time.Millisecond)
	r.By, r.ReceivedAt = a.Member, s.Env.Now()
	err = s.Store.Write(ctx, a.Academy, func(tx RoundStore) error {
		next, before, known, err := openRound(ctx, tx, a, r)
		if err != nil {
			return err
		}
		out = s.result(before)
		if known && before.Revision >= next.Revision {
			return overtaken(next, before)
		}
		if err := next.Check(next.ReceivedAt); err != nil {
			return err
		}
		if next.Deleted() && known {
			next = deletionOf(next, before)
		}
		if err := tx.SaveRound(ctx, next); err != nil {
			return err
		}
		out = s.result(next)
		out.Created = !known
		return tx.Record(ctx, tellRound(a, next, before, known))
	})
	return out, err
}

// deletionOf keeps when a round was that is deleted.
func deletionOf(next, before course.Round) course.Round {
	next.PlayedAt, next.TimeZone, next.Course = before.PlayedAt, before.TimeZone, before.Course
	return next
}

// openRound finds whose round it is, locks them, and gives what stands under the
// round's ID, once the actor may change that.
func openRound(ctx context.Context, tx RoundStore, a domain.Actor, r course.Round) (next, before course.Round, known bool, err error) {
	named := r.Student != ""
	if !named {
		if before, known, err = standing(ctx, tx, r.ID); err != nil || !known {
			return r, before, false, cmp.Or(err, errWhoseRound(r))
		}
		r.Student = before.Student
	}
	m, err := Student(ctx, tx, a, r.Student)
	if err != nil {
		if !named && domain.KindOf(err) == domain.NotFound {
			err = errWhoseRound(r) // as for a round that is not there
		}
		return r, before, false, err
	}
	if before, known, err = standing(ctx, tx, r.ID); err != nil {
		return r, before, known, err
	}
	if known && before.Student != r.Student {
		return r, before, known, errAnothers(ctx, tx, a, r, before)
	}
	if !m.MayPractise() && !r.Deleted() {
		err = ErrConsent(ctx, tx, m, "the round was not kept", "Keep it; it can be sent again once they agree.")
	}
	return r, before, known, err
}

// standing reads what stands under a round's ID; known is false without it.
func standing(ctx context.Context, tx RoundStore, id domain.ID) (r course.Round, known bool, err error) {
	r, err = tx.Round(ctx, id)
	if err != nil && domain.KindOf(err) == domain.NotFound {
		return course.Round{}, false, nil
	}
	return r, err == nil, err
}

// errAnothers says that the ID is another student's. Whoever may not see them
// learns nothing of them.
func errAnothers(ctx context.Context, tx RoundStore, a domain.Actor, r, before course.Round) error {
	_, err := Student(ctx, tx, a, before.Student)
	switch {
	case err == nil:
		return domain.Errorf(domain.Conflict, "other_student", "This round belongs to another student; make a new UUIDv7.")
	case domain.KindOf(err) != domain.NotFound:
		return err
	case r.Deleted():
		return domain.ErrNotFound("round")
	}
	return domain.Errorf(domain.Conflict, "id_taken", "This round ID is in use; make a new UUIDv7.")
}

// errWhoseRound asks for the student.
func errWhoseRound(r course.Round) error {
	var p domain.Problems
	if r.Deleted() {
		p.Add("/student_id", "is missing; there is no such round yet, so say whose it would be")
		return p.Err("round_invalid", "Nothing was deleted.")
	}
	p.Add("/student_id", "is missing; say whose round this is")
	return p.Err("round_invalid", "The round was not saved. Keep it, correct it and send it again.")
}

// overtaken is nil for a replay of what stands; a conflict or an earlier revision
// is an error that tells what is stored.
func overtaken(next, before course.Round) error {
	code := "revision_superseded"
	detail := fmt.Sprintf("Revision %d of this round is stored, so revision %d was not; drop it, or read what is stored and send revision %d.",
		before.Revision, next.Revision, before.Revision+1)
	if next.Revision == before.Revision {
		if next.Deleted() && before.Deleted() || next.Same(before) {
			return nil
		}
		code = "revision_conflict"
		detail = fmt.Sprintf("Revision %d of this round was stored with other content. Read what is stored, merge, and send revision %d.", before.Revision, before.Revision+1)
	}
	deleted := before.Deleted()
	return &domain.Error{Kind: domain.Conflict, Code: code, Detail: detail, Stored: &domain.Standing{Revision: before.Revision, Deleted: &deleted}}
}

// tellRound makes the event of a change. An edit or a deletion keeps what was, whole.
func tellRound(a domain.Actor, next, before course.Round, known bool) domain.Event {
	data := map[string]any{"revision": next.Revision, "shots": len(next.Shots)}
	kind := "round.edited"
	switch {
	case next.Deleted():
		kind = "round.deleted"
	case !known:
		kind = "round.stored"
	case before.Deleted():
		kind = "round.restored"
	case before.ExtendedBy(next):
		kind = "round.extended"
	}
	if kind == "round.edited" || kind == "round.deleted" && known && !before.Deleted() {
		data["before"] = roundRecord(before)
	}
	return a.Event(next.ReceivedAt, kind, next.ID, next.Student, data)
}

// roundRecord writes a round for the log, with every shot.
func roundRecord(r course.Round) map[string]any {
	shots := make([]map[string]any, len(r.Shots))
	for i, s := range r.Shots {
		shots[i] = map[string]any{"hole": s.Hole, "lie": s.Lie, "distance_m": s.Distance.Metres(), "holed": s.Holed}
		if !s.Holed {
			shots[i]["left_m"], shots[i]["left_lie"], shots[i]["putts"] = s.Left.Metres(), s.LeftLie, s.Putts
		}
	}
	return map[string]any{
		"revision": r.Revision, "started_at": r.PlayedAt, "time_zone": r.TimeZone, "course": r.Course, "note": r.Note, "shots": shots, "by": r.By,
	}
}

// Get reads a round of a student whom the actor may see.
func (s RoundService) Get(ctx context.Context, a domain.Actor, id domain.ID) (out RoundResult, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx RoundStore) error {
		r, err := tx.Round(ctx, id)
		if err != nil {
			return err
		}
		if r.Deleted() {
			return domain.ErrNotFound("round")
		}
		if _, err := Student(ctx, tx, a, r.Student); err != nil {
			if domain.KindOf(err) == domain.NotFound {
				err = domain.ErrNotFound("round")
			}
			return err
		}
		out = s.result(r)
		return nil
	})
	return out, err
}

// List reads a stretch of a student's rounds, latest first.
func (s RoundService) List(ctx context.Context, a domain.Actor, f RoundFilter) (all []RoundResult, err error) {
	rounds, _, err := s.rounds(ctx, a, f)
	for _, r := range rounds {
		all = append(all, s.result(r))
	}
	return all, err
}

// rounds reads rounds of a student whom the actor may see.
func (s RoundService) rounds(ctx context.Context, a domain.Actor, f RoundFilter) (rounds []course.Round, m Member, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx RoundStore) error {
		if m, err = Student(ctx, tx, a, f.Student); err != nil {
			return err
		}
		rounds, err = tx.Rounds(ctx, f)
		return err
	})
	return rounds, m, err
}
