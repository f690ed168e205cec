package auth

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// LoadKeyring reads a keyring from a file. A file that others may write is refused, and
// one that they may read as well if whoever runs this could forbid it: a secret that is
// mounted read-only is often readable by all (Exposed). fs.ErrNotExist is in the chain
// when there is none.
func LoadKeyring(path string) (*Keyring, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("signing keys: %w", err)
	}
	defer func() { _ = f.Close() }() // only read
	info, err := f.Stat()
	if err != nil {
		return nil, fmt.Errorf("signing keys: %w", err)
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("signing keys: %s is not a regular file; name one", path)
	}
	if open := info.Mode().Perm() & 0o077; open&0o022 != 0 || open != 0 && ours(path, info) {
		return nil, fmt.Errorf("signing keys: other users can open %s (mode %04o); run chmod 600 on it", path, info.Mode().Perm())
	}
	text, err := io.ReadAll(io.LimitReader(f, maxKeyring+1))
	if err != nil {
		return nil, fmt.Errorf("signing keys: %w", err)
	}
	return ParseKeyring(text)
}

// Exposed reports whether others may read a file of keys.
func Exposed(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().Perm()&0o044 != 0
}

// LoadOrCreateKeyring reads a keyring from a file and, when there is none,
// makes one and keeps it there. Of several processes that do so at once, all
// end with the same keyring.
func LoadOrCreateKeyring(path string) (k *Keyring, created bool, err error) {
	k, err = LoadKeyring(path)
	if !errors.Is(err, fs.ErrNotExist) {
		return k, false, err
	}
	if k, err = GenerateKeyring(); err != nil {
		return nil, false, err
	}
	err = writeBeside(path, k.Private(), os.Link)
	if errors.Is(err, fs.ErrExist) {
		k, err = LoadKeyring(path)
		return k, false, err
	}
	return k, err == nil, err
}

// Save replaces the file at path by the keyring, readable by its owner alone, who
// stays the same where that can be. A crash leaves either the old file or the new one.
func (k *Keyring) Save(path string) error {
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target // what a link points at is replaced, not the link
	}
	return writeBeside(path, k.Private(), func(from, to string) error {
		if was, err := os.Stat(to); err == nil {
			giveTo(from, was)
		}
		return os.Rename(from, to)
	})
}

// writeBeside writes a private temporary file beside path and publishes it
// under that name.
func writeBeside(path string, text []byte, publish func(from, to string) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".keys-*") // mode 0600
	if err != nil {
		return fmt.Errorf("signing keys: %w", err)
	}
	defer func() { _ = os.Remove(f.Name()) }() // gone already when published
	_, err = f.Write(text)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = publish(f.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("signing keys: %w", err)
	}
	return nil
}
