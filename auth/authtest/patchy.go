package authtest

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
)

// patchyNetwork holds a service on a store to keeping devices signed in through
// an hour of a network that loses a request in four before it arrives, and a reply
// in three after it, while two tabs may refresh at once, pages are reloaded, and
// the phone dies before it has written its newest token down.
// The clock is the test's. Whoever then presents a token of the start is found out.
func patchyNetwork(t *testing.T, store auth.Store) {
	for seed := range uint64(4) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) { newPatchy(t, store, seed).hour() })
	}
}

// patchy is a device with a network that loses things.
type patchy struct {
	*testing.T
	*auth.Service
	clock *Clock
	rand  *rand.Rand
	// token is what the device presents next, and first what it began with.
	token, first string
	// dying is what it presents once it has died: a token that it has written
	// down, whose successor it has not used.
	dying           string
	good            time.Time // until when its tabs need no other access token
	lost, got, died int
}

func newPatchy(t *testing.T, store auth.Store, seed uint64) *patchy {
	t.Helper()
	hasher, err := auth.NewHasher(auth.CheapHashParams(), 1)
	keys, keysErr := auth.Ephemeral()
	// Stores keep identities over the tests of one, so clocks must not agree.
	clock := NewClock(time.Date(2026, 6, 1+int(seed), 9, 0, 0, 0, time.UTC))
	s, newErr := auth.New(auth.Config{
		Store: store, Keys: keys, Hasher: hasher, Limiter: Unlimited{}, Env: clock.Env(),
		Issuer: "https://fringework.example", Audience: "https://fringework.example/v1",
	})
	if err := errors.Join(err, keysErr, newErr); err != nil {
		t.Fatal(err)
	}
	in, err := s.SignUpAcademy(t.Context(), auth.SignUp{
		AcademyName: "Moor End", TimeZone: "Europe/Dublin", Name: "Olga",
		Email: fmt.Sprintf("olga%d@patchy.example", seed), Password: "a towel on the fringe", Address: "192.0.2.1",
	})
	if err != nil {
		t.Fatal(err)
	}
	return &patchy{
		T: t, Service: s, clock: clock, rand: rand.New(rand.NewPCG(seed, 9)),
		token: in.Refresh, first: in.Refresh, dying: in.Refresh, good: in.AccessExpires,
	}
}

// hour practises for an hour, with a try every few seconds.
func (p *patchy) hour() {
	for end := p.clock.Now().Add(time.Hour); p.clock.Now().Before(end); {
		p.clock.Advance(time.Duration(1+p.rand.IntN(20)) * time.Second)
		switch p.rand.IntN(12) {
		case 0: // a page is reloaded
			p.good = time.Time{}
		case 1: // the phone dies
			p.died++
			p.token, p.good = p.dying, time.Time{}
		}
		if !p.clock.Now().Before(p.good) {
			p.refresh()
		}
	}
	if p.lost < 20 || p.got < 20 || p.died < 5 {
		p.Errorf("%d replies lost, %d got, died %d times: that was no patchy hour", p.lost, p.got, p.died)
	}
	p.foundOut()
}

// refresh asks for the next tokens, in one tab or in two at once; what a device
// presents it has written down.
func (p *patchy) refresh() {
	p.Helper()
	presented := p.token
	p.dying = presented
	tabs := make([]auth.SignedIn, 1+p.rand.IntN(2))
	errs := make([]error, len(tabs))
	var group sync.WaitGroup
	for i := range tabs {
		if p.rand.IntN(4) == 0 {
			continue // the request got lost
		}
		group.Go(func() { tabs[i], errs[i] = p.Refresh(p.Context(), presented, "", "192.0.2.1") })
	}
	group.Wait()
	if err := errors.Join(errs...); err != nil {
		p.Fatalf("signed out at %v: %v", p.clock.Now(), err)
	}
	for _, in := range tabs {
		switch {
		case in.Refresh == "":
		case p.rand.IntN(3) == 0:
			p.lost++
		default:
			p.got++
			p.token, p.good = in.Refresh, in.AccessExpires
		}
	}
}

// foundOut goes on once more, and then has somebody present the first token,
// which ends the sign-in of both.
func (p *patchy) foundOut() {
	p.Helper()
	in, err := p.Refresh(p.Context(), p.token, "", "192.0.2.1")
	if err != nil {
		p.Fatalf("at the end of the hour: %v", err)
	}
	for _, token := range []string{p.first, in.Refresh} {
		if _, err := p.Refresh(p.Context(), token, "", "198.51.100.7"); domain.KindOf(err) != domain.Unauthenticated {
			p.Errorf("once the first token was presented: got %v, want the sign-in to end", err)
		}
	}
}
