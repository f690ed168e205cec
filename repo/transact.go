package repo

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/migrations"
)

// For gives the domain's transactions on this database for a store interface
// that *Academy implements. Any other interface is a mistake in the wiring, and
// panics.
func For[S any](db *DB) domain.Transactor[S] {
	_ = any((*Academy)(nil)).(S)
	return transactor[S]{db}
}

type transactor[S any] struct{ db *DB }

// Read implements domain.Transactor.
func (t transactor[S]) Read(ctx context.Context, academy domain.ID, fn func(S) error) error {
	return t.db.read(ctx, func(tx *gorm.DB) error {
		return fn(any(&Academy{tx: tx, id: academy, engine: t.db.engine}).(S))
	})
}

// Write implements domain.Transactor.
func (t transactor[S]) Write(ctx context.Context, academy domain.ID, fn func(S) error) error {
	return t.db.write(ctx, func(tx *gorm.DB) error {
		store := &Academy{tx: tx, id: academy, engine: t.db.engine, writing: true}
		if err := fn(any(store).(S)); err != nil {
			return err
		}
		return store.log.flush(tx)
	})
}

// read runs fn on one snapshot.
func (db *DB) read(ctx context.Context, fn func(*gorm.DB) error) error {
	options := &sql.TxOptions{ReadOnly: true}
	if db.engine == migrations.Postgres {
		options.Isolation = sql.LevelRepeatableRead
	}
	return db.transact(ctx, db.reader, options, fn)
}

// write runs fn in one transaction. SQLite has one writer at a time;
// PostgreSQL's see what is committed, and lock what they are about to change:
// see Academy.Stored and Academy.Member.
func (db *DB) write(ctx context.Context, fn func(*gorm.DB) error) error {
	options := &sql.TxOptions{}
	if db.engine == migrations.Postgres {
		options.Isolation = sql.LevelReadCommitted
	}
	return db.transact(ctx, db.writer, options, fn)
}

// How often a transaction is tried: when the database asks for it, and when
// what the use case had read was changed meanwhile.
const (
	tries      = 10
	racedTries = 5
)

func (db *DB) transact(ctx context.Context, pool *gorm.DB, options *sql.TxOptions, fn func(*gorm.DB) error) error {
	ctx, cancel := db.bounded(ctx)
	defer cancel()
	for try := 1; ; try++ {
		err := once(ctx, pool, options, fn)
		again := collided(err) && try < tries ||
			errors.Is(err, errRaced) && db.engine == migrations.Postgres && try < racedTries
		if !again {
			return err
		}
		if err := pause(ctx, try); err != nil {
			return err
		}
	}
}

// bounded gives a context a deadline if it has none, so that nothing waits for
// the database for ever.
func (db *DB) bounded(ctx context.Context) (context.Context, context.CancelFunc) {
	if _, ok := ctx.Deadline(); ok {
		return ctx, func() {}
	}
	return context.WithTimeout(ctx, db.timeout)
}

// once runs one transaction. What fn gives is returned as it is.
func once(ctx context.Context, pool *gorm.DB, options *sql.TxOptions, fn func(*gorm.DB) error) (err error) {
	tx := pool.WithContext(ctx).Begin(options)
	if tx.Error != nil {
		return fmt.Errorf("repo: begin: %w", tx.Error)
	}
	done := false
	defer func() {
		if !done { // fn panicked or failed
			tx.Rollback()
		}
	}()
	if err := fn(tx); err != nil {
		return err
	}
	done = true
	if err := tx.Commit().Error; err != nil {
		return fmt.Errorf("repo: commit: %w", err)
	}
	return nil
}

// pause waits a little longer after each try, by chance, so that two do not
// meet again.
func pause(ctx context.Context, try int) error {
	timer := time.NewTimer(rand.N(time.Duration(try) * 10 * time.Millisecond))
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}

// Academies lists all academies, in order of identity, for the commands that
// look after the whole database.
func (db *DB) Academies(ctx context.Context) (all []academy.Academy, err error) {
	err = db.read(ctx, func(tx *gorm.DB) error {
		var rows []academyRow
		if err := tx.Order("id").Find(&rows).Error; err != nil {
			return err
		}
		all = nil
		for _, r := range rows {
			all = append(all, r.academy())
		}
		return nil
	})
	return all, err
}
