package repo

import (
	"cmp"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"fringework/domain"
	"fringework/migrations"
)

// Instants are kept as whole milliseconds; what is finer is cut off, in values
// and in bounds alike.

// at keeps an instant.
func at(t time.Time) int64 { return t.UnixMilli() }

// maybeAt keeps an instant that may be zero, as NULL.
func maybeAt(t time.Time) *int64 {
	if t.IsZero() {
		return nil
	}
	ms := t.UnixMilli()
	return &ms
}

// instant reads an instant.
func instant(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// maybeInstant reads an instant that may be NULL, as zero.
func maybeInstant(ms *int64) time.Time {
	if ms == nil {
		return time.Time{}
	}
	return instant(*ms)
}

// maybeText keeps a text that may be empty, as NULL: an identity, or a word.
func maybeText[T ~string](text T) *T {
	if text == "" {
		return nil
	}
	return &text
}

// orEmpty reads a text that may be NULL.
func orEmpty[T ~string](text *T) T {
	if text == nil {
		return ""
	}
	return *text
}

// date reads a date as it was kept; the empty text is no date.
func date(s string) (domain.Date, error) {
	if s == "" {
		return domain.Date{}, nil
	}
	d, err := domain.ParseDate(s)
	if err != nil {
		return d, fmt.Errorf("repo: %w", err)
	}
	return d, nil
}

// encode writes a document. Documents are structs of this package, which JSON
// can always write.
func encode(document any) string {
	b, err := json.Marshal(document)
	if err != nil {
		panic(err)
	}
	return string(b)
}

// decode reads a document.
func decode[T any](text string) (document T, err error) {
	if err := json.Unmarshal([]byte(text), &document); err != nil {
		return document, fmt.Errorf("repo: %T: %w", document, err)
	}
	return document, nil
}

// within is a condition that a column holds one of the values. It is one value
// to the statement however many there are, so that statements stay few and
// prepared, and no engine's limit on values is met.
func (s *scope) within(column string, values []string) clause.Expr {
	if s.engine == migrations.Postgres {
		return clause.Expr{SQL: column + " = ANY(CAST(? AS text[]))", Vars: []any{arrayLiteral(values)}}
	}
	return clause.Expr{SQL: column + " IN (SELECT value FROM json_each(?))", Vars: []any{encode(values)}}
}

// inArray escapes what ends a quoted element.
var inArray = strings.NewReplacer(`\`, `\\`, `"`, `\"`)

// arrayLiteral writes an array as PostgreSQL reads it (documentation, 8.15.2).
func arrayLiteral(values []string) string {
	var b strings.Builder
	b.WriteByte('{')
	for i, v := range values {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteByte('"')
		b.WriteString(inArray.Replace(v))
		b.WriteByte('"')
	}
	b.WriteByte('}')
	return b.String()
}

// texts gives identities, dates or other texts as strings.
func texts[T ~string](values []T) []string {
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = string(v)
	}
	return out
}

// scanned runs a query and converts its rows, each read field by field: lists of
// hundreds are read without the mapper's reflection.
func scanned[R, T any](q *gorm.DB, what string, fields func(*R) []any, convert func(R) (T, error)) (all []T, err error) {
	rows, err := q.Rows()
	if err != nil {
		return nil, fail(err, what)
	}
	defer func() { err = fail(cmp.Or(err, rows.Close()), what) }()
	var r R
	into := fields(&r)
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return nil, err
		}
		x, err := convert(r)
		if err != nil {
			return nil, err
		}
		all = append(all, x)
	}
	return all, rows.Err()
}
