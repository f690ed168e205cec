package practice

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"fringework/domain"
)

// MaxImport is how many sessions are imported at once at most, since others wait
// until they are.
const MaxImport = 500

// ImportResult tells what an import does, or with a dry run would do.
type ImportResult struct {
	// New sessions were not known, Replaced ones were known with other content, and
	// Unchanged ones are stored as they were given.
	New       int
	Replaced  int
	Unchanged int
}

// ImportFault is one thing wrong with a session of an import, counted from 0.
// Its pointer is into the session as the API takes it.
type ImportFault struct {
	Session int
	domain.Field
}

// errNotKept rolls an import back.
var errNotKept = errors.New("practice: an import that is not kept")

// Import stores sessions, all of them or none: with faults, or in a dry run,
// nothing is stored. A session that stands as it is given is left alone, whatever
// its revision, so that the same import twice changes nothing. A session without a
// revision is its first; one that stands with other content is replaced only by a
// higher revision. A session without a student is the actor's own. What was stored is
// told as one event beside those of the sessions.
func (s Service) Import(ctx context.Context, a domain.Actor, sessions []Session, dry bool) (r ImportResult, faults []ImportFault, err error) {
	sessions = slices.Clone(sessions)
	order := make([]int, len(sessions))
	for i := range sessions {
		order[i] = i
		if sessions[i].Student == "" && a.Role == domain.Student {
			sessions[i].Student = a.Member
		}
		sessions[i].By, sessions[i].ReceivedAt = a.Member, s.Env.Now()
	}
	// Students are locked in the same order by everybody.
	slices.SortStableFunc(order, func(i, j int) int {
		return cmp.Or(cmp.Compare(sessions[i].Student, sessions[j].Student), sessions[i].StartedAt.Compare(sessions[j].StartedAt))
	})
	err = s.Importing.Write(ctx, a.Academy, func(tx Store) error {
		r, faults = ImportResult{}, nil
		for _, i := range order {
			err := s.importOne(ctx, tx, a, sessions[i], &r)
			switch refused, _ := errors.AsType[*domain.Error](err); {
			case err == nil:
			case refused == nil || refused.Kind != domain.Invalid && refused.Kind != domain.Conflict && refused.Kind != domain.NotFound:
				return err
			case len(refused.Fields) == 0:
				faults = append(faults, ImportFault{i, domain.Field{Detail: refused.Detail}})
			default:
				for _, f := range refused.Fields {
					faults = append(faults, ImportFault{i, f})
				}
			}
		}
		switch {
		case dry || len(faults) > 0:
			return errNotKept
		case r.New+r.Replaced == 0:
			return nil
		}
		return tx.Record(ctx, a.Event(s.Env.Now(), "import.made", a.Academy, "", map[string]any{"new": r.New, "replaced": r.Replaced, "unchanged": r.Unchanged}))
	})
	if errors.Is(err, errNotKept) {
		err = nil
	}
	slices.SortStableFunc(faults, func(x, y ImportFault) int { return cmp.Compare(x.Session, y.Session) })
	return r, faults, err
}

func (s Service) importOne(ctx context.Context, tx Store, a domain.Actor, session Session, r *ImportResult) error {
	next := session.asSent()
	o, err := tx.Open(ctx, opening(a, next))
	if err != nil {
		return err
	}
	if err := mayWrite(ctx, tx, a, next, o); err != nil {
		if domain.KindOf(err) == domain.NotFound {
			return invalid("/student_id", "names no student whom you may see; check it")
		}
		return err
	}
	if o.Known && !o.Before.Deleted() && o.saysTheSame(next) {
		r.Unchanged++
		return nil
	}
	if err := agreed(ctx, tx, next, o); err != nil {
		return err
	}
	if next.Revision == 0 {
		next.Revision = 1
	}
	if err := outranks(next, o); err != nil {
		return err
	}
	if _, err := s.store(ctx, tx, a, next, &o); err != nil {
		return err
	}
	if o.Known {
		r.Replaced++
	} else {
		r.New++
	}
	return nil
}

// saysTheSame reports whether a session is what stands, with what is filled in
// when a session is stored and whatever their revisions.
func (o Opened) saysTheSame(next Session) bool {
	before := o.Before.asSent()
	before.Revision, next.Revision = 1, 1
	next.TimeZone = cmp.Or(next.TimeZone, o.Student.TimeZone)
	if next.Assignment != "" {
		next.Version = cmp.Or(next.Version, o.Assignment.Version)
	}
	return before.Fingerprint() == next.Fingerprint()
}

// outranks refuses a revision that does not replace what stands.
func outranks(next Session, o Opened) error {
	if !o.Known || next.Revision > o.Before.Revision {
		return nil
	}
	what := "is stored with other content, as"
	if o.Before.Deleted() {
		what = "was deleted, at"
	}
	return invalid("/revision", "the session %s revision %d; to replace it, give revision %d, and to keep it, leave its rows out", what, o.Before.Revision, o.Before.Revision+1)
}
