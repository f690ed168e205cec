package repo

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
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
	// gone is why it could not begin: nothing may run outside it then.
	gone error
}

const (
	beginReading = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
	beginWriting = "BEGIN ISOLATION LEVEL READ COMMITTED"
)

// start begins it, unless it has begun.
func (l *lateTx) start(ctx context.Context) error {
	if l.begun {
		return l.gone
	}
	l.begun = true
	if _, err := l.conn.ExecContext(ctx, l.begin); err != nil {
		l.gone = fmt.Errorf("repo: begin: %w", err)
	}
	return l.gone
}

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
	return l.end(l.ctx, "COMMIT")
}

// Rollback undoes it, also when whoever asked has gone.
func (l *lateTx) Rollback() error {
	const longest = 5 * time.Second
	ctx, cancel := context.WithTimeout(context.WithoutCancel(l.ctx), longest)
	defer cancel()
	return l.end(ctx, "ROLLBACK")
}

// end runs the last statement. The pool throws away a connection whose
// transaction could not be ended.
func (l *lateTx) end(ctx context.Context, statement string) error {
	if !l.begun {
		return nil
	}
	return l.conn.Raw(func(driver any) error {
		conn := driver.(*stdlib.Conn).Conn()
		if conn.PgConn().TxStatus() == idle {
			return nil // BEGIN failed, or was not sent
		}
		tag, err := conn.Exec(ctx, statement)
		if err == nil && tag.String() != statement {
			err = pgx.ErrTxCommitRollback
		}
		return err
	})
}

// idle is what a connection without a transaction tells of itself
// (documentation, 54.7, ReadyForQuery).
const idle = 'I'
