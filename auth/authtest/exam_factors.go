package authtest

import (
	"sync"
	"sync/atomic"
	"time"

	"fringework/auth"
	"fringework/domain"
)

func (e *exam) authenticators() {
	a, other := e.account("app@example.org"), e.account("other@example.org")
	e.kind("none", domain.NotFound, func(tx auth.Tx) error {
		_, err := tx.Authenticator(e.ctx, a.ID)
		return err
	})
	app := auth.Authenticator{Account: a.ID, Secret: []byte("12345678901234567890"), Created: e.clock.Now()}
	e.write(func(tx auth.Tx) error { return tx.SaveAuthenticator(e.ctx, app) })
	app.Confirmed, app.Step = e.clock.Now(), 100
	e.write(func(tx auth.Tx) error { return tx.SaveAuthenticator(e.ctx, app) })
	use := func(account domain.ID, step int64) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.UseStep(e.ctx, account, step) }
	}
	e.wrote("the same step", false, use(a.ID, 100))
	e.wrote("an earlier step", false, use(a.ID, 99))
	e.wrote("another account", false, use(other.ID, 101))
	var used atomic.Int32
	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			ok := false
			err := e.store.Write(e.ctx, func(tx auth.Tx) (err error) {
				ok, err = tx.UseStep(e.ctx, a.ID, 101)
				return err
			})
			if err != nil {
				e.Error(err)
			}
			if ok {
				used.Add(1)
			}
		})
	}
	group.Wait()
	e.same("told that they used the step", used.Load(), int32(1))
	app.Step = 101
	e.read(func(tx auth.Tx) error {
		got, err := tx.Authenticator(e.ctx, a.ID)
		e.same("the app", got, app)
		return err
	})
	for range 2 {
		e.write(func(tx auth.Tx) error { return tx.RemoveAuthenticator(e.ctx, a.ID) })
	}
	e.wrote("after it is gone", false, use(a.ID, 200))
}

func (e *exam) passkeys() {
	a, other := e.account("key@example.org"), e.account("other@example.org")
	made := []auth.Passkey{}
	for _, credential := range []string{"one\x00", "two"} {
		p := auth.Passkey{ID: e.clock.NewID(), Account: a.ID, Credential: []byte(credential), Name: "Phone ⛳", Doc: `{"n":1}`, Created: e.clock.Now()}
		e.write(func(tx auth.Tx) error { return tx.AddPasskey(e.ctx, p) })
		made = append(made, p)
	}
	e.kind("a credential twice", domain.Conflict, func(tx auth.Tx) error {
		p := made[0]
		p.ID, p.Account = e.clock.NewID(), other.ID
		return tx.AddPasskey(e.ctx, p)
	})
	made[0].Doc, made[0].Used = `{"n":2}`, e.clock.Now()
	e.write(func(tx auth.Tx) error { return tx.SavePasskey(e.ctx, made[0]) })
	foreign := made[1]
	foreign.Account, foreign.Doc = other.ID, `{"n":3}`
	e.write(func(tx auth.Tx) error { return tx.SavePasskey(e.ctx, foreign) })
	remove := func(account, id domain.ID) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.RemovePasskey(e.ctx, account, id) }
	}
	e.wrote("somebody else's", false, remove(other.ID, made[0].ID))
	e.passkeysAre(a.ID, made)
	e.wrote("one's own", true, remove(a.ID, made[0].ID))
	e.wrote("again", false, remove(a.ID, made[0].ID))
	e.passkeysAre(a.ID, made[1:])
	e.passkeysAre(other.ID, nil)
}

func (e *exam) passkeysAre(account domain.ID, want []auth.Passkey) {
	e.Helper()
	e.read(func(tx auth.Tx) error {
		got, err := tx.Passkeys(e.ctx, account)
		e.same("passkeys", got, want)
		return err
	})
}

func (e *exam) recoveryCodes() {
	a, other := e.account("code@example.org"), e.account("other@example.org")
	left := func(account domain.ID, want int) {
		e.Helper()
		e.read(func(tx auth.Tx) error {
			n, err := tx.RecoveryCodes(e.ctx, account)
			e.same("codes left", n, want)
			return err
		})
	}
	set := func(account domain.ID, codes ...auth.Digest) {
		e.Helper()
		e.write(func(tx auth.Tx) error { return tx.SetRecoveryCodes(e.ctx, account, codes) })
	}
	take := func(account domain.ID, code auth.Digest) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.TakeRecoveryCode(e.ctx, account, code) }
	}
	one, two := auth.DigestOf("one"), auth.DigestOf("two")
	left(a.ID, 0)
	set(a.ID, one, two)
	set(other.ID, one)
	e.wrote("not there", false, take(a.ID, auth.DigestOf("three")))
	e.wrote("there", true, take(a.ID, one))
	e.wrote("taken", false, take(a.ID, one))
	left(a.ID, 1)
	set(a.ID, one)
	e.wrote("replaced", false, take(a.ID, two))
	set(a.ID)
	left(a.ID, 0)
	left(other.ID, 1)
}

func (e *exam) required() {
	academy, owner := e.owned("strict")
	e.owned("lax")
	e.write(func(tx auth.Tx) error { return tx.RequireFactor(e.ctx, academy, true) })
	e.read(func(tx auth.Tx) error {
		in, err := tx.Memberships(e.ctx, owner.Account)
		e.same("required", in[0].FactorRequired, true)
		return err
	})
	_, in, err := e.store.Belonging(e.ctx, owner.Account)
	if err != nil || !in[0].FactorRequired {
		e.Errorf("belonging: got %+v, %v; want the factor required", in, err)
	}
	e.write(func(tx auth.Tx) error { return tx.RequireFactor(e.ctx, academy, false) })
	_, in, err = e.store.Belonging(e.ctx, owner.Account)
	if err != nil || in[0].FactorRequired {
		e.Errorf("belonging: got %+v, %v; want no factor required", in, err)
	}
}

func (e *exam) tickets() {
	a := e.account("ticket@example.org")
	give := func(secret string, account domain.ID, purpose auth.Purpose, life time.Duration) auth.Ticket {
		e.Helper()
		t := auth.Ticket{Digest: auth.DigestOf(secret), Purpose: purpose, Account: account, Doc: `{"a":"⛳"}`, Created: e.clock.Now(), Expires: e.clock.Now().Add(life)}
		e.write(func(tx auth.Tx) error { return tx.AddTicket(e.ctx, t) })
		e.clock.Advance(time.Millisecond)
		return t
	}
	list := func(account domain.ID, purpose auth.Purpose, want ...auth.Ticket) {
		e.Helper()
		e.read(func(tx auth.Tx) error {
			got, err := tx.Tickets(e.ctx, account, purpose)
			e.same("tickets for "+string(purpose), got, want)
			return err
		})
	}
	one, two := give("one", a.ID, "x", time.Minute), give("two", a.ID, "x", time.Hour)
	three, nobodys := give("three", a.ID, "y", time.Hour), give("four", "", "x", time.Hour)
	e.write(func(tx auth.Tx) error { return tx.MissTicket(e.ctx, one.Digest) })
	e.write(func(tx auth.Tx) error { return tx.MissTicket(e.ctx, auth.DigestOf("none")) })
	one.Misses = 1
	list(a.ID, "x", one, two)
	list(a.ID, "y", three)
	e.read(func(tx auth.Tx) error {
		got, err := tx.Ticket(e.ctx, nobodys.Digest)
		e.same("nobody's", got, nobodys)
		return err
	})
	take := func(t auth.Ticket) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.TakeTicket(e.ctx, t.Digest) }
	}
	e.wrote("take", true, take(two))
	e.wrote("take again", false, take(two))
	e.kind("taken", domain.NotFound, func(tx auth.Tx) error {
		_, err := tx.Ticket(e.ctx, two.Digest)
		return err
	})
	swept := 0
	e.write(func(tx auth.Tx) (err error) {
		swept, err = tx.SweepTickets(e.ctx, e.clock.Now().Add(time.Minute), 10)
		return err
	})
	e.same("swept", swept, 1)
	list(a.ID, "x")
	e.write(func(tx auth.Tx) error { return tx.DropTickets(e.ctx, a.ID, "y") })
	list(a.ID, "y")
}
