package repo

import (
	"cmp"
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

// transaction is one transaction of the database, through GORM and beside it.
type transaction struct {
	tx     *gorm.DB
	sqlTx  openTx
	conn   *sql.Conn
	engine migrations.Engine
	log    *watcher
	vault  Vault
	// versions are those that are known already.
	versions *versionCache
	writing  bool
	// part says that it is part of one that goes on after it.
	part bool
	// last are the statements that end the transaction, and news what is told
	// about it once it is committed.
	last []query
	news []academy.News
}

// tell keeps an event when the transaction ends.
func (t *transaction) tell(of domain.ID, e domain.Event) error {
	i := len(t.news)
	t.news = append(t.news, academy.News{Academy: of, At: e.At, Kind: e.Kind, Subject: e.Subject, Student: e.Student})
	queries, err := t.told(of, e, func(seq int64) { t.news[i].Seq = seq })
	t.last = append(t.last, touch(of, e)...)
	t.last = append(t.last, queries...)
	return err
}

// transactor opens the store S for an academy.
type transactor[S any] struct {
	db   *DB
	open func(*scope) S
}

// Read implements domain.Transactor.
func (t transactor[S]) Read(ctx context.Context, academy domain.ID, fn func(S) error) error {
	return t.db.read(ctx, func(tx *transaction) error {
		return fn(t.open(&scope{transaction: tx, id: academy}))
	})
}

// ReadOnce implements domain.Transactor.
func (t transactor[S]) ReadOnce(ctx context.Context, academy domain.ID, fn func(S) error) error {
	return t.db.read(ctx, func(tx *transaction) error {
		tx.endsWithBatch()
		return fn(t.open(&scope{transaction: tx, id: academy}))
	})
}

// Write implements domain.Transactor.
func (t transactor[S]) Write(ctx context.Context, academy domain.ID, fn func(S) error) error {
	return t.db.write(ctx, func(tx *transaction) error {
		return fn(t.open(&scope{transaction: tx, id: academy}))
	})
}

// read runs fn on one snapshot.
func (db *DB) read(ctx context.Context, fn func(*transaction) error) error {
	return db.transact(ctx, db.reader, false, fn)
}

// write runs fn in one transaction. SQLite has one writer at a time;
// PostgreSQL's see what is committed, and lock what they are about to change:
// see practiceStore.Open and viewing.Member.
func (db *DB) write(ctx context.Context, fn func(*transaction) error) error {
	return db.transact(ctx, db.writer, true, fn)
}

// How often a transaction is tried: when the database asks for it, and when
// what the use case had read was changed meanwhile.
const (
	tries      = 10
	racedTries = 5
)

func (db *DB) transact(ctx context.Context, pool *gorm.DB, writing bool, fn func(*transaction) error) (err error) {
	if t := surrounding(ctx); t != nil {
		return t.within(ctx, writing, fn)
	}
	ctx, cancel := db.bounded(ctx)
	defer cancel()
	if db.observer != nil {
		var end func(error)
		ctx, end = db.observed(ctx, writing)
		defer func() { end(err) }()
	}
	for try := 1; ; try++ {
		t := &transaction{engine: db.engine, log: db.log, vault: db.vault, versions: &db.versions, writing: writing}
		err := t.once(ctx, pool, fn)
		if err == nil {
			if writing && db.full.err() != nil {
				db.full.last.Store(0) // there is room again
			}
			db.live.publish(t.news)
			if db.observer != nil && len(t.news) > 0 {
				db.observer.Committed(kindsOf(t.news))
			}
			return nil
		}
		again := collided(err) && try < tries ||
			errors.Is(err, errRaced) && db.engine == migrations.Postgres && try < racedTries
		if !again {
			return db.served(err)
		}
		if db.observer != nil {
			db.observer.Retried(ctx)
		}
		if err := pause(ctx, try); err != nil {
			return db.served(err)
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
func (t *transaction) once(ctx context.Context, pool *gorm.DB, fn func(*transaction) error) (err error) {
	db, err := pool.DB()
	if err != nil {
		return err
	}
	if t.conn, err = db.Conn(ctx); err != nil {
		return fmt.Errorf("repo: connect: %w", err)
	}
	defer func() { err = cmp.Or(err, t.conn.Close()) }()
	if err := t.begin(ctx); err != nil {
		return err
	}
	t.tx = pool.Session(&gorm.Session{NewDB: true, Context: ctx})
	t.tx.Statement.ConnPool = t.sqlTx
	done := false
	defer func() {
		if !done { // fn panicked or failed
			_ = t.sqlTx.Rollback()
		}
	}()
	if err := fn(t); err != nil {
		return err
	}
	if err := t.batch(ctx, t.last...); err != nil {
		return err
	}
	done = true
	if err := t.sqlTx.Commit(); err != nil {
		return fmt.Errorf("repo: commit: %w", err)
	}
	return nil
}

// begin opens the transaction on its connection.
func (t *transaction) begin(ctx context.Context) (err error) {
	if t.engine == migrations.Postgres {
		begin := beginReading
		if t.writing {
			begin = beginWriting
		}
		t.sqlTx = &lateTx{ctx: ctx, conn: t.conn, begin: begin}
		return nil
	}
	if t.sqlTx, err = t.conn.BeginTx(ctx, &sql.TxOptions{ReadOnly: !t.writing}); err != nil {
		return fmt.Errorf("repo: begin: %w", err)
	}
	return nil
}

// endsWithBatch tells a transaction that its first batch is also its last.
func (t *transaction) endsWithBatch() {
	if late, ok := t.sqlTx.(*lateTx); ok && !t.part {
		late.single = true
	}
}

// pause waits a little longer after each try, by chance, so that two do not
// meet again.
func pause(ctx context.Context, try int) error {
	return sleep(ctx, rand.N(time.Duration(try)*10*time.Millisecond))
}

// Academies lists all academies, in order of identity, for the commands that
// look after the whole database.
func (db *DB) Academies(ctx context.Context) (all []academy.Academy, err error) {
	err = db.read(ctx, func(tx *transaction) error {
		var rows []academyRow
		if err := tx.tx.Order("id").Find(&rows).Error; err != nil {
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
