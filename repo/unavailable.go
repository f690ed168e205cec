package repo

import (
	"context"
	"database/sql/driver"
	"errors"
	"io"
	"net"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"fringework/domain"
)

// retryAfter is in how many seconds to ask a database again that is away.
const retryAfter = 5

// served tells of a failure that is not the request's: the database is away, too slow,
// or full. Anything else stays as it is.
func (db *DB) served(err error) error {
	if err == nil || domain.KindOf(err) != domain.Internal {
		return err
	}
	code, detail := "unavailable", "The service cannot reach its database at the moment. Keep what you sent and send it again in a few seconds."
	switch {
	case full(err):
		db.full.note()
		code, detail = "storage_full", "The service has no room left to store anything. Keep what you sent and send it again once its operator has made room."
	case !away(err):
		return err
	}
	return (&domain.Error{Kind: domain.Unavailable, Code: code, Detail: detail, RetryAfter: retryAfter}).Because(err)
}

// full reports whether the database has no room: PostgreSQL's 53100 is disk_full.
func full(err error) bool {
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok {
		return pg.Code == "53100"
	}
	lite, ok := errors.AsType[*sqlite.Error](err)
	return ok && lite.Code()&0xff == sqlite3.SQLITE_FULL
}

// away reports whether the database cannot be asked, or did not answer in time. A
// caller who has gone is not meant.
func away(err error) bool {
	if errors.Is(err, context.Canceled) {
		return false
	}
	if _, ok := errors.AsType[*pgconn.ConnectError](err); ok {
		return true
	}
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok {
		return awayCode(pg.Code)
	}
	if lite, ok := errors.AsType[*sqlite.Error](err); ok {
		return slices.Contains([]int{sqlite3.SQLITE_BUSY, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PROTOCOL}, lite.Code()&0xff)
	}
	var network net.Error
	return errors.Is(err, context.DeadlineExceeded) || errors.Is(err, driver.ErrBadConn) || errors.Is(err, net.ErrClosed) ||
		errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) || errors.As(err, &network)
}

// awayCode tells PostgreSQL's codes (documentation, appendix A): connection exception,
// insufficient resources, operator intervention but for a cancelled query, system
// error, a collision that went on, and a standby, which takes no writes.
func awayCode(code string) bool {
	for _, class := range []string{"08", "53", "57P", "58", "40"} {
		if strings.HasPrefix(code, class) {
			return true
		}
	}
	return code == "25006"
}

// fullFor is how long a database counts as full after it said so; whoever spreads
// requests over replicas asks more often.
const fullFor = 15 * time.Second

// errFull says why a database that answers is not ready.
var errFull = errors.New("repo: the database had no room for a write a moment ago")

// fullness remembers when the database last said that it is full.
type fullness struct{ last atomic.Int64 }

func (f *fullness) note() { f.last.Store(time.Now().UnixNano()) }

func (f *fullness) err() error {
	if last := f.last.Load(); last != 0 && time.Since(time.Unix(0, last)) < fullFor {
		return errFull
	}
	return nil
}
