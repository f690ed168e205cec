package repo

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/libtnb/sqlite"
	"gorm.io/gorm"

	"fringework/migrations"
)

// One connection writes, so that writers queue fairly instead of backing off;
// a write-ahead log lets the others read meanwhile. With FULL a commit is on
// the disk before it is acknowledged.
const (
	writePragmas = "?_pragma=busy_timeout(5000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)&_txlock=immediate"
	readPragmas  = "?_pragma=busy_timeout(5000)&_pragma=foreign_keys(1)&_pragma=query_only(1)"
)

const readers = 4

// lockWait is how long another process may take to let go of the database: one
// that was killed, or one that is stopping as this one starts.
const lockWait = 2 * time.Second

// lockSoon takes the lock, and waits a little for it.
func lockSoon(path string) (unlock func() error, err error) {
	for deadline := time.Now().Add(lockWait); ; time.Sleep(20 * time.Millisecond) {
		unlock, err = lockFile(path)
		if !errors.Is(err, errInUse) || time.Now().After(deadline) {
			return unlock, err
		}
	}
}

func (db *DB) openSQLite(ctx context.Context, path string, c Config) error {
	if path == "" || path == ":memory:" {
		return fmt.Errorf("repo: sqlite: needs the path of a file")
	}
	path, err := resolved(path)
	if err != nil {
		return fmt.Errorf("repo: %w", err)
	}
	unlock, err := lockSoon(path + ".lock")
	if err != nil {
		return fmt.Errorf("repo: %s: %w", path, err)
	}
	db.engine = migrations.SQLite
	db.closers = append(db.closers, unlock)
	// Made here, so that only the owner may read it.
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return fmt.Errorf("repo: %w", err)
	}
	if err := file.Close(); err != nil {
		return err
	}
	pragmas := writePragmas
	if c.Relaxed {
		pragmas = strings.Replace(pragmas, "synchronous(FULL)", "synchronous(OFF)", 1)
	}
	was, err := aloneOf(path)
	if err != nil {
		return fmt.Errorf("repo: %w", err)
	}
	if db.writer, err = db.sqlitePool(path, pragmas, 1); err != nil {
		return err
	}
	if err := db.mark(ctx, path, was); err != nil {
		return err
	}
	n := c.Connections
	if n < 1 {
		n = readers
	}
	if db.reader, err = db.sqlitePool(path, readPragmas, n); err != nil {
		return err
	}
	db.tellLive()
	return nil
}

// fileURL names a file as SQLite wants it, whatever characters it has.
func fileURL(path string) string {
	name := url.URL{Scheme: "file", Opaque: (&url.URL{Path: filepath.ToSlash(path)}).EscapedPath()}
	return name.String()
}

// sqlitePool opens a pool of at most n connections. Pools close before those
// opened earlier, and the lock is let go last.
func (db *DB) sqlitePool(path, pragmas string, n int) (*gorm.DB, error) {
	connector, err := newPreparing(fileURL(path)+pragmas, db.observer)
	if err != nil {
		return nil, fmt.Errorf("repo: %w", err)
	}
	pool := sql.OpenDB(connector)
	pool.SetMaxOpenConns(n)
	pool.SetMaxIdleConns(n)
	db.closers = append([]func() error{pool.Close}, db.closers...)
	g, err := gorm.Open(sqlite.New(sqlite.Config{Conn: pool}), db.gormConfig())
	if err != nil {
		return nil, fmt.Errorf("repo: %s: %w", path, err)
	}
	return g, refuseTexts(g)
}
