package repo

import (
	"context"
	"time"

	"gorm.io/gorm"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
)

// AddAcademy implements auth.MemberTx.
func (t *authTx) AddAcademy(ctx context.Context, a auth.Academy) error {
	row := academyRow{ID: a.ID, Name: a.Name, TimeZone: a.TimeZone, Challenge: 100 * advice.DefaultChallenge, CreatedAt: at(a.Created), ProgressForm: progressForm}
	return fail(t.on(ctx).Create(&row).Error, "academy")
}

// Academy implements auth.MemberTx.
func (t *authTx) Academy(ctx context.Context, id domain.ID) (auth.Academy, error) {
	var r academyRow
	if err := t.on(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return auth.Academy{}, fail(err, "academy")
	}
	return auth.Academy{ID: r.ID, Name: r.Name, TimeZone: r.TimeZone, Created: instant(r.CreatedAt)}, nil
}

// AddMember implements auth.MemberTx. A new member is shown feet and yards, as
// the trade speaks in them.
func (t *authTx) AddMember(ctx context.Context, in domain.ID, m auth.Member) error {
	row := memberRow{
		AcademyID: in, ID: m.ID, AccountID: m.Account, Role: m.Role, Name: m.Name, TimeZone: m.TimeZone, Units: academy.FeetAndYards,
		Junior: m.Junior, RemovedAt: maybeAt(m.Removed), Revision: 1, JoinedAt: at(m.Created),
	}
	return fail(t.on(ctx).Create(&row).Error, "member")
}

// Reinstate implements auth.MemberTx. An old consent does not come alive again.
func (t *authTx) Reinstate(ctx context.Context, in domain.ID, m auth.Member) (bool, error) {
	r := t.of(ctx, in, m.ID).Model(&memberRow{}).Where("removed_at IS NOT NULL").Updates(map[string]any{
		"role": m.Role, "name": m.Name, "time_zone": m.TimeZone, "junior": m.Junior,
		"consent_at": nil, "consent_by": nil, "consent_ended_at": nil, "consent_ended_by": nil, "reports_at": nil, "apps_at": nil, "media_at": nil, "matches_at": nil,
		"removed_at": nil, "revision": gorm.Expr("revision + 1"),
	})
	return did(r, "member")
}

func authMember(r memberRow) auth.Member {
	return auth.Member{
		ID: r.ID, Account: r.AccountID, Role: r.Role, Name: r.Name, TimeZone: r.TimeZone, Junior: r.Junior,
		AppsAgreed: r.AppsAt != nil, Created: instant(r.JoinedAt), Removed: maybeInstant(r.RemovedAt),
	}
}

// Member implements auth.MemberTx.
func (t *authTx) Member(ctx context.Context, in, member domain.ID) (auth.Member, error) {
	var r memberRow
	if err := t.of(ctx, in, member).Take(&r).Error; err != nil {
		return auth.Member{}, fail(err, "member")
	}
	return authMember(r), nil
}

// MemberOfAccount implements auth.MemberTx.
func (t *authTx) MemberOfAccount(ctx context.Context, in, account domain.ID) (auth.Member, error) {
	var r memberRow
	if err := t.on(ctx).Where("academy_id = ? AND account_id = ?", in, account).Take(&r).Error; err != nil {
		return auth.Member{}, fail(err, "member")
	}
	return authMember(r), nil
}

// Link implements auth.MemberTx.
func (t *authTx) Link(ctx context.Context, in, coach, student domain.ID, _ time.Time) error {
	return addOnce(t.on(ctx), &coachLinkRow{AcademyID: in, CoachID: coach, StudentID: student})
}

// Linked implements auth.MemberTx.
func (t *authTx) Linked(ctx context.Context, in, coach, student domain.ID) (bool, error) {
	var n int64
	err := t.on(ctx).Model(&coachLinkRow{}).Where("academy_id = ? AND coach_id = ? AND student_id = ?", in, coach, student).Count(&n).Error
	return n > 0, fail(err, "member")
}

type guardianshipRow struct {
	AcademyID  domain.ID
	GuardianID domain.ID
	StudentID  domain.ID
	// AskedAt is since when the guardian waits for the student's word.
	AskedAt *int64
}

// TableName names the table.
func (guardianshipRow) TableName() string { return "guardianships" }

// Guard implements auth.MemberTx.
func (t *authTx) Guard(ctx context.Context, in, guardian, student domain.ID, _ time.Time) error {
	return addOnce(t.on(ctx), &guardianshipRow{AcademyID: in, GuardianID: guardian, StudentID: student})
}

// HasGroup implements auth.MemberTx.
func (t *authTx) HasGroup(ctx context.Context, in, group domain.ID) (bool, error) {
	var n int64
	err := t.of(ctx, in, group).Model(&groupRow{}).Count(&n).Error
	return n > 0, fail(err, "group")
}

// Join implements auth.MemberTx. The group's revision rises, so that somebody
// who changes the group at the same time learns of it.
func (t *authTx) Join(ctx context.Context, in, group, student domain.ID, _ time.Time) error {
	// First, since it locks the group against being deleted or saved.
	r := t.of(ctx, in, group).Model(&groupRow{}).Update("revision", gorm.Expr("revision + 1"))
	if r.Error == nil && r.RowsAffected == 0 {
		return domain.ErrNotFound("group")
	}
	if r.Error != nil {
		return fail(r.Error, "group")
	}
	return addOnce(t.on(ctx), &groupStudentRow{AcademyID: in, GroupID: group, StudentID: student})
}
