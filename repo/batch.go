package repo

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"reflect"
	"strconv"
	"strings"
	"sync"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"gorm.io/gorm"

	"fringework/domain"
	"fringework/migrations"
)

// A query is one statement of a batch. The hot paths are written in SQL: there
// the mapper costs more than it gives.
type query struct {
	// sql has a ? for each of args; ~ stands for the engine's way to say that
	// the column before it is one of a list, whose value list makes.
	sql  string
	args []any
	// what names the thing for the error of a key that is not there.
	what string
	// row is called for each row, to scan it; without it nothing is read.
	row func(scan func(into ...any) error) error
	// none is the error when no row comes; without it that is none.
	none error
	// done is told how many rows a statement without row changed.
	done func(changed int64) error
}

// list is a list of values as one value to the statement; see scope.within.
func (t *transaction) list(values []string) any {
	if t.engine == migrations.Postgres {
		return arrayLiteral(values)
	}
	return encode(values)
}

// batch runs statements in order: on PostgreSQL in one round trip.
func (t *transaction) batch(ctx context.Context, queries ...query) error {
	if len(queries) == 0 {
		return nil
	}
	if _, ok := ctx.Deadline(); !ok {
		ctx = ending{t.tx.Statement.Context, ctx}
	}
	for _, q := range queries {
		if !storable(reflect.ValueOf(q.args)) {
			if q.row != nil { // no row can have such a key
				return domain.ErrNotFound(q.what)
			}
			return errText()
		}
	}
	if t.engine == migrations.Postgres {
		return t.pipeline(ctx, queries)
	}
	for _, q := range queries {
		if err := t.one(ctx, q); err != nil {
			return err
		}
	}
	return nil
}

// one runs a statement by itself.
func (t *transaction) one(ctx context.Context, q query) error {
	t.log.count(ctx, q)
	text := spelled(q.sql, t.engine)
	if q.row == nil {
		result, err := t.sqlTx.ExecContext(ctx, text, q.args...)
		if err != nil {
			return t.failed(err, q.what)
		}
		changed, err := result.RowsAffected()
		if err != nil || q.done == nil {
			return err
		}
		return q.done(changed)
	}
	rows, err := t.sqlTx.QueryContext(ctx, text, q.args...)
	if err != nil {
		return t.failed(err, q.what)
	}
	defer rows.Close()
	none := q.none
	for rows.Next() {
		none = nil
		if err := q.row(rows.Scan); err != nil {
			return err
		}
	}
	return cmp.Or(t.failed(rows.Err(), q.what), none)
}

// pipeline sends all statements and reads all answers. The first batch of a
// transaction also sends the statement that begins it, and the one that ends it
// if it is the only one. A batch of one question needs neither: a statement sees
// one moment by itself.
func (t *transaction) pipeline(ctx context.Context, queries []query) error {
	var batch pgx.Batch
	late := t.sqlTx.(*lateTx)
	begins, ends := false, false
	if late.begun {
		if err := late.usable(); err != nil {
			return err
		}
	} else {
		late.begun, late.over = true, late.single
		alone := late.single && len(queries) == 1 && queries[0].row != nil
		begins, ends = !alone, late.single && !alone
	}
	if begins {
		batch.Queue(late.begin)
	}
	for _, q := range queries {
		t.log.count(ctx, q)
		batch.Queue(spelled(q.sql, t.engine), q.args...)
	}
	if ends {
		batch.Queue(commit)
	}
	return t.conn.Raw(func(driver any) (err error) {
		answers := driver.(*stdlib.Conn).Conn().SendBatch(ctx, &batch)
		defer func() { err = errors.Join(err, answers.Close()) }()
		if begins {
			if _, late.gone = answers.Exec(); late.gone != nil {
				return late.gone
			}
		}
		for _, q := range queries {
			if err := t.answer(answers, q); err != nil {
				return err
			}
		}
		if ends {
			tag, err := answers.Exec()
			return ended(tag, err, commit)
		}
		return nil
	})
}

func (t *transaction) answer(answers pgx.BatchResults, q query) error {
	if q.row == nil {
		tag, err := answers.Exec()
		if err != nil || q.done == nil {
			return t.failed(err, q.what)
		}
		return q.done(tag.RowsAffected())
	}
	rows, err := answers.Query()
	if err != nil {
		return t.failed(err, q.what)
	}
	defer rows.Close()
	none := q.none
	for rows.Next() {
		none = nil
		if err := q.row(rows.Scan); err != nil {
			return err
		}
	}
	return cmp.Or(t.failed(rows.Err(), q.what), none)
}

// failed turns what the database says of a statement into what GORM makes of
// it, and that into what the stores promise.
func (t *transaction) failed(err error, what string) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, sql.ErrNoRows) || errors.Is(err, pgx.ErrNoRows) {
		err = gorm.ErrRecordNotFound
	} else if translator, ok := t.tx.Dialector.(gorm.ErrorTranslator); ok {
		err = translator.Translate(err)
	}
	return fail(err, what)
}

// spellings are statements as the engines want them.
var spellings = [2]sync.Map{}

func spelled(text string, engine migrations.Engine) string {
	known := &spellings[0]
	if engine == migrations.Postgres {
		known = &spellings[1]
	}
	if s, ok := known.Load(text); ok {
		return s.(string)
	}
	s := spell(text, engine)
	known.Store(text, s)
	return s
}

func spell(text string, engine migrations.Engine) string {
	if engine != migrations.Postgres {
		return strings.ReplaceAll(text, "~", "IN (SELECT value FROM json_each(?))")
	}
	text = strings.ReplaceAll(text, "~", "= ANY(CAST(? AS text[]))")
	var b strings.Builder
	n := 0
	for part := range strings.SplitSeq(text, "?") {
		if n > 0 {
			b.WriteString("$" + strconv.Itoa(n))
		}
		b.WriteString(part)
		n++
	}
	return b.String()
}

// values writes the places of n rows of so many values.
func places(rows, columns int) string {
	row := "(" + strings.TrimSuffix(strings.Repeat("?, ", columns), ", ") + ")"
	return strings.TrimSuffix(strings.Repeat(row+", ", rows), ", ")
}

// errText refuses a text that one engine cannot keep.
func errText() error {
	return domain.Errorf(domain.Invalid, "text_invalid", "A text holds a character that cannot be stored, such as NUL. Remove it.")
}
