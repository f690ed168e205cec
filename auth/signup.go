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
	return s.Store.Write(ctx, func(tx Tx) error {
		token, expires, err := s.issue(ctx, tx, forSignUp, "", signUpLinkLife, waitingSignUp{u.AcademyName, u.TimeZone, u.Name, u.Email, hash})
		if err != nil {
			return err
		}
		_, err = tx.AccountByEmail(ctx, u.Email)
		if err != nil && !isNotFound(err) {
			return err
		}
		l := Letter{Kind: LetterSignUp, To: u.Email, Name: u.Name, Academy: u.AcademyName, Token: token, Expires: expires}
		if err == nil { // the name and the academy are a stranger's words
			l = Letter{Kind: LetterHasAccount, To: u.Email}
		}
		return s.post(ctx, tx, l)
	})
}

// ConfirmSignUp takes the link from the mail: it makes the account and the academy,
// and signs the owner in. NotFound for a link that is not good, a Conflict when
// there is an account with the address meanwhile.
func (s *Service) ConfirmSignUp(ctx context.Context, token, address string) (SignedIn, error) {
	origin := Origin(address)
	var w waitingSignUp
	t, err := s.present(ctx, token, forSignUp, origin, &w, errSignUpLink())
	if err != nil {
		return SignedIn{}, err
	}
	var opened opening
	err = s.Store.Write(ctx, func(tx Tx) error {
		if err := spend(ctx, tx, t, errSignUpLink()); err != nil {
			return err
		}
		now := s.now()
		a := Account{ID: s.Env.NewID(), Email: w.Email, Name: w.Name, Password: w.Password, Created: now, Verified: now}
		if _, err := tx.AccountByEmail(ctx, w.Email); err == nil {
			return domain.Errorf(domain.Conflict, "email_taken", "There is an account with this e-mail already. Sign in, and make the academy then.")
		} else if !isNotFound(err) {
			return err
		}
		if err := tx.AddAccount(ctx, a); err != nil {
			return err
		}
		academy, err := s.found(ctx, tx, SignUp{AcademyName: w.Academy, TimeZone: w.TimeZone, Name: w.Name}, a, now)
		if err == nil {
			opened, err = s.open(ctx, tx, a, academy, origin, now)
		}
		return err
	})
	if err != nil {
		return SignedIn{}, err
	}
	return s.hand(opened)
}
