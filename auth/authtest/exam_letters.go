package authtest

import (
	"sync"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
)

func (e *exam) emails() {
	a, other := e.account("from@example.org"), e.account("other@example.org")
	holds := func(want auth.Account) {
		e.Helper()
		e.read(func(tx auth.Tx) error {
			got, err := tx.AccountByEmail(e.ctx, want.Email)
			e.same("account", got, want)
			return err
		})
		got, _, err := e.store.Belonging(e.ctx, want.ID)
		want.Password = ""
		if e.same("belonging", got, want); err != nil {
			e.Error(err)
		}
	}
	a.Verified = e.clock.Now()
	e.write(func(tx auth.Tx) error { return tx.VerifyEmail(e.ctx, a.ID, a.Verified) })
	holds(a)
	e.kind("taken", domain.Conflict, func(tx auth.Tx) error { return tx.SetEmail(e.ctx, a.ID, other.Email, e.clock.Now()) })
	a.Email, a.Verified = "to@example.org", time.Time{}
	e.write(func(tx auth.Tx) error { return tx.SetEmail(e.ctx, a.ID, a.Email, a.Verified) })
	holds(a)
	e.kind("the former address", domain.NotFound, func(tx auth.Tx) error {
		_, err := tx.AccountByEmail(e.ctx, "from@example.org")
		return err
	})
}

func (e *exam) letters() {
	claim := func() (l auth.Letter, err error) {
		err = e.store.Write(e.ctx, func(tx auth.Tx) (err error) {
			l, err = tx.ClaimLetter(e.ctx, e.clock.Now(), e.clock.Now().Add(time.Minute))
			return err
		})
		return l, err
	}
	if _, err := claim(); domain.KindOf(err) != domain.NotFound {
		e.Errorf("none is due: got %v", err)
	}
	var all []auth.Letter
	for range 20 {
		l := auth.Letter{ID: e.clock.NewID(), Kind: auth.LetterInvitation, To: "ann@example.org", Name: "Ann ⛳", At: e.clock.Now(), Expires: e.clock.Now().Add(time.Hour), Academy: "Dune", By: "Bo", Role: domain.Coach, Code: "C", Token: "T", Address: "b@example.org"}
		e.write(func(tx auth.Tx) error { return tx.AddLetter(e.ctx, l) })
		l.Tries = 1
		all = append(all, l)
	}
	var mu sync.Mutex
	got := map[domain.ID]auth.Letter{}
	var group sync.WaitGroup
	for range all {
		group.Go(func() {
			l, err := claim()
			mu.Lock()
			defer mu.Unlock()
			if _, twice := got[l.ID]; twice || err != nil {
				e.Errorf("claimed %s, twice %v: %v", l.ID, twice, err)
			}
			got[l.ID] = l
		})
	}
	group.Wait()
	for _, l := range all {
		e.same("letter", got[l.ID], l)
	}
	if _, err := claim(); domain.KindOf(err) != domain.NotFound {
		e.Errorf("all are claimed: got %v", err)
	}
	for _, l := range all[2:] {
		e.write(func(tx auth.Tx) error { return tx.RemoveLetter(e.ctx, l.ID) })
	}
	e.write(func(tx auth.Tx) error { return tx.PostponeLetter(e.ctx, all[0].ID, e.clock.Now().Add(time.Hour)) })
	e.clock.Advance(time.Minute)
	l, err := claim()
	if err != nil || l.ID != all[1].ID || l.Tries != 2 {
		e.Errorf("after the lease: got %s at try %d, %v; want %s at try 2", l.ID, l.Tries, err, all[1].ID)
	}
	e.write(func(tx auth.Tx) error { return tx.RemoveLetter(e.ctx, l.ID) })
	// One that can wait does, however long it has been due.
	digest := auth.Letter{ID: e.clock.NewID(), Kind: auth.LetterDigest, To: "ann@example.org", At: e.clock.Now(), Expires: e.clock.Now().Add(time.Hour),
		AcademyID: e.clock.NewID(), Member: e.clock.NewID(), Digest: &academy.Digest{Student: &academy.StudentWeek{Planned: 3}}}
	e.write(func(tx auth.Tx) error { return tx.AddLetter(e.ctx, digest) })
	e.clock.Advance(time.Minute)
	reset := auth.Letter{ID: e.clock.NewID(), Kind: auth.LetterReset, To: "ann@example.org", At: e.clock.Now(), Expires: e.clock.Now().Add(time.Hour)}
	e.write(func(tx auth.Tx) error { return tx.AddLetter(e.ctx, reset) })
	for _, want := range []auth.Letter{reset, digest} {
		got, err := claim()
		if err != nil || got.ID != want.ID {
			e.Errorf("claimed %s, %v; want the %s", got.Kind, err, want.Kind)
		}
		e.same("content", got.Digest, want.Digest)
	}
}
