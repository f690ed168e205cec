package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/academy"
)

// assigned lists assignments.
type assigned struct{ *scope }

type assignmentRow struct {
	AcademyID   domain.ID `gorm:"primaryKey"`
	ID          domain.ID `gorm:"primaryKey"`
	StudentID   domain.ID
	ProgrammeID domain.ID
	Version     int
	StartDate   string
	Pauses      string
	Credits     string
	EndedAt     *int64
	Sessions    int
	Revision    int
	CreatedBy   *domain.ID
	CreatedAt   int64 `gorm:"autoCreateTime:false"`
}

// TableName names the table.
func (assignmentRow) TableName() string { return "assignments" }

func (r assignmentRow) assignment() (academy.Assignment, error) {
	as := academy.Assignment{
		ID: r.ID, Student: r.StudentID, Programme: r.ProgrammeID, Version: r.Version, EndedAt: maybeInstant(r.EndedAt),
		Sessions: r.Sessions, Revision: r.Revision, CreatedBy: orEmpty(r.CreatedBy), CreatedAt: instant(r.CreatedAt),
	}
	var err error
	if as.Start, err = date(r.StartDate); err != nil {
		return as, err
	}
	if as.Credits, err = r.credits(); err != nil {
		return as, err
	}
	if r.Pauses == "null" { // as most are
		return as, nil
	}
	pauses, err := decode[[]pauseDoc](r.Pauses)
	if err != nil {
		return as, err
	}
	as.Pauses, err = tryEach(pauses, pauseDoc.pause)
	return as, err
}

// creditDoc is academy.Credit.
type creditDoc struct {
	Version int   `json:"version"`
	Weeks   []int `json:"weeks"`
}

// credits reads how sessions by earlier versions count; most assignments have
// none.
func (r assignmentRow) credits() ([]academy.Credit, error) {
	if r.Credits == "[]" || r.Credits == "null" {
		return nil, nil
	}
	docs, err := decode[[]creditDoc](r.Credits)
	return each(docs, func(d creditDoc) academy.Credit { return academy.Credit(d) }), err
}

// Assignment implements academy.AssignmentStore.
func (s assignmentStore) Assignment(ctx context.Context, id domain.ID) (academy.Assignment, error) {
	var r assignmentRow
	if err := s.rows(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return academy.Assignment{}, fail(err, "assignment")
	}
	return r.assignment()
}

// Assignments implements academy.AssignmentStore and academy.CohortStore.
func (s assigned) Assignments(ctx context.Context, f academy.AssignmentFilter, page domain.Page) ([]academy.Assignment, error) {
	q := s.rows(ctx).Where("id > ?", page.After).Order("id").Limit(page.Limit)
	q = since(q, "updated_at", page.UpdatedSince)
	if f.Student != "" {
		q = q.Where("student_id = ?", f.Student)
	}
	if f.Programme != "" {
		q = q.Where("programme_id = ?", f.Programme)
	}
	if f.VisibleTo != "" {
		q = q.Where("student_id IN (?)", s.linkedTo(f.VisibleTo))
	}
	if f.Current {
		q = q.Where("ended_at IS NULL")
	}
	if f.ForApps {
		q = q.Where("student_id IN (SELECT id FROM members WHERE academy_id = ? AND (junior = ? OR apps_at IS NOT NULL))", s.id, false)
	}
	var rows []assignmentRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "assignment")
	}
	return tryEach(rows, assignmentRow.assignment)
}

// SaveAssignment implements academy.AssignmentStore. The count of sessions is kept by
// practiceStore.Save alone.
func (s assignmentStore) SaveAssignment(ctx context.Context, as academy.Assignment) error {
	row := assignmentRow{
		AcademyID: s.id, ID: as.ID, StudentID: as.Student, ProgrammeID: as.Programme, Version: as.Version,
		StartDate: as.Start.String(), Pauses: encode(each(as.Pauses, pauseToDoc)),
		Credits: encode(each(as.Credits, func(c academy.Credit) creditDoc { return creditDoc(c) })), EndedAt: maybeAt(as.EndedAt),
		Revision: as.Revision, CreatedBy: maybeText(as.CreatedBy), CreatedAt: at(as.CreatedAt),
	}
	return s.save(ctx, &row, as.ID, as.Revision, "assignment", "version", "start_date", "pauses", "credits", "ended_at")
}
