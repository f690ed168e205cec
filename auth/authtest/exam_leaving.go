package authtest

import (
	"time"

	"fringework/auth"
	"fringework/domain"
)

// leaving: a member erased is nowhere any more, and an account deleted signs nobody in.
func (e *exam) leaving() {
	one, owner := e.owned("one")
	two, _ := e.owned("two")
	account := e.account("cat@one.example")
	coach := e.member(one, account.ID, domain.Coach)
	student := e.member(two, account.ID, domain.Student)
	invited := e.invite(one, coach, "code", e.clock.Now().Add(time.Hour))
	family := auth.Family{
		ID: e.clock.NewID(), Account: account.ID, Academy: one, Member: coach.ID, Lineage: auth.DigestOf("l"), Current: auth.DigestOf("c"),
		Origin: "o", Created: e.clock.Now(), Rotated: e.clock.Now(), Expires: e.clock.Now().Add(time.Hour),
	}
	e.write(func(tx auth.Tx) error { return tx.AddFamily(e.ctx, family) })
	everywhere := func(want ...auth.Membership) {
		e.Helper()
		e.read(func(tx auth.Tx) error {
			got, err := tx.Everywhere(e.ctx, account.ID)
			e.same("Everywhere", got, want)
			return err
		})
	}
	in := func(academy domain.ID, m auth.Member) auth.Membership {
		var name string
		e.read(func(tx auth.Tx) error {
			a, err := tx.Academy(e.ctx, academy)
			name = a.Name
			return err
		})
		return auth.Membership{Academy: academy, AcademyName: name, Member: m.ID, Role: m.Role}
	}
	inOne, inTwo := in(one, coach), in(two, student)
	everywhere(inOne, inTwo)
	e.wrote("another owner", false, func(tx auth.Tx) (bool, error) { return tx.OtherOwner(e.ctx, one, owner.ID) })
	e.wrote("an owner beside the coach", true, func(tx auth.Tx) (bool, error) { return tx.OtherOwner(e.ctx, one, coach.ID) })

	e.write(func(tx auth.Tx) error { return tx.EraseMember(e.ctx, one, coach.ID) })
	everywhere(inTwo)
	e.kind("erased twice", domain.NotFound, func(tx auth.Tx) error { return tx.EraseMember(e.ctx, one, coach.ID) })
	e.kind("in another academy", domain.NotFound, func(tx auth.Tx) error { return tx.EraseMember(e.ctx, one, student.ID) })
	e.kind("the member", domain.NotFound, func(tx auth.Tx) error { _, err := tx.Member(e.ctx, one, coach.ID); return err })
	e.read(func(tx auth.Tx) error {
		i, err := tx.Invitation(e.ctx, one, invited.ID)
		if err != nil {
			return err
		}
		e.same("who invited", []domain.ID{i.By, i.Coach}, []domain.ID{domain.Nobody, domain.Nobody})
		f, err := tx.Family(e.ctx, family.ID)
		e.same("where the device is", []domain.ID{f.Academy, f.Member}, []domain.ID{"", ""})
		return err
	})
	e.write(func(tx auth.Tx) error {
		if err := tx.EraseMember(e.ctx, two, student.ID); err != nil {
			return err
		}
		return tx.DeleteAccount(e.ctx, account.ID)
	})
	everywhere()
	e.kind("the account", domain.NotFound, func(tx auth.Tx) error { _, err := tx.AccountByEmail(e.ctx, account.Email); return err })
	e.kind("the sign-in", domain.NotFound, func(tx auth.Tx) error { _, err := tx.Family(e.ctx, family.ID); return err })
	e.write(func(tx auth.Tx) error { return tx.DeleteAccount(e.ctx, account.ID) })
	// The address is free again.
	e.account(account.Email)
}
