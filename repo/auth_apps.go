package repo

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"time"

	"gorm.io/gorm"

	"fringework/auth"
	"fringework/domain"
)

type appRow struct {
	AcademyID domain.ID
	ID        domain.ID
	Name      string
	Redirects string
	Scopes    string
	Secret    []byte
	ByID      domain.ID
	CreatedAt int64 `gorm:"autoCreateTime:false"`
	RevokedAt *int64
}

// TableName names the table.
func (appRow) TableName() string { return "apps" }

func (r appRow) app() (auth.App, error) {
	scopes, err := scopesOf(r.Scopes, r.ID)
	if err != nil {
		return auth.App{}, err
	}
	a := auth.App{ID: r.ID, Name: r.Name, Scopes: scopes, By: r.ByID, Created: instant(r.CreatedAt), Revoked: maybeInstant(r.RevokedAt)}
	if r.Secret != nil {
		a.Secret = auth.Digest(r.Secret)
	}
	return a, json.Unmarshal([]byte(r.Redirects), &a.Redirects)
}

// AddApp implements auth.AppTx.
func (t *authTx) AddApp(ctx context.Context, in domain.ID, a auth.App) error {
	row := appRow{
		AcademyID: in, ID: a.ID, Name: a.Name, Redirects: encode(a.Redirects), Scopes: a.Scopes.String(),
		ByID: a.By, CreatedAt: at(a.Created), RevokedAt: maybeAt(a.Revoked),
	}
	if !a.Public() {
		row.Secret = a.Secret[:]
	}
	return fail(t.on(ctx).Create(&row).Error, "app")
}

// AppByID implements auth.AppTx.
func (t *authTx) AppByID(ctx context.Context, id domain.ID) (domain.ID, auth.App, error) {
	var r appRow
	if err := t.on(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return "", auth.App{}, fail(err, "app")
	}
	a, err := r.app()
	return r.AcademyID, a, err
}

// Apps implements auth.AppTx.
func (t *authTx) Apps(ctx context.Context, in domain.ID, page domain.Page) ([]auth.App, error) {
	var rows []appRow
	err := t.on(ctx).Where("academy_id = ? AND id > ?", in, page.After).Order("id").Limit(page.Limit).Find(&rows).Error
	if err != nil {
		return nil, fail(err, "app")
	}
	return tryEach(rows, appRow.app)
}

// GoodApps implements auth.AppTx.
func (t *authTx) GoodApps(ctx context.Context, in domain.ID) (int, error) {
	if err := advisory(t.on(ctx), t.engine, "apps of "+string(in)); err != nil {
		return 0, err
	}
	var n int64
	err := t.on(ctx).Model(&appRow{}).Where("academy_id = ? AND revoked_at IS NULL", in).Count(&n).Error
	return int(n), fail(err, "app")
}

// RevokeApp implements auth.AppTx.
func (t *authTx) RevokeApp(ctx context.Context, in, id domain.ID, when time.Time) (bool, error) {
	return did(t.of(ctx, in, id).Model(&appRow{}).Where("revoked_at IS NULL").Update("revoked_at", at(when)), "app")
}

// appsAgreed is the column that says when a junior's guardian agreed that apps may
// read the junior's data.
const appsAgreed = "apps_at"

type connectionRow struct {
	AcademyID     domain.ID
	ID            domain.ID
	AppID         domain.ID
	MemberID      domain.ID
	Role          domain.Role
	Scopes        string
	Code          []byte
	Redirect      string
	Challenge     string
	Lineage       []byte
	CurrentToken  []byte
	PreviousToken []byte
	Salt          []byte
	CreatedAt     int64 `gorm:"autoCreateTime:false"`
	ExchangedAt   *int64
	RotatedAt     int64
	ExpiresAt     int64
	EndedAt       *int64
	EndedWhy      auth.EndReason
}

// TableName names the table.
func (connectionRow) TableName() string { return "connections" }

func (r connectionRow) connection() (auth.Connection, error) {
	scopes, err := scopesOf(r.Scopes, r.ID)
	return auth.Connection{
		ID: r.ID, App: r.AppID, Member: r.MemberID, Role: r.Role, Scopes: scopes,
		Code: auth.Digest(r.Code), Redirect: r.Redirect, Challenge: r.Challenge,
		Lineage: auth.Digest(r.Lineage), Current: auth.Digest(r.CurrentToken), Previous: auth.Digest(r.PreviousToken), Salt: auth.Digest(r.Salt),
		Created: instant(r.CreatedAt), Exchanged: maybeInstant(r.ExchangedAt), Rotated: instant(r.RotatedAt), Expires: instant(r.ExpiresAt),
		Ended: maybeInstant(r.EndedAt), Why: r.EndedWhy,
	}, err
}

// AddConnection implements auth.AppTx.
func (t *authTx) AddConnection(ctx context.Context, in domain.ID, c auth.Connection) error {
	row := connectionRow{
		AcademyID: in, ID: c.ID, AppID: c.App, MemberID: c.Member, Role: c.Role, Scopes: c.Scopes.String(),
		Code: c.Code[:], Redirect: c.Redirect, Challenge: c.Challenge,
		Lineage: c.Lineage[:], CurrentToken: c.Current[:], PreviousToken: c.Previous[:], Salt: c.Salt[:],
		CreatedAt: at(c.Created), ExchangedAt: maybeAt(c.Exchanged), RotatedAt: at(c.Rotated), ExpiresAt: at(c.Expires),
		EndedAt: maybeAt(c.Ended), EndedWhy: c.Why,
	}
	return fail(t.on(ctx).Create(&row).Error, "connection")
}

// ConnectionByID implements auth.AppTx.
func (t *authTx) ConnectionByID(ctx context.Context, id domain.ID) (domain.ID, auth.Connection, error) {
	var r connectionRow
	if err := t.on(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return "", auth.Connection{}, fail(err, "connection")
	}
	c, err := r.connection()
	return r.AcademyID, c, err
}

// SaveConnection implements auth.AppTx.
func (t *authTx) SaveConnection(ctx context.Context, in domain.ID, c auth.Connection, was auth.Digest) (bool, error) {
	r := t.of(ctx, in, c.ID).Model(&connectionRow{}).Where("ended_at IS NULL AND current_token = ?", was[:]).
		Updates(map[string]any{
			"lineage": c.Lineage[:], "current_token": c.Current[:], "previous_token": c.Previous[:], "salt": c.Salt[:],
			"exchanged_at": maybeAt(c.Exchanged), "rotated_at": at(c.Rotated), "expires_at": at(c.Expires),
		})
	return did(r, "connection")
}

// picked starts a statement on the connections that a query picks.
func (t *authTx) picked(ctx context.Context, in domain.ID, q auth.ConnectionQuery) *gorm.DB {
	on := t.on(ctx).Model(&connectionRow{}).Where("academy_id = ?", in)
	for column, id := range map[string]domain.ID{"id": q.ID, "app_id": q.App, "member_id": q.Member} {
		if id != "" {
			on = on.Where(column+" = ?", id)
		}
	}
	if !q.LiveAt.IsZero() {
		on = on.Where("exchanged_at IS NOT NULL AND ended_at IS NULL AND expires_at > ?", at(q.LiveAt))
	}
	return on
}

// Connections implements auth.AppTx.
func (t *authTx) Connections(ctx context.Context, in domain.ID, q auth.ConnectionQuery, page domain.Page) ([]auth.Connection, error) {
	var rows []connectionRow
	if err := t.picked(ctx, in, q).Where("id > ?", page.After).Order("id").Limit(page.Limit).Find(&rows).Error; err != nil {
		return nil, fail(err, "connection")
	}
	return tryEach(rows, connectionRow.connection)
}

// EndConnections implements auth.AppTx.
func (t *authTx) EndConnections(ctx context.Context, in domain.ID, q auth.ConnectionQuery, when time.Time, why auth.EndReason) (int, error) {
	if q == (auth.ConnectionQuery{}) {
		return 0, nil
	}
	r := t.picked(ctx, in, q).Where("ended_at IS NULL").Updates(map[string]any{"ended_at": at(when), "ended_why": why})
	return int(r.RowsAffected), fail(r.Error, "connection")
}

// SweepConnections implements auth.AppTx.
func (t *authTx) SweepConnections(ctx context.Context, before time.Time, limit int) (int, error) {
	return t.sweep(ctx, "connections", "id", "expires_at", at(before), limit)
}

// AppAccess implements auth.Store. Every request of an app asks for it, so it is
// one statement without the mapper and a transaction, as MemberAccess is.
func (s authStore) AppAccess(ctx context.Context, academy, connection domain.ID) (a auth.AppAccess, err error) {
	ctx, cancel := s.db.bounded(ctx)
	defer cancel()
	text := "SELECT c.app_id, m.id, m.role FROM connections c" +
		" JOIN apps a ON a.academy_id = c.academy_id AND a.id = c.app_id JOIN members m ON m.academy_id = c.academy_id AND m.id = c.member_id" +
		" WHERE c.academy_id = ? AND c.id = ? AND c.ended_at IS NULL AND a.revoked_at IS NULL AND m.removed_at IS NULL AND m.role = c.role" +
		" AND (NOT m.junior OR m." + appsAgreed + " IS NOT NULL)"
	args := []any{academy, connection}
	s.db.log.count(ctx, query{sql: text, args: args})
	err = s.db.readPool.QueryRowContext(ctx, spelled(text, s.db.engine), args...).Scan(&a.App, &a.Member, &a.Role)
	if errors.Is(err, sql.ErrNoRows) || unstorable(err) {
		err = domain.ErrNotFound("connection").Because(err)
	}
	return a, err
}
