package auth

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"

	"fringework/domain"

	"github.com/alexedwards/argon2id"
)

func cheapHasher(t *testing.T, parallel int) *Hasher {
	t.Helper()
	h, err := NewHasher(CheapHashParams(), parallel)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// TestVerifyReference checks hashes of the argon2 reference implementation:
// phc-winner-argon2, src/test.c, argon2id version 19 with salt "somesalt".
// Values from memory.
func TestVerifyReference(t *testing.T) {
	h := cheapHasher(t, 1)
	const hash = "$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4"
	for password, want := range map[string]bool{"password": true, "Password": false, "password ": false, "": false} { //nolint:gocritic // the space is what is asked about
		got, _, err := h.Verify(t.Context(), password, hash)
		if err != nil || got != want {
			t.Errorf("%q: got %v, %v; want %v", password, got, err, want)
		}
	}
}

func TestHashProperties(t *testing.T) {
	h := cheapHasher(t, 2)
	for _, password := range []string{
		"eight888", strings.Repeat("x", 128), "pass\x00word", " leading and trailing ", "ключ от лунки",
		"🏌️⛳🏌️⛳🏌️⛳", strings.Repeat("\U0001F3CC", 128), "日本語のパスワード", `"'; DROP TABLE`,
	} {
		one, err := h.Hash(t.Context(), password)
		if err != nil {
			t.Fatal(err)
		}
		two, err := h.Hash(t.Context(), password)
		if err != nil {
			t.Fatal(err)
		}
		if one == two {
			t.Errorf("%q: two hashes are the same: no salt", password)
		}
		if strings.Contains(one, password) {
			t.Errorf("%q: the hash holds the password", password)
		}
		ok, weak, err := h.Verify(t.Context(), password, one)
		if !ok || weak || err != nil {
			t.Errorf("%q: got %v, %v, %v; want a fit that is not weak", password, ok, weak, err)
		}
		// Every character counts, to the last and beyond a NUL.
		for _, wrong := range []string{password + "x", password[:len(password)-1], strings.ToUpper(password) + "!"} {
			if ok, _, err := h.Verify(t.Context(), wrong, one); ok || err != nil {
				t.Errorf("%q for %q: got %v, %v; want no fit", wrong, password, ok, err)
			}
		}
	}
}

func TestVerifyUnknownAccount(t *testing.T) {
	h := cheapHasher(t, 1)
	if !strings.HasPrefix(h.dummy, "$argon2id$v=19$m=8,t=1,p=1$") {
		t.Errorf("the dummy hash costs something else than a real one: %s", h.dummy)
	}
	for _, password := range []string{"", "password", strings.Repeat("x", 10_000)} {
		if ok, _, err := h.Verify(t.Context(), password, ""); ok || err != nil {
			t.Errorf("%.10q: got %v, %v; want no fit", password, ok, err)
		}
	}
	if ok, _, err := h.Verify(t.Context(), "password", "not a hash"); ok || err == nil {
		t.Errorf("a broken hash: got %v, %v; want an error", ok, err)
	}
}

func TestVerifyWeak(t *testing.T) {
	weak, err := argon2id.CreateHash("password", CheapHashParams().argon())
	if err != nil {
		t.Fatal(err)
	}
	for name, p := range map[string]HashParams{
		"more memory": {MemoryKiB: 16, Passes: 1, Threads: 1},
		"more passes": {MemoryKiB: 8, Passes: 2, Threads: 1},
	} {
		h, err := NewHasher(p, 1)
		if err != nil {
			t.Fatal(err)
		}
		if ok, isWeak, err := h.Verify(t.Context(), "password", weak); !ok || !isWeak || err != nil {
			t.Errorf("%s: got %v, weak %v, %v; want a weak fit", name, ok, isWeak, err)
		}
		strong, err := h.Hash(t.Context(), "password")
		if err != nil {
			t.Fatal(err)
		}
		// Lowering the parameters makes nothing weak.
		if ok, isWeak, err := cheapHasher(t, 1).Verify(t.Context(), "password", strong); !ok || isWeak || err != nil {
			t.Errorf("%s, lowered: got %v, weak %v, %v; want a fit that is not", name, ok, isWeak, err)
		}
	}
}

// TestDefaultHashParams pins the floor of OWASP's password storage cheat
// sheet: argon2id with m=19456 (19 MiB), t=2, p=1.
func TestDefaultHashParams(t *testing.T) {
	if got, want := DefaultHashParams(), (HashParams{MemoryKiB: 19456, Passes: 2, Threads: 1}); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	for _, p := range []HashParams{{}, {MemoryKiB: 8, Passes: 1}, {MemoryKiB: 15, Passes: 1, Threads: 2}, {MemoryKiB: 8, Threads: 1}} {
		if _, err := NewHasher(p, 1); err == nil {
			t.Errorf("%+v: accepted", p)
		}
	}
}

func TestHasherQueue(t *testing.T) {
	h := cheapHasher(t, 1)
	if err := h.enter(t.Context()); err != nil { // the one slot is taken
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	var group sync.WaitGroup
	results := make(chan error, queuePerSlot)
	for range queuePerSlot {
		group.Go(func() {
			_, err := h.Hash(ctx, "password")
			results <- err
		})
	}
	for h.waiting.Load() < queuePerSlot {
		select {
		case err := <-results:
			t.Fatalf("a hash ended while none could run: %v", err)
		default:
		}
	}
	_, err := h.Hash(t.Context(), "password")
	var e *domain.Error
	if !errors.As(err, &e) || e.Kind != domain.TooMany || e.RetryAfter < 1 {
		t.Errorf("one more than may wait: got %v, want TooMany", err)
	}
	cancel()
	group.Wait()
	close(results)
	for err := range results {
		if !errors.Is(err, context.Canceled) {
			t.Errorf("waiting with an ended context: got %v", err)
		}
	}
	h.leave()
	if _, err := h.Hash(t.Context(), "password"); err != nil {
		t.Errorf("after the storm: %v", err)
	}
}

func TestCheckPassword(t *testing.T) {
	for password, want := range map[string]bool{
		"":                                  false,
		"1234567":                           false,
		"kelp7-oar":                         true,
		"        ":                          false, // one character eight times
		"äöüäöüä":                           false, // 7 characters of 14 bytes
		"äöüäöüäö":                          true,
		strings.Repeat("éa", 64):            true,
		strings.Repeat("x", 129):            false,
		"bad \xff bytes":                    false,
		strings.Repeat("x", 1_000_000):      false,
		"\x00\x01\x02\x03\x04\x05\x06\x07":  false,
		"kelp7\toar":                        false,
		"e\u0301te\u0301 6":                 false, // 5 characters, once composed
		strings.Repeat("\U0001F3CC⛳", 4):    true,
		strings.Repeat("\U0001F3CC", 7):     false,
		strings.Repeat("\U0001F3CC", 128+1): false,
	} {
		var p domain.Problems
		checkPassword(&p, "/password", password)
		if got := len(p.Fields()) == 0; got != want {
			t.Errorf("%.20q: accepted %v, want %v (%v)", password, got, want, p.Fields())
		}
	}
}
