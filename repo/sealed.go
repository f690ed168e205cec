package repo

import (
	"context"
	"errors"
	"strings"

	"fringework/domain"
)

// Vault seals the secrets that are stored, and opens them; auth.Vault is one.
type Vault interface {
	// Seal gives a secret as it is stored at a place. It opens at that place alone.
	Seal(secret []byte, place string) (string, error)
	// Open gives what was sealed, and what was stored before there was sealing as it is.
	Open(stored, place string) ([]byte, error)
	// Fresh begins whatever was sealed with the present key.
	Fresh() (prefix string, err error)
}

// UseVault says what seals secrets. Without it none is stored or read. It is called
// before anything is served.
func (db *DB) UseVault(v Vault) { db.vault = v }

// noVault is that of a database that was opened for something without secrets.
type noVault struct{}

var errNoVault = errors.New("repo: the database was opened without the keys that seal secrets")

func (noVault) Seal([]byte, string) (string, error) { return "", errNoVault }
func (noVault) Open(string, string) ([]byte, error) { return nil, errNoVault }
func (noVault) Fresh() (string, error)              { return "", errNoVault }

// place names a column of a row, which no other has: neither tables nor identities
// have a space in them.
func place(table, column string, key ...domain.ID) string {
	words := []string{table, column}
	for _, k := range key {
		words = append(words, string(k))
	}
	return strings.Join(words, " ")
}

// The places of the secrets there are.
func webhookPlace(column string, academy, id domain.ID) string {
	return place("webhooks", column, academy, id)
}

func authenticatorPlace(account domain.ID) string {
	return place("authenticators", "secret", account)
}

// resealBatch is how many rows are sealed anew in one transaction.
const resealBatch = 200

// Reseal seals what was stored in clear by an earlier release, or sealed with a key
// before the present one, and reports how many rows. What cannot be opened stays, and is
// in the error. Several processes may do it at once.
func (db *DB) Reseal(ctx context.Context) (total int, err error) {
	prefix, err := db.vault.Fresh()
	if err != nil {
		return 0, err
	}
	for _, c := range []struct {
		sealedColumn
		place func(key []domain.ID) string
	}{
		{sealedColumn{"webhooks", "secret", "academy_id, id", false}, func(k []domain.ID) string { return webhookPlace("secret", k[0], k[1]) }},
		{sealedColumn{"webhooks", "old_secret", "academy_id, id", false}, func(k []domain.ID) string { return webhookPlace("old_secret", k[0], k[1]) }},
		{sealedColumn{"authenticators", "secret", "account_id, account_id", true}, func(k []domain.ID) string { return authenticatorPlace(k[0]) }},
	} {
		n, failed := db.reseal(ctx, c.sealedColumn, prefix, c.place)
		total, err = total+n, errors.Join(err, failed)
	}
	return total, err
}

// sealedColumn is a column of sealed secrets.
type sealedColumn struct {
	table, name string
	// key are two columns that name a row.
	key   string
	bytes bool
}

// value is a text as the column keeps it.
func (c sealedColumn) value(text string) any {
	if c.bytes {
		return []byte(text)
	}
	return text
}

// sealedRow is a secret that is to be sealed anew.
type sealedRow struct {
	key    [2]domain.ID
	stored []byte
}

func (db *DB) reseal(ctx context.Context, c sealedColumn, prefix string, place func([]domain.ID) string) (n int, err error) {
	var last [2]domain.ID
	for {
		rows, failed := db.unfresh(ctx, c, prefix, last)
		if failed != nil || len(rows) == 0 {
			return n, errors.Join(err, failed)
		}
		for _, r := range rows {
			done, failed := db.resealRow(ctx, c, r, place(r.key[:]))
			if done {
				n++
			}
			err = errors.Join(err, failed)
		}
		last = rows[len(rows)-1].key
	}
}

// unfresh lists secrets after a key in order that do not begin as fresh ones do.
func (db *DB) unfresh(ctx context.Context, c sealedColumn, prefix string, after [2]domain.ID) (rows []sealedRow, err error) {
	one, two, _ := strings.Cut(c.key, ", ")
	err = db.read(ctx, func(t *transaction) error {
		rows = nil
		return t.batch(ctx, query{
			sql: "SELECT " + c.key + ", " + c.name + " FROM " + c.table + " WHERE substr(" + c.name + ", 1, ?) <> ?" +
				" AND (" + one + " > ? OR " + one + " = ? AND " + two + " > ?) ORDER BY " + c.key + " LIMIT ?",
			args: []any{len(prefix), c.value(prefix), after[0], after[0], after[1], resealBatch}, what: c.table,
			row: func(scan func(...any) error) error {
				var r sealedRow
				err := scan(&r.key[0], &r.key[1], &r.stored)
				rows = append(rows, r)
				return err
			},
		})
	})
	return rows, err
}

// resealRow seals one secret anew unless it was changed meanwhile.
func (db *DB) resealRow(ctx context.Context, c sealedColumn, r sealedRow, place string) (done bool, err error) {
	secret, err := db.vault.Open(string(r.stored), place)
	if err != nil {
		return false, err
	}
	sealed, err := db.vault.Seal(secret, place)
	if err != nil {
		return false, err
	}
	one, two, _ := strings.Cut(c.key, ", ")
	err = db.write(ctx, func(t *transaction) error {
		return t.batch(ctx, query{
			sql:  "UPDATE " + c.table + " SET " + c.name + " = ? WHERE " + one + " = ? AND " + two + " = ? AND " + c.name + " = ?",
			args: []any{c.value(sealed), r.key[0], r.key[1], c.value(string(r.stored))}, what: c.table,
			done: func(rows int64) error { done = rows > 0; return nil },
		})
	})
	return done && err == nil, err
}
