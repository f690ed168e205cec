package auth

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// algorithm is the one signing algorithm, pinned to every key (RFC 8725 §3.1).
const algorithm = "EdDSA"

// maxKeyring is the largest keyring read, in bytes.
const maxKeyring = 64 << 10

// signingKey is one Ed25519 key. private is nil for a key that only verifies.
type signingKey struct {
	id      string
	public  ed25519.PublicKey
	private ed25519.PrivateKey
	// retired is when a successor took over, zero for a key that never was
	// active or still is.
	retired time.Time
}

// Keyring is the keys that sign and verify access tokens: the first one signs,
// all verify. It never changes; Rotate makes another.
//
// Its text form is a private JWK Set (RFC 7517, RFC 8037): keys of type OKP,
// curve Ed25519, each with a kid. A key that only verifies needs no d, and may
// say in "retired_at" (seconds since 1970) when it was retired. Replicas that
// are restarted one by one should first be given the next key in second place,
// and the swapped order once all know it.
type Keyring struct {
	keys      []signingKey
	ephemeral bool
}

// GenerateKeyring makes a keyring of one fresh key.
func GenerateKeyring() (*Keyring, error) {
	key, err := generateKey()
	if err != nil {
		return nil, err
	}
	return &Keyring{keys: []signingKey{key}}, nil
}

// Ephemeral makes a keyring that is kept nowhere: every token dies with the
// process, and no other replica knows its key. It is for tests and trials, not
// for production.
func Ephemeral() (*Keyring, error) {
	k, err := GenerateKeyring()
	if err != nil {
		return nil, err
	}
	k.ephemeral = true
	return k, nil
}

// IsEphemeral reports whether Ephemeral made the keyring, so that a production
// start can refuse it.
func (k *Keyring) IsEphemeral() bool { return k.ephemeral }

// ActiveID is the kid of the key that signs.
func (k *Keyring) ActiveID() string { return k.keys[0].id }

// Rotate gives a keyring with a fresh active key. The old one is kept for
// verifying, without its private half, and so are those retired less than keep
// ago; keep is KeepKeys of the access tokens' life.
func (k *Keyring) Rotate(now time.Time, keep time.Duration) (*Keyring, error) {
	key, err := generateKey()
	if err != nil {
		return nil, err
	}
	next := &Keyring{keys: []signingKey{key}, ephemeral: k.ephemeral}
	for i, old := range k.keys {
		if i == 0 {
			old.private, old.retired = nil, now.UTC().Truncate(time.Second)
		}
		if old.retired.IsZero() || now.Sub(old.retired) <= keep {
			next.keys = append(next.keys, old)
		}
	}
	return next, nil
}

// find gives the key named kid.
func (k *Keyring) find(kid string) (signingKey, bool) {
	i := slices.IndexFunc(k.keys, func(key signingKey) bool { return key.id == kid })
	if i < 0 {
		return signingKey{}, false
	}
	return k.keys[i], true
}

// jwk is one key as JSON, RFC 8037 §2.
type jwk struct {
	Type      string `json:"kty"`
	Curve     string `json:"crv"`
	ID        string `json:"kid,omitempty"`
	Algorithm string `json:"alg,omitempty"`
	Use       string `json:"use,omitempty"`
	Public    string `json:"x"`
	Private   string `json:"d,omitempty"`
	RetiredAt int64  `json:"retired_at,omitempty"`
}

type jwkSet struct {
	Keys []jwk `json:"keys"`
}

// ParseKeyring reads the text form. Its first key must be able to sign. The
// error never holds key material.
func ParseKeyring(text []byte) (*Keyring, error) {
	if len(text) > maxKeyring {
		return nil, fmt.Errorf("signing keys: more than %d bytes", maxKeyring)
	}
	var set jwkSet
	if err := json.Unmarshal(bytes.TrimSpace(text), &set); err != nil {
		return nil, fmt.Errorf("signing keys: not a JWK Set in JSON (RFC 7517)")
	}
	if len(set.Keys) == 0 {
		return nil, fmt.Errorf("signing keys: the set is empty; it needs at least one key")
	}
	ring := &Keyring{}
	for i, j := range set.Keys {
		key, err := j.key()
		if err != nil {
			return nil, fmt.Errorf("signing keys: key %d: %w", i+1, err)
		}
		if _, twice := ring.find(key.id); twice {
			return nil, fmt.Errorf("signing keys: kid %q appears twice", key.id)
		}
		ring.keys = append(ring.keys, key)
	}
	if ring.keys[0].private == nil || !ring.keys[0].retired.IsZero() {
		return nil, fmt.Errorf("signing keys: the first key signs, so it needs its private half (d) and no retired_at")
	}
	return ring, nil
}

// Private writes the text form with the private halves. It is a secret.
func (k *Keyring) Private() []byte { return k.encode(true) }

// Public writes the set that others may verify with, without private halves.
func (k *Keyring) Public() []byte { return k.encode(false) }

func (k *Keyring) encode(private bool) []byte {
	set := jwkSet{Keys: make([]jwk, len(k.keys))}
	for i, key := range k.keys {
		j := jwk{Type: "OKP", Curve: "Ed25519", ID: key.id, Algorithm: algorithm, Use: "sig", Public: encode(key.public)}
		if private && key.private != nil {
			j.Private = encode(key.private.Seed())
		}
		if private && !key.retired.IsZero() {
			j.RetiredAt = key.retired.Unix()
		}
		set.Keys[i] = j
	}
	text, err := json.MarshalIndent(set, "", "  ")
	if err != nil {
		panic("auth: a set of strings did not encode: " + err.Error())
	}
	return append(text, '\n')
}

// key checks one JWK and decodes it.
func (j jwk) key() (signingKey, error) {
	if j.Type != "OKP" || j.Curve != "Ed25519" {
		return signingKey{}, fmt.Errorf("kty %q, crv %q; only OKP, Ed25519 (RFC 8037) are used", j.Type, j.Curve)
	}
	if j.Algorithm != "" && j.Algorithm != algorithm {
		return signingKey{}, fmt.Errorf("alg %q; only %s is used", j.Algorithm, algorithm)
	}
	if j.Use != "" && j.Use != "sig" {
		return signingKey{}, fmt.Errorf("use %q; it must be sig", j.Use)
	}
	public, err := decode(j.Public, ed25519.PublicKeySize)
	if err != nil {
		return signingKey{}, fmt.Errorf("x %w", err)
	}
	key := signingKey{id: j.ID, public: public}
	if j.RetiredAt != 0 {
		key.retired = time.Unix(j.RetiredAt, 0).UTC()
	}
	if j.Private != "" {
		if key.private, err = privateOf(j.Private, public); err != nil {
			return signingKey{}, err
		}
	}
	if key.id == "" {
		key.id = thumbprint(public)
	}
	return key, nil
}

func privateOf(seed string, public ed25519.PublicKey) (ed25519.PrivateKey, error) {
	raw, err := decode(seed, ed25519.SeedSize)
	if err != nil {
		return nil, fmt.Errorf("d %w", err)
	}
	private := ed25519.NewKeyFromSeed(raw)
	if !public.Equal(private.Public()) {
		return nil, fmt.Errorf("x is not the public half of d")
	}
	return private, nil
}

func generateKey() (signingKey, error) {
	public, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return signingKey{}, err
	}
	return signingKey{id: thumbprint(public), public: public, private: private}, nil
}

// thumbprint names a key by its content: RFC 7638, with the members that RFC
// 8037 §2 requires in lexical order.
func thumbprint(public ed25519.PublicKey) string {
	sum := sha256.Sum256([]byte(`{"crv":"Ed25519","kty":"OKP","x":"` + encode(public) + `"}`))
	return encode(sum[:])
}

func encode(raw []byte) string { return base64.RawURLEncoding.EncodeToString(raw) }

func decode(text string, size int) ([]byte, error) {
	raw, err := base64.RawURLEncoding.Strict().DecodeString(text)
	if err != nil || len(raw) != size {
		return nil, fmt.Errorf("is not %d bytes in unpadded base64url", size)
	}
	return raw, nil
}
