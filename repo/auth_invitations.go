package repo

import (
	"context"
	"fmt"
	"time"

	"fringework/auth"
	"fringework/domain"
)

type invitationRow struct {
	AcademyID  domain.ID
	ID         domain.ID
	Role       domain.Role
	Email      string
	Name       string
	ByID       domain.ID
	CoachID    *domain.ID
	GroupID    *domain.ID
	StudentID  *domain.ID
	Junior     bool
	Code       []byte
	CreatedAt  int64 `gorm:"autoCreateTime:false"`
	ExpiresAt  int64
	AcceptedAt *int64
	AcceptedBy *domain.ID
	RevokedAt  *int64
}

// TableName names the table.
func (invitationRow) TableName() string { return "invitations" }

func (r invitationRow) invitation() auth.Invitation {
	return auth.Invitation{
		ID: r.ID, Role: r.Role, Email: r.Email, Name: r.Name, By: r.ByID, Coach: orEmpty(r.CoachID), Group: orEmpty(r.GroupID),
		Student: orEmpty(r.StudentID), Junior: r.Junior, Code: auth.Digest(r.Code), Created: instant(r.CreatedAt), Expires: instant(r.ExpiresAt),
		Accepted: maybeInstant(r.AcceptedAt), AcceptedBy: orEmpty(r.AcceptedBy), Revoked: maybeInstant(r.RevokedAt),
	}
}

// giftRow is what an invitation gives to whoever accepts it.
type giftRow struct {
	AcademyID    domain.ID
	InvitationID domain.ID
	ProgrammeID  domain.ID
	Version      int
	StartDate    string
}

// TableName names the table.
func (giftRow) TableName() string { return "invitation_programmes" }

// withGifts adds what invitations of an academy give.
func (t *authTx) withGifts(ctx context.Context, in domain.ID, list []auth.Invitation) ([]auth.Invitation, error) {
	if len(list) == 0 {
		return list, nil
	}
	ids := each(list, func(i auth.Invitation) domain.ID { return i.ID })
	var rows []giftRow
	if err := t.on(ctx).Where("academy_id = ? AND invitation_id IN ?", in, ids).Find(&rows).Error; err != nil || len(rows) == 0 {
		return list, fail(err, "invitation")
	}
	gifts := map[domain.ID]auth.Gift{}
	for _, r := range rows {
		start, err := date(r.StartDate)
		if err != nil {
			return nil, err
		}
		gifts[r.InvitationID] = auth.Gift{Programme: r.ProgrammeID, Version: r.Version, Start: start}
	}
	for i := range list {
		list[i].Gives = gifts[list[i].ID]
	}
	return list, nil
}

// oneWithGift is withGifts for one invitation.
func (t *authTx) oneWithGift(ctx context.Context, r invitationRow) (auth.Invitation, error) {
	list, err := t.withGifts(ctx, r.AcademyID, []auth.Invitation{r.invitation()})
	if err != nil {
		return auth.Invitation{}, err
	}
	return list[0], nil
}

// AddInvitation implements auth.InvitationTx.
func (t *authTx) AddInvitation(ctx context.Context, in domain.ID, i auth.Invitation) error {
	row := invitationRow{
		AcademyID: in, ID: i.ID, Role: i.Role, Email: i.Email, Name: i.Name, ByID: i.By, CoachID: maybeText(i.Coach), GroupID: maybeText(i.Group),
		StudentID: maybeText(i.Student), Junior: i.Junior, Code: i.Code[:], CreatedAt: at(i.Created), ExpiresAt: at(i.Expires),
		AcceptedAt: maybeAt(i.Accepted), AcceptedBy: maybeText(i.AcceptedBy), RevokedAt: maybeAt(i.Revoked),
	}
	if err := t.on(ctx).Create(&row).Error; err != nil || i.Gives.Programme == "" {
		return fail(err, "invitation")
	}
	gift := giftRow{
		AcademyID: in, InvitationID: i.ID, ProgrammeID: i.Gives.Programme, Version: i.Gives.Version, StartDate: i.Gives.Start.String(),
	}
	return fail(t.on(ctx).Create(&gift).Error, "version")
}

// Invitation implements auth.InvitationTx.
func (t *authTx) Invitation(ctx context.Context, in, id domain.ID) (auth.Invitation, error) {
	var r invitationRow
	if err := t.of(ctx, in, id).Take(&r).Error; err != nil {
		return auth.Invitation{}, fail(err, "invitation")
	}
	return t.oneWithGift(ctx, r)
}

// InvitationByCode implements auth.InvitationTx.
func (t *authTx) InvitationByCode(ctx context.Context, code auth.Digest) (domain.ID, auth.Invitation, error) {
	var r invitationRow
	if err := t.on(ctx).Where("code = ?", code[:]).Take(&r).Error; err != nil {
		return "", auth.Invitation{}, fail(err, "invitation")
	}
	i, err := t.oneWithGift(ctx, r)
	return r.AcademyID, i, err
}

// stillOpen is the condition that an invitation is open at an instant.
const stillOpen = "accepted_at IS NULL AND revoked_at IS NULL AND expires_at > ?"

// Invitations implements auth.InvitationTx.
func (t *authTx) Invitations(ctx context.Context, in domain.ID, q auth.InvitationQuery) ([]auth.Invitation, error) {
	query := t.on(ctx).Where("academy_id = ? AND id > ?", in, q.Page.After).Order("id").Limit(q.Page.Limit)
	if q.By != "" {
		query = query.Where("by_id = ?", q.By)
	}
	if !q.OpenAt.IsZero() {
		// An invitation is worth nothing once its maker has left.
		query = query.Where(stillOpen, at(q.OpenAt)).
			Where("by_id IN (SELECT id FROM members WHERE academy_id = ? AND removed_at IS NULL)", in)
	}
	var rows []invitationRow
	if err := query.Find(&rows).Error; err != nil {
		return nil, fail(err, "invitation")
	}
	return t.withGifts(ctx, in, each(rows, invitationRow.invitation))
}

// TakeInvitation implements auth.InvitationTx.
func (t *authTx) TakeInvitation(ctx context.Context, in, id, member domain.ID, when time.Time) (bool, error) {
	r := t.of(ctx, in, id).Model(&invitationRow{}).Where(stillOpen, at(when)).
		Updates(map[string]any{"accepted_at": at(when), "accepted_by": member})
	return did(r, "member")
}

// RevokeInvitation implements auth.InvitationTx.
func (t *authTx) RevokeInvitation(ctx context.Context, in, id domain.ID, when time.Time) (bool, error) {
	r := t.of(ctx, in, id).Model(&invitationRow{}).Where(stillOpen, at(when)).Update("revoked_at", at(when))
	return did(r, "invitation")
}

type keyRow struct {
	AcademyID domain.ID
	ID        domain.ID
	Name      string
	Scopes    string
	Secret    []byte
	ByID      domain.ID
	CreatedAt int64 `gorm:"autoCreateTime:false"`
	UsedAt    *int64
	RevokedAt *int64
}

// TableName names the table.
func (keyRow) TableName() string { return "app_keys" }

func (r keyRow) key() (auth.AppKey, error) {
	scopes, err := scopesOf(r.Scopes, r.ID)
	if err != nil {
		return auth.AppKey{}, err
	}
	return auth.AppKey{
		ID: r.ID, Name: r.Name, Scopes: scopes, Secret: auth.Digest(r.Secret), By: r.ByID,
		Created: instant(r.CreatedAt), Used: maybeInstant(r.UsedAt), Revoked: maybeInstant(r.RevokedAt),
	}, nil
}

// scopesOf reads the scopes of a thing.
func scopesOf(text string, of domain.ID) (auth.Scopes, error) {
	scopes, ok := auth.ParseScopes(text)
	if !ok {
		return nil, fmt.Errorf("repo: %s has unknown scopes %q", of, text)
	}
	return scopes, nil
}

// AddKey implements auth.KeyTx.
func (t *authTx) AddKey(ctx context.Context, in domain.ID, k auth.AppKey) error {
	row := keyRow{
		AcademyID: in, ID: k.ID, Name: k.Name, Scopes: k.Scopes.String(), Secret: k.Secret[:], ByID: k.By,
		CreatedAt: at(k.Created), UsedAt: maybeAt(k.Used), RevokedAt: maybeAt(k.Revoked),
	}
	return fail(t.on(ctx).Create(&row).Error, "key")
}

// KeyByID implements auth.KeyTx.
func (t *authTx) KeyByID(ctx context.Context, id domain.ID) (domain.ID, auth.AppKey, error) {
	var r keyRow
	if err := t.on(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return "", auth.AppKey{}, fail(err, "key")
	}
	k, err := r.key()
	return r.AcademyID, k, err
}

// Keys implements auth.KeyTx.
func (t *authTx) Keys(ctx context.Context, in domain.ID, page domain.Page) ([]auth.AppKey, error) {
	var rows []keyRow
	err := t.on(ctx).Where("academy_id = ? AND id > ?", in, page.After).Order("id").Limit(page.Limit).Find(&rows).Error
	if err != nil {
		return nil, fail(err, "key")
	}
	return tryEach(rows, keyRow.key)
}

// GoodKeys implements auth.KeyTx.
func (t *authTx) GoodKeys(ctx context.Context, in domain.ID) (int, error) {
	if t.writing {
		if err := advisory(t.on(ctx), t.engine, "keys of "+string(in)); err != nil {
			return 0, err
		}
	}
	var n int64
	err := t.on(ctx).Model(&keyRow{}).Where("academy_id = ? AND revoked_at IS NULL", in).Count(&n).Error
	return int(n), fail(err, "key")
}

// RevokeKey implements auth.KeyTx.
func (t *authTx) RevokeKey(ctx context.Context, in, id domain.ID, when time.Time) (bool, error) {
	r := t.of(ctx, in, id).Model(&keyRow{}).Where("revoked_at IS NULL").Update("revoked_at", at(when))
	return did(r, "key")
}

// TouchKey implements auth.KeyTx.
func (t *authTx) TouchKey(ctx context.Context, in, id domain.ID, when time.Time) error {
	done, err := did(t.of(ctx, in, id).Model(&keyRow{}).Update("used_at", at(when)), "key")
	if err == nil && !done {
		return domain.ErrNotFound("key")
	}
	return err
}
