package authtest

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"sync"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
)

// Probe reaches what the domain's own stores do with the rows that an
// auth.Store shares with them, so that the exam can see both sides.
type Probe interface {
	// RemoveMember removes a member from an academy.
	RemoveMember(ctx context.Context, academy, member domain.ID, at time.Time) error
	// SetRole gives a member another role.
	SetRole(ctx context.Context, academy, member domain.ID, role domain.Role) error
	// AllowApps gives a guardian's consent to apps for a junior, or withdraws it.
	AllowApps(ctx context.Context, academy, member domain.ID, given bool) error
	// AddGroup makes a group in use.
	AddGroup(ctx context.Context, academy, group domain.ID) error
	// AddVersion makes a programme and publishes a version of it.
	AddVersion(ctx context.Context, academy, programme domain.ID, number int) error
	// Grouped reports whether a student is in a group.
	Grouped(ctx context.Context, academy, group, student domain.ID) (bool, error)
	// Guarded reports whether a guardian reads a student's data.
	Guarded(ctx context.Context, academy, guardian, student domain.ID) (bool, error)
	// Events gives the academy's log from the start.
	Events(ctx context.Context, academy domain.ID) ([]domain.Event, error)
}

// Exercise holds a store to the contract of auth.Store. open gives an empty
// store, and closes it when its test ends. A store that has a Probe passes
// ExerciseWith too.
func Exercise(t *testing.T, open func(t *testing.T) auth.Store) {
	t.Helper()
	for name, check := range map[string]func(*exam){
		"accounts":             (*exam).accounts,
		"passwords":            (*exam).passwords,
		"rollback":             (*exam).rollback,
		"memberships":          (*exam).memberships,
		"members":              (*exam).members,
		"leaving":              (*exam).leaving,
		"links":                (*exam).links,
		"families":             (*exam).families,
		"family save race":     (*exam).familyRace,
		"ending families":      (*exam).ending,
		"origins and sweeping": (*exam).origins,
		"member access":        (*exam).memberAccess,
		"invitations":          (*exam).invitations,
		"invitation lists":     (*exam).invitationLists,
		"invitation closing":   (*exam).closing,
		"invitation take race": (*exam).takeRace,
		"keys":                 (*exam).keys,
		"apps":                 (*exam).apps,
		"connections":          (*exam).connections,
		"connection lists":     (*exam).connectionLists,
		"connection save race": (*exam).connectionRace,
		"attempts":             (*exam).attempts,
		"attempt race":         (*exam).attemptRace,
		"authenticators":       (*exam).authenticators,
		"passkeys":             (*exam).passkeys,
		"recovery codes":       (*exam).recoveryCodes,
		"required factor":      (*exam).required,
		"tickets":              (*exam).tickets,
		"e-mails":              (*exam).emails,
		"letters":              (*exam).letters,
	} {
		t.Run(name, func(t *testing.T) { check(newExam(t, open(t))) })
	}
	t.Run("patchy network", func(t *testing.T) { patchyNetwork(t, open(t)) })
}

// exam is one check of a store, with what it needs at hand.
type exam struct {
	*testing.T
	store auth.Store
	ctx   context.Context
	clock *Clock
}

// newExam starts at an instant that whole seconds would not keep.
func newExam(t *testing.T, store auth.Store) *exam {
	at := time.Date(2026, 3, 29, 0, 59, 59, int(987*time.Millisecond), time.UTC)
	return &exam{T: t, store: store, ctx: t.Context(), clock: NewClock(at)}
}

func (e *exam) write(fn func(auth.Tx) error) {
	e.Helper()
	if err := e.store.Write(e.ctx, fn); err != nil {
		e.Fatalf("Write: %v", err)
	}
}

func (e *exam) read(fn func(auth.Tx) error) {
	e.Helper()
	if err := e.store.Read(e.ctx, fn); err != nil {
		e.Fatalf("Read: %v", err)
	}
}

// wrote runs one conditional change and holds it to what it should report.
func (e *exam) wrote(what string, want bool, fn func(auth.Tx) (bool, error)) {
	e.Helper()
	e.write(func(tx auth.Tx) error {
		got, err := fn(tx)
		if err == nil && got != want {
			e.Errorf("%s: got %v, want %v", what, got, want)
		}
		return err
	})
}

// kind holds the error of a transaction to a kind.
func (e *exam) kind(what string, want domain.Kind, fn func(auth.Tx) error) {
	e.Helper()
	err := e.store.Write(e.ctx, fn)
	if err == nil || domain.KindOf(err) != want {
		e.Errorf("%s: got error %v, want kind %d", what, err, want)
	}
}

func (e *exam) same(what string, got, want any) {
	e.Helper()
	if !reflect.DeepEqual(got, want) {
		e.Errorf("%s:\n got %+v\nwant %+v", what, got, want)
	}
}

func (e *exam) account(email string) auth.Account {
	e.Helper()
	a := auth.Account{ID: e.clock.NewID(), Email: email, Name: "Ann O'Neill ⛳", Password: "hash of " + email, Created: e.clock.Now()}
	e.write(func(tx auth.Tx) error { return tx.AddAccount(e.ctx, a) })
	return a
}

func (e *exam) academy(name string) domain.ID {
	e.Helper()
	a := auth.Academy{ID: e.clock.NewID(), Name: name, TimeZone: "Europe/Dublin", Created: e.clock.Now()}
	e.write(func(tx auth.Tx) error { return tx.AddAcademy(e.ctx, a) })
	return a.ID
}

func (e *exam) member(academy, account domain.ID, role domain.Role) auth.Member {
	e.Helper()
	m := auth.Member{
		ID: e.clock.NewID(), Account: account, Role: role, Name: "Ann", TimeZone: "Pacific/Auckland",
		Junior: role == domain.Student, Created: e.clock.Now(),
	}
	e.write(func(tx auth.Tx) error { return tx.AddMember(e.ctx, academy, m) })
	return m
}

// owned makes an academy with an owner.
func (e *exam) owned(name string) (academy domain.ID, owner auth.Member) {
	e.Helper()
	academy = e.academy(name)
	return academy, e.member(academy, e.account("owner@"+name+".example").ID, domain.Owner)
}

func (e *exam) family(account domain.ID, origin string) auth.Family {
	e.Helper()
	now := e.clock.Now()
	f := auth.Family{
		ID: e.clock.NewID(), Account: account, Lineage: auth.DigestOf("lineage"), Current: auth.DigestOf("first"),
		Origin: origin, Created: now, Rotated: now, Expires: now.Add(time.Hour),
	}
	e.write(func(tx auth.Tx) error { return tx.AddFamily(e.ctx, f) })
	return f
}

// race runs fn n times at once, each in a transaction of its own, and counts
// how often it reported true.
func (e *exam) race(n int, fn func(tx auth.Tx, i int) (bool, error)) (wins int) {
	e.Helper()
	won := make([]bool, n)
	errs := make([]error, n)
	var group sync.WaitGroup
	for i := range n {
		group.Go(func() {
			errs[i] = e.store.Write(e.ctx, func(tx auth.Tx) (err error) {
				won[i], err = fn(tx, i)
				return err
			})
		})
	}
	group.Wait()
	if err := errors.Join(errs...); err != nil {
		e.Fatalf("race: %v", err)
	}
	for _, w := range won {
		if w {
			wins++
		}
	}
	return wins
}

func (e *exam) accounts() {
	want := e.account("ann@one.example")
	e.read(func(tx auth.Tx) error {
		got, err := tx.Account(e.ctx, want.ID)
		if err != nil {
			return err
		}
		e.same("Account", got, want)
		got, err = tx.AccountByEmail(e.ctx, want.Email)
		e.same("AccountByEmail", got, want)
		return err
	})
	e.kind("absent account", domain.NotFound, func(tx auth.Tx) error {
		_, err := tx.Account(e.ctx, e.clock.NewID())
		return err
	})
	e.kind("e-mail in other letters", domain.NotFound, func(tx auth.Tx) error {
		_, err := tx.AccountByEmail(e.ctx, "Ann@one.example")
		return err
	})
	e.kind("e-mail with wildcards", domain.NotFound, func(tx auth.Tx) error {
		_, err := tx.AccountByEmail(e.ctx, "%@one.example")
		return err
	})
	e.kind("e-mail taken", domain.Conflict, func(tx auth.Tx) error {
		return tx.AddAccount(e.ctx, auth.Account{ID: e.clock.NewID(), Email: want.Email, Created: e.clock.Now()})
	})
}

func (e *exam) passwords() {
	a := e.account("ann@one.example")
	set := func(id domain.ID, was, hash string) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.SetPassword(e.ctx, id, was, hash) }
	}
	e.wrote("right old hash", true, set(a.ID, a.Password, "second"))
	e.wrote("old hash again", false, set(a.ID, a.Password, "third"))
	e.wrote("same hash", true, set(a.ID, "second", "second"))
	e.wrote("absent account", false, set(e.clock.NewID(), "second", "third"))
	e.read(func(tx auth.Tx) error {
		got, err := tx.Account(e.ctx, a.ID)
		e.same("Password", got.Password, "second")
		return err
	})
}

func (e *exam) rollback() {
	a := e.account("ann@one.example")
	no := errors.New("no")
	err := e.store.Write(e.ctx, func(tx auth.Tx) error {
		if _, err := tx.SetPassword(e.ctx, a.ID, a.Password, "other"); err != nil {
			return err
		}
		got, err := tx.Account(e.ctx, a.ID)
		e.same("password seen inside", got.Password, "other")
		return errors.Join(err, no)
	})
	if !errors.Is(err, no) {
		e.Errorf("Write returned %v, want the error of fn", err)
	}
	e.read(func(tx auth.Tx) error {
		got, err := tx.Account(e.ctx, a.ID)
		e.same("after rollback", got, a)
		return err
	})
}

func (e *exam) memberships() {
	a := e.account("ann@one.example")
	one, two := e.academy("One"), e.academy("Two")
	first := e.member(two, a.ID, domain.Coach)
	second := e.member(one, a.ID, domain.Student)
	e.member(one, e.account("bob@one.example").ID, domain.Owner)
	in := []auth.Membership{
		{Academy: two, AcademyName: "Two", Member: first.ID, Role: domain.Coach},
		{Academy: one, AcademyName: "One", Member: second.ID, Role: domain.Student},
	}
	e.read(func(tx auth.Tx) error {
		got, err := tx.Memberships(e.ctx, a.ID)
		e.same("Memberships", got, in)
		return err
	})
	e.belongs(a, in...)
	e.belongs(e.account("cleo@one.example"))
	if _, _, err := e.store.Belonging(e.ctx, e.clock.NewID()); err == nil || domain.KindOf(err) != domain.NotFound {
		e.Errorf("belonging of nobody: got error %v, want NotFound", err)
	}
	e.read(func(tx auth.Tx) error {
		got, err := tx.Memberships(e.ctx, e.clock.NewID())
		if len(got) != 0 {
			e.Errorf("memberships of nobody: %v", got)
		}
		return err
	})
}

// belongs holds what Belonging tells of an account.
func (e *exam) belongs(want auth.Account, in ...auth.Membership) {
	e.Helper()
	want.Password = ""
	got, memberships, err := e.store.Belonging(e.ctx, want.ID)
	e.same("account", got, want)
	e.same("belonging", memberships, in)
	e.ok(err)
}

func (e *exam) members() {
	academy, owner := e.owned("one")
	other := e.academy("Two")
	e.read(func(tx auth.Tx) error {
		got, err := tx.Member(e.ctx, academy, owner.ID)
		if err != nil {
			return err
		}
		e.same("Member", got, owner)
		got, err = tx.MemberOfAccount(e.ctx, academy, owner.Account)
		e.same("MemberOfAccount", got, owner)
		return err
	})
	e.read(func(tx auth.Tx) error {
		got, err := tx.Academy(e.ctx, academy)
		e.same("Academy", got, auth.Academy{ID: academy, Name: "one", TimeZone: "Europe/Dublin", Created: e.clock.Now()})
		return err
	})
	for what, fn := range map[string]func(auth.Tx) error{
		"member seen from another academy":  func(tx auth.Tx) error { _, err := tx.Member(e.ctx, other, owner.ID); return err },
		"account seen from another academy": func(tx auth.Tx) error { _, err := tx.MemberOfAccount(e.ctx, other, owner.Account); return err },
		"absent academy":                    func(tx auth.Tx) error { _, err := tx.Academy(e.ctx, e.clock.NewID()); return err },
	} {
		e.kind(what, domain.NotFound, fn)
	}
	e.kind("second member of one account", domain.Conflict, func(tx auth.Tx) error {
		again := owner
		again.ID = e.clock.NewID()
		return tx.AddMember(e.ctx, academy, again)
	})
	e.wrote("reinstating one who was not removed", false, func(tx auth.Tx) (bool, error) {
		changed := owner
		changed.Role = domain.Student
		return tx.Reinstate(e.ctx, academy, changed)
	})
	e.read(func(tx auth.Tx) error {
		got, err := tx.Member(e.ctx, academy, owner.ID)
		e.same("Member after it", got, owner)
		return err
	})
}

func (e *exam) links() {
	academy, owner := e.owned("one")
	other, stranger := e.owned("two")
	student := e.member(academy, e.account("sam@one.example").ID, domain.Student)
	for range 2 { // the second time changes nothing
		e.write(func(tx auth.Tx) error {
			err := tx.Link(e.ctx, academy, owner.ID, student.ID, e.clock.Now())
			return errors.Join(err, tx.Guard(e.ctx, academy, owner.ID, student.ID, e.clock.Now()))
		})
	}
	linked := func(academy, coach, student domain.ID) (ok bool) {
		e.read(func(tx auth.Tx) (err error) {
			ok, err = tx.Linked(e.ctx, academy, coach, student)
			return err
		})
		return ok
	}
	e.same("linked", linked(academy, owner.ID, student.ID), true)
	e.same("linked the other way round", linked(academy, student.ID, owner.ID), false)
	e.same("linked in another academy", linked(other, owner.ID, student.ID), false)
	at := e.clock.Now()
	for what, fn := range map[string]func(auth.Tx) error{
		"link across academies":   func(tx auth.Tx) error { return tx.Link(e.ctx, academy, stranger.ID, student.ID, at) },
		"link in another academy": func(tx auth.Tx) error { return tx.Link(e.ctx, other, stranger.ID, student.ID, at) },
		"guard across academies":  func(tx auth.Tx) error { return tx.Guard(e.ctx, academy, stranger.ID, student.ID, at) },
		"absent group":            func(tx auth.Tx) error { return tx.Join(e.ctx, academy, e.clock.NewID(), student.ID, at) },
	} {
		e.kind(what, domain.NotFound, fn)
	}
	e.read(func(tx auth.Tx) error {
		ok, err := tx.HasGroup(e.ctx, academy, e.clock.NewID())
		e.same("absent group", ok, false)
		return err
	})
}

// numbered gives the i-th of some texts that differ.
func numbered(text string, i int) string { return fmt.Sprintf("%s %d", text, i) }
