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
	if s, ok := ctx.Value(statementsKey{}).(*Statements); ok {
		s.add(text)
	}
	if took := time.Since(begin); took > w.slow {
		sql, rows := text()
		w.log.WarnContext(ctx, "slow statement", "sql", sql, "rows", rows, "took", took)
	}
}

// count counts a statement that was not GORM's.
func (w *watcher) count(ctx context.Context, sql string) {
	w.total.Add(1)
	if s, ok := ctx.Value(statementsKey{}).(*Statements); ok {
		s.add(func() (string, int64) { return sql, 0 })
	}
}

type statementsKey struct{}

// Statements counts the SQL statements run under a context.
type Statements struct {
	n    atomic.Int64
	each func(sql string)
}

// CountStatements gives a context whose statements are counted, those that
// begin and end transactions left out. each, when not nil, is called with the
// text of every one, by one goroutine at a time if one at a time runs them.
func CountStatements(ctx context.Context, each func(sql string)) (context.Context, *Statements) {
	s := &Statements{each: each}
	return context.WithValue(ctx, statementsKey{}, s), s
}

func (s *Statements) add(text func() (string, int64)) {
	s.n.Add(1)
	if s.each != nil {
		sql, _ := text()
		s.each(sql)
	}
}

// Count is how many there were so far.
func (s *Statements) Count() int { return int(s.n.Load()) }

// Statements counts all statements since the database was opened.
func (db *DB) Statements() int64 { return db.log.total.Load() }
