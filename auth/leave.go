package auth

import (
	"context"
	"strings"

	"fringework/domain"
)

// Everywhere lists all members that an account is or was.
func (s *Service) Everywhere(ctx context.Context, account domain.ID) (all []Membership, err error) {
	err = s.Store.Read(ctx, func(tx Tx) error {
		all, err = tx.Everywhere(ctx, account)
		return err
	})
	return all, err
}

// DeleteAccount deletes the account that asks, and takes the person out of everything
// that its academies keep; they keep how much was practised, without the person. A
// wrong password is Invalid at /password. Whoever is an academy's only owner is
// refused, with what to do.
func (s *Service) DeleteAccount(ctx context.Context, id Identity, password, address string) error {
	account, _, err := s.Me(ctx, id.Account)
	if err != nil {
		return err
	}
	proven, err := s.prove(ctx, account.Email, password, Origin(address))
	if domain.KindOf(err) == domain.Unauthenticated {
		var p domain.Problems
		p.Add("/password", "is not the password of this account; nothing was deleted")
		return p.Err("password", "The account was not deleted.")
	}
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		if err := confirm(ctx, tx, proven); err != nil {
			return err
		}
		in, err := tx.Everywhere(ctx, account.ID)
		if err != nil {
			return err
		}
		if err := keepOwners(ctx, tx, in); err != nil {
			return err
		}
		now := s.now()
		for _, m := range in {
			if err := tx.EraseMember(ctx, m.Academy, m.Member); err != nil {
				return err
			}
			a := domain.Actor{Academy: m.Academy, Member: m.Member, Role: m.Role}
			if err := tx.Record(ctx, m.Academy, a.Erased(now, m.Member)); err != nil {
				return err
			}
		}
		return tx.DeleteAccount(ctx, account.ID)
	})
}

// keepOwners refuses to leave academies without an owner.
func keepOwners(ctx context.Context, tx LeavingTx, in []Membership) error {
	var alone []string
	for _, m := range in {
		if m.Left || m.Role != domain.Owner {
			continue
		}
		other, err := tx.OtherOwner(ctx, m.Academy, m.Member)
		if err != nil {
			return err
		}
		if !other {
			alone = append(alone, m.AcademyName)
		}
	}
	if len(alone) == 0 {
		return nil
	}
	return domain.Errorf(domain.Conflict, "last_owner",
		"You are the only owner of %s. Make somebody else an owner there first; then delete your account.", strings.Join(alone, ", "))
}
