package academy

import (
	"cmp"
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/advice"
)

// ToldReason is a reason to look at a student that the log has told of.
type ToldReason struct {
	Student domain.ID
	// Skill is empty for a reason that is about none.
	Skill  domain.ID
	Reason advice.Reason
}

func (r ToldReason) compare(o ToldReason) int {
	return cmp.Or(cmp.Compare(r.Student, o.Student), cmp.Compare(r.Skill, o.Skill), cmp.Compare(r.Reason, o.Reason))
}

// WatchStore keeps which reasons the log has told of.
type WatchStore interface {
	domain.EventLog
	// ToldReasons gives them in order of student, skill and reason. When writing, others
	// who ask wait until this transaction ends.
	ToldReasons(ctx context.Context) ([]ToldReason, error)
	// SaveToldReasons keeps exactly these.
	SaveToldReasons(ctx context.Context, all []ToldReason) error
}

// WatchService tells the log of reasons to look at a student that are new or gone.
// They follow from the sessions and from the day, so nobody's request raises them.
type WatchService struct {
	Store   domain.Transactor[WatchStore]
	Reading domain.Transactor[ReadStore]
	Env     domain.Env
	// Told, if there is one, is called once for each reason that the log was told of,
	// raised or else cleared.
	Told func(r advice.Reason, raised bool)
}

// Watch compares the reasons in an academy with those that were told of, and tells
// of the difference.
func (s WatchService) Watch(ctx context.Context, in domain.ID) error {
	stand, err := s.standing(ctx, in)
	if err != nil {
		return err
	}
	var raised, cleared []ToldReason
	err = s.Store.Write(ctx, in, func(tx WatchStore) error {
		raised, cleared = nil, nil // what an attempt before this one found
		told, err := tx.ToldReasons(ctx)
		if err != nil || slices.Equal(told, stand) {
			return err
		}
		raised, cleared = added(stand, told), added(told, stand)
		tell := func(kind string, reasons []ToldReason) error {
			for _, r := range reasons {
				e := domain.Event{At: s.Env.Now(), Kind: kind, Subject: r.Student, Student: r.Student, Data: map[string]any{"reason": r.Reason}}
				if r.Skill != "" {
					e.Data["skill_id"] = r.Skill
				}
				if err := tx.Record(ctx, e); err != nil {
					return err
				}
			}
			return nil
		}
		if err := tell("reason.cleared", cleared); err != nil {
			return err
		}
		if err := tell("reason.raised", raised); err != nil {
			return err
		}
		return tx.SaveToldReasons(ctx, stand)
	})
	if err == nil && s.Told != nil {
		for _, r := range cleared {
			s.Told(r.Reason, false)
		}
		for _, r := range raised {
			s.Told(r.Reason, true)
		}
	}
	return err
}

// added gives the reasons that are not among the others.
func added(reasons, others []ToldReason) (left []ToldReason) {
	for _, r := range reasons {
		if !slices.Contains(others, r) {
			left = append(left, r)
		}
	}
	return left
}

// standing gives the reasons that stand, those that a coach has seen as well.
func (s WatchService) standing(ctx context.Context, in domain.ID) (stand []ToldReason, err error) {
	err = s.Reading.Read(ctx, in, func(tx ReadStore) error {
		stand = nil
		// As software that sees all, which is what watches.
		all := domain.Actor{Academy: in, Key: in}
		students, err := Students(ctx, tx, all, MemberFilter{})
		if err != nil {
			return err
		}
		rows, err := studentRows(ctx, tx, all, students, s.Env.Now())
		for _, row := range rows {
			for _, a := range row.Attention {
				stand = append(stand, ToldReason{row.Student.ID, a.Skill, a.Reason})
			}
		}
		return err
	})
	slices.SortFunc(stand, ToldReason.compare)
	return slices.Compact(stand), err
}
