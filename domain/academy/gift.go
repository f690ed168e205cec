package academy

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
)

// CheckGift holds what an invited student is to be given to the rules of
// assigning, when it is promised.
func (s Service) CheckGift(ctx context.Context, a domain.Actor, r AssignRequest) error {
	if err := checkStart(r.Start); err != nil {
		return err
	}
	return s.AssignmentStore.ReadOnce(ctx, a.Academy, func(tx AssignmentStore) error {
		_, err := tx.Version(ctx, r.Programme, r.Version)
		return versionMissing(err, r.Version)
	})
}

// GiveOnJoining gives a student what came with the invitation that they
// accepted at an instant, in the name of who invited them. Done again it changes
// nothing, also when a coach has ended the assignment since; nor does it when the
// student has the programme already or is not in the academy any more.
func (s Service) GiveOnJoining(ctx context.Context, inviter domain.Actor, student domain.ID, accepted time.Time, r AssignRequest) error {
	return s.AssignmentStore.Write(ctx, inviter.Academy, func(tx AssignmentStore) error {
		m, err := tx.Member(ctx, student)
		if err != nil || !m.Active() || m.Role != domain.Student {
			return err
		}
		before, err := tx.Assignments(ctx, AssignmentFilter{Student: student, Programme: r.Programme}, domain.Page{Limit: maxStudents})
		if err != nil {
			return err
		}
		if slices.ContainsFunc(before, func(as Assignment) bool { return as.EndedAt.IsZero() || !as.CreatedAt.Before(accepted) }) {
			return nil
		}
		version, err := tx.Version(ctx, r.Programme, r.Version)
		if err != nil {
			return err
		}
		_, err = s.assign(ctx, tx, inviter, m, version, r, nil)
		return err
	})
}
