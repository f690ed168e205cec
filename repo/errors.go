package repo

import (
	"errors"

	"github.com/jackc/pgx/v5/pgconn"
	"gorm.io/gorm"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"fringework/domain"
)

// errInUse says that another process has the database.
var errInUse = errors.New("the database is in use by another process; stop that one first, or use PostgreSQL to run several")

// errRaced is in the chain of errors that another transaction's doing may have
// caused, so that the use case should look again.
var errRaced = errors.New("repo: another transaction was faster")

// errReadOnly says that a use case wrote in a reading transaction.
var errReadOnly = errors.New("repo: writing in a reading transaction")

// stale is what a save gives whose revision is not one above what stands.
func stale(what string) error {
	return domain.Errorf(domain.Stale, "stale", "The %s has changed since you read it; read it again and repeat your change.", what).Because(errRaced)
}

// fail turns what the database says of a statement on a thing into what the
// domain's stores promise. Anything unexpected stays as it is, for the log.
func fail(err error, what string) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, gorm.ErrRecordNotFound):
		return domain.ErrNotFound(what)
	case errors.Is(err, gorm.ErrForeignKeyViolated):
		// The row that was pointed at is absent, or another academy's.
		return domain.ErrNotFound(what).Because(err)
	case errors.Is(err, gorm.ErrDuplicatedKey):
		return domain.Errorf(domain.Conflict, "exists", "There is such a %s already.", what).Because(errors.Join(errRaced, err))
	case unstorable(err):
		// Asked for by a name that no row can have; see checkTexts for writing.
		return domain.ErrNotFound(what).Because(err)
	}
	return err
}

// PostgreSQL's codes (documentation, appendix A) that mean something here.
const (
	serializationFailure = "40001"
	deadlockDetected     = "40P01"
	badCharacter         = "22021" // NUL, or not UTF-8
)

func unstorable(err error) bool {
	var pg *pgconn.PgError
	return errors.As(err, &pg) && pg.Code == badCharacter
}

// collided reports whether the database asks for the whole transaction again.
func collided(err error) bool {
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok {
		return pg.Code == serializationFailure || pg.Code == deadlockDetected
	}
	var lite *sqlite.Error
	return errors.As(err, &lite) && lite.Code()&0xff == sqlite3.SQLITE_BUSY
}
