package academy

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Preparation is what a coach looks at before a lesson: what changed since the last.
type Preparation struct {
	Lesson Lesson
	Row    StudentRow
	// Previous is the lesson before; nil for the first.
	Previous *Lesson
	// Since is when that was; usualPause before this one without it.
	Since time.Time
	// Practice counts all that was practised since, whatever the skill.
	Practice progress.Tally
	// Skills are those that the student trains.
	Skills []SkillSince
	// Written are the student's own words since, latest first.
	Written []Written
}

// SkillSince is a student at a skill, since a lesson.
type SkillSince struct {
	StudentSkill
	// Radius is that of the circle that the rates are about.
	Radius domain.Length
	// Before is the rate as it stood at the lesson before, Now as it stands; nil while
	// no ball says anything. That one follows the other shows no cause.
	Before, Now *estimate.Rate
	// Since counts what was practised since.
	Since progress.Tally
	// Passed are the steps passed since, in order.
	Passed []progress.Milestone
	// Stuck says that the skill was practised since, and no step was passed though
	// there are some left.
	Stuck bool
}

const (
	// usualPause is how many days a preparation looks back without a lesson before
	// (our choice: a month of lessons).
	usualPause = 28
	// mostWritten is how many of the student's words are shown.
	mostWritten = 12
)

// Prepare gathers what changed for a student since the lesson before.
func (s LessonService) Prepare(ctx context.Context, a domain.Actor, id domain.ID) (p Preparation, err error) {
	now := s.Env.Now()
	var m Member
	err = s.Store.Read(ctx, a.Academy, func(tx LessonStore) error {
		p = Preparation{}
		if p.Lesson, m, err = openLesson(ctx, tx, a, id); err != nil {
			return err
		}
		today := domain.DateOf(now, m.Zone())
		p.Lesson = p.Lesson.seenBy(a, m, today)
		p.Since = p.Lesson.StartsAt.AddDate(0, 0, -usualPause)
		before, err := tx.Lessons(ctx, LessonFilter{Student: m.ID, Before: p.Lesson.StartsAt, BeforeID: p.Lesson.ID, Limit: 1})
		if err != nil {
			return err
		}
		if len(before) > 0 {
			last := before[0].seenBy(a, m, today)
			p.Previous, p.Since = &last, last.StartsAt
		}
		p.Written, err = tx.Written(ctx, m.ID, p.Since, mostWritten)
		return err
	})
	if err != nil {
		return Preparation{}, err
	}
	err = s.Reading.Read(ctx, a.Academy, func(tx ReadStore) error {
		p.Skills = nil
		rows, err := studentRows(ctx, tx, a, []Member{m}, now)
		if err != nil {
			return err
		}
		p.Row = rows[0]
		bySkill, err := p.count(ctx, tx)
		if err != nil {
			return err
		}
		for _, sk := range p.Row.Skills {
			since, err := p.skill(ctx, tx, sk, bySkill[sk.State.Skill], now)
			if err != nil {
				return err
			}
			p.Skills = append(p.Skills, since)
		}
		return nil
	})
	return p, err
}

// count counts the practice since, in all and by skill; a session of several skills is
// one in all.
func (p *Preparation) count(ctx context.Context, tx ReadStore) (map[domain.ID]progress.Tally, error) {
	periods, err := tx.PeriodsOf(ctx, p.Row.Student.ID, progress.PeriodOf(p.Since))
	seen, bySkill := map[domain.ID]bool{}, map[domain.ID]progress.Tally{}
	p.Practice = progress.Tally{}
	for _, x := range periods {
		for _, session := range x.Sessions {
			if session.StartedAt.Before(p.Since) {
				continue
			}
			seen[session.Session] = true
			p.Practice = p.Practice.Plus(session.Tally)
			bySkill[x.Skill] = bySkill[x.Skill].Plus(session.Tally)
		}
	}
	p.Practice.Sessions = len(seen)
	return bySkill, err
}

// skill tells how a skill went since.
func (p *Preparation) skill(ctx context.Context, tx ReadStore, sk StudentSkill, since progress.Tally, now time.Time) (out SkillSince, err error) {
	h := SkillHistory{Student: p.Row.Student, Skill: sk.Skill, State: sk.State}
	if err := h.readRecord(ctx, tx, domain.DateOf(now, p.Row.Student.Zone()).Monday()); err != nil {
		return out, err
	}
	out = SkillSince{StudentSkill: sk, Radius: h.Tier.Radius, Since: since}
	for i, point := range h.Points {
		if point.StartedAt.Before(p.Since) {
			out.Before = &h.Points[i].Rate
		}
		out.Now = &h.Points[i].Rate
	}
	for _, m := range sk.Milestones {
		if !m.At.Before(p.Since) {
			out.Passed = append(out.Passed, m)
		}
	}
	_, open := sk.State.Next()
	out.Stuck = open && out.Since.Sessions > 0 && len(out.Passed) == 0
	return out, nil
}
