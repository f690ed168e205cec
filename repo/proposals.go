package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
)

type refusalRow struct {
	AcademyID  domain.ID
	StudentID  domain.ID
	SkillID    domain.ID
	Kind       string
	Until      string
	ChanceNow  float64
	ChanceThen float64
	ByID       *domain.ID
	At         int64
}

// TableName names the table.
func (refusalRow) TableName() string { return "refusals" }

func (r refusalRow) refusal() (academy.Refusal, error) {
	until, err := date(r.Until)
	return academy.Refusal{
		RefusalKey: academy.RefusalKey{Student: r.StudentID, Skill: r.SkillID, Kind: curriculum.AdjustmentKind(r.Kind)},
		Until:      until, Now: r.ChanceNow, Then: r.ChanceThen, By: orEmpty(r.ByID), At: instant(r.At),
	}, err
}

// Refusals implements academy.ProposalStore.
func (s proposalStore) Refusals(ctx context.Context, students []domain.ID) (found []academy.Refusal, err error) {
	err = s.batch(ctx, query{
		sql: "SELECT student_id, skill_id, kind, until, chance_now, chance_then, by_id, at FROM refusals" +
			" WHERE academy_id = ? AND student_id ~ ORDER BY student_id, skill_id, kind",
		args: []any{s.id, s.list(texts(students))}, what: "student",
		row: func(scan func(...any) error) error {
			var r refusalRow
			if err := scan(&r.StudentID, &r.SkillID, &r.Kind, &r.Until, &r.ChanceNow, &r.ChanceThen, &r.ByID, &r.At); err != nil {
				return err
			}
			x, err := r.refusal()
			found = append(found, x)
			return err
		},
	})
	return found, err
}

// SaveRefusal implements academy.ProposalStore.
func (s proposalStore) SaveRefusal(ctx context.Context, r academy.Refusal) error {
	return s.upsert(ctx, &refusalRow{
		AcademyID: s.id, StudentID: r.Student, SkillID: r.Skill, Kind: string(r.Kind), Until: r.Until.String(),
		ChanceNow: r.Now, ChanceThen: r.Then, ByID: maybeText(r.By), At: at(r.At),
	}, "refusal", "academy_id", "student_id", "skill_id", "kind")
}

// DropRefusal implements academy.ProposalStore.
func (s proposalStore) DropRefusal(ctx context.Context, k academy.RefusalKey) error {
	return fail(s.forSkill(ctx, k.Student, k.Skill).Where("kind = ?", string(k.Kind)).Delete(&refusalRow{}).Error, "refusal")
}

// Fades implements academy.ProposalStore.
func (s proposalStore) Fades(ctx context.Context, skills []domain.ID) (map[domain.ID]estimate.Fade, error) {
	fades := map[domain.ID]estimate.Fade{}
	err := s.batch(ctx, query{
		sql:  "SELECT skill_id, doc FROM insights WHERE academy_id = ? AND form = ? AND skill_id ~",
		args: []any{s.id, insightForm, s.list(texts(skills))}, what: "skill",
		row: func(scan func(...any) error) error {
			var skill domain.ID
			var doc []byte
			if err := scan(&skill, &doc); err != nil {
				return err
			}
			i, err := read(insightForm, doc, packInsight)
			fades[skill] = i.Fade
			return err
		},
	})
	return fades, err
}
