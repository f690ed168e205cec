package repo

import (
	"context"
	"log/slog"
	"sync/atomic"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/logger"
)

// watcher is GORM's logger: it counts statements and tells of slow ones,
// without their values, which are people's data.
type watcher struct {
	slow  time.Duration
	log   *slog.Logger
	total atomic.Int64
}

var (
	_ logger.Interface  = (*watcher)(nil)
	_ gorm.ParamsFilter = (*watcher)(nil)
)

// LogMode implements logger.Interface; there is one mode.
func (w *watcher) LogMode(logger.LogLevel) logger.Interface { return w }

// Info implements logger.Interface.
func (w *watcher) Info(ctx context.Context, msg string, _ ...any) {
	w.log.DebugContext(ctx, "gorm", "message", msg)
}

// Warn implements logger.Interface.
func (w *watcher) Warn(ctx context.Context, msg string, _ ...any) {
	w.log.WarnContext(ctx, "gorm", "message", msg)
}

// Error implements logger.Interface. Failures are returned as well, and told by
// whoever handles them.
func (w *watcher) Error(ctx context.Context, msg string, _ ...any) {
	w.log.DebugContext(ctx, "gorm", "message", msg)
}

// ParamsFilter implements gorm.ParamsFilter: values stay out of the log.
func (w *watcher) ParamsFilter(_ context.Context, sql string, _ ...any) (string, []any) {
	return sql, nil
}

// Trace implements logger.Interface; it is called once for each statement.
func (w *watcher) Trace(ctx context.Context, begin time.Time, text func() (sql string, rows int64), _ error) {
	w.total.Add(1)
	if c, ok := ctx.Value(counterKey{}).(*counter); ok {
		c.add(text)
	}
	if took := time.Since(begin); took > w.slow {
		sql, rows := text()
		w.log.WarnContext(ctx, "slow statement", "sql", sql, "rows", rows, "took", took)
	}
}

// count counts a statement that is not GORM's, before it is run.
func (w *watcher) count(ctx context.Context, q query) {
	w.total.Add(1)
	if c, ok := ctx.Value(counterKey{}).(*counter); ok {
		c.add(func() (string, int64) { return q.sql, 0 })
		if c.batched != nil {
			c.batched(q)
		}
	}
}

type counterKey struct{}

// counter, which tests put in a context, counts the statements under it, those
// that begin and end transactions left out.
type counter struct {
	n atomic.Int64
	// each is called with the text of every one, batched with each that is not
	// GORM's, by one goroutine at a time if one at a time runs them.
	each    func(sql string)
	batched func(query)
}

func (c *counter) add(text func() (string, int64)) {
	c.n.Add(1)
	if c.each != nil {
		sql, _ := text()
		c.each(sql)
	}
}

// Statements counts all statements since the database was opened. It is for
// tests of what a request costs, some of which see the whole service alone.
func (db *DB) Statements() int64 { return db.log.total.Load() }
