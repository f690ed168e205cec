package repo

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"
	"time"

	"fringework/domain"
	"fringework/migrations"
)

// onceFor is how long the answer to a request is kept.
const onceFor = 24 * time.Hour

// Once carries a request out, unless it was, and gives its answer. Whatever do stores
// under the context that it is given is kept in one transaction with the answer that do
// returns, or, on an error of do, not at all. The error is a domain.Conflict while the
// same request is under way, and domain.Invalid when its key was used for another. do
// may run again when the database asks for that.
func (db *DB) Once(ctx context.Context, c domain.Claim, do func(context.Context) (answer []byte, err error)) (answer []byte, replayed bool, err error) {
	name := nameOf(c)
	if !db.under.begin(name) {
		return nil, false, errUnderWay()
	}
	defer db.under.end(name)
	err = db.write(ctx, func(t *transaction) error {
		if err := t.claim(ctx, name); err != nil {
			return err
		}
		var request []byte
		var expires int64
		replayed, answer = false, nil
		err := t.batch(ctx, query{
			sql:  "SELECT request, answer, expires_at FROM answers WHERE academy_id = ? AND asker_id = ? AND key = ?",
			args: []any{c.Academy, c.Asker, c.Key[:]}, row: func(scan func(...any) error) error { return scan(&request, &answer, &expires) },
		})
		switch {
		case err != nil:
			return err
		case request != nil && expires > at(c.Now) && !bytes.Equal(request, c.Request[:]):
			return domain.Errorf(domain.Invalid, "idempotency_key_reused", "This Idempotency-Key was used for another request in the last 24 hours; make a new one for each request.")
		case request != nil && expires > at(c.Now):
			replayed = true
			// It may have a secret that is shown once.
			answer, err = t.vault.Open(string(answer), "answers "+name)
			return err
		}
		t.versions = &versionCache{} // what is read before the commit may never be
		if answer, err = do(context.WithValue(ctx, surroundingKey{}, t)); err != nil {
			return err
		}
		sealed, err := t.vault.Seal(answer, "answers "+name)
		if err != nil {
			return err
		}
		return t.batch(ctx,
			query{sql: "DELETE FROM answers WHERE academy_id = ? AND asker_id = ? AND key = ?", args: []any{c.Academy, c.Asker, c.Key[:]}},
			query{sql: "INSERT INTO answers (academy_id, asker_id, key, request, answer, expires_at) VALUES (?, ?, ?, ?, ?, ?)",
				args: []any{c.Academy, c.Asker, c.Key[:], c.Request[:], []byte(sealed), at(c.Now.Add(onceFor))}, what: "academy"})
	})
	if err != nil {
		return nil, false, err
	}
	return answer, replayed, nil
}

// nameOf names a request among all that are under way.
func nameOf(c domain.Claim) string { return fmt.Sprintf("%s %s %x", c.Academy, c.Asker, c.Key) }

// claim refuses a request that another process is carrying out.
func (t *transaction) claim(ctx context.Context, name string) error {
	if t.engine != migrations.Postgres {
		return nil // there is no other process
	}
	free := false
	err := t.batch(ctx, query{
		sql: "SELECT pg_try_advisory_xact_lock(hashtextextended(?, 1))", args: []any{name},
		row: func(scan func(...any) error) error { return scan(&free) },
	})
	if err == nil && !free {
		err = errUnderWay()
	}
	return err
}

func errUnderWay() error {
	return domain.Errorf(domain.Conflict, "idempotency_in_progress", "A request with this Idempotency-Key is being carried out; send it again in a moment for its answer.")
}

// ForgetAnswers removes answers that are no longer promised and reports how many.
func (db *DB) ForgetAnswers(ctx context.Context, now time.Time) (n int64, err error) {
	err = db.write(ctx, func(t *transaction) error {
		return t.batch(ctx, query{sql: "DELETE FROM answers WHERE expires_at <= ?", args: []any{at(now)}, done: func(rows int64) error { n = rows; return nil }})
	})
	return n, err
}

// underWay are the requests that this process is carrying out once.
type underWay struct {
	mu    sync.Mutex
	names map[string]bool
}

func (u *underWay) begin(name string) bool {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.names[name] {
		return false
	}
	if u.names == nil {
		u.names = map[string]bool{}
	}
	u.names[name] = true
	return true
}

func (u *underWay) end(name string) {
	u.mu.Lock()
	defer u.mu.Unlock()
	delete(u.names, name)
}

// surroundingKey marks a context whose use cases all run in one transaction.
type surroundingKey struct{}

func surrounding(ctx context.Context) *transaction {
	t, _ := ctx.Value(surroundingKey{}).(*transaction)
	return t
}

// within runs a use case inside a transaction that goes on after it. What it wrote before
// it failed is undone, as it would be by itself.
func (t *transaction) within(ctx context.Context, writing bool, fn func(*transaction) error) error {
	part := &transaction{tx: t.tx, sqlTx: t.sqlTx, conn: t.conn, engine: t.engine, log: t.log, vault: t.vault, versions: t.versions, writing: writing, part: true}
	if !writing {
		return fn(part)
	}
	run := func(statement string) error {
		_, err := t.sqlTx.ExecContext(ctx, statement)
		return err
	}
	if err := run("SAVEPOINT part"); err != nil {
		return err
	}
	err := fn(part)
	if err == nil {
		err = part.batch(ctx, part.last...)
	}
	if err != nil {
		return errors.Join(err, run("ROLLBACK TO SAVEPOINT part"), run("RELEASE SAVEPOINT part"))
	}
	t.news = append(t.news, part.news...)
	return run("RELEASE SAVEPOINT part")
}

// asking is what answers a question beside the stores: the surrounding transaction, or
// any connection.
func (db *DB) asking(ctx context.Context) interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
} {
	if t := surrounding(ctx); t != nil {
		return t.sqlTx
	}
	return db.readPool
}
