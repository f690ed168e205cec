package repo

import (
	"cmp"
	"context"
	"database/sql"
	"errors"

	"gorm.io/gorm"

	"fringework/auth"
	"fringework/domain"
)

// Auth gives the store of package auth. It is not opened for an academy: each
// of its methods on an academy's rows is told which.
func (db *DB) Auth() auth.Store { return authStore{db} }

type authStore struct{ db *DB }

// Read implements auth.Store.
func (s authStore) Read(ctx context.Context, fn func(auth.Tx) error) error {
	return s.db.read(ctx, func(t *transaction) error { return fn(&authTx{t}) })
}

// Write implements auth.Store.
func (s authStore) Write(ctx context.Context, fn func(auth.Tx) error) error {
	return s.db.write(ctx, func(t *transaction) error { return settled(fn(&authTx{t})) })
}

// settled is an error for which a transaction is not tried again. Package auth
// expects a conflict at once, and looks again by itself.
func settled(err error) error {
	if !errors.Is(err, errRaced) {
		return err
	}
	if e, ok := errors.AsType[*domain.Error](err); ok {
		return e.Because(errors.New("repo: the unique key is taken"))
	}
	return err
}

// MemberAccess implements auth.Store. Every request asks for it, so it goes to
// the database without the mapper and a transaction.
func (s authStore) MemberAccess(ctx context.Context, family, academy, member domain.ID) (auth.MemberAccess, error) {
	ctx, cancel := s.db.bounded(ctx)
	defer cancel()
	var m auth.MemberAccess
	text, args := "SELECT account_id, '' FROM sign_ins WHERE id = ? AND ended_at IS NULL", []any{family}
	if academy != "" || member != "" {
		text = "SELECT m.account_id, m.role FROM sign_ins s JOIN members m ON m.account_id = s.account_id" +
			" WHERE s.id = ? AND s.ended_at IS NULL AND m.academy_id = ? AND m.id = ? AND m.removed_at IS NULL"
		args = []any{family, academy, member}
	}
	s.db.log.count(ctx, query{sql: text, args: args})
	err := s.db.asking(ctx).QueryRowContext(ctx, spelled(text, s.db.engine), args...).Scan(&m.Account, &m.Role)
	if errors.Is(err, sql.ErrNoRows) {
		return m, domain.ErrNotFound("sign-in")
	}
	if unstorable(err) {
		err = domain.ErrNotFound("sign-in").Because(err)
	}
	return m, s.db.served(err)
}

// Belonging implements auth.Store, in one statement as MemberAccess is.
func (s authStore) Belonging(ctx context.Context, account domain.ID) (a auth.Account, in []auth.Membership, err error) {
	ctx, cancel := s.db.bounded(ctx)
	defer cancel()
	text := "SELECT c.id, c.email, c.name, c.created_at, c.verified_at, m.academy_id, y.name, m.id, m.role, COALESCE(y.second_factor, FALSE) FROM accounts c" +
		" LEFT JOIN members m ON m.account_id = c.id AND m.removed_at IS NULL LEFT JOIN academies y ON y.id = m.academy_id" +
		" WHERE c.id = ? ORDER BY m.id"
	s.db.log.count(ctx, query{sql: text, args: []any{account}})
	rows, err := s.db.asking(ctx).QueryContext(ctx, spelled(text, s.db.engine), account)
	if err != nil {
		return a, nil, s.db.served(err)
	}
	defer func() { err = cmp.Or(err, rows.Close()) }()
	for rows.Next() {
		var r accountRow
		var academy, name, member, role *string // absent of an account that belongs nowhere
		var required bool
		if err := rows.Scan(&r.ID, &r.Email, &r.Name, &r.CreatedAt, &r.VerifiedAt, &academy, &name, &member, &role, &required); err != nil {
			return a, nil, err
		}
		a = r.account()
		if member != nil {
			in = append(in, auth.Membership{
				Academy: domain.ID(*academy), AcademyName: *name, Member: domain.ID(*member), Role: domain.Role(*role), FactorRequired: required,
			})
		}
	}
	if err := rows.Err(); err != nil {
		return auth.Account{}, nil, s.db.served(err)
	}
	if a.ID == "" {
		return a, nil, domain.ErrNotFound("account")
	}
	return a, in, nil
}

// KeyAccess implements auth.Store.
func (s authStore) KeyAccess(ctx context.Context, academy, key domain.ID) (auth.KeyAccess, error) {
	ctx, cancel := s.db.bounded(ctx)
	defer cancel()
	var r keyRow
	err := s.db.reader.WithContext(ctx).Where("academy_id = ? AND id = ? AND revoked_at IS NULL", academy, key).Take(&r).Error
	if err != nil {
		return auth.KeyAccess{}, s.db.served(fail(err, "key"))
	}
	k, err := r.key()
	return auth.KeyAccess{Scopes: k.Scopes}, err
}

// authTx is a transaction of the store of package auth.
type authTx struct{ *transaction }

// Record implements auth.Tx.
func (t *authTx) Record(_ context.Context, academy domain.ID, e domain.Event) error {
	if !t.writing {
		return errReadOnly
	}
	return t.tell(academy, e)
}

// on starts a statement of the transaction.
func (t *authTx) on(ctx context.Context) *gorm.DB { return on(ctx, t.tx) }

// of starts a statement on one row of an academy.
func (t *authTx) of(ctx context.Context, academy, id domain.ID) *gorm.DB {
	return t.on(ctx).Where("academy_id = ? AND id = ?", academy, id)
}

// did reports whether a conditional change changed anything.
func did(r *gorm.DB, what string) (bool, error) {
	return r.RowsAffected > 0, fail(r.Error, what)
}

// sweep deletes rows of a table by key, at most limit of those that picked.
func (t *authTx) sweep(ctx context.Context, table, key, picked string, before int64, limit int) (int, error) {
	r := t.on(ctx).Exec("DELETE FROM "+table+" WHERE "+key+" IN (SELECT "+key+" FROM "+table+" WHERE "+picked+" < ? ORDER BY "+picked+" LIMIT ?)", before, limit)
	return int(r.RowsAffected), r.Error
}
