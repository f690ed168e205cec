package auth

import (
	"context"
	"encoding/json"
	"time"

	"fringework/domain"
)

// Purposes of tickets here.
const (
	forReset  Purpose = "reset"
	forNotice Purpose = "notice"
)

// How long a link to set a new password is good: one that was asked for by mail,
// and one that somebody hands to their member.
const (
	mailedResetLife = time.Hour
	handedResetLife = 24 * time.Hour
	noticeLife      = 180 * 24 * time.Hour
)

// reset is what is remembered of a link.
type reset struct {
	// Mailed says that it was sent to the account's address, which so is shown to
	// be theirs.
	Mailed bool `json:"mailed"`
}

// Notice is something a person is told when they next sign in.
type Notice struct {
	// By handed out a link to set a new password.
	By string    `json:"by"`
	At time.Time `json:"at"`
}

func errReset() *domain.Error {
	return domain.Errorf(domain.NotFound, "no_reset", "This link was used already, is too old, or is not complete. Ask for a new one.")
}

// errMailOff says what to do where the service sends no mail.
func errMailOff() *domain.Error {
	return domain.Errorf(domain.Conflict, "mail_off", "This service sends no mail. Ask your coach or the academy's owner for a link to set a new password.")
}

// ForgotPassword sends a link to set a new password. Whether the address has an
// account shows in nothing but the mail. It is a Conflict where there is no mail,
// and TooMany when too many were asked for.
func (s *Service) ForgotPassword(ctx context.Context, email, address string) error {
	if !s.Mail {
		return errMailOff()
	}
	normal, fits := NormalEmail(email)
	if !fits {
		return nil // nobody's
	}
	origin := Origin(address)
	if err := s.limitMail(ctx, normal, origin); err != nil {
		return err
	}
	account, _, err := s.lookUp(ctx, normal, origin)
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		token, expires, err := s.issue(ctx, tx, forReset, account.ID, mailedResetLife, reset{Mailed: true})
		if err != nil || account.ID == "" {
			return err
		}
		return s.post(ctx, tx, Letter{Kind: LetterReset, To: account.Email, Name: account.Name, Token: token, Expires: expires})
	})
}

// HandReset makes a link with which a member sets a new password, for who asks to
// hand on: an owner to anybody but owners, a coach to their students. The member
// is told when they next sign in. Whoever belongs to another academy too, or may
// not be reset, is a Conflict or Forbidden; whom the asker may not see, NotFound.
func (s *Service) HandReset(ctx context.Context, id Identity, member domain.ID) (token string, expires time.Time, err error) {
	if err := allowed(id.Actor, PasswordHand); err != nil {
		return "", expires, err
	}
	err = s.Store.Write(ctx, func(tx Tx) error {
		by, err := tx.Member(ctx, id.Academy, id.Member)
		if err != nil {
			return err
		}
		m, err := resettable(ctx, tx, id.Actor, member)
		if err != nil {
			return err
		}
		account, err := tx.Account(ctx, m.Account)
		if err != nil {
			return err
		}
		if err := tx.DropTickets(ctx, m.Account, forReset); err != nil {
			return err
		}
		if token, expires, err = s.issue(ctx, tx, forReset, m.Account, handedResetLife, reset{}); err != nil {
			return err
		}
		if _, _, err = s.issue(ctx, tx, forNotice, m.Account, noticeLife, Notice{By: by.Name, At: s.now()}); err != nil {
			return err
		}
		if err := s.post(ctx, tx, Letter{Kind: LetterHandedReset, To: account.Email, Name: account.Name, By: by.Name}); err != nil {
			return err
		}
		e := domain.Event{At: s.now(), Actor: id.Member, Kind: "reset-link.made", Subject: m.ID}
		if m.Role == domain.Student {
			e.Student = m.ID
		}
		return tx.Record(ctx, id.Academy, e)
	})
	return token, expires, err
}

// resettable finds the member whom an asker may hand a link to.
func resettable(ctx context.Context, tx Tx, a domain.Actor, member domain.ID) (Member, error) {
	if !isID(member) {
		return Member{}, domain.ErrNotFound("member")
	}
	m, err := tx.Member(ctx, a.Academy, member)
	if err == nil && !m.Removed.IsZero() {
		err = domain.ErrNotFound("member")
	}
	if err != nil {
		return m, err
	}
	if a.Role == domain.Coach {
		mine, err := tx.Linked(ctx, a.Academy, a.Member, member)
		if err != nil {
			return m, err
		}
		if m.Role != domain.Student || !mine {
			return m, domain.ErrNotFound("member")
		}
	}
	if m.Role == domain.Owner {
		return m, domain.Errorf(domain.Forbidden, "owner_reset", "An owner's password is not reset by another owner. Ask the operator of this service.")
	}
	in, err := tx.Memberships(ctx, m.Account)
	if err == nil && len(in) > 1 {
		err = domain.Errorf(domain.Conflict, "other_academies", "This person belongs to another academy as well, so you cannot reset their password. They can ask for a link by mail, or ask the operator of this service.")
	}
	return m, err
}

// UseReset sets a new password by a link, which is good once, and ends all
// sign-ins of the account. A second factor stays: it is asked for at the next
// sign-in. NotFound for a link that is not good, Invalid at /new_password.
func (s *Service) UseReset(ctx context.Context, token, fresh, address string) error {
	var r reset
	t, err := s.present(ctx, token, forReset, Origin(address), &r, errReset())
	if err != nil {
		return err
	}
	if t.Account == "" {
		return errReset() // made for an address without an account
	}
	account, in, err := s.Me(ctx, t.Account)
	if err != nil {
		return err
	}
	var p domain.Problems
	fresh = checkPassword(&p, "/new_password", fresh, namesOf(account, in)...)
	if err := p.Err("password", "The password was not changed."); err != nil {
		return err
	}
	return s.setPassword(ctx, t.Account, fresh, setting{own: true, also: func(tx Tx) error {
		if err := spend(ctx, tx, t, errReset()); err != nil {
			return err
		}
		if !r.Mailed || !account.Verified.IsZero() {
			return nil
		}
		return tx.VerifyEmail(ctx, account.ID, s.now())
	}})
}

// OperatorReset makes a link for an account. It checks nobody's permission: no
// route may lead here.
func (s *Service) OperatorReset(ctx context.Context, email string) (token string, err error) {
	normal, _ := NormalEmail(email)
	account, _, err := s.lookUp(ctx, normal, "")
	if err != nil {
		return "", err
	}
	if account.ID == "" {
		return "", domain.ErrNotFound("account")
	}
	err = s.Store.Write(ctx, func(tx Tx) error {
		token, _, err = s.issue(ctx, tx, forReset, account.ID, handedResetLife, reset{})
		return err
	})
	return token, err
}

// notices takes what an account's holder is to be told.
func notices(ctx context.Context, tx TicketTx, account domain.ID) (all []Notice, err error) {
	tickets, err := tx.Tickets(ctx, account, forNotice)
	if err != nil || len(tickets) == 0 {
		return nil, err
	}
	for _, t := range tickets {
		var n Notice
		if err := json.Unmarshal([]byte(t.Doc), &n); err != nil {
			return nil, err
		}
		all = append(all, n)
	}
	return all, tx.DropTickets(ctx, account, forNotice)
}
