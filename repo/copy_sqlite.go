package repo

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"fringework/migrations"
)

// resolved is the one name of a database file, whatever links lead to it: beside that
// name are its lock and its write-ahead log. A file with a second name of its own is
// refused, since a service under that name would take another lock and another log.
func resolved(path string) (string, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return absent(path)
	}
	if err != nil {
		return "", err
	}
	if names(info) > 1 {
		return "", fmt.Errorf("%s has a second name (a hard link), under which another service could open it at the same time; remove one of the two names, or make a copy with fringework backup", path)
	}
	return filepath.EvalSymlinks(path)
}

// absent is where a file that does not exist would be made.
func absent(path string) (string, error) {
	if target, err := os.Readlink(path); err == nil {
		if !filepath.IsAbs(target) {
			target = filepath.Join(filepath.Dir(path), target)
		}
		return absent(target)
	}
	dir, err := filepath.EvalSymlinks(filepath.Dir(path))
	return filepath.Join(dir, filepath.Base(path)), err
}

// inUse is the user_version of a database file while a process has it. A copy of the
// file alone keeps it, and tells by it that it lacks what was in the write-ahead log.
const inUse = 1

// alone says what a database file is by itself.
type alone struct {
	// logless says that it has something in it, and no write-ahead log beside it.
	logless bool
	// inUse says that it was in use when it was last written.
	inUse bool
}

// copied reports whether somebody copied the file while it was in use, or deleted its
// log.
func (a alone) copied() bool { return a.logless && a.inUse }

func aloneOf(path string) (a alone, err error) {
	info, err := os.Stat(path)
	if err != nil || info.Size() == 0 {
		return a, err
	}
	if _, err := os.Stat(path + "-wal"); err == nil {
		return a, nil
	} else if !errors.Is(err, fs.ErrNotExist) {
		return a, err
	}
	version, err := userVersion(path)
	return alone{logless: true, inUse: version == inUse}, err
}

// userVersion reads the user version out of a database file: four bytes, the highest
// first, at byte 60 (SQLite's file format, section 1.3).
func userVersion(path string) (uint32, error) {
	f, err := os.Open(path)
	if err != nil {
		return 0, err
	}
	defer func() { _ = f.Close() }() // only read
	var b [4]byte
	if _, err := f.ReadAt(b[:], 60); err != nil {
		return 0, fmt.Errorf("%s is no SQLite database; name another file: %w", path, err)
	}
	return uint32(b[0])<<24 | uint32(b[1])<<16 | uint32(b[2])<<8 | uint32(b[3]), nil
}

// mark notes in the file itself that it is in use, until Close. A file that was copied
// while it was in use opens with a warning; one that has nothing in it is refused: all
// it had was in the log that was left behind.
func (db *DB) mark(ctx context.Context, path string, file alone) error {
	if file.logless {
		if have, _, err := migrations.Versions(ctx, db.engine, db.SQL()); err != nil || have == 0 {
			return cmp.Or(err, errEmptied(path))
		}
	}
	if file.copied() {
		db.log.log.Warn("the database file was copied while a service had it open, or its -wal file was deleted: the latest changes may be missing. Copy it with fringework backup instead", "file", path)
	}
	db.closers = append([]func() error{func() error { return db.setMark(0) }}, db.closers...)
	return db.setMark(inUse)
}

func errEmptied(path string) error {
	return fmt.Errorf("repo: %s has no tables: it was copied while a service had it open, without its -wal file, or it is another program's; copy a database with fringework backup, or delete this file to begin with an empty one", path)
}

// setMark sets the mark in the file itself, not only in the log.
func (db *DB) setMark(version int) error {
	for _, statement := range []string{fmt.Sprintf("PRAGMA user_version = %d", version), "PRAGMA wal_checkpoint(TRUNCATE)"} {
		if err := db.writer.Exec(statement).Error; err != nil {
			return fmt.Errorf("repo: %w", err)
		}
	}
	return nil
}
