package repo

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"fringework/domain/academy"
	"fringework/migrations"
)

// Observer is told what a database does, for metrics and traces. Many goroutines
// call it, and it must be quick.
type Observer interface {
	// Transaction tells that a transaction begins. Its statements are told of under
	// the context that it gives, and end is called once, with what came of it.
	Transaction(ctx context.Context, writing bool) (inside context.Context, end func(error))
	// Retried tells that a transaction is tried again, because another met it.
	Retried(ctx context.Context)
	// Statement tells of a statement that has ended, those that begin and end
	// transactions included.
	Statement(ctx context.Context, s Statement)
	// Committed tells of the events that a transaction wrote, by their kinds.
	Committed(kinds []string)
}

// Statement is one that has ended.
type Statement struct {
	Engine migrations.Engine
	// Text has no values.
	Text string
	// Began is when it was sent, or, of several that were sent at once, when the one
	// before it was answered; Took lasts until its last row was read.
	Began time.Time
	Took  time.Duration
	Err   error
}

// observedKey marks the context of a transaction with the one that its statements are
// told of under.
type observedKey struct{}

// observed tells of a transaction, and gives the context that it runs under.
func (db *DB) observed(ctx context.Context, writing bool) (context.Context, func(error)) {
	inside, end := db.observer.Transaction(ctx, writing)
	return context.WithValue(inside, observedKey{}, inside), end
}

// tellStatement tells of one that began under a context and has just ended.
func tellStatement(ctx context.Context, o Observer, engine migrations.Engine, text string, began time.Time, err error) {
	if inside, ok := ctx.Value(observedKey{}).(context.Context); ok {
		ctx = inside
	}
	o.Statement(ctx, Statement{Engine: engine, Text: text, Began: began, Took: time.Since(began), Err: err})
}

// kindsOf are the kinds of events.
func kindsOf(news []academy.News) []string {
	return each(news, func(n academy.News) string { return n.Kind })
}

// Pool is a pool of connections, with its name among those of a database.
type Pool struct {
	Name string
	*sql.DB
}

// Pools lists the pools: one on PostgreSQL; for writing and for reading on SQLite.
func (db *DB) Pools() []Pool {
	if db.engine == migrations.Postgres {
		return []Pool{{"all", db.SQL()}}
	}
	return []Pool{{"writing", db.SQL()}, {"reading", db.readPool}}
}

// traced tells an observer what PostgreSQL is asked.
type traced struct{ Observer }

var (
	_ pgx.QueryTracer = traced{}
	_ pgx.BatchTracer = traced{}
)

// asked is a statement, or a batch of them, under way.
type asked struct {
	text  string
	began time.Time
}

type askedKey struct{}

// TraceQueryStart implements pgx.QueryTracer.
func (t traced) TraceQueryStart(ctx context.Context, _ *pgx.Conn, d pgx.TraceQueryStartData) context.Context {
	return context.WithValue(ctx, askedKey{}, &asked{d.SQL, time.Now()})
}

// TraceQueryEnd implements pgx.QueryTracer.
func (t traced) TraceQueryEnd(ctx context.Context, _ *pgx.Conn, d pgx.TraceQueryEndData) {
	if a, ok := ctx.Value(askedKey{}).(*asked); ok {
		tellStatement(ctx, t.Observer, migrations.Postgres, a.text, a.began, d.Err)
	}
}

// TraceBatchStart implements pgx.BatchTracer.
func (t traced) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	return context.WithValue(ctx, askedKey{}, &asked{began: time.Now()})
}

// TraceBatchQuery implements pgx.BatchTracer; it is called once a statement of the
// batch was answered.
func (t traced) TraceBatchQuery(ctx context.Context, _ *pgx.Conn, d pgx.TraceBatchQueryData) {
	if a, ok := ctx.Value(askedKey{}).(*asked); ok {
		tellStatement(ctx, t.Observer, migrations.Postgres, d.SQL, a.began, d.Err)
		a.began = time.Now()
	}
}

// TraceBatchEnd implements pgx.BatchTracer.
func (traced) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData) {}

// observedConn tells an observer what SQLite is asked.
type observedConn struct {
	*preparedConn
	observer Observer
}

// ExecContext implements driver.ExecerContext.
func (c observedConn) ExecContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Result, error) {
	began := time.Now()
	result, err := c.preparedConn.ExecContext(ctx, query, args)
	tellStatement(ctx, c.observer, migrations.SQLite, query, began, err)
	return result, err
}

// QueryContext implements driver.QueryerContext.
func (c observedConn) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	began := time.Now()
	rows, err := c.preparedConn.QueryContext(ctx, query, args)
	if err != nil {
		tellStatement(ctx, c.observer, migrations.SQLite, query, began, err)
		return nil, err
	}
	return observedRows{rows, sync.OnceFunc(func() { tellStatement(ctx, c.observer, migrations.SQLite, query, began, nil) })}, nil
}

// BeginTx implements driver.ConnBeginTx.
func (c observedConn) BeginTx(ctx context.Context, opts driver.TxOptions) (driver.Tx, error) {
	began := time.Now()
	tx, err := c.preparedConn.BeginTx(ctx, opts)
	tellStatement(ctx, c.observer, migrations.SQLite, "BEGIN", began, err)
	if err != nil {
		return nil, err
	}
	return observedTx{tx, ctx, c.observer}, nil
}

// observedRows tell when they were read.
type observedRows struct {
	driver.Rows
	done func()
}

// Close implements driver.Rows.
func (r observedRows) Close() error {
	defer r.done()
	return r.Rows.Close()
}

// observedTx is a transaction of SQLite whose end an observer is told of.
type observedTx struct {
	driver.Tx
	ctx      context.Context
	observer Observer
}

// Commit implements driver.Tx.
func (t observedTx) Commit() error {
	began := time.Now()
	err := t.Tx.Commit()
	tellStatement(t.ctx, t.observer, migrations.SQLite, commit, began, err)
	return err
}

// Rollback implements driver.Tx.
func (t observedTx) Rollback() error {
	began := time.Now()
	err := t.Tx.Rollback()
	tellStatement(t.ctx, t.observer, migrations.SQLite, rollback, began, err)
	return err
}
