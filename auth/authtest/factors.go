package authtest

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"time"

	"fringework/auth"
	"fringework/domain"
)

// coded is a recovery code of an account.
type coded struct {
	account domain.ID
	code    auth.Digest
}

func (t *tx) Authenticator(_ context.Context, account domain.ID) (auth.Authenticator, error) {
	return find(t.authenticators, account, "authenticator")
}

func (t *tx) SaveAuthenticator(_ context.Context, a auth.Authenticator) error {
	t.authenticators[a.Account] = a
	return t.writable()
}

func (t *tx) UseStep(_ context.Context, account domain.ID, step int64) (bool, error) {
	a, ok := t.authenticators[account]
	if !ok || a.Step >= step {
		return false, t.writable()
	}
	a.Step = step
	t.authenticators[account] = a
	return true, t.writable()
}

func (t *tx) RemoveAuthenticator(_ context.Context, account domain.ID) error {
	delete(t.authenticators, account)
	return t.writable()
}

func (t *tx) AddPasskey(_ context.Context, p auth.Passkey) error {
	for _, other := range t.passkeys {
		if bytes.Equal(other.Credential, p.Credential) {
			return conflict("passkey")
		}
	}
	t.passkeys[p.ID] = p
	return t.writable()
}

func (t *tx) Passkeys(_ context.Context, account domain.ID) (all []auth.Passkey, err error) {
	for _, p := range t.passkeys {
		if p.Account == account {
			all = append(all, p)
		}
	}
	slices.SortFunc(all, func(a, b auth.Passkey) int { return strings.Compare(string(a.ID), string(b.ID)) })
	return all, nil
}

func (t *tx) SavePasskey(_ context.Context, p auth.Passkey) error {
	if old, ok := t.passkeys[p.ID]; ok && old.Account == p.Account {
		old.Doc, old.Used = p.Doc, p.Used
		t.passkeys[p.ID] = old
	}
	return t.writable()
}

func (t *tx) RemovePasskey(_ context.Context, account, id domain.ID) (bool, error) {
	if p, ok := t.passkeys[id]; !ok || p.Account != account {
		return false, t.writable()
	}
	delete(t.passkeys, id)
	return true, t.writable()
}

func (t *tx) SetRecoveryCodes(_ context.Context, account domain.ID, codes []auth.Digest) error {
	for c := range t.codes {
		if c.account == account {
			delete(t.codes, c)
		}
	}
	for _, code := range codes {
		t.codes[coded{account, code}] = true
	}
	return t.writable()
}

func (t *tx) TakeRecoveryCode(_ context.Context, account domain.ID, code auth.Digest) (bool, error) {
	if !t.codes[coded{account, code}] {
		return false, t.writable()
	}
	delete(t.codes, coded{account, code})
	return true, t.writable()
}

func (t *tx) RecoveryCodes(_ context.Context, account domain.ID) (n int, err error) {
	for c := range t.codes {
		if c.account == account {
			n++
		}
	}
	return n, nil
}

func (t *tx) RequireFactor(_ context.Context, academy domain.ID, required bool) error {
	t.required[academy] = required
	return t.writable()
}

func (t *tx) AddTicket(_ context.Context, k auth.Ticket) error {
	t.tickets[k.Digest] = k
	return t.writable()
}

func (t *tx) Ticket(_ context.Context, d auth.Digest) (auth.Ticket, error) {
	k, ok := t.tickets[d]
	if !ok {
		return k, domain.ErrNotFound("ticket")
	}
	return k, nil
}

func (t *tx) MissTicket(_ context.Context, d auth.Digest) error {
	if k, ok := t.tickets[d]; ok {
		k.Misses++
		t.tickets[d] = k
	}
	return t.writable()
}

func (t *tx) TakeTicket(_ context.Context, d auth.Digest) (bool, error) {
	_, ok := t.tickets[d]
	delete(t.tickets, d)
	return ok, t.writable()
}

func (t *tx) Tickets(_ context.Context, account domain.ID, purpose auth.Purpose) (all []auth.Ticket, err error) {
	for _, k := range t.tickets {
		if k.Account == account && k.Purpose == purpose {
			all = append(all, k)
		}
	}
	slices.SortFunc(all, func(a, b auth.Ticket) int {
		if c := a.Created.Compare(b.Created); c != 0 {
			return c
		}
		return bytes.Compare(a.Digest[:], b.Digest[:])
	})
	return all, nil
}

func (t *tx) DropTickets(_ context.Context, account domain.ID, purpose auth.Purpose) error {
	for d, k := range t.tickets {
		if k.Account == account && k.Purpose == purpose {
			delete(t.tickets, d)
		}
	}
	return t.writable()
}

func (t *tx) SweepTickets(_ context.Context, before time.Time, limit int) (n int, err error) {
	for d, k := range t.tickets {
		if n < limit && k.Expires.Before(before) {
			delete(t.tickets, d)
			n++
		}
	}
	return n, t.writable()
}

func (t *tx) VerifyEmail(_ context.Context, account domain.ID, at time.Time) error {
	if a, ok := t.accounts[account]; ok {
		a.Verified = at
		t.accounts[account] = a
	}
	return t.writable()
}

func (t *tx) SetEmail(ctx context.Context, account domain.ID, email string, verified time.Time) error {
	if other, err := t.AccountByEmail(ctx, email); err == nil && other.ID != account {
		return conflict("e-mail")
	}
	if a, ok := t.accounts[account]; ok {
		a.Email, a.Verified = email, verified
		t.accounts[account] = a
	}
	return t.writable()
}

// waiting is a letter and when it is due.
type waiting struct {
	auth.Letter
	due time.Time
}

// before says whether it is sent first of two that are due.
func (w waiting) before(o waiting) bool {
	if w.Kind.Waits() != o.Kind.Waits() {
		return o.Kind.Waits()
	}
	return w.due.Before(o.due) || w.due.Equal(o.due) && w.ID < o.ID
}

func (t *tx) AddLetter(_ context.Context, l auth.Letter) error {
	t.letters[l.ID] = waiting{l, l.At}
	return t.writable()
}

func (t *tx) ClaimLetter(_ context.Context, now, until time.Time) (auth.Letter, error) {
	var first *waiting
	for _, w := range t.letters {
		if !w.due.After(now) && (first == nil || w.before(*first)) {
			first = &w
		}
	}
	if first == nil {
		return auth.Letter{}, domain.ErrNotFound("letter")
	}
	first.due = until
	first.Tries++
	t.letters[first.ID] = *first
	return first.Letter, t.writable()
}

func (t *tx) PostponeLetter(_ context.Context, id domain.ID, due time.Time) error {
	if w, ok := t.letters[id]; ok {
		w.due = due
		t.letters[id] = w
	}
	return t.writable()
}

func (t *tx) RemoveLetter(_ context.Context, id domain.ID) error {
	delete(t.letters, id)
	return t.writable()
}
