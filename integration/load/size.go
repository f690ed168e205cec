//go:build linux

package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

func (s *service) path() string { return strings.TrimPrefix(s.database, "sqlite:") }

// measureWritten counts the bytes that an upload writes to disk, and those of
// them that go into the write-ahead log.
func measureWritten(ctx context.Context, b *bench, engine string) (table, error) {
	t := table{title: "Bytes that an upload writes, " + engine, theirs: "barest"}
	a, ours, theirs, err := b.founded(ctx, engine, uploaders)
	if err != nil {
		return t, err
	}
	const logged, written = 120, 600
	var log, disk [2]float64
	for i, s := range []*side{uploads(a, ours), barestUploads(a, theirs)} {
		grown, err := logGrowth(ctx, s.at.path(), func() error { return s.round(ctx, 1, 0, logged) })
		if err != nil {
			return t, err
		}
		log[i] = float64(grown) / logged
		before, err := s.at.ask("written")
		if err == nil {
			err = s.round(ctx, 1, 0, written)
		}
		if err != nil {
			return t, err
		}
		after, err := s.at.ask("written")
		if err != nil {
			return t, err
		}
		disk[i] = float64(after-before) / written
	}
	t.rows = []row{
		{"to disk", bytesText(disk[0]), bytesText(disk[1]), disk[0] / disk[1], atMost(2.5)},
		{"  of it the write-ahead log", bytesText(log[0]), bytesText(log[1]), log[0] / log[1], nil},
	}
	t.notes = []string{
		fmt.Sprintf("To disk: what the kernel counts for the process over %d uploads by one client, checkpoints included.", written),
		fmt.Sprintf("The log: the growth of the -wal file over %d uploads, no checkpoint letting it start over.", logged),
	}
	return t, nil
}

// logGrowth is by how much work makes the write-ahead log grow. A reader that
// looks on keeps the log from being started over.
func logGrowth(ctx context.Context, path string, work func() error) (int64, error) {
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=busy_timeout(5000)")
	if err != nil {
		return 0, err
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
		return 0, err
	}
	reader, err := db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return 0, err
	}
	defer reader.Rollback() //nolint:errcheck // it has only looked on
	var tables int
	if err := reader.QueryRowContext(ctx, "SELECT COUNT(*) FROM sqlite_master").Scan(&tables); err != nil {
		return 0, err
	}
	before, err := os.Stat(path + "-wal")
	if err != nil {
		return 0, err
	}
	if err := work(); err != nil {
		return 0, err
	}
	after, err := os.Stat(path + "-wal")
	if err != nil {
		return 0, err
	}
	return after.Size() - before.Size(), nil
}

// measureSize stores many sessions and looks at how much the database has
// grown, indexes and all.
func measureSize(ctx context.Context, b *bench, engine string) (table, error) {
	t := table{title: "Bytes a ball in the database, indexes included, " + engine, theirs: ""}
	a, ours, _, err := b.founded(ctx, engine, uploaders)
	if err != nil {
		return t, err
	}
	many := max(300, int(200*b.seconds))
	sizes := func() (now, rewritten int64, err error) {
		err = ours.away(ctx, func() error {
			if engine == sqliteEngine {
				now, rewritten, err = sqliteSize(ctx, ours.path(), filepath.Join(b.dir, "rewritten.db"))
			} else {
				now, rewritten, err = postgresSize(ctx, b.cluster.URL(), ours.database)
			}
			return err
		})
		return now, rewritten, err
	}
	before, beforeRewritten, err := sizes()
	if err != nil {
		return t, err
	}
	if err := uploads(a, ours).round(ctx, 4, 0, many); err != nil {
		return t, err
	}
	after, afterRewritten, err := sizes()
	balls := float64(many * len(kinds) * perBlock)
	bound := 40.0
	if engine == postgresEngine {
		bound = 50
	}
	grown, tight := float64(after-before)/balls, float64(afterRewritten-beforeRewritten)/balls
	t.rows = []row{
		{"as it stands", withUnit(grown, "B"), "", grown, atMostOf(bound, "B")},
		{"rewritten without gaps", withUnit(tight, "B"), "", tight, nil},
	}
	t.notes = []string{fmt.Sprintf("Growth over %d sessions of 80 balls. As it stands: pages in use, no vacuum but what the server does by itself. Rewritten: %s.",
		many, map[string]string{sqliteEngine: "VACUUM INTO, before and after", postgresEngine: "VACUUM FULL of a copy, before and after"}[engine])}
	return t, err
}

func sqliteSize(ctx context.Context, path, copied string) (now, rewritten int64, err error) {
	used := func(path string, also ...string) (n int64, err error) {
		db, err := sql.Open("sqlite", "file:"+path)
		if err != nil {
			return 0, err
		}
		defer db.Close()
		db.SetMaxOpenConns(1)
		for _, statement := range also {
			if _, err := db.ExecContext(ctx, statement); err != nil {
				return 0, err
			}
		}
		err = db.QueryRowContext(ctx, "SELECT (c.page_count - f.freelist_count) * s.page_size"+
			" FROM pragma_page_count c, pragma_freelist_count f, pragma_page_size s").Scan(&n)
		return n, err
	}
	if now, err = used(path, "PRAGMA wal_checkpoint(TRUNCATE)", "VACUUM INTO '"+copied+"'"); err != nil {
		return 0, 0, err
	}
	rewritten, err = used(copied)
	return now, rewritten, errors.Join(err, os.Remove(copied))
}

func postgresSize(ctx context.Context, admin, database string) (now, rewritten int64, err error) {
	const copied = "load_copy"
	used := func(database string) (n int64, err error) {
		conn, err := pgx.Connect(ctx, database)
		if err != nil {
			return 0, err
		}
		defer conn.Close(ctx)
		err = conn.QueryRow(ctx, "SELECT SUM(pg_total_relation_size(oid))::bigint FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace").Scan(&n)
		return n, err
	}
	if now, err = used(database); err != nil {
		return 0, 0, err
	}
	if err = copyDatabase(ctx, admin, database, copied); err != nil {
		return 0, 0, err
	}
	copyURL := renamed(admin, copied)
	if err = execute(ctx, copyURL, "VACUUM FULL"); err != nil {
		return 0, 0, err
	}
	if rewritten, err = used(copyURL); err != nil {
		return 0, 0, err
	}
	return now, rewritten, execute(ctx, admin, "DROP DATABASE "+copied+" WITH (FORCE)")
}

// copyDatabase copies a database that nobody has open; a connection that was
// closed a moment ago takes that moment to end.
func copyDatabase(ctx context.Context, admin, from, to string) error {
	config, err := pgx.ParseConfig(from)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	for {
		err := execute(ctx, admin, "CREATE DATABASE "+to+" TEMPLATE "+config.Database)
		if err == nil || !strings.Contains(err.Error(), "being accessed") {
			return err
		}
		select {
		case <-ctx.Done():
			return err
		case <-time.After(50 * time.Millisecond):
		}
	}
}
