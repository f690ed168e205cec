package repo

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"gorm.io/gorm"

	"fringework/migrations"
)

// Config says which database to open and how. Values left zero take the default
// named beside them.
type Config struct {
	// URL is "sqlite:PATH" for a file of the service's own, or
	// "postgres://user@host/database" (any form that pgx reads).
	URL string
	// Connections bounds the pool: reading connections of SQLite (4; writing
	// has one), all of PostgreSQL (16).
	Connections int
	// Timeout ends a transaction that was given no deadline: 30 seconds.
	Timeout time.Duration
	// Slow is how long a statement may take before it is logged: 500 ms.
	Slow time.Duration
	// Log gets slow statements, without their values: slog.Default().
	Log *slog.Logger
	// Relaxed says that commits are not waited for to reach the disk: for tests
	// and load alone.
	Relaxed bool
	// Observer is told what the database does; nil is not.
	Observer Observer
}

func (c Config) withDefaults() Config {
	if c.Timeout == 0 {
		c.Timeout = 30 * time.Second
	}
	if c.Slow == 0 {
		c.Slow = 500 * time.Millisecond
	}
	if c.Log == nil {
		c.Log = slog.Default()
	}
	return c
}

// DB is an open database. Its methods may be called by many goroutines.
type DB struct {
	// writer and reader are the same pool on PostgreSQL.
	writer, reader *gorm.DB
	readPool       *sql.DB // the reader's
	engine         migrations.Engine
	timeout        time.Duration
	log            *watcher
	observer       Observer
	versions       versionCache
	full           fullness
	under          underWay
	live           live
	vault          Vault
	// config is PostgreSQL's, for a connection of its own.
	config *pgx.ConnConfig
	// closers are run in order by Close.
	closers []func() error
}

// Open opens a database and brings its schema up to date, or refuses one that a
// later release made. An SQLite file is this process's alone until Close:
// another process that opens it is refused.
func Open(ctx context.Context, c Config) (*DB, error) {
	c = c.withDefaults()
	db := &DB{timeout: c.Timeout, log: &watcher{slow: c.Slow, log: c.Log}, observer: c.Observer, vault: noVault{}}
	if err := db.open(ctx, c); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

func (db *DB) open(ctx context.Context, c Config) error {
	if err := db.connect(ctx, c); err != nil {
		return err
	}
	pool, err := db.reader.DB()
	if err != nil {
		return err
	}
	db.readPool = pool
	_, err = migrations.Up(ctx, db.engine, db.SQL())
	return err
}

func (db *DB) connect(ctx context.Context, c Config) error {
	scheme, path, _ := strings.Cut(c.URL, ":")
	switch scheme {
	case "sqlite":
		return db.openSQLite(ctx, path, c)
	case "postgres", "postgresql":
		return db.openPostgres(ctx, c)
	}
	return CheckURL(c.URL)
}

// CheckURL refuses what names no kind of database that there is.
func CheckURL(url string) error {
	switch scheme, _, _ := strings.Cut(url, ":"); scheme {
	case "sqlite", "postgres", "postgresql":
		return nil
	}
	return fmt.Errorf("repo: %q names no database; use sqlite:PATH or postgres://user@host/database", redact(url))
}

// redact keeps a password out of a message.
func redact(url string) string {
	if at := strings.LastIndex(url, "@"); at >= 0 {
		return "…" + url[at:]
	}
	return url
}

// gormConfig is common to both engines. Transactions are ours, so that one use
// case is one of them.
func (db *DB) gormConfig() *gorm.Config {
	return &gorm.Config{
		Logger:                 db.log,
		TranslateError:         true,
		SkipDefaultTransaction: true,
		DisableAutomaticPing:   true,
	}
}

// Engine tells which engine it is.
func (db *DB) Engine() migrations.Engine { return db.engine }

// SQL gives the writing pool, for migrations and for work queued in the same
// database.
func (db *DB) SQL() *sql.DB {
	pool, err := db.writer.DB()
	if err != nil {
		panic(err) // both engines are opened on an *sql.DB
	}
	return pool
}

// Ready reports whether the database answers, and had room for what was last stored.
func (db *DB) Ready(ctx context.Context) error {
	if err := db.reader.WithContext(ctx).Exec("SELECT 1").Error; err != nil {
		return err
	}
	return db.full.err()
}

// Schema tells which step the database's schema is at and which one this
// release wants.
func (db *DB) Schema(ctx context.Context) (have, want int64, err error) {
	return migrations.Versions(ctx, db.engine, db.SQL())
}

// Schema tells the same of a database that is not open, and changes nothing,
// also while another process has it. A file that does not exist is at step 0.
func Schema(ctx context.Context, url string) (have, want int64, err error) {
	c := Config{URL: url}.withDefaults()
	db := &DB{timeout: c.Timeout, log: &watcher{slow: c.Slow, log: c.Log}}
	if path, ok := strings.CutPrefix(url, "sqlite:"); ok {
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			return 0, migrations.Latest(migrations.SQLite), nil
		}
		db.engine = migrations.SQLite
		db.writer, err = db.sqlitePool(path, readPragmas, 1)
	} else {
		err = db.connect(ctx, c)
	}
	if err == nil {
		have, want, err = db.Schema(ctx)
	}
	return have, want, errors.Join(err, db.Close())
}

// Close closes the pools and lets go of the file. It may be called twice.
func (db *DB) Close() error {
	var errs []error
	for _, closer := range db.closers {
		errs = append(errs, closer())
	}
	db.closers = nil
	return errors.Join(errs...)
}
