package repo

import (
	"context"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"fringework/auth"
	"fringework/domain"
)

type authenticatorRow struct {
	AccountID   domain.ID `gorm:"primaryKey"`
	Secret      []byte
	CreatedAt   int64 `gorm:"autoCreateTime:false"`
	ConfirmedAt *int64
	LastStep    int64
}

// TableName names the table.
func (authenticatorRow) TableName() string { return "authenticators" }

// ofAccount starts a statement on rows of an account.
func (t *authTx) ofAccount(ctx context.Context, account domain.ID) *gorm.DB {
	return t.on(ctx).Where("account_id = ?", account)
}

// Authenticator implements auth.FactorTx.
func (t *authTx) Authenticator(ctx context.Context, account domain.ID) (auth.Authenticator, error) {
	var r authenticatorRow
	if err := t.ofAccount(ctx, account).Take(&r).Error; err != nil {
		return auth.Authenticator{}, fail(err, "authenticator")
	}
	return auth.Authenticator{
		Account: r.AccountID, Secret: r.Secret, Created: instant(r.CreatedAt), Confirmed: maybeInstant(r.ConfirmedAt), Step: r.LastStep,
	}, nil
}

// SaveAuthenticator implements auth.FactorTx.
func (t *authTx) SaveAuthenticator(ctx context.Context, a auth.Authenticator) error {
	row := authenticatorRow{AccountID: a.Account, Secret: a.Secret, CreatedAt: at(a.Created), ConfirmedAt: maybeAt(a.Confirmed), LastStep: a.Step}
	return fail(t.on(ctx).Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error, "authenticator")
}

// UseStep implements auth.FactorTx.
func (t *authTx) UseStep(ctx context.Context, account domain.ID, step int64) (bool, error) {
	r := t.ofAccount(ctx, account).Model(&authenticatorRow{}).Where("last_step < ?", step).Update("last_step", step)
	return did(r, "authenticator")
}

// RemoveAuthenticator implements auth.FactorTx.
func (t *authTx) RemoveAuthenticator(ctx context.Context, account domain.ID) error {
	return t.ofAccount(ctx, account).Delete(&authenticatorRow{}).Error
}

type passkeyRow struct {
	ID         domain.ID
	AccountID  domain.ID
	Credential []byte
	Name       string
	Doc        string
	CreatedAt  int64 `gorm:"autoCreateTime:false"`
	UsedAt     *int64
}

// TableName names the table.
func (passkeyRow) TableName() string { return "passkeys" }

// AddPasskey implements auth.FactorTx.
func (t *authTx) AddPasskey(ctx context.Context, p auth.Passkey) error {
	row := passkeyRow{
		ID: p.ID, AccountID: p.Account, Credential: p.Credential, Name: p.Name, Doc: p.Doc,
		CreatedAt: at(p.Created), UsedAt: maybeAt(p.Used),
	}
	return fail(t.on(ctx).Create(&row).Error, "passkey")
}

// Passkeys implements auth.FactorTx.
func (t *authTx) Passkeys(ctx context.Context, account domain.ID) (all []auth.Passkey, err error) {
	var rows []passkeyRow
	if err := t.ofAccount(ctx, account).Order("id").Find(&rows).Error; err != nil {
		return nil, fail(err, "passkey")
	}
	for _, r := range rows {
		all = append(all, auth.Passkey{
			ID: r.ID, Account: r.AccountID, Credential: r.Credential, Name: r.Name, Doc: r.Doc,
			Created: instant(r.CreatedAt), Used: maybeInstant(r.UsedAt),
		})
	}
	return all, nil
}

// SavePasskey implements auth.FactorTx.
func (t *authTx) SavePasskey(ctx context.Context, p auth.Passkey) error {
	return t.ofAccount(ctx, p.Account).Model(&passkeyRow{}).Where("id = ?", p.ID).
		Updates(map[string]any{"doc": p.Doc, "used_at": maybeAt(p.Used)}).Error
}

// RemovePasskey implements auth.FactorTx.
func (t *authTx) RemovePasskey(ctx context.Context, account, id domain.ID) (bool, error) {
	return did(t.ofAccount(ctx, account).Where("id = ?", id).Delete(&passkeyRow{}), "passkey")
}

type recoveryRow struct {
	AccountID domain.ID
	Code      []byte
}

// TableName names the table.
func (recoveryRow) TableName() string { return "recovery_codes" }

// SetRecoveryCodes implements auth.FactorTx.
func (t *authTx) SetRecoveryCodes(ctx context.Context, account domain.ID, codes []auth.Digest) error {
	if err := t.ofAccount(ctx, account).Delete(&recoveryRow{}).Error; err != nil || len(codes) == 0 {
		return err
	}
	rows := make([]recoveryRow, len(codes))
	for i, c := range codes {
		rows[i] = recoveryRow{account, c[:]}
	}
	return fail(t.on(ctx).Create(&rows).Error, "recovery code")
}

// TakeRecoveryCode implements auth.FactorTx.
func (t *authTx) TakeRecoveryCode(ctx context.Context, account domain.ID, code auth.Digest) (bool, error) {
	return did(t.ofAccount(ctx, account).Where("code = ?", code[:]).Delete(&recoveryRow{}), "recovery code")
}

// RecoveryCodes implements auth.FactorTx.
func (t *authTx) RecoveryCodes(ctx context.Context, account domain.ID) (int, error) {
	var n int64
	err := t.ofAccount(ctx, account).Model(&recoveryRow{}).Count(&n).Error
	return int(n), fail(err, "recovery code")
}

// RequireFactor implements auth.FactorTx.
func (t *authTx) RequireFactor(ctx context.Context, academy domain.ID, required bool) error {
	return t.on(ctx).Model(&academyRow{}).Where("id = ?", academy).Update("second_factor", required).Error
}

type ticketRow struct {
	Digest    []byte `gorm:"primaryKey"`
	Purpose   auth.Purpose
	AccountID *domain.ID
	Doc       string
	Misses    int
	CreatedAt int64 `gorm:"autoCreateTime:false"`
	ExpiresAt int64
}

// TableName names the table.
func (ticketRow) TableName() string { return "tickets" }

func (r ticketRow) ticket() auth.Ticket {
	return auth.Ticket{
		Digest: auth.Digest(r.Digest), Purpose: r.Purpose, Account: orEmpty(r.AccountID), Doc: r.Doc, Misses: r.Misses,
		Created: instant(r.CreatedAt), Expires: instant(r.ExpiresAt),
	}
}

// AddTicket implements auth.TicketTx.
func (t *authTx) AddTicket(ctx context.Context, k auth.Ticket) error {
	row := ticketRow{
		Digest: k.Digest[:], Purpose: k.Purpose, AccountID: maybeText(k.Account), Doc: k.Doc, Misses: k.Misses,
		CreatedAt: at(k.Created), ExpiresAt: at(k.Expires),
	}
	return fail(t.on(ctx).Create(&row).Error, "ticket")
}

// byDigest starts a statement on one ticket.
func (t *authTx) byDigest(ctx context.Context, d auth.Digest) *gorm.DB {
	return t.on(ctx).Where("digest = ?", d[:])
}

// Ticket implements auth.TicketTx.
func (t *authTx) Ticket(ctx context.Context, d auth.Digest) (auth.Ticket, error) {
	var r ticketRow
	if err := t.byDigest(ctx, d).Take(&r).Error; err != nil {
		return auth.Ticket{}, fail(err, "ticket")
	}
	return r.ticket(), nil
}

// MissTicket implements auth.TicketTx.
func (t *authTx) MissTicket(ctx context.Context, d auth.Digest) error {
	return t.byDigest(ctx, d).Model(&ticketRow{}).Update("misses", gorm.Expr("misses + 1")).Error
}

// TakeTicket implements auth.TicketTx.
func (t *authTx) TakeTicket(ctx context.Context, d auth.Digest) (bool, error) {
	return did(t.byDigest(ctx, d).Delete(&ticketRow{}), "ticket")
}

// Tickets implements auth.TicketTx.
func (t *authTx) Tickets(ctx context.Context, account domain.ID, purpose auth.Purpose) (all []auth.Ticket, err error) {
	var rows []ticketRow
	if err := t.ofAccount(ctx, account).Where("purpose = ?", purpose).Order("created_at, digest").Find(&rows).Error; err != nil {
		return nil, fail(err, "ticket")
	}
	for _, r := range rows {
		all = append(all, r.ticket())
	}
	return all, nil
}

// DropTickets implements auth.TicketTx.
func (t *authTx) DropTickets(ctx context.Context, account domain.ID, purpose auth.Purpose) error {
	return t.ofAccount(ctx, account).Where("purpose = ?", purpose).Delete(&ticketRow{}).Error
}

// SweepTickets implements auth.TicketTx.
func (t *authTx) SweepTickets(ctx context.Context, before time.Time, limit int) (int, error) {
	return t.sweep(ctx, "tickets", "digest", "expires_at", at(before), limit)
}
