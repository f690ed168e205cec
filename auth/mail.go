package auth

import (
	"cmp"
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// LetterKind says what a letter is about; package mail has the words.
type LetterKind string

// The kinds of letter.
const (
	// LetterInvitation has Academy, By, Role and Code.
	LetterInvitation LetterKind = "invitation"
	// LetterReset has Token.
	LetterReset LetterKind = "reset"
	// LetterVerify has Token.
	LetterVerify LetterKind = "verify"
	// LetterMoved is to the old and to the new address, and has Address, the new.
	LetterMoved LetterKind = "email-changed"
	// LetterSignUp has Academy and Token.
	LetterSignUp LetterKind = "sign-up"
	// LetterHasAccount is to somebody who signed up with an address that has an
	// account; it has Academy.
	LetterHasAccount LetterKind = "has-account"
	// LetterJoin is to somebody who accepts an invitation that is bound to no e-mail, and
	// has Academy and Token; LetterMayJoin to one whose address has an account.
	LetterJoin    LetterKind = "join"
	LetterMayJoin LetterKind = "may-join"
	// LetterSignIn tells of a sign-in from a new place, and LetterReplayed of one
	// that was ended because its token was used twice.
	LetterSignIn   LetterKind = "sign-in"
	LetterReplayed LetterKind = "replayed"
	// LetterPassword tells that the password was changed, and LetterFactor that the
	// second factor was.
	LetterPassword LetterKind = "password-changed"
	LetterFactor   LetterKind = "factor-changed"
	// LetterHandedReset tells that By handed out a link to set a new password.
	LetterHandedReset LetterKind = "handed-reset"
	// LetterDigest is the weekly letter; it has Academy, AcademyID, Member, Token and
	// Digest. The domain queues it (academy.DigestService).
	LetterDigest LetterKind = "digest"
)

// Waits reports whether a letter goes after those that somebody waits for.
func (k LetterKind) Waits() bool { return k == LetterDigest }

// Letter is a mail that waits to be written and sent.
type Letter struct {
	ID   domain.ID  `json:"id"`
	Kind LetterKind `json:"kind"`
	// To is the address, and Name whom to greet; it may be empty.
	To   string `json:"to"`
	Name string `json:"name"`
	// At is when what it tells of happened.
	At time.Time `json:"at"`
	// Expires is when it is worth nothing any more.
	Expires time.Time `json:"expires"`

	Academy string      `json:"academy,omitempty"`
	By      string      `json:"by,omitempty"`
	Role    domain.Role `json:"role,omitempty"`
	Code    string      `json:"code,omitempty"`
	Token   string      `json:"token,omitempty"`
	Address string      `json:"address,omitempty"`
	// AcademyID and Member are whose letter it is, of one that can be stopped, and
	// Digest what it tells.
	AcademyID domain.ID       `json:"academy_id,omitempty"`
	Member    domain.ID       `json:"member,omitempty"`
	Digest    *academy.Digest `json:"digest,omitempty"`
	// Tries is how often sending it has been tried.
	Tries int `json:"-"`
}

// MailTx keeps the letters that wait.
type MailTx interface {
	// AddLetter stores a letter, due at At.
	AddLetter(ctx context.Context, l Letter) error
	// ClaimLetter gives the letter that has been due for longest, of those that do not
	// wait (LetterKind.Waits) before those that do, makes it due again
	// only at until, and adds one to Tries. NotFound when none is due. Of several
	// transactions that claim at once, no two are given the same.
	ClaimLetter(ctx context.Context, now, until time.Time) (Letter, error)
	// PostponeLetter makes a letter due at an instant.
	PostponeLetter(ctx context.Context, id domain.ID, due time.Time) error
	// RemoveLetter forgets a letter; it is no error if it is gone.
	RemoveLetter(ctx context.Context, id domain.ID) error
}

// letterLife is how long a letter is worth sending that says nothing else.
const letterLife = 3 * 24 * time.Hour

// post queues a letter in the transaction of what it tells of, if mail is on.
func (s *Service) post(ctx context.Context, tx MailTx, l Letter) error {
	if !s.Mail {
		return nil
	}
	l.ID, l.At = s.Env.NewID(), s.now()
	if l.Expires.IsZero() {
		l.Expires = l.At.Add(letterLife)
	}
	return tx.AddLetter(ctx, l)
}

// alert tells an account's holder what happened, at an address known to be theirs.
func (s *Service) alert(ctx context.Context, tx MailTx, a Account, kind LetterKind) error {
	if a.Verified.IsZero() {
		return nil
	}
	return s.post(ctx, tx, Letter{Kind: kind, To: a.Email, Name: a.Name})
}

// NextLetter gives the letter to send next, for as long as lease to one caller, and
// forgets those that are worth nothing any more. NotFound when none is due.
func (s *Service) NextLetter(ctx context.Context, lease time.Duration) (l Letter, err error) {
	var none error
	err = s.Store.Write(ctx, func(tx Tx) (err error) {
		for none = nil; ; {
			if l, err = tx.ClaimLetter(ctx, s.now(), s.now().Add(lease)); isNotFound(err) {
				none = err
				return nil // what was forgotten is
			}
			if err != nil || s.now().Before(l.Expires) {
				return err
			}
			if err := tx.RemoveLetter(ctx, l.ID); err != nil {
				return err
			}
		}
	})
	return l, cmp.Or(err, none)
}

// SettleLetter forgets a letter that was sent or is given up, or, when again is
// positive, makes it due after so long.
func (s *Service) SettleLetter(ctx context.Context, l Letter, again time.Duration) error {
	return s.Store.Write(ctx, func(tx Tx) error {
		due := s.now().Add(again)
		if again > 0 && due.Before(l.Expires) {
			return tx.PostponeLetter(ctx, l.ID, due)
		}
		return tx.RemoveLetter(ctx, l.ID)
	})
}

// mailBuckets limit what strangers can make the service write to one address, and
// from one origin. Common practice, no source.
func mailBuckets(email, origin string) []Bucket {
	return []Bucket{
		{label("mail-address", email), 5, 10 * time.Minute},
		{label("mail-origin", origin), 30, time.Minute},
	}
}

// limitMail takes a try of them. It counts for addresses without an account too.
func (s *Service) limitMail(ctx context.Context, email, origin string) error {
	wait, err := s.Limiter.Take(ctx, s.now(), mailBuckets(email, origin)...)
	if err == nil && wait > 0 {
		err = tooMany(wait)
	}
	return err
}
