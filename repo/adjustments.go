package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// adjustments are what several stores know of them.
type adjustments struct{ *scope }

type adjustmentRow struct {
	AcademyID    domain.ID `gorm:"primaryKey"`
	ID           domain.ID `gorm:"primaryKey"`
	StudentID    domain.ID
	AssignmentID domain.ID
	Kind         string
	SkillID      *domain.ID
	Doc          string
	FromDate     string
	UntilDate    string
	Text         string
	Reason       string
	Revision     int
	CreatedBy    *domain.ID
	CreatedAt    int64 `gorm:"autoCreateTime:false"`
	EndedBy      *domain.ID
	EndedAt      *int64
}

// TableName names the table.
func (adjustmentRow) TableName() string { return "adjustments" }

// adjustmentDoc is what an adjustment changes.
type adjustmentDoc struct {
	Tier      *tierDoc        `json:"tier,omitempty"`
	Begins    bool            `json:"begins,omitempty"`
	Radius    domain.Length   `json:"radius,omitempty"`
	Distances []domain.Length `json:"distances,omitempty"`
	// DistancePart is in per cent.
	DistancePart int                    `json:"distance_part,omitempty"`
	Only         []curriculum.BlockKind `json:"only,omitempty"`
	Shares       []kindShareDoc         `json:"shares,omitempty"`
	Drill        *drillDoc              `json:"drill,omitempty"`
	PerWeek      int                    `json:"per_week,omitempty"`
	Minutes      int                    `json:"minutes,omitempty"`
	// Throughout says that it holds for every assignment of the student.
	Throughout bool `json:"throughout,omitempty"`
}

type kindShareDoc struct {
	Kind  curriculum.BlockKind `json:"kind"`
	Share int                  `json:"share"`
}

func adjustmentToDoc(a curriculum.Adjustment) adjustmentDoc {
	d := adjustmentDoc{
		Begins: a.Begins, Radius: a.Radius, Distances: a.Distances, DistancePart: a.DistancePart, Only: a.Only, PerWeek: a.PerWeek, Minutes: a.Minutes,
		Shares: each(a.Shares, func(s curriculum.KindShare) kindShareDoc { return kindShareDoc(s) }),
	}
	if a.Tier != (streak.Tier{}) {
		t := tierDoc(a.Tier)
		d.Tier = &t
	}
	if a.Kind == curriculum.OtherWarmup {
		drill := drillDoc(a.Drill)
		d.Drill = &drill
	}
	return d
}

func (d adjustmentDoc) adjustment(kind string, skill domain.ID) curriculum.Adjustment {
	a := curriculum.Adjustment{
		Kind: curriculum.AdjustmentKind(kind), Skill: skill, Begins: d.Begins, Radius: d.Radius, Distances: d.Distances, DistancePart: d.DistancePart, Only: d.Only, PerWeek: d.PerWeek, Minutes: d.Minutes,
		Shares: each(d.Shares, func(s kindShareDoc) curriculum.KindShare { return curriculum.KindShare(s) }),
	}
	if d.Tier != nil {
		a.Tier = streak.Tier(*d.Tier)
	}
	if d.Drill != nil {
		a.Drill = curriculum.Drill(*d.Drill)
	}
	return a
}

const adjustmentColumns = "id, student_id, assignment_id, kind, skill_id, doc, from_date, until_date, text, reason, revision," +
	" created_by, created_at, ended_by, ended_at"

func (r *adjustmentRow) fields() []any {
	return []any{
		&r.ID, &r.StudentID, &r.AssignmentID, &r.Kind, &r.SkillID, &r.Doc, &r.FromDate, &r.UntilDate, &r.Text, &r.Reason, &r.Revision,
		&r.CreatedBy, &r.CreatedAt, &r.EndedBy, &r.EndedAt,
	}
}

func (r adjustmentRow) adjustment() (a academy.Adjustment, err error) {
	a = academy.Adjustment{
		ID: r.ID, Student: r.StudentID, Assignment: r.AssignmentID, Text: r.Text, Reason: advice.Reason(r.Reason), Revision: r.Revision,
		CreatedBy: orEmpty(r.CreatedBy), CreatedAt: instant(r.CreatedAt), EndedBy: orEmpty(r.EndedBy), EndedAt: maybeInstant(r.EndedAt),
	}
	doc, err := decode[adjustmentDoc](r.Doc)
	if err != nil {
		return a, err
	}
	a.Adjustment, a.Throughout = doc.adjustment(r.Kind, orEmpty(r.SkillID)), doc.Throughout
	if a.From, err = date(r.FromDate); err != nil || r.UntilDate == "" {
		return a, err
	}
	a.Until, err = date(r.UntilDate)
	return a, err
}

// readAdjustments reads adjustments under a condition, latest first.
func (s *scope) readAdjustments(into *[]academy.Adjustment, where string, args ...any) query {
	return query{
		sql:  "SELECT " + adjustmentColumns + " FROM adjustments WHERE academy_id = ? AND " + where + " ORDER BY id DESC",
		args: append([]any{s.id}, args...), what: "student",
		row: func(scan func(...any) error) error {
			var r adjustmentRow
			if err := scan(r.fields()...); err != nil {
				return err
			}
			a, err := r.adjustment()
			*into = append(*into, a)
			return err
		},
	}
}

// Adjustments implements academy.Adjusting.
func (s adjustments) Adjustments(ctx context.Context, student domain.ID, standing bool) (all []academy.Adjustment, err error) {
	where := "student_id = ?"
	if standing {
		where += " AND ended_at IS NULL"
	}
	err = s.batch(ctx, s.readAdjustments(&all, where, student))
	return all, err
}

// Adjustment implements academy.AdjustmentStore.
func (s adjustments) Adjustment(ctx context.Context, id domain.ID) (academy.Adjustment, error) {
	var r adjustmentRow
	if err := s.rows(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return academy.Adjustment{}, fail(err, "adjustment")
	}
	return r.adjustment()
}

// SaveAdjustment implements academy.Adjusting.
func (s adjustments) SaveAdjustment(ctx context.Context, a academy.Adjustment) error {
	doc := adjustmentToDoc(a.Adjustment)
	doc.Throughout = a.Throughout
	row := adjustmentRow{
		AcademyID: s.id, ID: a.ID, StudentID: a.Student, AssignmentID: a.Assignment, Kind: string(a.Kind), SkillID: maybeText(a.Skill),
		Doc: encode(doc), FromDate: a.From.String(), UntilDate: a.Until.String(), Text: a.Text, Reason: string(a.Reason),
		Revision: a.Revision, CreatedBy: maybeText(a.CreatedBy), CreatedAt: at(a.CreatedAt), EndedBy: maybeText(a.EndedBy), EndedAt: maybeAt(a.EndedAt),
	}
	return s.save(ctx, &row, a.ID, a.Revision, "adjustment", "ended_by", "ended_at")
}
