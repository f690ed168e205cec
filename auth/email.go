package auth

import (
	"context"
	"time"

	"fringework/domain"
)

// forEmail is the purpose of the link that shows an address to be somebody's.
const forEmail Purpose = "email"

// emailLinkLife is how long such a link is good.
const emailLinkLife = 24 * time.Hour

// claim is the address that a link shows to be somebody's.
type claim struct {
	Email string `json:"email"`
}

func errEmailLink() *domain.Error {
	return domain.Errorf(domain.NotFound, "no_email_link", "This link was used already, is too old, or is not complete. Ask for a new one.")
}

// AskVerify sends a link to the account's own address, to show that it is theirs.
// It is a Conflict where there is no mail.
func (s *Service) AskVerify(ctx context.Context, id Identity, address string) error {
	if !s.Mail {
		return domain.Errorf(domain.Conflict, "mail_off", "This service sends no mail, so no address needs to be confirmed.")
	}
	account, _, err := s.Me(ctx, id.Account)
	if err != nil {
		return err
	}
	if err := s.limitMail(ctx, account.Email, Origin(address)); err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error { return s.sendClaim(ctx, tx, account, account.Email) })
}

// sendClaim sends a link to an address, in the place of any other of the account.
func (s *Service) sendClaim(ctx context.Context, tx Tx, a Account, email string) error {
	if err := tx.DropTickets(ctx, a.ID, forEmail); err != nil {
		return err
	}
	token, expires, err := s.issue(ctx, tx, forEmail, a.ID, emailLinkLife, claim{email})
	if err != nil {
		return err
	}
	return s.post(ctx, tx, Letter{Kind: LetterVerify, To: email, Name: a.Name, Token: token, Expires: expires})
}

// ChangeEmail gives the asker's account another address. Where there is mail it is
// changed once the link sent to the new one is opened, and waiting is true; whether
// the address has an account shows in nothing. Otherwise it is changed at once, and
// a Conflict if somebody has it. A wrong password is Invalid at /password.
func (s *Service) ChangeEmail(ctx context.Context, id Identity, email, password, address string) (waiting bool, err error) {
	var p domain.Problems
	fresh := checkEmail(&p, email)
	if err := p.Err("email", "The e-mail was not changed."); err != nil {
		return false, err
	}
	account, err := s.proveAgain(ctx, id, password, address)
	if err != nil {
		return false, err
	}
	if !s.Mail {
		return false, s.Store.Write(ctx, func(tx Tx) error { return s.move(ctx, tx, account, fresh, time.Time{}) })
	}
	if err := s.limitMail(ctx, fresh, Origin(address)); err != nil {
		return false, err
	}
	return true, s.Store.Write(ctx, func(tx Tx) error { return s.sendClaim(ctx, tx, account, fresh) })
}

// move gives an account another address.
func (s *Service) move(ctx context.Context, tx Tx, a Account, email string, verified time.Time) error {
	if _, err := tx.AccountByEmail(ctx, email); err == nil {
		return errEmailTaken()
	} else if !isNotFound(err) {
		return err
	}
	if err := tx.SetEmail(ctx, a.ID, email, verified); err != nil {
		if domain.KindOf(err) == domain.Conflict {
			err = errEmailTaken()
		}
		return err
	}
	if err := tx.DropTickets(ctx, a.ID, forReset); err != nil {
		return err
	}
	return s.recordAll(ctx, tx, a.ID, "email.changed", true, nil)
}

func errEmailTaken() *domain.Error {
	return domain.Errorf(domain.Conflict, "email_taken", "There is another account with this e-mail. Use another e-mail.")
}

// ConfirmEmail takes the link from a mail: the address is shown to be the
// account's, and becomes it. When it changes, both addresses are told. NotFound
// for a link that is not good.
func (s *Service) ConfirmEmail(ctx context.Context, token, address string) error {
	var c claim
	t, err := s.present(ctx, token, forEmail, Origin(address), &c, errEmailLink())
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		if err := spend(ctx, tx, t, errEmailLink()); err != nil {
			return err
		}
		a, err := tx.Account(ctx, t.Account)
		if err != nil {
			return err
		}
		if a.Email == c.Email {
			return tx.VerifyEmail(ctx, a.ID, s.now())
		}
		if err := s.move(ctx, tx, a, c.Email, s.now()); err != nil {
			return err
		}
		for _, to := range []string{a.Email, c.Email} {
			if err := s.post(ctx, tx, Letter{Kind: LetterMoved, To: to, Name: a.Name, Address: c.Email}); err != nil {
				return err
			}
		}
		return nil
	})
}
