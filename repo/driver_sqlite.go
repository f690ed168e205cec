package repo

import (
	"cmp"
	"context"
	"database/sql/driver"
	"errors"

	"modernc.org/sqlite"
)

// preparing opens SQLite connections that keep the statements they have
// prepared: parsing one costs several times what running it does.
type preparing struct {
	driver.Connector
	// observer is told of statements; nil is not.
	observer Observer
}

func newPreparing(dsn string, o Observer) (driver.Connector, error) {
	c, err := sqlite.NewConnector(dsn)
	return preparing{c, o}, err
}

// Connect implements driver.Connector.
func (p preparing) Connect(ctx context.Context) (driver.Conn, error) {
	c, err := p.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	full, ok := c.(sqliteConn)
	if !ok {
		return nil, errors.Join(errors.New("repo: the SQLite driver's connection lacks an interface"), c.Close())
	}
	conn := &preparedConn{sqliteConn: full, kept: map[string]*preparedStmt{}}
	if p.observer != nil {
		return observedConn{conn, p.observer}, nil
	}
	return conn, nil
}

// sqliteConn is what the driver promises of its connections.
type sqliteConn interface {
	driver.Conn
	driver.ConnBeginTx
	driver.ConnPrepareContext
	driver.ExecerContext
	driver.QueryerContext
	driver.Pinger
	driver.SessionResetter
	driver.Validator
}

// keptStatements bounds what one connection keeps; the statements of this
// package are a few hundred at most.
const keptStatements = 512

// preparedConn is a connection with its prepared statements. As database/sql
// promises, one goroutine uses it at a time.
type preparedConn struct {
	sqliteConn
	kept map[string]*preparedStmt
}

// preparedStmt is a statement that is kept; busy while its rows are read.
type preparedStmt struct {
	driver.Stmt
	busy bool
}

// Unwrap lets the driver see its own connection.
func (c *preparedConn) Unwrap() driver.Conn { return c.sqliteConn }

// statement gives a prepared statement for a text, and how to let it go.
func (c *preparedConn) statement(ctx context.Context, query string) (*preparedStmt, func() error, error) {
	if s := c.kept[query]; s != nil && !s.busy {
		s.busy = true
		return s, func() error { s.busy = false; return nil }, nil
	}
	stmt, err := c.PrepareContext(ctx, query)
	if err != nil {
		return nil, nil, err
	}
	s := &preparedStmt{Stmt: stmt, busy: true}
	if c.kept[query] != nil || len(c.kept) >= keptStatements {
		return s, stmt.Close, nil
	}
	c.kept[query] = s
	return s, func() error { s.busy = false; return nil }, nil
}

// ExecContext implements driver.ExecerContext. What has no values may be a
// script of several statements, and is left to the driver.
func (c *preparedConn) ExecContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Result, error) {
	if len(args) == 0 {
		return c.sqliteConn.ExecContext(ctx, query, args)
	}
	s, done, err := c.statement(ctx, query)
	if err != nil {
		return nil, err
	}
	result, err := s.Stmt.(driver.StmtExecContext).ExecContext(ctx, args)
	return result, cmp.Or(err, done())
}

// QueryContext implements driver.QueryerContext.
func (c *preparedConn) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	s, done, err := c.statement(ctx, query)
	if err != nil {
		return nil, err
	}
	rows, err := s.Stmt.(driver.StmtQueryContext).QueryContext(ctx, args)
	if err != nil {
		return nil, cmp.Or(err, done())
	}
	return &preparedRows{rows, done}, nil
}

// Close implements driver.Conn.
func (c *preparedConn) Close() error {
	var errs []error
	for _, s := range c.kept {
		errs = append(errs, s.Stmt.Close())
	}
	clear(c.kept)
	return errors.Join(append(errs, c.sqliteConn.Close())...)
}

// preparedRows lets its statement go when it is closed.
type preparedRows struct {
	driver.Rows
	done func() error
}

// Close implements driver.Rows.
func (r *preparedRows) Close() error {
	err := r.Rows.Close()
	if r.done == nil {
		return err
	}
	done := r.done
	r.done = nil
	return cmp.Or(err, done())
}
