package authtest

import (
	"time"

	"fringework/auth"
	"fringework/domain"
)

// stored gives a family as it is kept.
func (e *exam) stored(id domain.ID) (f auth.Family) {
	e.Helper()
	e.read(func(tx auth.Tx) (err error) {
		f, err = tx.Family(e.ctx, id)
		return err
	})
	return f
}

func (e *exam) families() {
	academy, owner := e.owned("one")
	f := e.family(owner.Account, "somewhere")
	e.same("family without academy", e.stored(f.ID), f)

	was := f.Current
	f.Academy, f.Member, f.Rotated = academy, owner.ID, e.clock.Now().Add(time.Second)
	f.Previous, f.Current, f.Salt = was, auth.DigestOf("second"), auth.DigestOf("salt")
	save := func(f auth.Family, was auth.Digest) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.SaveFamily(e.ctx, f, was) }
	}
	e.wrote("save on the current digest", true, save(f, was))
	e.same("saved family", e.stored(f.ID), f)
	stale := f
	stale.Current = auth.DigestOf("third")
	e.wrote("save on an older digest", false, save(stale, was))
	fixed := f
	fixed.Origin, fixed.Account, fixed.Expires = "elsewhere", e.account("bob@one.example").ID, f.Expires.Add(time.Hour)
	e.wrote("save on the same digest", true, save(fixed, f.Current))
	e.same("what saving does not change", e.stored(f.ID), f)
	nowhere := f
	nowhere.Academy, nowhere.Member = "", ""
	e.wrote("save without academy", true, save(nowhere, f.Current))
	e.same("family back without academy", e.stored(f.ID), nowhere)
	e.kind("absent family", domain.NotFound, func(tx auth.Tx) error {
		_, err := tx.Family(e.ctx, e.clock.NewID())
		return err
	})
	absent := f
	absent.ID = e.clock.NewID()
	e.wrote("save of an absent family", false, save(absent, f.Current))
}

func (e *exam) familyRace() {
	f := e.family(e.account("ann@one.example").ID, "somewhere")
	wins := e.race(8, func(tx auth.Tx, i int) (bool, error) {
		next := f
		next.Previous, next.Current = f.Current, auth.DigestOf(numbered("next", i))
		return tx.SaveFamily(e.ctx, next, f.Current)
	})
	e.same("winners of a race to refresh", wins, 1)
}

func (e *exam) ending() {
	ann, bob := e.account("ann@one.example").ID, e.account("bob@one.example").ID
	one, two, three := e.family(ann, "a"), e.family(ann, "b"), e.family(ann, "c")
	other := e.family(bob, "a")
	at := e.clock.Now().Add(time.Minute)
	end := func(tx auth.Tx) (bool, error) { return tx.EndFamily(e.ctx, one.ID, at, auth.SignedOut) }
	e.wrote("first end", true, end)
	e.wrote("second end", false, end)
	e.wrote("end of an absent family", false, func(tx auth.Tx) (bool, error) {
		return tx.EndFamily(e.ctx, e.clock.NewID(), at, auth.SignedOut)
	})
	e.wrote("save after the end", false, func(tx auth.Tx) (bool, error) { return tx.SaveFamily(e.ctx, one, one.Current) })
	e.write(func(tx auth.Tx) error {
		n, err := tx.EndFamilies(e.ctx, ann, two.ID, at.Add(time.Second), auth.PasswordChanged)
		e.same("families ended", n, 1)
		return err
	})
	one.Ended, one.Why = at, auth.SignedOut
	three.Ended, three.Why = at.Add(time.Second), auth.PasswordChanged
	for _, want := range []auth.Family{one, two, three, other} {
		e.same("family", e.stored(want.ID), want)
	}
	e.write(func(tx auth.Tx) error {
		n, err := tx.EndFamilies(e.ctx, ann, "", at, auth.PasswordChanged)
		e.same("families ended without exception", n, 1)
		return err
	})
}

func (e *exam) origins() {
	ann, bob := e.account("ann@one.example").ID, e.account("bob@one.example").ID
	f := e.family(ann, "home")
	known := func(account domain.ID, origin string) (ok bool) {
		e.read(func(tx auth.Tx) (err error) {
			ok, err = tx.KnownOrigin(e.ctx, account, origin)
			return err
		})
		return ok
	}
	e.wrote("end", true, func(tx auth.Tx) (bool, error) { return tx.EndFamily(e.ctx, f.ID, e.clock.Now(), auth.SignedOut) })
	e.same("known origin, family ended", known(ann, "home"), true)
	e.same("unknown origin", known(ann, "away"), false)
	e.same("somebody else's origin", known(bob, "home"), false)

	for range 2 {
		e.family(bob, "home")
	}
	sweep := func(before time.Time, limit, want int) {
		e.Helper()
		e.write(func(tx auth.Tx) error {
			n, err := tx.SweepFamilies(e.ctx, before, limit)
			e.same("families swept", n, want)
			return err
		})
	}
	sweep(f.Expires, 10, 0)
	sweep(f.Expires.Add(time.Millisecond), 2, 2)
	sweep(f.Expires.Add(time.Millisecond), 2, 1)
	e.same("origin known after the sweep", known(bob, "home"), false)
}

func (e *exam) memberAccess() {
	academy, owner := e.owned("one")
	other, stranger := e.owned("two")
	f := e.family(owner.Account, "home")
	got, err := e.store.MemberAccess(e.ctx, f.ID, academy, owner.ID)
	e.same("error", err, nil)
	e.same("access", got, auth.MemberAccess{Account: owner.Account, Role: domain.Owner})
	got, err = e.store.MemberAccess(e.ctx, f.ID, "", "")
	e.same("error without academy", err, nil)
	e.same("access without academy", got, auth.MemberAccess{Account: owner.Account})

	refused := func(what string, family, academy, member domain.ID) {
		e.Helper()
		if got, err := e.store.MemberAccess(e.ctx, family, academy, member); domain.KindOf(err) != domain.NotFound || err == nil {
			e.Errorf("%s: got %+v, %v; want NotFound", what, got, err)
		}
	}
	refused("absent family", e.clock.NewID(), academy, owner.ID)
	refused("another academy", f.ID, other, owner.ID)
	refused("another account's member", f.ID, other, stranger.ID)
	refused("absent member", f.ID, academy, e.clock.NewID())
	refused("academy without member", f.ID, academy, "")
	e.wrote("end", true, func(tx auth.Tx) (bool, error) { return tx.EndFamily(e.ctx, f.ID, e.clock.Now(), auth.SignedOut) })
	refused("ended family", f.ID, academy, owner.ID)
	refused("ended family without academy", f.ID, "", "")
}

func (e *exam) attempts() {
	at := e.clock.Now()
	peek := func(bucket string) (got time.Time) {
		e.read(func(tx auth.Tx) (err error) {
			got, err = tx.PeekAttempt(e.ctx, bucket)
			return err
		})
		return got
	}
	e.same("absent bucket", peek("a"), time.Time{})
	e.write(func(tx auth.Tx) error {
		got, err := tx.Attempt(e.ctx, "a")
		if err != nil {
			return err
		}
		e.same("absent bucket, locked", got, time.Time{})
		if err := tx.SetAttempt(e.ctx, "a", at); err != nil {
			return err
		}
		got, err = tx.Attempt(e.ctx, "a")
		e.same("bucket in its own transaction", got, at)
		return err
	})
	e.same("bucket", peek("a"), at)
	e.same("another bucket", peek("b"), time.Time{})
	e.write(func(tx auth.Tx) error { return tx.SetAttempt(e.ctx, "b", at.Add(time.Second)) })
	sweep := func(before time.Time, want int) {
		e.write(func(tx auth.Tx) error {
			n, err := tx.SweepAttempts(e.ctx, before, 10)
			e.same("buckets swept", n, want)
			return err
		})
	}
	sweep(at, 0)
	sweep(at.Add(time.Second), 1)
	e.same("swept bucket", peek("a"), time.Time{})
	e.same("kept bucket", peek("b"), at.Add(time.Second))
}

// attemptRace adds a second to one bucket many times at once; a store that
// does not lock loses some.
func (e *exam) attemptRace() {
	start := e.clock.Now()
	const n = 12
	e.race(n, func(tx auth.Tx, _ int) (bool, error) {
		got, err := tx.Attempt(e.ctx, "bucket")
		if err != nil {
			return false, err
		}
		if got.IsZero() {
			got = start
		}
		return true, tx.SetAttempt(e.ctx, "bucket", got.Add(time.Second))
	})
	e.read(func(tx auth.Tx) error {
		got, err := tx.PeekAttempt(e.ctx, "bucket")
		e.same("bucket after the race", got, start.Add(n*time.Second))
		return err
	})
}
