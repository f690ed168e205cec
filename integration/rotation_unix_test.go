//go:build unix

package integration_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

// says waits until the log has a text.
func (l *logBook) says(t *testing.T, text string) {
	t.Helper()
	deadline := time.After(time.Minute)
	for !strings.Contains(l.String(), text) {
		select {
		case <-deadline:
			t.Fatalf("the log does not say %q\n%s", text, l)
		case <-time.After(2 * time.Millisecond):
		}
	}
}

// The service takes up a changed file of keys when it is sent SIGHUP, and says what it
// cannot take up.
func TestKeysOnHangUp(t *testing.T) {
	t.Parallel()
	database := freshFile(t)
	keys := filepath.Join(t.TempDir(), "keys.json")
	must(t, "admin", "keys", "new", "--out", keys)
	private(t, keys)
	refuses(t, "already has keys", "admin", "keys", "new", "--out", keys)
	s, given := startOn(t, database, keys), startOn(t, freshFile(t), "", "--signing-keys", readFile(t, keys))
	owner := s.found(t, "Hung Up", "Hedda")
	hangUp := func() {
		t.Helper()
		if err := syscall.Kill(os.Getpid(), syscall.SIGHUP); err != nil {
			t.Fatal(err)
		}
	}
	if out := must(t, "admin", "keys", "rotate", keys); !strings.Contains(out, "Give every replica this file now") {
		t.Errorf("rotating says %q; want what to do next", out)
	}
	private(t, keys)
	hangUp()
	s.log.says(t, "keys taken up")
	given.log.says(t, "start the service again")
	owner.get("/v1/academy").want(200)
	if err := os.WriteFile(keys, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	hangUp()
	s.log.says(t, "was not taken up")
	owner.get("/v1/academy").want(200)
}

// Keys of an earlier release have none that seals: beside the embedded database one is
// added, elsewhere the operator is told how.
func TestKeysThatDoNotSeal(t *testing.T) {
	t.Parallel()
	keys := newKeys(t)
	var set struct{ Keys []map[string]any }
	if err := json.Unmarshal([]byte(readFile(t, keys)), &set); err != nil {
		t.Fatal(err)
	}
	set.Keys = slices.DeleteFunc(set.Keys, func(k map[string]any) bool { return k["kty"] == "oct" })
	old, err := json.Marshal(set)
	if err == nil {
		err = os.WriteFile(keys, old, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	if out := must(t, "admin", "keys", "list", keys); strings.Contains(out, "secrets") {
		t.Fatalf("the keys of the test are\n%s\nwant none that seals", out)
	}
	postgres := engines[1].ready(t)
	refuses(t, "rotate --secrets", "serve", "--listen", "127.0.0.1:0", "--database", postgres, "--signing-keys-file", keys)
	refuses(t, "rotate --secrets", "serve", "--listen", "127.0.0.1:0", "--database", freshFile(t), "--signing-keys", string(old))
	s := startOn(t, freshFile(t), keys)
	s.caller(t).get("/readyz").want(200)
	s.log.says(t, "was added")
	private(t, keys)
	if out := must(t, "admin", "keys", "list", keys); !strings.Contains(out, "seals secrets at rest\n") {
		t.Errorf("the keys are\n%s\nwant one that seals at once", out)
	}
	if err := os.WriteFile(keys, old, 0o600); err != nil {
		t.Fatal(err)
	}
	must(t, "admin", "keys", "rotate", "--secrets", keys)
	startOn(t, postgres, keys).caller(t).get("/readyz").want(200)
}
