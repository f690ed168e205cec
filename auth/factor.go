package auth

import (
	"context"
	"crypto/rand"
	"time"

	"fringework/domain"
)

// Ways of showing a second factor.
const (
	ByAuthenticator = "authenticator"
	ByPasskey       = "passkey"
	ByRecoveryCode  = "recovery_code"
)

// Factors is what an account has beside its password.
type Factors struct {
	// Authenticator is when the app was set up; zero without one.
	Authenticator time.Time
	Passkeys      []Passkey
	// RecoveryCodes are how many are left.
	RecoveryCodes int
	// Required says that an academy of the account asks for a second factor.
	Required bool
}

// Any reports whether there is a second factor.
func (f Factors) Any() bool { return !f.Authenticator.IsZero() || len(f.Passkeys) > 0 }

// methods are how a second factor may be shown, the usual one first.
func (f Factors) methods() (m []string) {
	if !f.Authenticator.IsZero() {
		m = append(m, ByAuthenticator)
	}
	if len(f.Passkeys) > 0 {
		m = append(m, ByPasskey)
	}
	if f.RecoveryCodes > 0 {
		m = append(m, ByRecoveryCode)
	}
	return m
}

// factorsOf reads what an account has.
func factorsOf(ctx context.Context, tx FactorTx, account domain.ID) (f Factors, err error) {
	a, err := tx.Authenticator(ctx, account)
	if err != nil && !isNotFound(err) {
		return f, err
	}
	f.Authenticator = a.Confirmed
	if f.Passkeys, err = tx.Passkeys(ctx, account); err == nil && f.Any() {
		f.RecoveryCodes, err = tx.RecoveryCodes(ctx, account)
	}
	return f, err
}

// Factors tells what an account has beside its password.
func (s *Service) Factors(ctx context.Context, account domain.ID) (f Factors, err error) {
	err = s.Store.Read(ctx, func(tx Tx) error {
		if f, err = factorsOf(ctx, tx, account); err != nil {
			return err
		}
		f.Required, err = needsFactor(ctx, tx, account)
		return err
	})
	return f, err
}

// needsFactor reports whether any academy asks it of an account.
func needsFactor(ctx context.Context, tx AccountTx, account domain.ID) (bool, error) {
	in, err := tx.Memberships(ctx, account)
	for _, m := range in {
		if m.NeedsFactor() {
			return true, err
		}
	}
	return false, err
}

// forSecondStep is the purpose of the ticket between the two steps of signing in.
const forSecondStep Purpose = "second-step"

// secondStepLife is how long somebody may look for their phone.
const secondStepLife = 10 * time.Minute

// SecondStep is what is left to do once the password was right.
type SecondStep struct {
	Ticket  string
	Expires time.Time
	// Methods are how the second factor may be shown, the usual one first.
	Methods []string
}

// begun is what is remembered between the two steps.
type begun struct {
	Academy domain.ID `json:"academy"`
}

func errSecondStep() *domain.Error {
	return domain.Errorf(domain.Unauthenticated, "sign_in_again", "This took too long, or too many codes were wrong. Sign in again from the start.")
}

// Code is the second step of signing in.
type Code struct {
	Ticket string
	// Code is six digits of the app, or a recovery code.
	Code    string
	Address string
}

// FinishSignIn starts a family for whoever was asked for a second factor. A wrong
// code is Unauthenticated; after five the whole sign-in begins again, and codes
// of one account are limited over all.
func (s *Service) FinishSignIn(ctx context.Context, c Code) (SignedIn, error) {
	origin := Origin(c.Address)
	var b begun
	t, err := s.present(ctx, c.Ticket, forSecondStep, origin, &b, errSecondStep())
	if err != nil {
		return SignedIn{}, err
	}
	var opened opening
	err = s.withCode(ctx, t.Account, c.Code, func(tx Tx) error {
		if err := spend(ctx, tx, t, errSecondStep()); err != nil {
			return err
		}
		a, err := tx.Account(ctx, t.Account)
		if err == nil {
			opened, err = s.open(ctx, tx, a, b.Academy, origin, s.now())
		}
		return err
	})
	if err != nil {
		if isCodeRefused(err) {
			err = s.missTicket(ctx, t, err)
		}
		return SignedIn{}, err
	}
	return s.hand(opened)
}

// missTicket counts a wrong code against a ticket and gives the refusal back.
func (s *Service) missTicket(ctx context.Context, t Ticket, refusal error) error {
	if err := s.Store.Write(ctx, func(tx Tx) error { return tx.MissTicket(ctx, t.Digest) }); err != nil {
		return err
	}
	if t.Misses+1 >= maxMisses {
		return errSecondStep()
	}
	return refusal
}

func isCodeRefused(err error) bool {
	e, ok := err.(*domain.Error) //nolint:errorlint // made here and not wrapped
	return ok && e.Code == errCode().Code
}

// factorBuckets limits codes per account, wherever they come from: six digits can
// be guessed by whoever has the password. Common practice, no source.
func factorBuckets(account domain.ID) []Bucket {
	return []Bucket{
		{label("factor", string(account)), 10, time.Minute},
		{label("factor-slow", string(account)), 30, 15 * time.Minute},
	}
}

// withCode does something in the transaction that uses up a code of an account,
// within the limits on guessing. A wrong code is Unauthenticated.
func (s *Service) withCode(ctx context.Context, account domain.ID, code string, do func(Tx) error) error {
	buckets := factorBuckets(account)
	wait, err := s.Limiter.Take(ctx, s.now(), buckets...)
	if err != nil {
		return err
	}
	if wait > 0 {
		return tooMany(wait)
	}
	err = s.Store.Write(ctx, func(tx Tx) error {
		ok, err := useCode(ctx, tx, account, code, s.now())
		if err != nil {
			return err
		}
		if !ok {
			return errCode()
		}
		return do(tx)
	})
	if err == nil {
		err = s.Limiter.Refund(context.WithoutCancel(ctx), buckets...)
	}
	return err
}

// useCode uses up a code of an app or a recovery code.
func useCode(ctx context.Context, tx FactorTx, account domain.ID, code string, now time.Time) (bool, error) {
	code = normalCode(code)
	if len(code) != 6 {
		return tx.TakeRecoveryCode(ctx, account, DigestOf(code))
	}
	a, err := tx.Authenticator(ctx, account)
	if isNotFound(err) || err == nil && a.Confirmed.IsZero() {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	step, ok := matches(a.Secret, code, now)
	if !ok {
		return false, nil
	}
	return tx.UseStep(ctx, account, step)
}

// proveAgain checks the password of somebody signed in, who is about to change
// how they sign in. A wrong one is Invalid at /password.
func (s *Service) proveAgain(ctx context.Context, id Identity, password, address string) (Account, error) {
	account, _, err := s.Me(ctx, id.Account)
	if err != nil {
		return Account{}, err
	}
	proven, err := s.prove(ctx, account.Email, password, Origin(address))
	if domain.KindOf(err) == domain.Unauthenticated {
		var p domain.Problems
		p.Add("/password", "is not the password of this account; try again")
		err = p.Err("password", "Nothing was changed.")
	}
	return proven.Account, err
}

// BeginAuthenticator prepares an app of the account that asks. It counts once
// ConfirmAuthenticator was shown a code of it. A Conflict when there is one.
func (s *Service) BeginAuthenticator(ctx context.Context, id Identity, password, address string) (Enrolment, error) {
	account, err := s.proveAgain(ctx, id, password, address)
	if err != nil {
		return Enrolment{}, err
	}
	secret := make([]byte, totpSecret)
	rand.Read(secret) // never fails: it ends the program instead
	err = s.Store.Write(ctx, func(tx Tx) error {
		was, err := tx.Authenticator(ctx, account.ID)
		if err != nil && !isNotFound(err) {
			return err
		}
		if !was.Confirmed.IsZero() {
			return domain.Errorf(domain.Conflict, "authenticator_set", "This account has an app for codes already. Remove that first.")
		}
		return tx.SaveAuthenticator(ctx, Authenticator{Account: account.ID, Secret: secret, Created: s.now()})
	})
	if err != nil {
		return Enrolment{}, err
	}
	return enrolment(account.Email, secret)
}

// ConfirmAuthenticator turns an app on by its first code, ends all other sign-ins
// of the account, and gives recovery codes if there are none yet, to be shown this
// once. A wrong code is Invalid at /code.
func (s *Service) ConfirmAuthenticator(ctx context.Context, id Identity, code string) (codes []string, err error) {
	buckets := factorBuckets(id.Account)
	wait, err := s.Limiter.Take(ctx, s.now(), buckets...)
	if err != nil {
		return nil, err
	}
	if wait > 0 {
		return nil, tooMany(wait)
	}
	err = s.Store.Write(ctx, func(tx Tx) error {
		now := s.now()
		a, err := tx.Authenticator(ctx, id.Account)
		if isNotFound(err) || err == nil && !a.Confirmed.IsZero() {
			return domain.Errorf(domain.Conflict, "authenticator_not_begun", "There is no app to confirm. Begin again.")
		}
		if err != nil {
			return err
		}
		step, ok := matches(a.Secret, normalCode(code), now)
		if !ok {
			return wrongCode()
		}
		a.Confirmed, a.Step = now, step
		if err := tx.SaveAuthenticator(ctx, a); err != nil {
			return err
		}
		codes, err = s.factorAdded(ctx, tx, id, ByAuthenticator)
		return err
	})
	if err == nil {
		err = s.Limiter.Refund(context.WithoutCancel(ctx), buckets...)
	}
	if err != nil {
		return nil, err
	}
	return codes, nil
}

func wrongCode() error {
	var p domain.Problems
	p.Add("/code", "is wrong, or was used already; wait for the next code of your app")
	return p.Err("code_refused", "Nothing was changed.")
}

// factorAdded is what follows a new factor: the first one brings recovery codes.
func (s *Service) factorAdded(ctx context.Context, tx Tx, id Identity, method string) (codes []string, err error) {
	left, err := tx.RecoveryCodes(ctx, id.Account)
	if err != nil {
		return nil, err
	}
	if left == 0 {
		var digests []Digest
		codes, digests = newRecoveryCodes()
		if err := tx.SetRecoveryCodes(ctx, id.Account, digests); err != nil {
			return nil, err
		}
	}
	if _, err := tx.EndFamilies(ctx, id.Account, id.Family, s.now(), FactorChanged); err != nil {
		return nil, err
	}
	if err := s.tellFactor(ctx, tx, id.Account); err != nil {
		return nil, err
	}
	return codes, s.recordAll(ctx, tx, id.Account, "second-factor.added", true, map[string]any{"method": method})
}

// tellFactor tells an account's holder that the second factor was changed.
func (s *Service) tellFactor(ctx context.Context, tx Tx, account domain.ID) error {
	a, err := tx.Account(ctx, account)
	if err == nil {
		err = s.alert(ctx, tx, a, LetterFactor)
	}
	return err
}

// recordAll writes an event into the log of every academy of an account. own says
// that the person did it, and not the operator.
func (s *Service) recordAll(ctx context.Context, tx Tx, account domain.ID, kind string, own bool, data map[string]any) error {
	in, err := tx.Memberships(ctx, account)
	if err != nil {
		return err
	}
	for _, m := range in {
		e := domain.Event{At: s.now(), Kind: kind, Subject: m.Member, Data: data}
		if own {
			e.Actor = m.Member
		}
		if err := tx.Record(ctx, m.Academy, e); err != nil {
			return err
		}
	}
	return nil
}

// Confirmation is the password and a code, for changing how somebody signs in.
type Confirmation struct {
	Password string
	// Code is six digits of the app, or a recovery code.
	Code    string
	Address string
}

// confirmed does something in the transaction that uses up the code. A wrong
// password is Invalid at /password, a wrong code at /code.
func (s *Service) confirmed(ctx context.Context, id Identity, c Confirmation, do func(Tx) error) error {
	if _, err := s.proveAgain(ctx, id, c.Password, c.Address); err != nil {
		return err
	}
	err := s.withCode(ctx, id.Account, c.Code, do)
	if isCodeRefused(err) {
		err = wrongCode()
	}
	return err
}

// RemoveAuthenticator turns an app off, and forgets the recovery codes with the
// last factor. It is a Conflict while an academy asks for a second factor and
// there is no other.
func (s *Service) RemoveAuthenticator(ctx context.Context, id Identity, c Confirmation) error {
	return s.confirmed(ctx, id, c, func(tx Tx) error {
		if err := tx.RemoveAuthenticator(ctx, id.Account); err != nil {
			return err
		}
		return s.factorRemoved(ctx, tx, id, ByAuthenticator)
	})
}

// factorRemoved is what follows the end of a factor.
func (s *Service) factorRemoved(ctx context.Context, tx Tx, id Identity, method string) error {
	left, err := factorsOf(ctx, tx, id.Account)
	if err != nil {
		return err
	}
	if !left.Any() {
		required, err := needsFactor(ctx, tx, id.Account)
		if err != nil {
			return err
		}
		if required {
			return domain.Errorf(domain.Conflict, "second_factor_required", "Your academy asks for a second factor. Add another one before you remove this.")
		}
		if err := tx.SetRecoveryCodes(ctx, id.Account, nil); err != nil {
			return err
		}
	}
	if err := s.tellFactor(ctx, tx, id.Account); err != nil {
		return err
	}
	return s.recordAll(ctx, tx, id.Account, "second-factor.removed", true, map[string]any{"method": method})
}

// RenewRecoveryCodes makes new codes in the place of all others.
func (s *Service) RenewRecoveryCodes(ctx context.Context, id Identity, c Confirmation) (codes []string, err error) {
	err = s.confirmed(ctx, id, c, func(tx Tx) error {
		var digests []Digest
		codes, digests = newRecoveryCodes()
		return tx.SetRecoveryCodes(ctx, id.Account, digests)
	})
	if err != nil {
		return nil, err
	}
	return codes, nil
}

// ResetFactors forgets all that an account has beside its password and ends its
// sign-ins. It is the operator's remedy for whoever lost their phone and their
// recovery codes, and checks nobody's permission: no route may lead here.
func (s *Service) ResetFactors(ctx context.Context, email string) error {
	normal, _ := NormalEmail(email)
	account, _, err := s.lookUp(ctx, normal, "")
	if err != nil {
		return err
	}
	if account.ID == "" {
		return domain.ErrNotFound("account")
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		passkeys, err := tx.Passkeys(ctx, account.ID)
		if err != nil {
			return err
		}
		a, err := tx.Authenticator(ctx, account.ID)
		if err != nil && domain.KindOf(err) != domain.NotFound {
			return err
		}
		if len(passkeys) == 0 && a.Account == "" {
			return domain.Errorf(domain.NotFound, "no_second_factor", "this account has no second factor; nothing was changed")
		}
		for _, p := range passkeys {
			if _, err := tx.RemovePasskey(ctx, account.ID, p.ID); err != nil {
				return err
			}
		}
		if err := tx.RemoveAuthenticator(ctx, account.ID); err != nil {
			return err
		}
		if err := tx.SetRecoveryCodes(ctx, account.ID, nil); err != nil {
			return err
		}
		if _, err := tx.EndFamilies(ctx, account.ID, "", s.now(), FactorChanged); err != nil {
			return err
		}
		if err := s.alert(ctx, tx, account, LetterFactor); err != nil {
			return err
		}
		return s.recordAll(ctx, tx, account.ID, "second-factor.removed", false, nil)
	})
}

// RequireFactor says whether owners and coaches of the asker's academy must have a
// second factor. Whoever has none then gets no further into the academy than to
// set one up: at once when they sign in, and within the life of an access token
// where they are signed in. An owner has one before asking it of others.
func (s *Service) RequireFactor(ctx context.Context, id Identity, required bool) error {
	if err := allowed(id.Actor, AcademyWrite); err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		own, err := factorsOf(ctx, tx, id.Account)
		if err != nil {
			return err
		}
		if required && !own.Any() {
			return domain.Errorf(domain.Conflict, "second_factor_first", "Set up a second factor of your own before you ask it of others.")
		}
		if err := tx.RequireFactor(ctx, id.Academy, required); err != nil {
			return err
		}
		return tx.Record(ctx, id.Academy, domain.Event{
			At: s.now(), Actor: id.Member, Kind: "academy.changed", Subject: id.Academy, Data: map[string]any{"second_factor": required},
		})
	})
}
