package auth

import (
	"context"
	"crypto/rand"
	"sync/atomic"
	"unicode/utf8"

	"fringework/domain"

	"github.com/alexedwards/argon2id"
	"golang.org/x/text/secure/precis"
)

// Lengths of a password, in characters (code points). There are no rules on
// which characters: NIST SP 800-63B §5.1.1.2 advises against them.
const (
	MinPassword = 8
	MaxPassword = 128
)

// HashParams is what one argon2id hash costs (RFC 9106).
type HashParams struct {
	// MemoryKiB is the memory in KiB, at least 8 for each thread.
	MemoryKiB uint32
	// Passes is the number of passes over it, at least 1.
	Passes uint32
	// Threads is the number of lanes, at least 1.
	Threads uint8
}

// DefaultHashParams is the least that OWASP's password storage cheat sheet
// advises for argon2id: 19 MiB, two passes, one thread.
func DefaultHashParams() HashParams {
	return HashParams{MemoryKiB: 19 * 1024, Passes: 2, Threads: 1}
}

// CheapHashParams makes hashing cost next to nothing. It is for tests alone.
func CheapHashParams() HashParams { return HashParams{MemoryKiB: 8, Passes: 1, Threads: 1} }

func (p HashParams) argon() *argon2id.Params {
	return &argon2id.Params{
		Memory: p.MemoryKiB, Iterations: p.Passes, Parallelism: p.Threads,
		SaltLength: 16, KeyLength: 32,
	}
}

// queuePerSlot is how many may wait for each running hash before others are
// turned away: at 60 ms a hash, a wait of about two seconds.
const queuePerSlot = 32

// Hasher hashes and verifies passwords, a few at once, so that a storm of
// sign-ins takes neither all memory nor all processors.
type Hasher struct {
	params  *argon2id.Params
	slots   chan struct{}
	waiting atomic.Int64
	// dummy is verified against when there is no account, so that the time
	// taken does not tell.
	dummy string
}

// NewHasher makes a hasher that runs at most parallel (at least 1) hashes at
// once. It computes one hash itself.
func NewHasher(p HashParams, parallel int) (*Hasher, error) {
	if p.Passes < 1 || p.Threads < 1 || p.MemoryKiB < 8*uint32(p.Threads) {
		return nil, domain.Errorf(domain.Invalid, "hash_params",
			"Password hashing needs at least 1 pass, 1 thread and 8 KiB of memory a thread.")
	}
	dummy, err := argon2id.CreateHash(rand.Text(), p.argon())
	if err != nil {
		return nil, err
	}
	return &Hasher{params: p.argon(), slots: make(chan struct{}, max(1, parallel)), dummy: dummy}, nil
}

// Hash encodes a password for keeping. It is TooMany when too many wait, and
// the context's error when that ends first.
func (h *Hasher) Hash(ctx context.Context, password string) (encoded string, err error) {
	if err := h.enter(ctx); err != nil {
		return "", err
	}
	defer h.leave()
	return argon2id.CreateHash(password, h.params)
}

// Verify reports whether a password fits an encoded hash, and whether the hash
// is weaker than today's parameters, so that the password should be hashed
// anew. An empty encoded hash stands for an account that does not exist: the
// same work is done and nothing ever fits. Errors are as in Hash.
func (h *Hasher) Verify(ctx context.Context, password, encoded string) (ok, weak bool, err error) {
	if err := h.enter(ctx); err != nil {
		return false, false, err
	}
	defer h.leave()
	known := encoded != ""
	if !known {
		encoded = h.dummy
	}
	// Over-long passwords were never accepted; do not spend memory on them.
	if len(password) > utf8.UTFMax*MaxPassword {
		password, known = "", false
	}
	ok, p, err := argon2id.CheckHash(password, encoded)
	if err != nil {
		return false, false, err
	}
	return ok && known, h.stronger(p), nil
}

// stronger reports whether today's parameters ask for more than p.
func (h *Hasher) stronger(p *argon2id.Params) bool {
	return p.Memory < h.params.Memory || p.Iterations < h.params.Iterations ||
		p.KeyLength < h.params.KeyLength || p.SaltLength < h.params.SaltLength
}

func (h *Hasher) enter(ctx context.Context) error {
	if h.waiting.Add(1) > int64(queuePerSlot*cap(h.slots)) {
		h.waiting.Add(-1)
		return &domain.Error{Kind: domain.TooMany, Code: "sign_ins_busy", RetryAfter: 2,
			Detail: "Too many people are signing in at this moment. Try again in 2 seconds."}
	}
	defer h.waiting.Add(-1)
	select {
	case h.slots <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (h *Hasher) leave() { <-h.slots }

// NormalPassword gives the form in which a password is hashed: the profile
// OpaqueString of RFC 8265 §4.2, so that it does not matter by which keyboard
// somebody types an accent or a space. ok is false for what the profile does not
// know, such as control characters.
func NormalPassword(password string) (normal string, ok bool) {
	normal, err := precis.OpaqueString.String(password)
	return normal, err == nil
}

// checkPassword notes at pointer what is wrong with a new password, and gives
// the form to hash. names are what it must not be, such as the person's own.
func checkPassword(p *domain.Problems, pointer, password string, names ...string) string {
	normal, ok := password, true
	if len(password) <= 2*utf8.UTFMax*MaxPassword { // it is normalised only if it may fit
		normal, ok = NormalPassword(password)
	}
	n := utf8.RuneCountInString(normal)
	switch {
	case !utf8.ValidString(password):
		p.Add(pointer, "is not valid UTF-8; type it again")
	case n < MinPassword && (ok || password == ""):
		p.Add(pointer, "has %d characters; use %d to %d of any kind", n, MinPassword, MaxPassword)
	case n > MaxPassword:
		p.Add(pointer, "has %d characters; use at most %d", n, MaxPassword)
	case !ok:
		p.Add(pointer, "has a character that cannot be typed on every device; use letters, digits, signs and spaces")
	default:
		checkGuessable(p, pointer, normal, names...)
	}
	return normal
}

// VerifyTyped verifies a password as a person typed it: first its normal form,
// then, since it may be from before passwords were normalised, the characters as
// they are. The work depends on what was typed alone. stale says to hash the
// normal form anew.
func (h *Hasher) VerifyTyped(ctx context.Context, typed, encoded string) (ok, stale bool, err error) {
	normal, fits := NormalPassword(typed)
	if fits {
		if ok, stale, err = h.Verify(ctx, normal, encoded); err != nil || ok || normal == typed {
			return ok, stale, err
		}
	}
	ok, _, err = h.Verify(ctx, typed, encoded)
	return ok, fits, err
}
