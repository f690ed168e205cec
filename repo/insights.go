package repo

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// insightForm is the form in which insights are kept. Whoever changes it raises
// the number: insights in another form are not read, and learned anew when next
// somebody looks.
const insightForm = 1

// insightStore keeps what is learned from all students together.
type insightStore struct {
	*scope
	listing
	skills
}

// PracticeChanges implements academy.InsightStore.
func (s insightStore) PracticeChanges(ctx context.Context) (now, learned int64, err error) {
	err = s.batch(ctx,
		query{sql: "SELECT COALESCE(SUM(changes), 0) FROM habits WHERE academy_id = ?", args: []any{s.id}, what: "academy",
			row: func(scan func(...any) error) error { return scan(&now) }},
		query{sql: "SELECT COALESCE(MAX(changes), 0) FROM insights WHERE academy_id = ? AND form = ?", args: []any{s.id, insightForm}, what: "academy",
			row: func(scan func(...any) error) error { return scan(&learned) }})
	return now, learned, err
}

// PeriodsSince implements academy.InsightStore.
func (s insightStore) PeriodsSince(ctx context.Context, number int, found func(progress.Period)) error {
	return s.batch(ctx, query{
		sql: "SELECT student_id, skill_id, period, doc FROM skill_periods WHERE academy_id = ? AND period >= ?" +
			" ORDER BY student_id, skill_id, period",
		args: []any{s.id, number}, what: "academy",
		row: func(scan func(...any) error) error {
			var r periodRow
			if err := scan(&r.StudentID, &r.SkillID, &r.Period, &r.Doc); err != nil {
				return err
			}
			p, err := r.period()
			if err == nil {
				found(p)
			}
			return err
		},
	})
}

// Insight implements academy.InsightStore.
func (s insightStore) Insight(ctx context.Context, skill domain.ID) (i progress.Insight, at time.Time, err error) {
	err = s.batch(ctx, query{
		sql:  "SELECT learned_at, doc FROM insights WHERE academy_id = ? AND skill_id = ? AND form = ?",
		args: []any{s.id, skill, insightForm}, what: "skill",
		row: func(scan func(...any) error) error {
			var millis int64
			var doc []byte
			if err := scan(&millis, &doc); err != nil {
				return err
			}
			at = time.UnixMilli(millis).UTC()
			i, err = read(insightForm, doc, packInsight)
			return err
		},
	})
	i.Skill = skill
	return i, at, err
}

// SaveInsights implements academy.InsightStore.
func (s insightStore) SaveInsights(ctx context.Context, changes int64, at time.Time, all []progress.Insight) error {
	if !s.writing {
		return errReadOnly
	}
	queries := []query{{sql: "DELETE FROM insights WHERE academy_id = ?", args: []any{s.id}, what: "academy"}}
	var rows []any
	for _, i := range all {
		rows = append(rows, s.id, i.Skill, insightForm, changes, at.UnixMilli(), write(insightForm, &i, packInsight))
	}
	return s.batch(ctx, append(queries, rowsInto("INSERT INTO insights (academy_id, skill_id, form, changes, learned_at, doc) VALUES ", "", rows, 6, "skill")...)...)
}

// packInsight leaves out the skill, which is the row's.
func packInsight(p *packer, i *progress.Insight) {
	packSlice(p, &i.Circles, func(p *packer, c *progress.CircleInsight) {
		p.length(&c.Radius)
		p.text(&c.Drill)
		p.ints(&c.Students, &c.Balls)
		p.text((*string)(&c.CannotTell))
		p.floats(&c.Difficulty, &c.Middling)
		packInterval(p, &c.DifficultyInterval80)
		packInterval(p, &c.MiddlingInterval80)
	})
	packSlice(p, &i.Levels, func(p *packer, l *estimate.StudentLevel) {
		student := domain.ID(l.Student)
		p.id(&student)
		l.Student = string(student)
		p.ints(&l.Balls)
		p.text((*string)(&l.CannotTell))
		p.floats(&l.Level)
		packInterval(p, &l.LevelInterval80)
	})
	f := &i.Fade
	p.ints(&f.Breaks, &f.Students)
	p.text((*string)(&f.CannotTell))
	p.floats(&f.UsualGap, &f.Middling)
	for _, a := range []*estimate.FadeAfter{&f.TwoWeeks, &f.FourWeeks} {
		p.floats(&a.Days, &a.Logits, &a.Share)
		packInterval(p, &a.LogitsInterval80)
		packInterval(p, &a.ShareInterval80)
	}
}
