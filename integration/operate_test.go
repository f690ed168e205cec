package integration_test

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// A mistyped path makes no database, whatever the command; see also TestDefaults.
func TestMistypedPathsMakeNoDatabase(t *testing.T) {
	t.Parallel()
	nowhere := filepath.Join(t.TempDir(), "academi.db")
	for _, command := range [][]string{
		{"rebuild"}, {"rebuild", "--repair"}, {"admin", "academies"}, {"admin", "password", "hanna@example.org"}, {"backup", nowhere + ".copy"},
	} {
		refuses(t, "there is no database", append(command, "--database", "sqlite:"+nowhere)...)
	}
	for _, path := range []string{nowhere, nowhere + ".copy", nowhere + ".lock"} {
		if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: %v; want no such file", path, err)
		}
	}
}

// What a flag, a variable or the file gives is checked, and refused with the remedy, in
// words that are not the programming language's.
func TestValuesAreChecked(t *testing.T) {
	database := "sqlite:" + filepath.Join(t.TempDir(), "academy.db")
	serve := func(flags ...string) []string { return append([]string{"serve", "--database", database}, flags...) }
	for _, c := range []struct {
		says  string
		flags []string
	}{
		{"with its unit, such as 15s", []string{"--grace", "15"}},
		{"from 0s to 24h", []string{"--drain", "25h"}},
		{"from 0s to 24h", []string{"--drain=-1s"}},
		{"whole number from 0 to 10", []string{"--trusted-proxies", "one"}},
		{"whole number from 0 to 10", []string{"--trusted-proxies", "11"}},
		{"such as https://practice.example.org", []string{"--public-url", "practice.example.org"}},
		{"without a path", []string{"--public-url", "https://example.org/practice"}},
		{"such as https://practice.example.org", []string{"--origins", "https://a.example,b.example"}},
		{"name each web site", []string{"--origins", "*"}},
		{"has no port", []string{"--listen", "localhost"}},
		{"at least 30", []string{"--keep-events", "7"}},
		{"needs a value after it", []string{"--grace"}},
	} {
		refuses(t, c.says, serve(c.flags...)...)
	}
	refuses(t, "is not a whole number", "demo", "--students", "many")
	file := filepath.Join(t.TempDir(), "config.json")
	for text, says := range map[string]string{
		`{"grace": 15}`: "with its unit", `{"trusted_proxies": 1.5}`: "whole number", `{"origins": 5}`: "a list of texts", `[1]`: "JSON array", `{x`: "not JSON from byte 2",
	} {
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		refuses(t, says, append([]string{"--config", file}, serve()...)...)
		if _, _, told := run(t, "", append([]string{"--config", file}, serve()...)...); strings.Contains(told, "unmarshal") || strings.Contains(told, "interface") || strings.Contains(told, "strconv") {
			t.Errorf("%s: told %q, in the words of the programming language", text, told)
		}
	}
	t.Setenv("FRINGEWORK_GRACE", "15")
	refuses(t, "with its unit", serve()...)
}

// Without keys nothing is done to the database.
func TestKeysAreNeededBeforeMigrating(t *testing.T) {
	t.Parallel()
	database := engines[1].fresh(t)
	refuses(t, "fringework admin keys new", "serve", "--listen", "127.0.0.1:0", "--database", database)
	if out := must(t, "migrate", "--status", "--database", database); !strings.Contains(out, "schema version 0 of") {
		t.Errorf("a service without keys left %q; want no schema", out)
	}
	damaged := filepath.Join(t.TempDir(), "academy.keys.json")
	embedded := filepath.Join(filepath.Dir(damaged), "academy.db")
	if err := os.WriteFile(damaged, []byte("{}"), 0o600); err != nil {
		t.Fatal(err)
	}
	refuses(t, "signing keys", "serve", "--listen", "127.0.0.1:0", "--database", "sqlite:"+embedded)
	if _, err := os.Stat(embedded); err == nil {
		t.Error("a service with damaged keys made a database")
	}
}

// Three replicas that start at once on an empty PostgreSQL all serve.
func TestThreeReplicasStartOnAFreshPostgreSQL(t *testing.T) {
	t.Parallel()
	database, keys := engines[1].fresh(t), newKeys(t)
	replicas := make([]*service, 3)
	var starting sync.WaitGroup
	for i := range replicas {
		starting.Go(func() { replicas[i] = startOn(t, database, keys) })
	}
	starting.Wait()
	owner := replicas[0].found(t, "Threefold", "Tessa")
	for _, r := range replicas {
		owner.service = r
		owner.get("/v1/academy").want(200)
	}
}

// The commands for backups work on a service that runs.
func TestBackupCommands(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	database, backup := "sqlite:"+filepath.Join(dir, "academy.db"), filepath.Join(dir, "backup.db")
	keys := newKeys(t)
	s := startOn(t, database, keys)
	kay := s.found(t, "Kept Academy", "Kay")
	if out := must(t, "backup", backup, "--database", database); !strings.Contains(out, "verified it: academies 1, members 1") {
		t.Errorf("backup says %q", out)
	}
	restored := "sqlite:" + filepath.Join(dir, "restored.db")
	if out := must(t, "restore", backup, "--database", restored); !strings.Contains(out, "verified it: academies 1, members 1") {
		t.Errorf("restore says %q", out)
	}
	refuses(t, "in use", "restore", backup, "--database", database)
	refuses(t, "pg_dump", "backup", backup+"2", "--database", "postgres://db/academy")
	again := startOn(t, restored, keys)
	again.caller(t).post("/v1/sign-in", object{"email": kay.email, "password": password}).want(200)
	if out := must(t, "rebuild", "--database", "sqlite:"+backup); !strings.Contains(out, "0 differences") {
		t.Errorf("a rebuild of the backup says %q", out)
	}
}

// Lengths of time in the log say their unit, and the first line where a browser finds the
// service.
func TestLogIsReadable(t *testing.T) {
	t.Parallel()
	s := startOn(t, "sqlite:"+filepath.Join(t.TempDir(), "a.db"), newKeys(t))
	s.found(t, "Logged", "Lola")
	told := map[string]map[string]any{}
	for line := range strings.Lines(s.log.String()) {
		var entry map[string]any
		if json.Unmarshal([]byte(line), &entry) == nil {
			told[entry["msg"].(string)] = entry
		}
	}
	if took, ok := told["request"]["took_ms"].(float64); !ok || took < 0 || told["request"]["took"] != nil {
		t.Errorf("a request is told as %v; want milliseconds", told["request"])
	}
	if url, ok := told["serving"]["url"].(string); !ok || !strings.HasPrefix(url, "http://localhost:") {
		t.Errorf("serving is told as %v; want the address for a browser", told["serving"])
	}
}
