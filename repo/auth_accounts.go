package repo

import (
	"context"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
)

type accountRow struct {
	ID        domain.ID
	Email     string
	Name      string
	Password  string
	CreatedAt int64 `gorm:"autoCreateTime:false"`
	// VerifiedAt is NULL until the e-mail was shown to be the person's.
	VerifiedAt *int64
}

// TableName names the table.
func (accountRow) TableName() string { return "accounts" }

func (r accountRow) account() auth.Account {
	return auth.Account{ID: r.ID, Email: r.Email, Name: r.Name, Password: r.Password, Created: instant(r.CreatedAt), Verified: maybeInstant(r.VerifiedAt)}
}

// AddAccount implements auth.AccountTx.
func (t *authTx) AddAccount(ctx context.Context, a auth.Account) error {
	row := accountRow{ID: a.ID, Email: a.Email, Name: a.Name, Password: a.Password, CreatedAt: at(a.Created), VerifiedAt: maybeAt(a.Verified)}
	return fail(t.on(ctx).Create(&row).Error, "account")
}

// VerifyEmail implements auth.AccountTx.
func (t *authTx) VerifyEmail(ctx context.Context, account domain.ID, when time.Time) error {
	return t.on(ctx).Model(&accountRow{}).Where("id = ?", account).Update("verified_at", at(when)).Error
}

// SetEmail implements auth.AccountTx.
func (t *authTx) SetEmail(ctx context.Context, account domain.ID, email string, verified time.Time) error {
	err := t.on(ctx).Model(&accountRow{}).Where("id = ?", account).Updates(map[string]any{"email": email, "verified_at": maybeAt(verified)}).Error
	return fail(err, "account")
}

// Account implements auth.AccountTx.
func (t *authTx) Account(ctx context.Context, id domain.ID) (auth.Account, error) {
	var r accountRow
	if err := t.on(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return auth.Account{}, fail(err, "account")
	}
	return r.account(), nil
}

// AccountByEmail implements auth.AccountTx.
func (t *authTx) AccountByEmail(ctx context.Context, email string) (auth.Account, error) {
	var r accountRow
	if err := t.on(ctx).Where("email = ?", email).Take(&r).Error; err != nil {
		return auth.Account{}, fail(err, "account")
	}
	return r.account(), nil
}

// SetPassword implements auth.AccountTx.
func (t *authTx) SetPassword(ctx context.Context, account domain.ID, was, hash string) (bool, error) {
	r := t.on(ctx).Model(&accountRow{}).Where("id = ? AND password = ?", account, was).Update("password", hash)
	return did(r, "account")
}

// Memberships implements auth.AccountTx.
func (t *authTx) Memberships(ctx context.Context, account domain.ID) ([]auth.Membership, error) {
	var rows []struct {
		AcademyID domain.ID
		Name      string
		ID        domain.ID
		Role      domain.Role
		Required  bool
	}
	err := t.on(ctx).Raw("SELECT m.academy_id, a.name, m.id, m.role, a.second_factor AS required FROM members m JOIN academies a ON a.id = m.academy_id"+
		" WHERE m.account_id = ? AND m.removed_at IS NULL ORDER BY m.id", account).Scan(&rows).Error
	if err != nil {
		return nil, fail(err, "account")
	}
	var all []auth.Membership
	for _, r := range rows {
		all = append(all, auth.Membership{Academy: r.AcademyID, AcademyName: r.Name, Member: r.ID, Role: r.Role, FactorRequired: r.Required})
	}
	return all, nil
}

type familyRow struct {
	ID            domain.ID
	AccountID     domain.ID
	AcademyID     *domain.ID
	MemberID      *domain.ID
	Lineage       []byte
	CurrentToken  []byte
	PreviousToken []byte
	Salt          []byte
	Origin        string
	CreatedAt     int64 `gorm:"autoCreateTime:false"`
	RotatedAt     int64
	ExpiresAt     int64
	EndedAt       *int64
	EndedWhy      auth.EndReason
}

// TableName names the table.
func (familyRow) TableName() string { return "sign_ins" }

func (r familyRow) family() auth.Family {
	return auth.Family{
		ID: r.ID, Account: r.AccountID, Academy: orEmpty(r.AcademyID), Member: orEmpty(r.MemberID),
		Lineage: auth.Digest(r.Lineage), Current: auth.Digest(r.CurrentToken), Previous: auth.Digest(r.PreviousToken), Salt: auth.Digest(r.Salt),
		Origin: r.Origin, Created: instant(r.CreatedAt), Rotated: instant(r.RotatedAt), Expires: instant(r.ExpiresAt),
		Ended: maybeInstant(r.EndedAt), Why: r.EndedWhy,
	}
}

// AddFamily implements auth.FamilyTx.
func (t *authTx) AddFamily(ctx context.Context, f auth.Family) error {
	row := familyRow{
		ID: f.ID, AccountID: f.Account, AcademyID: maybeText(f.Academy), MemberID: maybeText(f.Member),
		Lineage: f.Lineage[:], CurrentToken: f.Current[:], PreviousToken: f.Previous[:], Salt: f.Salt[:],
		Origin: f.Origin, CreatedAt: at(f.Created), RotatedAt: at(f.Rotated), ExpiresAt: at(f.Expires),
		EndedAt: maybeAt(f.Ended), EndedWhy: f.Why,
	}
	return fail(t.on(ctx).Create(&row).Error, "sign-in")
}

// Family implements auth.FamilyTx.
func (t *authTx) Family(ctx context.Context, id domain.ID) (auth.Family, error) {
	var r familyRow
	if err := t.on(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return auth.Family{}, fail(err, "sign-in")
	}
	return r.family(), nil
}

// SaveFamily implements auth.FamilyTx.
func (t *authTx) SaveFamily(ctx context.Context, f auth.Family, was auth.Digest) (bool, error) {
	r := t.on(ctx).Model(&familyRow{}).Where("id = ? AND ended_at IS NULL AND current_token = ?", f.ID, was[:]).
		Updates(map[string]any{
			"academy_id": maybeText(f.Academy), "member_id": maybeText(f.Member),
			"current_token": f.Current[:], "previous_token": f.Previous[:], "salt": f.Salt[:], "rotated_at": at(f.Rotated),
		})
	return did(r, "sign-in")
}

// EndFamily implements auth.FamilyTx.
func (t *authTx) EndFamily(ctx context.Context, id domain.ID, when time.Time, why auth.EndReason) (bool, error) {
	r := t.on(ctx).Model(&familyRow{}).Where("id = ? AND ended_at IS NULL", id).
		Updates(map[string]any{"ended_at": at(when), "ended_why": why})
	return did(r, "sign-in")
}

// EndFamilies implements auth.FamilyTx.
func (t *authTx) EndFamilies(ctx context.Context, account, except domain.ID, when time.Time, why auth.EndReason) (int, error) {
	r := t.on(ctx).Model(&familyRow{}).Where("account_id = ? AND id <> ? AND ended_at IS NULL", account, except).
		Updates(map[string]any{"ended_at": at(when), "ended_why": why})
	return int(r.RowsAffected), fail(r.Error, "sign-in")
}

// KnownOrigin implements auth.FamilyTx.
func (t *authTx) KnownOrigin(ctx context.Context, account domain.ID, origin string) (bool, error) {
	var found []int
	err := t.on(ctx).Raw("SELECT 1 FROM sign_ins WHERE account_id = ? AND origin = ? LIMIT 1", account, origin).Scan(&found).Error
	return len(found) > 0, fail(err, "account")
}

// SweepFamilies implements auth.FamilyTx.
func (t *authTx) SweepFamilies(ctx context.Context, before time.Time, limit int) (int, error) {
	return t.sweep(ctx, "sign_ins", "id", "expires_at", at(before), limit)
}

type attemptRow struct {
	Bucket string
	At     int64
}

// TableName names the table.
func (attemptRow) TableName() string { return "attempts" }

// Attempt implements auth.AttemptTx.
func (t *authTx) Attempt(ctx context.Context, bucket string) (time.Time, error) {
	if !t.writing {
		return time.Time{}, errReadOnly
	}
	if err := advisory(t.on(ctx), t.engine, "attempt/"+bucket); err != nil {
		return time.Time{}, err
	}
	return t.PeekAttempt(ctx, bucket)
}

// PeekAttempt implements auth.AttemptTx.
func (t *authTx) PeekAttempt(ctx context.Context, bucket string) (time.Time, error) {
	var rows []attemptRow
	if err := t.on(ctx).Where("bucket = ?", bucket).Limit(1).Find(&rows).Error; err != nil || len(rows) == 0 {
		return time.Time{}, fail(err, "attempt")
	}
	return instant(rows[0].At), nil
}

// SetAttempt implements auth.AttemptTx.
func (t *authTx) SetAttempt(ctx context.Context, bucket string, when time.Time) error {
	return t.on(ctx).Exec("INSERT INTO attempts (bucket, at) VALUES (?, ?) ON CONFLICT (bucket) DO UPDATE SET at = excluded.at",
		bucket, at(when)).Error
}

// SweepAttempts implements auth.AttemptTx.
func (t *authTx) SweepAttempts(ctx context.Context, before time.Time, limit int) (int, error) {
	return t.sweep(ctx, "attempts", "bucket", "at", at(before), limit)
}

// Everywhere implements auth.LeavingTx.
func (t *authTx) Everywhere(ctx context.Context, account domain.ID) (all []auth.Membership, err error) {
	err = t.batch(ctx, query{
		sql: "SELECT m.academy_id, a.name, m.id, m.role, m.removed_at IS NOT NULL FROM members m JOIN academies a ON a.id = m.academy_id" +
			" WHERE m.account_id = ? ORDER BY m.id",
		args: []any{account}, what: "account",
		row: func(scan func(...any) error) error {
			var m auth.Membership
			err := scan(&m.Academy, &m.AcademyName, &m.Member, &m.Role, &m.Left)
			all = append(all, m)
			return err
		},
	})
	return all, err
}

// OtherOwner implements auth.LeavingTx.
func (t *authTx) OtherOwner(ctx context.Context, in, member domain.ID) (other bool, err error) {
	s := scope{transaction: t.transaction, id: in}
	owners, err := listing{&s}.Members(ctx, academy.MemberFilter{Role: domain.Owner}, domain.Page{Limit: 2})
	for _, o := range owners {
		other = other || o.ID != member
	}
	return other, err
}

// EraseMember implements auth.LeavingTx.
func (t *authTx) EraseMember(ctx context.Context, in, member domain.ID) error {
	return (&scope{transaction: t.transaction, id: in, locked: map[domain.ID]bool{}}).erase(ctx, member)
}

// DeleteAccount implements auth.LeavingTx.
func (t *authTx) DeleteAccount(ctx context.Context, account domain.ID) error {
	return t.batch(ctx,
		query{sql: "DELETE FROM sign_ins WHERE account_id = ?", args: []any{account}, what: "account"},
		query{sql: "DELETE FROM accounts WHERE id = ?", args: []any{account}, what: "account"})
}
