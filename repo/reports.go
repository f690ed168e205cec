package repo

import (
	"context"
	"crypto/sha256"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

type reportLinkRow struct {
	AcademyID domain.ID
	ID        domain.ID
	StudentID domain.ID
	Token     []byte
	Words     string
	ByID      domain.ID
	CreatedAt int64 `gorm:"autoCreateTime:false"`
	ExpiresAt int64
	EndedAt   *int64
}

// TableName names the table.
func (reportLinkRow) TableName() string { return "report_links" }

func (r reportLinkRow) link() academy.ReportLink {
	return academy.ReportLink{
		ID: r.ID, Student: r.StudentID, Token: [sha256.Size]byte(r.Token), Words: r.Words, By: r.ByID,
		Created: instant(r.CreatedAt), Expires: instant(r.ExpiresAt), Ended: maybeInstant(r.EndedAt),
	}
}

// AddReportLink implements academy.ReportStore.
func (s reportStore) AddReportLink(ctx context.Context, l academy.ReportLink) error {
	return s.insert(ctx, &reportLinkRow{
		AcademyID: s.id, ID: l.ID, StudentID: l.Student, Token: l.Token[:], Words: l.Words, ByID: l.By,
		CreatedAt: at(l.Created), ExpiresAt: at(l.Expires), EndedAt: maybeAt(l.Ended),
	}, 1, "student")
}

// ReportLinks implements academy.ReportStore.
func (s reportStore) ReportLinks(ctx context.Context, student domain.ID) ([]academy.ReportLink, error) {
	var rows []reportLinkRow
	if err := s.forStudent(ctx, student).Order("id DESC").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return each(rows, reportLinkRow.link), nil
}

// ReportLink implements academy.ReportStore.
func (s reportStore) ReportLink(ctx context.Context, token [sha256.Size]byte) (academy.ReportLink, error) {
	var r reportLinkRow
	if err := s.rows(ctx).Where("token = ?", token[:]).Take(&r).Error; err != nil {
		return academy.ReportLink{}, fail(err, "report link")
	}
	return r.link(), nil
}

// EndReportLink implements academy.ReportStore.
func (s reportStore) EndReportLink(ctx context.Context, student, id domain.ID, when time.Time) (bool, error) {
	one := func() *reportLinkRow { return &reportLinkRow{} }
	if err := s.forStudent(ctx, student).Where("id = ?", id).Take(one()).Error; err != nil {
		return false, fail(err, "report link")
	}
	r := s.forStudent(ctx, student).Model(one()).Where("id = ? AND ended_at IS NULL", id).Update("ended_at", at(when))
	return did(r, "report link")
}
