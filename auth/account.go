package auth

import (
	"cmp"
	"context"
	"time"

	"fringework/domain"
)

// SignUp is what makes an academy and its owner.
type SignUp struct {
	// AcademyName is 1 to 100 characters.
	AcademyName string
	// TimeZone is the academy's and its owner's, an IANA name.
	TimeZone string
	// Name is what the owner is called, 1 to 100 characters.
	Name     string
	Email    string
	Password string
	// SecondFactor is a code, for an account that has one.
	SecondFactor string
	// Address is the network address that asks.
	Address string
}

func (u *SignUp) check() error {
	var p domain.Problems
	u.AcademyName = checkName(&p, "/academy_name", u.AcademyName)
	checkZone(&p, u.TimeZone)
	u.Name = checkName(&p, "/name", u.Name)
	u.Email = checkEmail(&p, u.Email)
	u.Password = checkPassword(&p, "/password", u.Password, u.Name, u.AcademyName, u.Email)
	return p.Err("sign_up", "The academy was not created.")
}

// SignUpAcademy makes an academy and its owner, and signs the owner in. Whoever
// has an account already gives its password, and the account joins as it is;
// a wrong one is Unauthenticated. Where there is mail, whoever has none is sent a
// link to finish with, and so it seems to whoever gives a wrong password. Bad fields are Invalid, at /academy_name,
// /time_zone, /name, /email and /password.
func (s *Service) SignUpAcademy(ctx context.Context, u SignUp) (SignedIn, error) {
	if err := u.check(); err != nil {
		return SignedIn{}, err
	}
	origin := Origin(u.Address)
	wait, err := s.Limiter.Take(ctx, s.now(), signUpBucket(origin))
	if err != nil {
		return SignedIn{}, err
	}
	if wait > 0 {
		return SignedIn{}, tooMany(wait)
	}
	who := candidate{email: u.Email, password: u.Password, code: u.SecondFactor, name: u.Name, origin: origin}
	if s.Mail {
		// Whoever has an account and shows it goes on; nobody else learns of it.
		p, err := s.prove(ctx, u.Email, u.Password, origin)
		if domain.KindOf(err) == domain.Unauthenticated {
			return SignedIn{Mailed: true}, s.signUpByMail(ctx, u)
		}
		if err != nil {
			return SignedIn{}, err
		}
		who.account, who.proven = p.ID, true
	}
	return s.admitted(ctx, who,
		func(tx Tx, a Account, now time.Time) (domain.ID, error) { return s.found(ctx, tx, u, a, now) })
}

// found stores an academy and its owner.
func (s *Service) found(ctx context.Context, tx Tx, u SignUp, a Account, now time.Time) (domain.ID, error) {
	academy := Academy{ID: s.Env.NewID(), Name: u.AcademyName, TimeZone: u.TimeZone, Created: now}
	owner := Member{ID: s.Env.NewID(), Account: a.ID, Role: domain.Owner, Name: u.Name, TimeZone: u.TimeZone, Created: now}
	if err := tx.AddAcademy(ctx, academy); err != nil {
		return "", err
	}
	if err := tx.AddMember(ctx, academy.ID, owner); err != nil {
		return "", err
	}
	return academy.ID, record(ctx, tx, academy.ID,
		domain.Event{At: now, Actor: owner.ID, Kind: "academy.created", Subject: academy.ID},
		joined(owner, "", nil))
}

// joined is the event of a member joining. student is whose data it is.
func joined(m Member, student domain.ID, data map[string]any) domain.Event {
	if data == nil {
		data = map[string]any{}
	}
	data["role"] = string(m.Role)
	return domain.Event{At: m.Created, Actor: m.ID, Kind: "member.joined", Subject: m.ID, Student: student, Data: data}
}

func record(ctx context.Context, tx Tx, academy domain.ID, events ...domain.Event) error {
	for _, e := range events {
		if err := tx.Record(ctx, academy, e); err != nil {
			return err
		}
	}
	return nil
}

// candidate is somebody who signs in by an account they have or are about to
// make.
type candidate struct {
	email, password, code, name, origin string
	// account, when set, is one that is signed in already; the rest but name
	// and origin does not matter then. proven says that only the password was
	// shown, so that a second factor is asked for.
	account domain.ID
	proven  bool
}

// admitted signs a candidate in, making the account if there is none, after
// join in the same transaction; join gives the academy to sign in to.
func (s *Service) admitted(ctx context.Context, c candidate, join func(Tx, Account, time.Time) (domain.ID, error)) (out SignedIn, err error) {
	err = retried(func() error {
		p, fresh, err := s.proofOf(ctx, c)
		if err != nil {
			return err
		}
		if err := s.limitCode(ctx, p.ID, c.code); err != nil {
			return err
		}
		var opened opening
		err = s.Store.Write(ctx, func(tx Tx) error {
			now := s.now()
			if fresh {
				p.Created = now
			}
			if err := admit(ctx, tx, p, fresh); err != nil {
				return err
			}
			if (c.account == "" || c.proven) && !fresh {
				if err := admitSecond(ctx, tx, p.ID, c.code, now); err != nil {
					return err
				}
			}
			academy, err := join(tx, p.Account, now)
			if err == nil {
				opened, err = s.open(ctx, tx, p.Account, academy, c.origin, now)
			}
			return err
		})
		if err == nil {
			out, err = s.hand(opened)
		}
		return err
	})
	return out, err
}

// proofOf proves a candidate's account, or prepares a fresh one.
func (s *Service) proofOf(ctx context.Context, c candidate) (p proof, fresh bool, err error) {
	if c.account != "" {
		err = s.Store.Read(ctx, func(tx Tx) (err error) {
			p.Account, err = tx.Account(ctx, c.account)
			return err
		})
		p.next = p.Password
		return p, false, err
	}
	known, _, err := s.lookUp(ctx, c.email, c.origin)
	if err != nil {
		return p, false, err
	}
	if known.ID != "" {
		if p, err = s.prove(ctx, c.email, c.password, c.origin); domain.KindOf(err) == domain.Unauthenticated {
			err = errTaken()
		}
		return p, false, err
	}
	p.Account = Account{ID: s.Env.NewID(), Email: c.email, Name: c.name}
	normal, _ := NormalPassword(c.password) // checked already
	p.Password, err = s.Hasher.Hash(ctx, normal)
	return p, true, err
}

// admit stores a fresh account or confirms one that is there.
func admit(ctx context.Context, tx AccountTx, p proof, fresh bool) error {
	if !fresh {
		return confirm(ctx, tx, p)
	}
	err := tx.AddAccount(ctx, p.Account)
	if err != nil && domain.KindOf(err) == domain.Conflict {
		return errRaced // look again: it is there now
	}
	return err
}

// limitCode takes a try of those that an account has for codes.
func (s *Service) limitCode(ctx context.Context, account domain.ID, code string) error {
	if code == "" {
		return nil
	}
	wait, err := s.Limiter.Take(ctx, s.now(), factorBuckets(account)...)
	if err == nil && wait > 0 {
		err = tooMany(wait)
	}
	return err
}

// admitSecond asks for the second factor of an account that has one.
func admitSecond(ctx context.Context, tx FactorTx, account domain.ID, code string, now time.Time) error {
	factors, err := factorsOf(ctx, tx, account)
	if err != nil || !factors.Any() {
		return err
	}
	if code == "" {
		return domain.Errorf(domain.Unauthenticated, "second_factor_needed", "This account has a second factor. Give a code of your app or a recovery code as well.")
	}
	ok, err := useCode(ctx, tx, account, code, now)
	if err == nil && !ok {
		err = errCode()
	}
	return err
}

// Me gives an account, its Password left out, and the academies it belongs to.
func (s *Service) Me(ctx context.Context, account domain.ID) (a Account, in []Membership, err error) {
	return s.Store.Belonging(ctx, account)
}

// ChangePassword replaces the password of the account that asks, and ends all
// its other sign-ins. A wrong current password is Invalid at
// /current_password, a bad new one at /new_password.
func (s *Service) ChangePassword(ctx context.Context, id Identity, current, fresh, address string) error {
	var p domain.Problems
	account, in, err := s.Me(ctx, id.Account)
	if err != nil {
		return err
	}
	fresh = checkPassword(&p, "/new_password", fresh, namesOf(account, in)...)
	if err := p.Err("password", "The password was not changed."); err != nil {
		return err
	}
	proven, err := s.prove(ctx, account.Email, current, Origin(address))
	if domain.KindOf(err) == domain.Unauthenticated {
		p.Add("/current_password", "is not the password of this account; try again or ask the operator to reset it")
		return p.Err("password", "The password was not changed.")
	}
	if err != nil {
		return err
	}
	return s.setPassword(ctx, proven.ID, fresh, setting{was: proven.Password, except: id.Family, own: true})
}

// namesOf is what a password of an account must not be.
func namesOf(a Account, in []Membership) []string {
	names := []string{a.Name, a.Email}
	for _, m := range in {
		names = append(names, m.AcademyName)
	}
	return names
}

// ResetPassword sets a password without the old one and ends all sign-ins of
// the account. It is the operator's remedy for a person locked out, and checks
// nobody's permission: no route may lead here.
func (s *Service) ResetPassword(ctx context.Context, email, fresh string) error {
	var p domain.Problems
	normal := checkEmail(&p, email)
	fresh = checkPassword(&p, "/new_password", fresh, email)
	if err := p.Err("password", "The password was not set."); err != nil {
		return err
	}
	account, _, err := s.lookUp(ctx, normal, "")
	if err != nil {
		return err
	}
	if account.ID == "" {
		return domain.ErrNotFound("account")
	}
	return s.setPassword(ctx, account.ID, fresh, setting{was: account.Password})
}

// setting is how a password is replaced.
type setting struct {
	// was is the hash that must still stand; empty for whatever stands.
	was string
	// except is the sign-in that goes on; empty for none.
	except domain.ID
	// own says that the person did it, and not the operator.
	own bool
	// also is done in the same transaction.
	also func(Tx) error
}

// setPassword replaces a password, ends all families but one, and tells of it.
func (s *Service) setPassword(ctx context.Context, account domain.ID, fresh string, how setting) error {
	hash, err := s.Hasher.Hash(ctx, fresh)
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		if how.also != nil {
			if err := how.also(tx); err != nil {
				return err
			}
		}
		a, err := tx.Account(ctx, account)
		if err != nil {
			return err
		}
		ok, err := tx.SetPassword(ctx, a.ID, cmp.Or(how.was, a.Password), hash)
		if err != nil {
			return err
		}
		if !ok {
			return domain.Errorf(domain.Conflict, "password_changed", "Another request has just changed the password. Try again.")
		}
		if _, err = tx.EndFamilies(ctx, a.ID, how.except, s.now(), PasswordChanged); err != nil {
			return err
		}
		for _, purpose := range []Purpose{forSecondStep, forReset} {
			if err := tx.DropTickets(ctx, a.ID, purpose); err != nil {
				return err
			}
		}
		in, err := tx.Memberships(ctx, a.ID)
		if err != nil {
			return err
		}
		for _, m := range in {
			// Whoever knew the old password may have let an app in (RFC 9700 §4.14.2).
			if _, err := tx.EndConnections(ctx, m.Academy, ConnectionQuery{Member: m.Member}, s.now(), PasswordChanged); err != nil {
				return err
			}
		}
		if err := s.alert(ctx, tx, a, LetterPassword); err != nil {
			return err
		}
		return s.recordAll(ctx, tx, a.ID, "password.changed", how.own, nil)
	})
}
