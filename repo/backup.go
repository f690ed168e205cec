package repo

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strings"

	"fringework/migrations"
)

// Contents is what a database file holds, as Backup and Restore verified it.
type Contents struct {
	// Schema is the step that it is at.
	Schema int64
	// Rows are counted by table.
	Rows map[string]int64
}

// ErrNotEmbedded says that a database is not the service's to copy.
var ErrNotEmbedded = errors.New("only the embedded database is copied by this command; PostgreSQL has better tools of its own: " +
	"pg_dump --format=custom --file=academy.dump DATABASE backs it up while the service runs, pg_restore --create restores it, and its manual's chapter on continuous archiving tells how to lose nothing")

// copyPragmas leave a file as it is but for what copying needs.
const copyPragmas = "?_pragma=busy_timeout(5000)"

// Backup copies an embedded database, also while a service has it open, to a new file
// beside nothing else of its own, and verifies the copy: that it is intact, that its
// rows point at each other, and that it has all that was in the log when copying began.
// The file appears under its name only then; one that exists is not replaced.
func Backup(ctx context.Context, url, to string) (Contents, error) {
	from, err := embeddedFile(url)
	if err != nil {
		return Contents{}, err
	}
	if _, err := os.Stat(from); err != nil {
		return Contents{}, fmt.Errorf("there is no database %s; name it with --database: %w", from, err)
	}
	source, err := copying(from)
	if err != nil {
		return Contents{}, err
	}
	defer func() { _ = source.Close() }() // only read
	before, err := contentsOf(ctx, source)
	if err != nil {
		return Contents{}, err
	}
	return copyTo(ctx, source, to, func(c Contents) error {
		if c.Schema < before.Schema || c.Rows["events"] < before.Rows["events"] {
			return fmt.Errorf("the copy has %d events, and the database had %d before; try again", c.Rows["events"], before.Rows["events"])
		}
		return nil
	})
}

// Restore makes an embedded database of a backup, and verifies it as Backup does. It
// refuses to replace a database, and a backup that a later release made.
func Restore(ctx context.Context, from, url string) (Contents, error) {
	to, err := embeddedFile(url)
	if err != nil {
		return Contents{}, err
	}
	if was, err := aloneOf(from); err != nil || was.copied() {
		return Contents{}, cmp.Or(err, fmt.Errorf("%s is no backup: it was copied while a service had it open, without its -wal file, and may lack the latest changes; use one that fringework backup made", from))
	}
	unlock, err := lockSoon(to + ".lock")
	if err != nil {
		return Contents{}, fmt.Errorf("%s: %w", to, err)
	}
	defer func() { _ = unlock() }()
	source, err := copying(from)
	if err != nil {
		return Contents{}, err
	}
	defer func() { _ = source.Close() }() // only read
	want, err := contentsOf(ctx, source)
	if err != nil {
		return Contents{}, err
	}
	switch latest := migrations.Latest(migrations.SQLite); {
	case want.Schema == 0:
		return Contents{}, errEmptied(from)
	case want.Schema > latest:
		return Contents{}, fmt.Errorf("%w (the backup is at step %d, this release knows %d)", migrations.ErrNewer, want.Schema, latest)
	}
	return copyTo(ctx, source, to, func(c Contents) error {
		if !maps.Equal(c.Rows, want.Rows) {
			return errors.New("what was restored has not as many rows as the backup; is it being written to?")
		}
		return nil
	})
}

// embeddedFile is the file of an embedded database.
func embeddedFile(url string) (string, error) {
	path, ok := strings.CutPrefix(url, "sqlite:")
	if !ok {
		return "", ErrNotEmbedded
	}
	if path == "" {
		return "", errors.New("sqlite: needs the path of a file")
	}
	return resolved(path)
}

// copying opens a file to copy it; one connection, so that it is one database.
func copying(path string) (*sql.DB, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("there is no file %s: %w", path, err)
	}
	connector, err := newPreparing(fileURL(path)+copyPragmas, nil)
	if err != nil {
		return nil, err
	}
	pool := sql.OpenDB(connector)
	pool.SetMaxOpenConns(1)
	return pool, nil
}

// copyTo writes a database to a new file, verifies it, and gives it its name.
func copyTo(ctx context.Context, source *sql.DB, to string, check func(Contents) error) (c Contents, err error) {
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return c, cmp.Or(err, fmt.Errorf("%s exists; name a new file, or move that one away", to))
	}
	f, err := os.CreateTemp(filepath.Dir(to), ".fringework-*") // its owner's alone
	if err != nil {
		return c, err
	}
	temporary := f.Name()
	defer func() { _ = os.Remove(temporary) }() // gone already when all is well
	if err := f.Close(); err != nil {
		return c, err
	}
	if _, err := source.ExecContext(ctx, "VACUUM INTO ?", temporary); err != nil {
		return c, fmt.Errorf("copy to %s: %w", to, err)
	}
	if c, err = verified(ctx, temporary); err == nil {
		err = check(c)
	}
	if err == nil {
		err = flush(temporary)
	}
	if err == nil {
		err = os.Link(temporary, to) // unlike a rename it replaces nothing
	}
	if err == nil {
		err = flush(filepath.Dir(to))
	}
	return c, err
}

// flush waits until a file, or the names in a folder, are on the disk.
func flush(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// verified holds a copy to being intact, and takes away the mark that it is in use.
func verified(ctx context.Context, path string) (c Contents, err error) {
	pool, err := copying(path)
	if err != nil {
		return c, err
	}
	defer func() { err = cmp.Or(err, pool.Close()) }()
	var said string
	if err := pool.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&said); err != nil || said != "ok" {
		return c, cmp.Or(err, fmt.Errorf("the database is damaged (%s); restore an earlier backup", said))
	}
	var astray int
	if err := pool.QueryRowContext(ctx, "SELECT COUNT(*) FROM pragma_foreign_key_check").Scan(&astray); err != nil || astray > 0 {
		return c, cmp.Or(err, fmt.Errorf("%d rows point at what is not there; restore an earlier backup", astray))
	}
	if _, err := pool.ExecContext(ctx, "PRAGMA user_version = 0"); err != nil {
		return c, err
	}
	return contentsOf(ctx, pool)
}

// contentsOf counts what a file holds.
func contentsOf(ctx context.Context, pool *sql.DB) (c Contents, err error) {
	if c.Schema, _, err = migrations.Versions(ctx, migrations.SQLite, pool); err != nil {
		return c, err
	}
	names, err := tables(ctx, pool)
	c.Rows = map[string]int64{}
	for _, name := range names {
		var n int64
		if err == nil {
			err = pool.QueryRowContext(ctx, `SELECT COUNT(*) FROM "`+name+`"`).Scan(&n)
		}
		c.Rows[name] = n
	}
	return c, err
}

func tables(ctx context.Context, pool *sql.DB) (names []string, err error) {
	rows, err := pool.QueryContext(ctx, "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name")
	if err != nil {
		return nil, err
	}
	defer func() { err = cmp.Or(err, rows.Close()) }()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		names = append(names, name)
	}
	return names, rows.Err()
}
