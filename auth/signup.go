package auth

import (
	"context"
	"time"

	"fringework/domain"
)

// forSignUp is the purpose of the link that finishes signing up.
const forSignUp Purpose = "sign-up"

// signUpLinkLife is how long such a link is good.
const signUpLinkLife = 24 * time.Hour

// waitingSignUp is what is remembered until the link is opened.
type waitingSignUp struct {
	Academy  string `json:"academy"`
	TimeZone string `json:"time_zone"`
	Name     string `json:"name"`
	Email    string `json:"email"`
	// Password is the encoded hash.
	Password string `json:"password"`
	// Joins and Invitation say which invitation of which academy is accepted; both are
	// empty when the link makes an academy.
	Joins      domain.ID `json:"joins,omitempty"`
	Invitation domain.ID `json:"invitation,omitempty"`
}

func errSignUpLink() *domain.Error {
	return domain.Errorf(domain.NotFound, "no_sign_up_link", "This link was used already, is too old, or is not complete. If your academy is there, sign in; else make it again.")
}

// signUpByMail makes nothing yet: it sends a link to the address, or, to one that
// has an account, a word that it has. The answer and the work are the same.
func (s *Service) signUpByMail(ctx context.Context, u SignUp) error {
	if err := s.limitMail(ctx, u.Email, Origin(u.Address)); err != nil {
		return err
	}
	hash, err := s.Hasher.Hash(ctx, u.Password)
	if err != nil {
		return err
	}
	w := waitingSignUp{Academy: u.AcademyName, TimeZone: u.TimeZone, Name: u.Name, Email: u.Email, Password: hash}
	return s.Store.Write(ctx, func(tx Tx) error { return s.sendSignUp(ctx, tx, w, LetterSignUp, LetterHasAccount) })
}

// joinByMail does so for who accepts an invitation.
func (s *Service) joinByMail(ctx context.Context, academy domain.ID, i Invitation, in Accept) error {
	if err := s.limitMail(ctx, in.Email, Origin(in.Address)); err != nil {
		return err
	}
	normal, _ := NormalPassword(in.Password) // checked already
	hash, err := s.Hasher.Hash(ctx, normal)
	if err != nil {
		return err
	}
	w := waitingSignUp{TimeZone: in.TimeZone, Name: in.Name, Email: in.Email, Password: hash, Joins: academy, Invitation: i.ID}
	return s.Store.Write(ctx, func(tx Tx) error {
		at, err := tx.Academy(ctx, academy)
		if err != nil {
			return err
		}
		w.Academy = at.Name
		return s.sendSignUp(ctx, tx, w, LetterJoin, LetterMayJoin)
	})
}

// sendSignUp sends the link to finish with to an address without an account, and to one
// that has an account a word that it has.
func (s *Service) sendSignUp(ctx context.Context, tx Tx, w waitingSignUp, fresh, known LetterKind) error {
	token, expires, err := s.issue(ctx, tx, forSignUp, "", signUpLinkLife, w)
	if err != nil {
		return err
	}
	_, err = tx.AccountByEmail(ctx, w.Email)
	if err != nil && !isNotFound(err) {
		return err
	}
	l := Letter{Kind: fresh, To: w.Email, Name: w.Name, Academy: w.Academy, Token: token, Expires: expires}
	if err == nil { // the name and the academy are a stranger's words
		l = Letter{Kind: known, To: w.Email}
	}
	return s.post(ctx, tx, l)
}

// ConfirmSignUp takes the link from the mail: it makes the account, and the academy or
// the member of the one that invited, and signs them in. NotFound for a link that is not
// good, a Conflict when there is an account with the address meanwhile, or the
// invitation cannot be used any more.
func (s *Service) ConfirmSignUp(ctx context.Context, token, address string) (SignedIn, error) {
	origin := Origin(address)
	var w waitingSignUp
	t, err := s.present(ctx, token, forSignUp, origin, &w, errSignUpLink())
	if err != nil {
		return SignedIn{}, err
	}
	var opened opening
	var accepted *AcceptedInvitation
	err = s.Store.Write(ctx, func(tx Tx) error {
		accepted = nil
		if err := spend(ctx, tx, t, errSignUpLink()); err != nil {
			return err
		}
		now := s.now()
		a := Account{ID: s.Env.NewID(), Email: w.Email, Name: w.Name, Password: w.Password, Created: now, Verified: now}
		if _, err := tx.AccountByEmail(ctx, w.Email); err == nil {
			return domain.Errorf(domain.Conflict, "email_taken", "There is an account with this e-mail already. Sign in, and make the academy, or accept the invitation, then.")
		} else if !isNotFound(err) {
			return err
		}
		if err := tx.AddAccount(ctx, a); err != nil {
			return err
		}
		academy := w.Joins
		if academy == "" {
			academy, err = s.found(ctx, tx, SignUp{AcademyName: w.Academy, TimeZone: w.TimeZone, Name: w.Name}, a, now)
		} else {
			accepted = &AcceptedInvitation{}
			j := joining{service: s, tx: tx, academy: academy, account: a, now: now}
			*accepted, err = j.join(ctx, w.Invitation, Accept{Name: w.Name, TimeZone: w.TimeZone})
		}
		if err == nil {
			opened, err = s.open(ctx, tx, a, academy, origin, now)
		}
		return err
	})
	if err != nil {
		return SignedIn{}, err
	}
	signed, err := s.hand(opened)
	signed.Accepted = accepted
	return signed, err
}
