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
	// from is when it begins to sign; zero for always.
	from time.Time
	// retired is when a successor takes over, zero while there is none.
	retired time.Time
	// revoked says that it verifies nothing, since somebody else may have it.
	revoked bool
}

// Keyring is the keys that sign and verify access tokens, and those that seal
// secrets at rest. It never changes; Rotate and its like make another.
//
// Its text form is a private JWK Set (RFC 7517). Keys that sign are of type OKP, curve
// Ed25519 (RFC 8037). Of those with a private half (d), the one signs whose "use_from"
// (seconds since 1970; 0 when absent) came last, and of equal ones the first in the
// file. All verify, so that a key whose time is yet to come is known to every replica
// before any signs with it. A key retires when its successor begins to sign, or at
// "retired_at" when it has no private half, and verifies for KeepKeys longer; one that
// is "revoked" verifies nothing. Keys that seal are of type oct, 32 bytes long; those
// whose successor has begun still open what they sealed.
type Keyring struct {
	// signers are in the order in which they begin to sign; verifiers only verify.
	signers, verifiers []signingKey
	// sealers are in the order in which they begin to seal.
	sealers   []sealingKey
	ephemeral bool
}

// GenerateKeyring makes a keyring of fresh keys.
func GenerateKeyring() (*Keyring, error) {
	key, err := generateKey()
	if err != nil {
		return nil, err
	}
	return &Keyring{signers: []signingKey{key}, sealers: []sealingKey{newSealingKey()}}, nil
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

// signer is the key that signs at an instant: of those that have begun the one that
// began last, or the very first.
func (k *Keyring) signer(now time.Time) signingKey {
	latest := k.signers[0]
	for _, key := range k.signers[1:] {
		if !key.from.After(now) && key.from.After(latest.from) {
			latest = key
		}
	}
	return latest
}

// ActiveID is the kid of the key that signs at an instant.
func (k *Keyring) ActiveID(now time.Time) string { return k.signer(now).id }

// settle puts the keys in order and retires each signer when the next one begins.
func (k *Keyring) settle() {
	slices.SortStableFunc(k.signers, func(a, b signingKey) int { return a.from.Compare(b.from) })
	slices.SortStableFunc(k.sealers, func(a, b sealingKey) int { return a.from.Compare(b.from) })
	for i := range k.signers {
		k.signers[i].retired = time.Time{}
		later := func(next signingKey) bool { return next.from.After(k.signers[i].from) }
		if next := slices.IndexFunc(k.signers, later); next >= 0 {
			k.signers[i].retired = k.signers[next].from
		}
	}
}

// all are the keys that were ever used to sign, or will be.
func (k *Keyring) all() []signingKey { return slices.Concat(k.signers, k.verifiers) }

// find gives the key named kid.
func (k *Keyring) find(kid string) (signingKey, bool) {
	for _, keys := range [][]signingKey{k.signers, k.verifiers} {
		if i := slices.IndexFunc(keys, func(key signingKey) bool { return key.id == kid }); i >= 0 {
			return keys[i], true
		}
	}
	return signingKey{}, false
}

// jwk is one key as JSON: RFC 8037 §2, and RFC 7518 §6.4 for one that seals.
type jwk struct {
	Type      string `json:"kty"`
	Curve     string `json:"crv,omitempty"`
	ID        string `json:"kid,omitempty"`
	Algorithm string `json:"alg,omitempty"`
	Use       string `json:"use,omitempty"`
	Public    string `json:"x,omitempty"`
	Private   string `json:"d,omitempty"`
	Secret    string `json:"k,omitempty"`
	UseFrom   int64  `json:"use_from,omitempty"`
	RetiredAt int64  `json:"retired_at,omitempty"`
	Revoked   bool   `json:"revoked,omitempty"`
}

type jwkSet struct {
	Keys []jwk `json:"keys"`
}

// ParseKeyring reads the text form. At least one key must be able to sign. The
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
		if err := ring.add(j); err != nil {
			return nil, fmt.Errorf("signing keys: key %d: %w", i+1, err)
		}
	}
	if len(ring.signers) == 0 {
		return nil, fmt.Errorf("signing keys: none can sign; one needs its private half (d) and no retired_at")
	}
	ring.settle()
	return ring, nil
}

// add takes one key into a keyring, which is to be settled afterwards.
func (k *Keyring) add(j jwk) error {
	if j.Type == sealingType {
		key, err := j.sealingKey()
		if _, twice := k.sealer(key.id); err == nil && twice {
			err = fmt.Errorf("kid %q appears twice", key.id)
		}
		k.sealers = append(k.sealers, key)
		return err
	}
	key, err := j.key()
	if err != nil {
		return err
	}
	if _, twice := k.find(key.id); twice {
		return fmt.Errorf("kid %q appears twice", key.id)
	}
	if key.private != nil && key.retired.IsZero() && !key.revoked {
		k.signers = append(k.signers, key)
		return nil
	}
	key.private = nil
	k.verifiers = append(k.verifiers, key)
	return nil
}

// Private writes the text form with the private halves. It is a secret.
func (k *Keyring) Private() []byte {
	var set jwkSet
	for _, key := range k.all() {
		j := jwk{
			Type: "OKP", Curve: "Ed25519", ID: key.id, Algorithm: algorithm, Use: "sig", Public: encode(key.public),
			UseFrom: seconds(key.from), Revoked: key.revoked,
		}
		if key.private != nil {
			j.Private = encode(key.private.Seed())
		} else {
			j.RetiredAt = seconds(key.retired)
		}
		set.Keys = append(set.Keys, j)
	}
	for _, key := range k.sealers {
		set.Keys = append(set.Keys, key.jwk())
	}
	text, err := json.MarshalIndent(set, "", "  ")
	if err != nil {
		panic("auth: a set of strings did not encode: " + err.Error())
	}
	return append(text, '\n')
}

// seconds since 1970, and 0 for no time.
func seconds(at time.Time) int64 {
	if at.IsZero() {
		return 0
	}
	return at.Unix()
}

// since1970 is the instant so many seconds after 1970 began, and none for 0.
func since1970(seconds int64) time.Time {
	if seconds == 0 {
		return time.Time{}
	}
	return time.Unix(seconds, 0).UTC()
}

// key checks one JWK and decodes it.
func (j jwk) key() (signingKey, error) {
	if j.Type != "OKP" || j.Curve != "Ed25519" {
		return signingKey{}, fmt.Errorf("kty %q, crv %q; only OKP, Ed25519 (RFC 8037) and oct are used", j.Type, j.Curve)
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
	key := signingKey{id: j.ID, public: public, from: since1970(j.UseFrom), retired: since1970(j.RetiredAt), revoked: j.Revoked}
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
