package repo

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"fringework/auth"
	"fringework/migrations"
)

// RequestBuckets gives the buckets that replicas share to limit requests, on
// PostgreSQL. One process has the embedded database to itself and shares with
// nobody: nil.
func (db *DB) RequestBuckets() auth.SharedBuckets {
	if db.engine != migrations.Postgres {
		return nil
	}
	return requestBuckets{db}
}

type requestBuckets struct{ db *DB }

// reserve is the generic cell rate algorithm of auth.Bucket in one statement: $2 is
// now, $3 what is spent, and $4 a bucket out of attempts, in milliseconds. A later
// instant was stored by a clock that was ahead, and counts as that.
const reserve = `INSERT INTO attempts (bucket, at) VALUES ($1, $2::bigint + $3)
ON CONFLICT (bucket) DO UPDATE SET at = LEAST(GREATEST(attempts.at, $2), $4) + $3
WHERE LEAST(GREATEST(attempts.at, $2), $4) + $3 <= $4 RETURNING at`

// Reserve implements auth.SharedBuckets.
func (r requestBuckets) Reserve(ctx context.Context, now time.Time, b auth.Bucket, n int) (time.Time, bool, error) {
	ctx, cancel := r.db.bounded(ctx)
	defer cancel()
	spent := time.Duration(n) * b.Every
	out := at(now.Add(time.Duration(b.Burst) * b.Every))
	args := []any{b.Name, at(now), spent.Milliseconds(), out}
	r.db.log.count(ctx, query{sql: reserve, args: args})
	var full int64
	err := r.db.readPool.QueryRowContext(ctx, reserve, args...).Scan(&full)
	if !errors.Is(err, sql.ErrNoRows) {
		return instant(full), err == nil, err
	}
	// Kept as it can be at most, so that the wait comes to an end.
	const look = "UPDATE attempts SET at = LEAST(at, $2) WHERE bucket = $1 RETURNING at"
	args = []any{b.Name, out}
	r.db.log.count(ctx, query{sql: look, args: args})
	err = r.db.readPool.QueryRowContext(ctx, look, args...).Scan(&full)
	if errors.Is(err, sql.ErrNoRows) { // swept meanwhile, so it is as good as new
		return now, false, nil
	}
	return instant(full), false, err
}
