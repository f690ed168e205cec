package auth

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"
)

// verifies reports whether a token that the key signed may still be good, when tokens
// are good for keep after their key has retired.
func (k signingKey) verifies(now time.Time, keep time.Duration) bool {
	return !k.revoked && (k.retired.IsZero() || now.Sub(k.retired) <= keep)
}

// Rotate gives a keyring with one key more, which begins to sign at from. Until then
// every replica takes the new file up, and so knows the key before it meets a token of
// it. What signed before the present key loses its private half, and leaves once no
// token of it can be good: keep is KeepKeys of the access tokens' life. While a key
// waits for its time already, it is an error.
func (k *Keyring) Rotate(now, from time.Time, keep time.Duration) (*Keyring, error) {
	if waiting := k.signers[len(k.signers)-1]; waiting.from.After(now) {
		return nil, fmt.Errorf("signing keys: key %s already waits and begins to sign at %s; rotate again after that",
			waiting.id, waiting.from.Format(time.RFC3339))
	}
	key, err := generateKey()
	if err != nil {
		return nil, err
	}
	key.from = whole(from)
	active := k.signer(now)
	next := &Keyring{signers: []signingKey{active, key}, sealers: slices.Clone(k.sealers), ephemeral: k.ephemeral}
	for _, old := range k.all() {
		if old.id == active.id || !old.retired.IsZero() && now.Sub(old.retired) > keep {
			continue
		}
		if old.private != nil && old.retired.IsZero() {
			old.retired = whole(now) // it began with the present one, which comes first
		}
		old.private = nil
		next.verifiers = append(next.verifiers, old)
	}
	next.settle()
	return next, nil
}

// Replace gives a keyring of one fresh key, which signs from now on, and calls all
// others revoked: for when somebody else may have them. They stay in the file until
// their last token has expired, so that a replica knows that they are left out on
// purpose.
func (k *Keyring) Replace(now time.Time, keep time.Duration) (*Keyring, error) {
	key, err := generateKey()
	if err != nil {
		return nil, err
	}
	key.from = whole(now)
	next := &Keyring{signers: []signingKey{key}, sealers: slices.Clone(k.sealers), ephemeral: k.ephemeral}
	for _, old := range k.all() {
		if old.retired.IsZero() || old.retired.After(now) {
			old.retired = key.from
		}
		if now.Sub(old.retired) <= keep {
			old.private, old.revoked = nil, true
			next.verifiers = append(next.verifiers, old)
		}
	}
	return next, nil
}

// RotateSealing gives a keyring with one key more to seal secrets with, from an instant
// on. The others stay for good, since backups of the database have what they sealed.
func (k *Keyring) RotateSealing(now, from time.Time) (*Keyring, error) {
	for _, waiting := range k.sealers {
		if waiting.from.After(now) {
			return nil, fmt.Errorf("signing keys: key %s already waits and begins to seal at %s; rotate again after that",
				waiting.id, waiting.from.Format(time.RFC3339))
		}
	}
	return k.withSealer(from), nil
}

// ReplaceSealing is RotateSealing for when somebody else may have the keys: one that
// waits is as bad as the others, so the fresh one begins after it.
func (k *Keyring) ReplaceSealing(from time.Time) *Keyring {
	for _, other := range k.sealers {
		if !from.After(other.from) {
			from = other.from.Add(time.Second)
		}
	}
	return k.withSealer(from)
}

// withSealer gives a keyring with one sealing key more.
func (k *Keyring) withSealer(from time.Time) *Keyring {
	next := *k
	key := newSealingKey()
	if k.Seals() {
		key.from = whole(from)
	}
	next.sealers = append(slices.Clone(k.sealers), key)
	next.settle()
	return &next
}

// whole drops what the text form cannot say.
func whole(at time.Time) time.Time { return at.UTC().Truncate(time.Second) }

// Follows refuses a keyring that must not take the place of one in use: without a key
// of which tokens may still be good, or of which there are secrets at rest.
func (k *Keyring) Follows(used *Keyring, now time.Time, keep time.Duration) error {
	for _, old := range used.all() {
		if key, there := k.find(old.id); old.verifies(now, keep) && !(there && key.public.Equal(old.public)) {
			return fmt.Errorf("signing keys: key %s is missing, and tokens that it signed may still be good; put the earlier file back, and add a key by \"fringework admin keys rotate\"", old.id)
		}
	}
	for _, old := range used.sealers {
		if key, there := k.sealer(old.id); !there || !slices.Equal(key.secret, old.secret) {
			return fmt.Errorf("signing keys: key %s is missing, and secrets are sealed with it", old.id)
		}
	}
	return nil
}

// Equal reports whether two keyrings have the same keys for the same times.
func (k *Keyring) Equal(other *Keyring) bool { return bytes.Equal(k.Private(), other.Private()) }

// Late reports whether a key signs that a keyring in use does not know: other replicas
// may have signed with it before this one took it up.
func (k *Keyring) Late(used *Keyring, now time.Time) bool {
	_, known := used.find(k.ActiveID(now))
	return !known
}

// Describe says in a line for each key what it is for at an instant.
func (k *Keyring) Describe(now time.Time, keep time.Duration) string {
	var b strings.Builder
	for _, key := range k.all() {
		fmt.Fprintf(&b, "%s  %s\n", key.id, k.state(key, now, keep))
	}
	active, _ := k.sealing(now)
	for _, key := range k.sealers {
		state := "opens the secrets that it sealed"
		switch {
		case key.id == active.id:
			state = "seals secrets at rest"
		case key.from.After(now):
			state = "seals secrets at rest from " + key.from.Format(time.RFC3339) + " on"
		}
		fmt.Fprintf(&b, "%s  %s\n", key.id, state)
	}
	return b.String()
}

// state says what a key that signs or verifies is for.
func (k *Keyring) state(key signingKey, now time.Time, keep time.Duration) string {
	switch {
	case key.id == k.ActiveID(now) && key.retired.IsZero():
		return "signs"
	case key.id == k.ActiveID(now):
		return "signs until " + key.retired.Format(time.RFC3339)
	case key.revoked:
		return "revoked: verifies nothing"
	case key.from.After(now):
		return "signs from " + key.from.Format(time.RFC3339) + " on, and verifies already"
	case !key.verifies(now, keep):
		return "retired: verifies nothing any more"
	case key.retired.IsZero():
		return "verifies"
	}
	return "verifies until " + key.retired.Add(keep).Format(time.RFC3339)
}
