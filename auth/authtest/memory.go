// Package authtest holds what tests of package auth and of its stores share: a
// store in memory and the exam that every store must pass.
package authtest

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"slices"
	"strconv"
	"sync"
	"time"

	"fringework/auth"
	"fringework/domain"
)

// row is a thing of an academy.
type row[T any] struct {
	academy domain.ID
	value   T
}

// pair is two things of one academy that are tied.
type pair struct{ academy, a, b domain.ID }

// state is everything kept. A transaction works on a copy.
type state struct {
	accounts    map[domain.ID]auth.Account
	families    map[domain.ID]auth.Family
	academies   map[domain.ID]auth.Academy
	members     map[domain.ID]row[auth.Member]
	invitations map[domain.ID]row[auth.Invitation]
	keys        map[domain.ID]row[auth.AppKey]
	apps        map[domain.ID]row[auth.App]
	connections map[domain.ID]row[auth.Connection]
	links       map[pair]bool
	guards      map[pair]bool
	groups      map[pair]bool
	inGroup     map[pair]bool
	versions    map[pair]bool // academy, programme and number
	attempts    map[string]time.Time
	events      map[domain.ID][]domain.Event

	authenticators map[domain.ID]auth.Authenticator
	passkeys       map[domain.ID]auth.Passkey
	codes          map[coded]bool
	tickets        map[auth.Digest]auth.Ticket
	letters        map[domain.ID]waiting
	required       map[domain.ID]bool // academies that require a second factor
}

func (s state) clone() state {
	return state{
		maps.Clone(s.accounts), maps.Clone(s.families), maps.Clone(s.academies), maps.Clone(s.members),
		maps.Clone(s.invitations), maps.Clone(s.keys), maps.Clone(s.apps), maps.Clone(s.connections), maps.Clone(s.links), maps.Clone(s.guards),
		maps.Clone(s.groups), maps.Clone(s.inGroup), maps.Clone(s.versions), maps.Clone(s.attempts), maps.Clone(s.events),
		maps.Clone(s.authenticators), maps.Clone(s.passkeys), maps.Clone(s.codes), maps.Clone(s.tickets), maps.Clone(s.letters), maps.Clone(s.required),
	}
}

// Memory is an auth.Store and a Probe in memory, for tests. Transactions run
// one after the other.
type Memory struct {
	writing sync.Mutex
	mu      sync.Mutex // guards now
	now     state
}

// NewMemory makes an empty store.
func NewMemory() *Memory {
	return &Memory{now: state{
		map[domain.ID]auth.Account{}, map[domain.ID]auth.Family{}, map[domain.ID]auth.Academy{},
		map[domain.ID]row[auth.Member]{}, map[domain.ID]row[auth.Invitation]{}, map[domain.ID]row[auth.AppKey]{},
		map[domain.ID]row[auth.App]{}, map[domain.ID]row[auth.Connection]{},
		map[pair]bool{}, map[pair]bool{}, map[pair]bool{}, map[pair]bool{}, map[pair]bool{}, map[string]time.Time{}, map[domain.ID][]domain.Event{},
		map[domain.ID]auth.Authenticator{}, map[domain.ID]auth.Passkey{}, map[coded]bool{}, map[auth.Digest]auth.Ticket{}, map[domain.ID]waiting{}, map[domain.ID]bool{},
	}}
}

func (m *Memory) snapshot() state {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.now
}

// Read implements auth.Store.
func (m *Memory) Read(ctx context.Context, fn func(auth.Tx) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	// A copy, so that writing to it by mistake shows nowhere else.
	return fn(&tx{state: m.snapshot().clone(), readOnly: true})
}

// Write implements auth.Store.
func (m *Memory) Write(ctx context.Context, fn func(auth.Tx) error) error {
	m.writing.Lock()
	defer m.writing.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	t := &tx{state: m.snapshot().clone()}
	if err := fn(t); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.now = t.state
	return nil
}

// MemberAccess implements auth.Store.
func (m *Memory) MemberAccess(_ context.Context, family, academy, member domain.ID) (auth.MemberAccess, error) {
	s := m.snapshot()
	f, ok := s.families[family]
	if !ok || !f.Ended.IsZero() {
		return auth.MemberAccess{}, domain.ErrNotFound("sign-in")
	}
	if academy == "" && member == "" {
		return auth.MemberAccess{Account: f.Account}, nil
	}
	r, ok := s.members[member]
	if !ok || r.academy != academy || r.value.Account != f.Account || !r.value.Removed.IsZero() {
		return auth.MemberAccess{}, domain.ErrNotFound("member")
	}
	return auth.MemberAccess{Account: f.Account, Role: r.value.Role}, nil
}

// Belonging implements auth.Store.
func (m *Memory) Belonging(ctx context.Context, account domain.ID) (a auth.Account, in []auth.Membership, err error) {
	err = m.Read(ctx, func(tx auth.Tx) error {
		if a, err = tx.Account(ctx, account); err != nil {
			return err
		}
		in, err = tx.Memberships(ctx, account)
		return err
	})
	a.Password = ""
	return a, in, err
}

// KeyAccess implements auth.Store.
func (m *Memory) KeyAccess(_ context.Context, academy, key domain.ID) (auth.KeyAccess, error) {
	r, ok := m.snapshot().keys[key]
	if !ok || r.academy != academy || !r.value.Revoked.IsZero() {
		return auth.KeyAccess{}, domain.ErrNotFound("key")
	}
	return auth.KeyAccess{Scopes: slices.Clone(r.value.Scopes)}, nil
}

// change runs fn on the state, outside any use case.
func (m *Memory) change(fn func(s *state)) {
	_ = m.Write(context.Background(), func(t auth.Tx) error {
		fn(&t.(*tx).state)
		return nil
	})
}

// RemoveMember implements Probe.
func (m *Memory) RemoveMember(_ context.Context, academy, member domain.ID, at time.Time) error {
	m.change(func(s *state) {
		if r := s.members[member]; r.academy == academy {
			r.value.Removed = at
			s.members[member] = r
		}
	})
	return nil
}

// SetRole implements Probe.
func (m *Memory) SetRole(_ context.Context, academy, member domain.ID, role domain.Role) error {
	m.change(func(s *state) {
		if r := s.members[member]; r.academy == academy {
			r.value.Role = role
			s.members[member] = r
		}
	})
	return nil
}

// AddGroup implements Probe.
func (m *Memory) AddGroup(_ context.Context, academy, group domain.ID) error {
	m.change(func(s *state) { s.groups[pair{academy, group, ""}] = true })
	return nil
}

// AddVersion implements Probe.
func (m *Memory) AddVersion(_ context.Context, academy, programme domain.ID, number int) error {
	m.change(func(s *state) { s.versions[version(academy, programme, number)] = true })
	return nil
}

func version(academy, programme domain.ID, number int) pair {
	return pair{academy, programme, domain.ID(strconv.Itoa(number))}
}

// Grouped implements Probe.
func (m *Memory) Grouped(_ context.Context, academy, group, student domain.ID) (bool, error) {
	return m.snapshot().inGroup[pair{academy, group, student}], nil
}

// Guarded implements Probe.
func (m *Memory) Guarded(_ context.Context, academy, guardian, student domain.ID) (bool, error) {
	return m.snapshot().guards[pair{academy, guardian, student}], nil
}

// Events implements Probe.
func (m *Memory) Events(_ context.Context, academy domain.ID) ([]domain.Event, error) {
	return slices.Clone(m.snapshot().events[academy]), nil
}

// Keep lets tests look at everything kept, for instance for secrets.
func (m *Memory) Keep() any { return m.snapshot() }

var errReadOnly = errors.New("authtest: writing in Read")

// tx is a transaction on a state.
type tx struct {
	state
	readOnly bool
}

func (t *tx) writable() error {
	if t.readOnly {
		return errReadOnly
	}
	return nil
}

// find gives a value or NotFound.
func find[T any](m map[domain.ID]T, id domain.ID, what string) (T, error) {
	v, ok := m[id]
	if !ok {
		return v, domain.ErrNotFound(what)
	}
	return v, nil
}

// of gives a value of one academy or NotFound.
func of[T any](m map[domain.ID]row[T], academy, id domain.ID, what string) (T, error) {
	r, ok := m[id]
	if !ok || r.academy != academy {
		var none T
		return none, domain.ErrNotFound(what)
	}
	return r.value, nil
}

// page gives the values of one academy that keep picks, as a Page asks.
func page[T any](m map[domain.ID]row[T], academy domain.ID, p domain.Page, keep func(T) bool) []T {
	ids := slices.SortedFunc(maps.Keys(m), cmp.Compare[domain.ID])
	var out []T
	for _, id := range ids {
		if r := m[id]; r.academy == academy && id > p.After && keep(r.value) && len(out) < p.Limit {
			out = append(out, r.value)
		}
	}
	return out
}

func (t *tx) Record(_ context.Context, academy domain.ID, e domain.Event) error {
	if err := t.writable(); err != nil {
		return err
	}
	log := slices.Clone(t.events[academy])
	e.Seq = int64(len(log)) + 1
	t.events[academy] = append(log, e)
	return nil
}
