//go:build unix

package auth_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fringework/auth"
)

// Secrets are often mounted so that all may read them and nobody may write: such a file
// is taken, and told to be exposed. What its user could forbid, and what others may
// write, is refused.
func TestMountedSecretsMayBeReadable(t *testing.T) {
	keys, err := auth.GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "keys.json")
	if err := keys.Save(file); err != nil {
		t.Fatal(err)
	}
	refused := func(mode fs.FileMode) {
		t.Helper()
		if err := os.Chmod(file, mode); err != nil {
			t.Fatal(err)
		}
		if _, err := auth.LoadKeyring(file); err == nil || !strings.Contains(err.Error(), "chmod 600") {
			t.Errorf("mode %04o: got error %v, want the remedy", mode, err)
		}
	}
	refused(0o644)
	refused(0o640)
	if auth.Exposed(filepath.Join(t.TempDir(), "absent")) {
		t.Error("a file that does not exist is exposed")
	}
	if os.Geteuid() != 0 {
		// Root's, readable by all, and no keyring: it is read all the same.
		if _, err := auth.LoadKeyring("/etc/passwd"); err == nil || !strings.Contains(err.Error(), "JWK Set") {
			t.Errorf("another user's file: got error %v, want that it has no keys", err)
		}
		return
	}
	const nobody = 65534
	if err := os.Chown(file, nobody, nobody); err != nil {
		t.Fatal(err)
	}
	refused(0o666)
	refused(0o620)
	if _, err := auth.LoadKeyring(file); err == nil {
		t.Error("what others may write was taken")
	}
	for mode, exposed := range map[fs.FileMode]bool{0o444: true, 0o400: false} {
		err := os.Chmod(file, mode)
		_, loadErr := auth.LoadKeyring(file)
		if err := errors.Join(err, loadErr); err != nil || auth.Exposed(file) != exposed {
			t.Errorf("mode %04o of another user: got error %v and exposed %v, want it taken, and %v", mode, err, auth.Exposed(file), exposed)
		}
	}
}
