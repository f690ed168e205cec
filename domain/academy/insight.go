package academy

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// InsightStore is what insights need kept.
type InsightStore interface {
	Listing

	SkillsByID(ctx context.Context, ids []domain.ID) (map[domain.ID]curriculum.Skill, error)
	// PracticeChanges counts the changes of the academy's practice so far, and
	// gives how many there were when the kept insights were learned, 0 before.
	PracticeChanges(ctx context.Context) (now, learned int64, err error)
	// PeriodsSince tells of every student's periods at every skill from a number
	// on, by student, then by skill, then oldest first.
	PeriodsSince(ctx context.Context, number int, found func(progress.Period)) error
	// Insight gives what was learned last about a skill, and when; the zero
	// instant when nothing was.
	Insight(ctx context.Context, skill domain.ID) (progress.Insight, time.Time, error)
	// SaveInsights makes what was learned all that is kept, with the instant, in
	// whole milliseconds, and the changes of practice that it rests on.
	SaveInsights(ctx context.Context, changes int64, at time.Time, all []progress.Insight) error
}

// InsightService learns what all of an academy's students together teach about
// a skill, and tells it to those who teach. Learning takes seconds in a large
// academy, so it is done in the background.
type InsightService struct {
	Store domain.Transactor[InsightStore]
	Env   domain.Env
}

// Learn learns an academy's insights anew and keeps them, unless nothing was
// practised since the last time.
func (s InsightService) Learn(ctx context.Context, academy domain.ID) error {
	now := s.Env.Now().UTC().Truncate(time.Millisecond)
	var courses progress.Courses
	var changes, learned int64
	err := s.Store.Read(ctx, academy, func(tx InsightStore) (err error) {
		courses = nil // what an attempt before this one read
		if changes, learned, err = tx.PracticeChanges(ctx); err != nil || changes == learned {
			return err
		}
		return tx.PeriodsSince(ctx, progress.PeriodOf(now)-progress.InsightPeriods+1, courses.Add)
	})
	if err != nil || changes == learned {
		return err
	}
	// Outside any transaction: nobody waits for this.
	insights := progress.LearnInsights(courses, now)
	return s.Store.Write(ctx, academy, func(tx InsightStore) error {
		return tx.SaveInsights(ctx, changes, now, insights)
	})
}

// SkillInsight is what the academy's students teach about a skill.
type SkillInsight struct {
	progress.Insight
	// LearnedAt is zero while nothing was learned yet.
	LearnedAt time.Time
	// Students have the levels of those whom the asker may see, in order of identity.
	Students []StudentInsight
}

// StudentInsight is one student's level.
type StudentInsight struct {
	Student Member
	estimate.StudentLevel
}

// Skill tells what was learned last about a skill: what concerns all students
// together to everybody who teaches, levels of students whom the actor may see.
func (s InsightService) Skill(ctx context.Context, a domain.Actor, skill domain.ID) (told SkillInsight, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx InsightStore) error {
		known, err := tx.SkillsByID(ctx, []domain.ID{skill})
		if err != nil {
			return err
		}
		if _, ok := known[skill]; !ok {
			return domain.ErrNotFound("skill")
		}
		told = SkillInsight{}
		if told.Insight, told.LearnedAt, err = tx.Insight(ctx, skill); err != nil {
			return err
		}
		told.Skill = skill
		members, err := Students(ctx, tx, a, MemberFilter{})
		if err != nil {
			return err
		}
		for _, m := range members {
			if i := slices.IndexFunc(told.Levels, func(l estimate.StudentLevel) bool { return l.Student == string(m.ID) }); i >= 0 {
				told.Students = append(told.Students, StudentInsight{Student: m, StudentLevel: told.Levels[i]})
			}
		}
		return nil
	})
	told.Levels = nil
	return told, err
}
