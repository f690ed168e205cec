package repo

import (
	"bytes"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fringework/auth"
	"fringework/domain"
)

// wantSays holds an error to what it says.
func wantSays(t *testing.T, what string, err error, says string) {
	t.Helper()
	if err == nil || !strings.Contains(err.Error(), says) {
		t.Errorf("%s: got error %v, want it to say %q", what, err, says)
	}
}

// A link leads to the one lock and the one log of a database, and a second name of the
// file itself is refused.
func TestTwoServicesThroughALink(t *testing.T) {
	dir := t.TempDir()
	path, link, linkedDir := filepath.Join(dir, "academy.db"), filepath.Join(dir, "link.db"), filepath.Join(dir, "linked")
	inside := filepath.Join(dir, "real")
	if err := errors.Join(os.Symlink("academy.db", link), os.Mkdir(inside, 0o700), os.Symlink(inside, linkedDir)); err != nil {
		t.Fatal(err)
	}
	for first, second := range map[string]string{
		link: path, filepath.Join(linkedDir, "a.db"): filepath.Join(inside, "a.db"), filepath.Join(inside, "b.db"): filepath.Join(linkedDir, "b.db"),
	} {
		db, err := Open(t.Context(), Config{URL: "sqlite:" + first, Log: quiet})
		if err != nil {
			t.Fatal(err)
		}
		_, err = Open(t.Context(), Config{URL: "sqlite:" + second, Log: quiet})
		wantSays(t, second+" while "+first+" is open", err, "in use by another process")
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := os.Stat(path); err != nil {
		t.Errorf("the file that the link leads to was not made: %v", err)
	}
	second := filepath.Join(dir, "second.db")
	if err := os.Link(path, second); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{path, second} {
		_, err := Open(t.Context(), Config{URL: "sqlite:" + name, Log: quiet})
		wantSays(t, name+", a file with two names", err, "second name")
	}
}

// duplicate copies one file, as somebody does who knows nothing of the log beside it.
func duplicate(t *testing.T, from string) (to string) {
	t.Helper()
	text, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	to = filepath.Join(t.TempDir(), "copy.db")
	if err := os.WriteFile(to, text, 0o600); err != nil {
		t.Fatal(err)
	}
	return to
}

// The file of a running database, copied without its log, never passes for an empty
// database, nor for a whole one.
func TestCopyOfARunningDatabase(t *testing.T) {
	path := filepath.Join(t.TempDir(), "academy.db")
	url := "sqlite:" + path
	db := openAt(t, url)
	newFixture(t, db)
	young := duplicate(t, path)
	_, err := Open(t.Context(), Config{URL: "sqlite:" + young, Log: quiet})
	wantSays(t, "a copy of what was never closed", err, "fringework backup")
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	if was, err := aloneOf(duplicate(t, path)); err != nil || was.copied() {
		t.Errorf("a copy of a closed database: %+v, %v", was, err)
	}

	again, err := Open(t.Context(), Config{URL: url, Log: quiet})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = again.Close() }()
	newFixture(t, again)
	old := duplicate(t, path)
	if was, err := aloneOf(old); err != nil || !was.copied() {
		t.Errorf("a copy of a running database: %+v, %v; want it known", was, err)
	}
	_, err = Restore(t.Context(), old, "sqlite:"+filepath.Join(t.TempDir(), "new.db"))
	wantSays(t, "restoring it", err, "is no backup")
	var log bytes.Buffer
	copied, err := Open(t.Context(), Config{URL: "sqlite:" + old, Log: slog.New(slog.NewTextHandler(&log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	if err := copied.Close(); err != nil || !strings.Contains(log.String(), "latest changes may be missing") {
		t.Errorf("opening it says %q, %v; want a warning", log.String(), err)
	}
}

// What was acknowledged before a backup began is in it, while others write, and a
// restored backup is the same database.
func TestBackupWhileServingAndRestore(t *testing.T) {
	dir := t.TempDir()
	url := "sqlite:" + filepath.Join(dir, "academy.db")
	db := openAt(t, url)
	w := newFixture(t, db)
	kept := w.member(domain.Coach)
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for {
			select {
			case <-stop:
				return
			default:
				w.member(domain.Student)
			}
		}
	}()
	backup := filepath.Join(dir, "backup.db")
	c, err := Backup(w.ctx, url, backup)
	close(stop)
	<-done
	if err != nil || c.Rows["academies"] != 1 || c.Rows["members"] < 4 || c.Schema == 0 {
		t.Fatalf("backed up %+v, %v", c, err)
	}
	if info, err := os.Stat(backup); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the backup: %v, %v; want it to be its owner's alone", info, err)
	}
	_, err = Backup(w.ctx, url, backup)
	wantSays(t, "over a backup", err, "exists")
	_, err = Restore(w.ctx, backup, url)
	wantSays(t, "over the database that is served", err, "in use")

	restored := "sqlite:" + filepath.Join(dir, "restored.db")
	got, err := Restore(w.ctx, backup, restored)
	if err != nil || got.Rows["members"] != c.Rows["members"] {
		t.Fatalf("restored %+v, %v; want what was backed up", got, err)
	}
	_, err = Restore(w.ctx, backup, restored)
	wantSays(t, "twice", err, "exists")
	other, err := Open(w.ctx, Config{URL: restored, Log: quiet})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = other.Close() }()
	err = other.Auth().Read(w.ctx, func(tx auth.Tx) error { _, err := tx.Member(w.ctx, w.academy, kept); return err })
	if err != nil {
		t.Errorf("what was stored before the backup: %v", err)
	}
	left, err := filepath.Glob(filepath.Join(dir, ".fringework-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestBackupRefusals(t *testing.T) {
	dir := t.TempDir()
	damaged := filepath.Join(dir, "damaged.db")
	path := filepath.Join(dir, "academy.db")
	db := openAt(t, "sqlite:"+path)
	newFixture(t, db)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i := len(text) / 3; i < len(text)/2; i++ {
		text[i] = 0xa5
	}
	later, empty := filepath.Join(dir, "later.db"), filepath.Join(dir, "empty.db")
	if err := errors.Join(os.WriteFile(damaged, text, 0o600), os.WriteFile(empty, nil, 0o600)); err != nil {
		t.Fatal(err)
	}
	if _, err := Backup(t.Context(), "sqlite:"+path, later); err != nil {
		t.Fatal(err)
	}
	pool, err := copying(later)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := pool.ExecContext(t.Context(), "INSERT INTO goose_db_version (version_id, is_applied) VALUES (99999, 1)"); err != nil {
		t.Fatal(err)
	}
	if err := pool.Close(); err != nil {
		t.Fatal(err)
	}
	fresh := filepath.Join(dir, "fresh.db")
	for _, c := range []struct {
		what, says string
		do         func() error
	}{
		{"PostgreSQL", "pg_dump", func() error { _, err := Backup(t.Context(), "postgres://db/academy", fresh); return err }},
		{"restoring PostgreSQL", "pg_restore", func() error { _, err := Restore(t.Context(), path, "postgres://db/academy"); return err }},
		{"no database", "there is no database", func() error {
			_, err := Backup(t.Context(), "sqlite:"+filepath.Join(dir, "absent.db"), fresh)
			return err
		}},
		{"no path", "path of a file", func() error { _, err := Backup(t.Context(), "sqlite:", fresh); return err }},
		{"no backup", "no such file", func() error {
			_, err := Restore(t.Context(), filepath.Join(dir, "absent.db"), "sqlite:"+fresh)
			return err
		}},
		{"an empty file", "has no tables", func() error { _, err := Restore(t.Context(), empty, "sqlite:"+fresh); return err }},
		{"a later release's", "later release", func() error { _, err := Restore(t.Context(), later, "sqlite:"+fresh); return err }},
		{"a damaged one", "", func() error { _, err := Restore(t.Context(), damaged, "sqlite:"+fresh); return err }},
	} {
		wantSays(t, c.what, c.do(), c.says)
		if _, err := os.Stat(fresh); err == nil {
			t.Fatalf("%s: made a file all the same", c.what)
		}
	}
}
