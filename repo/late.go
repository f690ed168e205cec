package repo

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
	"gorm.io/gorm"
)

// openTx is a transaction for GORM and beside it. *sql.Tx is one.
type openTx interface {
	gorm.ConnPool
	Commit() error
	Rollback() error
}

// lateTx is a transaction of PostgreSQL that begins with its first statement. If
// that is a batch, BEGIN goes with it and costs no round trip; a transaction
// that runs nothing costs none at all.
type lateTx struct {
	ctx  context.Context
	conn *sql.Conn
	// begin is the statement that begins it.
	begin string
	begun bool
	// single says that the first batch is also the last: COMMIT goes with it too.
	// It is over once that was sent.
	single, over bool
	// gone is why it could not begin: nothing may run outside it then.
	gone error
}

const (
	beginReading = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
	beginWriting = "BEGIN ISOLATION LEVEL READ COMMITTED"
	commit       = "COMMIT"
	rollback     = "ROLLBACK"
)

// start begins it, unless it has begun.
func (l *lateTx) start(ctx context.Context) error {
	if l.begun {
		return l.usable()
	}
	l.begun = true
	if _, err := l.conn.ExecContext(ctx, l.begin); err != nil {
		l.gone = fmt.Errorf("repo: begin: %w", err)
	}
	return l.gone
}

// usable says whether more can be run in it.
func (l *lateTx) usable() error {
	if l.over {
		return errOver
	}
	return l.gone
}

// errOver says that a use case asked for more than it said it would.
var errOver = errors.New("repo: a second statement in ReadOnce; use Read")

// PrepareContext implements gorm.ConnPool.
func (l *lateTx) PrepareContext(ctx context.Context, text string) (*sql.Stmt, error) {
	if err := l.start(ctx); err != nil {
		return nil, err
	}
	return l.conn.PrepareContext(ctx, text)
}

// ExecContext implements gorm.ConnPool.
func (l *lateTx) ExecContext(ctx context.Context, text string, args ...any) (sql.Result, error) {
	if err := l.start(ctx); err != nil {
		return nil, err
	}
	return l.conn.ExecContext(ctx, text, args...)
}

// QueryContext implements gorm.ConnPool.
func (l *lateTx) QueryContext(ctx context.Context, text string, args ...any) (*sql.Rows, error) {
	if err := l.start(ctx); err != nil {
		return nil, err
	}
	return l.conn.QueryContext(ctx, text, args...)
}

// QueryRowContext implements gorm.ConnPool. A row can only tell of an error of
// its own, so without a transaction it is asked for in vain.
func (l *lateTx) QueryRowContext(ctx context.Context, text string, args ...any) *sql.Row {
	if err := l.start(ctx); err != nil {
		gone, cancel := context.WithCancelCause(ctx)
		cancel(err)
		ctx = gone
	}
	return l.conn.QueryRowContext(ctx, text, args...)
}

// Commit ends it. PostgreSQL answers the COMMIT of a transaction in which a
// statement failed by rolling it back.
func (l *lateTx) Commit() error {
	if l.gone != nil {
		return l.gone
	}
	return l.end(l.ctx, commit)
}

// Rollback undoes it, also when whoever asked has gone.
func (l *lateTx) Rollback() error {
	const longest = 5 * time.Second
	ctx, cancel := context.WithTimeout(context.WithoutCancel(l.ctx), longest)
	defer cancel()
	return l.end(ctx, rollback)
}

// end runs the last statement. The pool throws away a connection whose
// transaction could not be ended.
func (l *lateTx) end(ctx context.Context, statement string) error {
	if !l.begun || l.over && statement == commit {
		return nil
	}
	return l.conn.Raw(func(driver any) error {
		conn := driver.(*stdlib.Conn).Conn()
		if conn.PgConn().TxStatus() == idle {
			return nil // BEGIN failed, or was not sent
		}
		tag, err := conn.Exec(ctx, statement)
		return ended(tag, err, statement)
	})
}

// ended reports whether a transaction ended as it was told to.
func ended(tag pgconn.CommandTag, err error, statement string) error {
	if err == nil && tag.String() != statement {
		return pgx.ErrTxCommitRollback
	}
	return err
}

// idle is what a connection without a transaction tells of itself
// (documentation, 54.7, ReadyForQuery).
const idle = 'I'
