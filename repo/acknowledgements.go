package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
)

type acknowledgementRow struct {
	AcademyID domain.ID
	StudentID domain.ID
	SkillID   domain.ID
	Reason    string
	Until     string
	Note      string
	ByID      *domain.ID
	At        int64
}

// TableName names the table.
func (acknowledgementRow) TableName() string { return "acknowledgements" }

func (r acknowledgementRow) acknowledgement() (academy.Acknowledgement, error) {
	until, err := date(r.Until)
	return academy.Acknowledgement{
		Student: r.StudentID, Skill: r.SkillID, Reason: advice.Reason(r.Reason),
		Until: until, Note: r.Note, By: orEmpty(r.ByID), At: instant(r.At),
	}, err
}

// SaveAcknowledgement implements academy.AcknowledgementStore.
func (s acknowledgementStore) SaveAcknowledgement(ctx context.Context, k academy.Acknowledgement) error {
	return s.upsert(ctx, &acknowledgementRow{
		AcademyID: s.id, StudentID: k.Student, SkillID: k.Skill, Reason: string(k.Reason),
		Until: k.Until.String(), Note: k.Note, ByID: maybeText(k.By), At: at(k.At),
	}, "acknowledgement", "academy_id", "student_id", "skill_id", "reason")
}

// DropAcknowledgement implements academy.AcknowledgementStore.
func (s acknowledgementStore) DropAcknowledgement(ctx context.Context, student, skill domain.ID, reason advice.Reason) error {
	return fail(s.forSkill(ctx, student, skill).Where("reason = ?", string(reason)).Delete(&acknowledgementRow{}).Error, "acknowledgement")
}
