package auth

import (
	"context"
	"slices"
	"time"

	"golang.org/x/text/unicode/norm"

	"fringework/domain"
)

// SignedIn is what a person gets by signing in or refreshing.
type SignedIn struct {
	// Access is the bearer token, and AccessExpires its end.
	Access        string
	AccessExpires time.Time
	// Refresh is the token for the next pair, and RefreshExpires its end.
	Refresh        string
	RefreshExpires time.Time
	// Account is whose they are; its Password is left out.
	Account Account
	// Current is the membership that Access speaks for; nil when the account
	// belongs to no academy.
	Current *Membership
	// Memberships are all academies of the account, in the order of joining.
	Memberships []Membership
	// Accepted is the invitation that was accepted, by whoever signed in so; nil
	// otherwise.
	Accepted *AcceptedInvitation
	// Notices are what the person is told at this sign-in, once.
	Notices []Notice
	// Mailed says that a link was sent instead, to finish signing up; all else is
	// zero then.
	Mailed bool
	// Second is what is left to do before there are tokens, for an account with a
	// second factor: then all else is zero.
	Second *SecondStep
}

// Credentials are what a person signs in with.
type Credentials struct {
	Email    string
	Password string
	// Academy chooses among several; empty means the one joined first.
	Academy domain.ID
	// Address is the network address that asks.
	Address string
}

// errSignIn is the one answer to every wrong e-mail or password.
func errSignIn() *domain.Error {
	return domain.Errorf(domain.Unauthenticated, "sign_in_refused", "The e-mail or the password is wrong.")
}

// errTaken is the answer to a new account with an e-mail that has one. A stranger
// learns no more of it than that no account was made.
func errTaken() *domain.Error {
	return domain.Errorf(domain.Unauthenticated, "sign_in_refused",
		"There is an account with this e-mail already, and the password you gave is not the right one. Give its password to go on with that account, or use another e-mail.")
}

// SignIn starts a family. A wrong e-mail and a wrong password are told apart
// neither by text nor by time: both are Unauthenticated. It is TooMany when
// guessing is slowed down, and NotFound when the account does not belong to
// the academy chosen.
func (s *Service) SignIn(ctx context.Context, c Credentials) (SignedIn, error) {
	email, ok := NormalEmail(c.Email)
	if !ok {
		email = "" // nobody's, and the same work is done
	}
	proven, err := s.prove(ctx, email, c.Password, Origin(c.Address))
	if err != nil {
		return SignedIn{}, err
	}
	return s.enter(ctx, proven, c.Academy, Origin(c.Address))
}

// proof is an account whose holder has just shown the password.
type proof struct {
	Account
	// next is the hash to keep from now on: Account.Password, or a better
	// one.
	next string
}

// prove checks a password, within the limits on guessing.
func (s *Service) prove(ctx context.Context, email, password, origin string) (proof, error) {
	account, known, err := s.lookUp(ctx, email, origin)
	if err != nil {
		return proof{}, err
	}
	buckets := passwordBuckets(email, origin, known)
	wait, err := s.Limiter.Take(ctx, s.now(), buckets...)
	if err != nil {
		return proof{}, err
	}
	if wait > 0 {
		return proof{}, tooMany(wait)
	}
	ok, stale, err := s.Hasher.VerifyTyped(ctx, password, account.Password)
	if err == nil && !ok {
		return proof{}, errSignIn()
	}
	// The attempt was right, or was never made.
	if refund := s.Limiter.Refund(context.WithoutCancel(ctx), buckets...); err == nil {
		err = refund
	}
	if err != nil {
		return proof{}, err
	}
	p := proof{Account: account, next: account.Password}
	if normal, fits := NormalPassword(password); stale && fits {
		p.next, err = s.Hasher.Hash(ctx, normal)
	}
	return p, err
}

// lookUp finds an account, zero when there is none, and whether it has signed
// in from the origin before.
func (s *Service) lookUp(ctx context.Context, email, origin string) (a Account, known bool, err error) {
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		a, known = Account{}, false
		a, err = tx.AccountByEmail(ctx, email)
		if former := norm.NFD.String(email); isNotFound(err) && former != email {
			a, err = tx.AccountByEmail(ctx, former) // from before e-mails were composed
		}
		if err != nil {
			return err
		}
		known, err = tx.KnownOrigin(ctx, a.ID, origin)
		return err
	})
	if isNotFound(err) {
		return Account{}, false, nil
	}
	return a, known, err
}

// confirm holds a proof to the account as it stands in the transaction, so
// that a password changed since then is not good any more, and keeps a
// stronger hash. The account's row is locked by it.
func confirm(ctx context.Context, tx AccountTx, p proof) error {
	ok, err := tx.SetPassword(ctx, p.ID, p.Password, p.next)
	if err == nil && !ok {
		return errSignIn()
	}
	return err
}

// enter starts a family for a proven account, or asks for its second factor.
func (s *Service) enter(ctx context.Context, p proof, academy domain.ID, origin string) (SignedIn, error) {
	var opened opening
	var second *SecondStep
	err := s.Store.Write(ctx, func(tx Tx) (err error) {
		if err = confirm(ctx, tx, p); err != nil {
			return err
		}
		factors, err := factorsOf(ctx, tx, p.ID)
		if err != nil {
			return err
		}
		if factors.Any() {
			second = &SecondStep{Methods: factors.methods()}
			second.Ticket, second.Expires, err = s.issue(ctx, tx, forSecondStep, p.ID, secondStepLife, begun{academy})
			return err
		}
		opened, err = s.open(ctx, tx, p.Account, academy, origin, s.now())
		return err
	})
	if err != nil || second != nil {
		return SignedIn{Second: second}, err
	}
	return s.hand(opened)
}

// opening is a family with the token that was made for it.
type opening struct {
	account     Account
	family      Family
	token       refreshToken
	memberships []Membership
	notices     []Notice
}

// open stores a new family.
func (s *Service) open(ctx context.Context, tx Tx, a Account, academy domain.ID, origin string, now time.Time) (opening, error) {
	o := opening{account: a}
	f := Family{ID: s.Env.NewID(), Account: a.ID, Origin: origin, Created: now, Rotated: now, Expires: now.Add(s.FamilyLife)}
	o.token = newRefreshToken(f.ID)
	f.Lineage, f.Current = DigestOf(o.token.lineage), DigestOf(o.token.secret)
	if err := o.settle(ctx, tx, &f, academy); err != nil {
		return o, err
	}
	o.family = f
	var err error
	if o.notices, err = notices(ctx, tx, a.ID); err != nil {
		return o, err
	}
	if err := s.tellNewPlace(ctx, tx, a, origin, now); err != nil {
		return o, err
	}
	return o, tx.AddFamily(ctx, f)
}

// settledIn is how old an account is whose holder is told of sign-ins from new
// places: not of the first ones, which they have just made themselves.
const settledIn = time.Hour

// tellNewPlace tells of a sign-in from where the account has not been.
func (s *Service) tellNewPlace(ctx context.Context, tx Tx, a Account, origin string, now time.Time) error {
	if !s.Mail || a.Verified.IsZero() || now.Sub(a.Created) < settledIn {
		return nil
	}
	known, err := tx.KnownOrigin(ctx, a.ID, origin)
	if err != nil || known {
		return err
	}
	return s.alert(ctx, tx, a, LetterSignIn)
}

// settle puts a family into the academy wanted, or else where it was, or else
// into the one joined first; but into none that asks for a second factor the
// account has not.
func (o *opening) settle(ctx context.Context, tx Tx, f *Family, wanted domain.ID) (err error) {
	if o.memberships, err = tx.Memberships(ctx, f.Account); err != nil {
		return err
	}
	barred, err := closed(ctx, tx, f.Account, o.memberships)
	if err != nil {
		return err
	}
	in := func(academy domain.ID) int {
		return slices.IndexFunc(o.memberships, func(m Membership) bool { return m.Academy == academy })
	}
	i := in(wanted)
	if wanted != "" && i < 0 {
		return domain.ErrNotFound("academy")
	}
	if i < 0 {
		i = max(0, in(f.Academy))
	}
	f.Academy, f.Member = "", ""
	if i < len(o.memberships) && !(barred && o.memberships[i].NeedsFactor()) {
		f.Academy, f.Member = o.memberships[i].Academy, o.memberships[i].Member
	}
	return nil
}

// closed reports whether an account lacks a second factor that is asked of it.
func closed(ctx context.Context, tx FactorTx, account domain.ID, in []Membership) (bool, error) {
	if !slices.ContainsFunc(in, Membership.NeedsFactor) {
		return false, nil
	}
	factors, err := factorsOf(ctx, tx, account)
	return !factors.Any(), err
}

// hand writes the tokens of an opening, once it is committed.
func (s *Service) hand(o opening) (SignedIn, error) {
	now, f := s.now(), o.family
	out := SignedIn{
		Refresh: o.token.String(), RefreshExpires: s.idleEnd(f),
		AccessExpires: earlier(now.Add(s.AccessLife), f.Expires).Truncate(time.Second),
		Account:       o.account, Memberships: o.memberships, Notices: o.notices,
	}
	out.Account.Password = ""
	for _, m := range o.memberships {
		if m.Academy == f.Academy {
			out.Current = &m
		}
	}
	var err error
	out.Access, err = s.Tokens.issue(grant{
		subject: f.Account, family: f.ID, academy: f.Academy, member: f.Member, expires: out.AccessExpires,
	})
	return out, err
}

// idleEnd is when a family ends unless it is refreshed before.
func (s *Service) idleEnd(f Family) time.Time {
	return earlier(f.Rotated.Add(s.RefreshIdle), f.Expires)
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
