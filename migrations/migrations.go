// Package migrations holds the schema of the database, step by step, for each
// engine, and applies it. Steps have the same numbers on both engines and end
// in the same schema. In production they only go forward.
package migrations

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

// Engine is a database that the service runs on.
type Engine string

// The engines.
const (
	SQLite   Engine = "sqlite"
	Postgres Engine = "postgres"
)

// ErrNewer says that the schema was made by a later release, which this one
// would not understand.
var ErrNewer = errors.New("migrations: the database was made by a later release; start that one, or restore a backup from before it")

//go:embed sqlite/*.sql postgres/*.sql
var files embed.FS

// provider is goose for one database. PostgreSQL's steps run under a lock, so
// that of several starting replicas one applies them; the file lock beside an
// SQLite database does the same.
func provider(engine Engine, db *sql.DB) (*goose.Provider, error) {
	steps, err := fs.Sub(files, string(engine))
	if err != nil {
		return nil, err
	}
	switch engine {
	case SQLite:
		return goose.NewProvider(goose.DialectSQLite3, db, steps, goose.WithLogger(goose.NopLogger()))
	case Postgres:
		locker, err := lock.NewPostgresSessionLocker()
		if err != nil {
			return nil, err
		}
		return goose.NewProvider(goose.DialectPostgres, db, steps, goose.WithSessionLocker(locker), goose.WithLogger(goose.NopLogger()))
	}
	return nil, fmt.Errorf("migrations: no engine %q", engine)
}

// Up applies the missing steps and names them. It gives ErrNewer, and changes
// nothing, when the database is ahead.
func Up(ctx context.Context, engine Engine, db *sql.DB) (applied []string, err error) {
	p, err := provider(engine, db)
	if err != nil {
		return nil, err
	}
	have, want, err := Versions(ctx, engine, db)
	if err != nil {
		return nil, err
	}
	if have > want {
		return nil, fmt.Errorf("%w (it is at step %d, this release knows %d)", ErrNewer, have, want)
	}
	results, err := p.Up(ctx)
	for _, r := range results {
		applied = append(applied, r.Source.Path)
	}
	if err != nil {
		return applied, fmt.Errorf("migrations: %w", err)
	}
	return applied, nil
}

// Versions tells which step a database is at, 0 before the first, and which is
// the latest of this release. It changes nothing.
func Versions(ctx context.Context, engine Engine, db *sql.DB) (have, want int64, err error) {
	there := "SELECT COUNT(*) FROM sqlite_master WHERE type = 'table' AND name = 'goose_db_version'"
	if engine == Postgres {
		there = "SELECT COUNT(to_regclass('goose_db_version'))"
	}
	var tables int
	if err := db.QueryRowContext(ctx, there).Scan(&tables); err != nil {
		return 0, 0, fmt.Errorf("migrations: %w", err)
	}
	if tables > 0 {
		if err := db.QueryRowContext(ctx, "SELECT COALESCE(MAX(version_id), 0) FROM goose_db_version").Scan(&have); err != nil {
			return 0, 0, fmt.Errorf("migrations: %w", err)
		}
	}
	return have, Latest(engine), nil
}

// Latest is the number of this release's last step.
func Latest(engine Engine) int64 {
	entries, _ := files.ReadDir(string(engine))
	if len(entries) == 0 {
		return 0
	}
	last := entries[len(entries)-1].Name() // ReadDir sorts by name
	n, _ := goose.NumericComponent(last)
	return n
}
