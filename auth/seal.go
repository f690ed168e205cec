package auth

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/hkdf"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Secrets that the service must know to compute with, such as those that sign
// webhooks, are sealed before they are stored: whoever has the database, or a
// backup of it, and not the file of keys, reads none.

const (
	sealingType      = "oct"
	sealingAlgorithm = "A256GCM"
	sealingBytes     = 32
	// sealedPrefix begins what is sealed, and nothing that was stored before there
	// was sealing.
	sealedPrefix = "sealed1."
)

// sealingKey is one symmetric key.
type sealingKey struct {
	id     string
	secret []byte
	// from is when it begins to seal; zero for always.
	from time.Time
}

func newSealingKey() sealingKey {
	id, secret := newSecret(), newSecret()
	return sealingKey{id: encode(id[:8]), secret: secret[:]}
}

// sealingKey checks one JWK of type oct and decodes it.
func (j jwk) sealingKey() (sealingKey, error) {
	if j.Algorithm != sealingAlgorithm || j.Use != "enc" {
		return sealingKey{}, fmt.Errorf("alg %q, use %q; a key of type oct seals, so they must be %s and enc", j.Algorithm, j.Use, sealingAlgorithm)
	}
	if j.ID == "" || strings.ContainsAny(j.ID, ". ") {
		return sealingKey{}, fmt.Errorf("kid %q; a key that seals needs one, without a dot", j.ID)
	}
	secret, err := decode(j.Secret, sealingBytes)
	if err != nil {
		return sealingKey{}, fmt.Errorf("k %w", err)
	}
	return sealingKey{id: j.ID, secret: secret, from: since1970(j.UseFrom)}, nil
}

func (k sealingKey) jwk() jwk {
	return jwk{Type: sealingType, ID: k.id, Algorithm: sealingAlgorithm, Use: "enc", Secret: encode(k.secret), UseFrom: seconds(k.from)}
}

// aead derives what seals from the key: HKDF with SHA-256 (RFC 5869), then AES-256-GCM
// with a random nonce of 96 bits (NIST SP 800-38D §8.2.2), which is good for 2^32 secrets.
func (k sealingKey) aead() (cipher.AEAD, error) {
	derived, err := hkdf.Key(sha256.New, k.secret, nil, "fringework secrets at rest", sealingBytes)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(derived)
	if err != nil {
		return nil, err
	}
	return cipher.NewGCMWithRandomNonce(block)
}

// sealer gives the sealing key named kid.
func (k *Keyring) sealer(kid string) (sealingKey, bool) {
	i := slices.IndexFunc(k.sealers, func(key sealingKey) bool { return key.id == kid })
	if i < 0 {
		return sealingKey{}, false
	}
	return k.sealers[i], true
}

// Seals reports whether there is a key to seal with.
func (k *Keyring) Seals() bool { return len(k.sealers) > 0 }

// sealing is the key that seals at an instant, as signer is the one that signs.
func (k *Keyring) sealing(now time.Time) (sealingKey, error) {
	if !k.Seals() {
		return sealingKey{}, errors.New("auth: no key seals secrets")
	}
	latest := k.sealers[0]
	for _, key := range k.sealers[1:] {
		if !key.from.After(now) && key.from.After(latest.from) {
			latest = key
		}
	}
	return latest, nil
}

// Vault seals secrets with the keys that a service uses at the time, and opens them.
type Vault struct {
	keys func() *Keyring
	now  func() time.Time
}

// NewVault makes a vault over keys, which may change, and a clock.
func NewVault(keys func() *Keyring, now func() time.Time) Vault { return Vault{keys, now} }

// Vault gives the vault over the keys in use.
func (t *Tokens) Vault() Vault { return NewVault(t.Keyring, t.env.Now) }

// Seal gives a secret as it is to be stored at a place: text without spaces, "sealed1.",
// the kid and the sealed bytes in base64url, with dots between. It opens at that place
// alone, so that nobody gets it opened by copying it to another.
func (v Vault) Seal(secret []byte, place string) (string, error) {
	key, err := v.keys().sealing(v.now())
	if err != nil {
		return "", err
	}
	aead, err := key.aead()
	if err != nil {
		return "", err
	}
	return sealedPrefix + key.id + "." + encode(aead.Seal(nil, nil, secret, []byte(place))), nil
}

// Open gives what Seal was given. What is not sealed is given as it is: it was stored
// before there was sealing.
func (v Vault) Open(stored, place string) ([]byte, error) {
	rest, sealed := strings.CutPrefix(stored, sealedPrefix)
	if !sealed {
		return []byte(stored), nil
	}
	kid, text, _ := strings.Cut(rest, ".")
	key, ok := v.keys().sealer(kid)
	if !ok {
		return nil, fmt.Errorf("auth: a secret is sealed with key %q, which the file of keys does not have", kid)
	}
	raw, err := base64.RawURLEncoding.Strict().DecodeString(text)
	if err != nil {
		return nil, errors.New("auth: a sealed secret is not base64url")
	}
	aead, err := key.aead()
	if err != nil {
		return nil, err
	}
	secret, err := aead.Open(nil, nil, raw, []byte(place))
	if err != nil {
		return nil, fmt.Errorf("auth: a secret was changed, or sealed for another place than %q", place)
	}
	return secret, nil
}

// Fresh begins whatever the key sealed that seals now; what begins otherwise is to be
// sealed anew.
func (v Vault) Fresh() (prefix string, err error) {
	key, err := v.keys().sealing(v.now())
	return sealedPrefix + key.id + ".", err
}
