package auth

import (
	"context"
	"time"

	"fringework/domain"
)

// errRefresh is the one answer to a token that is none of ours.
func errRefresh() *domain.Error {
	return domain.Errorf(domain.Unauthenticated, "refresh_refused", "This sign-in has ended. Sign in again.")
}

// errEnded tells the holder of a token of a family why that has ended.
func errEnded(why EndReason) *domain.Error {
	text := "This sign-in has ended. Sign in again."
	switch why {
	case "":
		text = "This sign-in was not used for a long time, or has reached its age. Sign in again."
	case SignedOut:
		text = "You signed out. Sign in again."
	case PasswordChanged:
		text = "Your password was changed, which ended this sign-in. Sign in again, with the new password."
	case FactorChanged:
		text = "How this account signs in was changed, which ended this sign-in. Sign in again."
	case Replayed:
		text = "Somebody used an old copy of this sign-in, so it was ended for your safety. Sign in again, and change your password if that was not you."
	}
	return domain.Errorf(domain.Unauthenticated, "refresh_refused", "%s", text)
}

// errOvertaken answers a request that found its token good and was overtaken by
// another from the same device before it could answer.
func errOvertaken() *domain.Error {
	return domain.Errorf(domain.Conflict, "try_again", "Another request of this device was faster. Send the request again, with the newest refresh token.")
}

// Refresh exchanges a refresh token for its successor and a new access token,
// and moves the device to another academy if one is named (NotFound when the
// account does not belong to it; the token stays good).
//
// A token repeats its answer, the very same successor, until that successor is
// used, however late: a reply lost on the way harms nobody, nor a device that
// dies before it has written the new token down, and of two tabs that refresh at
// once neither loses. A token older than that means that two parties hold the
// chain, so the whole family ends, and the academy's log says so
// ("sign-in.replayed"; RFC 9700 §4.14.2).
func (s *Service) Refresh(ctx context.Context, token string, academy domain.ID, address string) (SignedIn, error) {
	limit := secretBucket(Origin(address))
	if err := s.waitFor(ctx, limit); err != nil {
		return SignedIn{}, err
	}
	t, ok := parseRefreshToken(token)
	if !ok {
		return SignedIn{}, s.missed(ctx, limit, errRefresh())
	}
	r := refreshing{service: s, token: t, academy: academy}
	if err := retried(func() error { return s.Store.Write(ctx, r.in(ctx)) }); err != nil {
		return SignedIn{}, err
	}
	switch r.verdict {
	case guessed:
		return SignedIn{}, s.missed(ctx, limit, errRefresh())
	case refused:
		return SignedIn{}, errEnded(r.ended)
	}
	return s.hand(r.opening)
}

// verdict is what a refresh came to, once its transaction is committed.
type verdict int

const (
	granted verdict = iota
	refused
	// guessed is a refused token that never was one of ours.
	guessed
)

type refreshing struct {
	service *Service
	token   refreshToken
	academy domain.ID
	// good says that an attempt of this request found the token good.
	good    bool
	verdict verdict
	ended   EndReason // why the family has ended, when refused; empty by age
	opening opening
}

// in is the transaction of a refresh. Refusals commit, since a replay ends the
// family.
func (r *refreshing) in(ctx context.Context) func(Tx) error {
	return func(tx Tx) error {
		now := r.service.now()
		f, err := tx.Family(ctx, r.token.family)
		if isNotFound(err) || err == nil && !f.Lineage.Is(r.token.lineage) {
			r.verdict = guessed
			return nil
		}
		if err != nil {
			return err
		}
		r.verdict, r.ended = refused, f.Why
		switch {
		case !f.Ended.IsZero() || !now.Before(r.service.idleEnd(f)):
			return nil
		case f.Current.Is(r.token.secret):
			return r.rotate(ctx, tx, f, now)
		case f.Previous.Is(r.token.secret):
			return r.repeat(ctx, tx, f)
		case r.good:
			return errOvertaken()
		}
		return r.end(ctx, tx, f, now)
	}
}

// rotate makes the successor current.
func (r *refreshing) rotate(ctx context.Context, tx Tx, f Family, now time.Time) error {
	was := f.Current
	f.Previous, f.Salt, f.Rotated = was, newSecret(), now
	next := r.token.successor(f.Salt)
	f.Current = DigestOf(next.secret)
	return r.grant(ctx, tx, f, was, next)
}

// repeat gives the successor again that rotate made.
func (r *refreshing) repeat(ctx context.Context, tx Tx, f Family) error {
	return r.grant(ctx, tx, f, f.Current, r.token.successor(f.Salt))
}

func (r *refreshing) grant(ctx context.Context, tx Tx, f Family, was Digest, next refreshToken) (err error) {
	r.good = true
	o := opening{token: next}
	if o.account, err = tx.Account(ctx, f.Account); err != nil {
		return err
	}
	if err = o.settle(ctx, tx, &f, r.academy); err != nil {
		return err
	}
	saved, err := tx.SaveFamily(ctx, f, was)
	if err != nil {
		return err
	}
	if !saved { // a parallel refresh was first: look at what it made
		return errRaced
	}
	o.family = f
	r.opening, r.verdict = o, granted
	return nil
}

// end ends a family whose token was replayed.
func (r *refreshing) end(ctx context.Context, tx Tx, f Family, now time.Time) error {
	r.ended = Replayed
	ended, err := tx.EndFamily(ctx, f.ID, now, Replayed)
	if err != nil || !ended {
		return err
	}
	account, err := tx.Account(ctx, f.Account)
	if err == nil {
		err = r.service.alert(ctx, tx, account, LetterReplayed)
	}
	if err != nil || f.Academy == "" {
		return err
	}
	return tx.Record(ctx, f.Academy, domain.Event{At: now, Kind: "sign-in.replayed", Subject: f.Member})
}

// waitFor refuses when a bucket of wrong secrets is full.
func (s *Service) waitFor(ctx context.Context, limit Bucket) error {
	wait, err := s.Limiter.Wait(ctx, s.now(), limit)
	if err == nil && wait > 0 {
		err = tooMany(wait)
	}
	return err
}

// missed counts a wrong secret and gives the refusal back.
func (s *Service) missed(ctx context.Context, limit Bucket, refusal error) error {
	if _, err := s.Limiter.Take(ctx, s.now(), limit); err != nil {
		return err
	}
	return refusal
}

// SignOut ends the family that an identity came from. It is no error if it has
// ended already.
func (s *Service) SignOut(ctx context.Context, family domain.ID) error {
	return s.Store.Write(ctx, func(tx Tx) error {
		_, err := tx.EndFamily(ctx, family, s.now(), SignedOut)
		return err
	})
}

// SignOutByRefresh ends the family of a refresh token, for a device whose
// access token has expired. Like RFC 7009 §2.2 it accepts any token, and ends
// nothing when it is none of ours.
func (s *Service) SignOutByRefresh(ctx context.Context, token string) error {
	t, ok := parseRefreshToken(token)
	if !ok {
		return nil
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		f, err := tx.Family(ctx, t.family)
		if isNotFound(err) || err == nil && !f.Lineage.Is(t.lineage) {
			return nil
		}
		if err == nil {
			_, err = tx.EndFamily(ctx, f.ID, s.now(), SignedOut)
		}
		return err
	})
}
