package academy

import (
	"cmp"
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Learning is what is known of whether a student keeps what they passed.
type Learning struct {
	Student Member
	Skills  []SkillLearning
	Quiet   QuietAgreement
	// Compared are the tests that were drawn by lot.
	Compared estimate.Quiet
}

// SkillLearning is a student at one skill.
type SkillLearning struct {
	Skill curriculum.Skill
	// Steps are those that were passed, in the order of the track.
	Steps []progress.Lasting
	// Due is the retest that waits; nil when none does.
	Due *progress.Due
	// Cold compares the first balls of the day of the last half year with later ones.
	Cold estimate.Cold
}

// coldDays is how far back first balls of the day are compared: half a year.
const coldDays = 182

// Learning reads what a student passed, and what of it is held; how their first balls
// of the day compare with the later ones; and what quiet tests tell.
func (s ReadService) Learning(ctx context.Context, a domain.Actor, student domain.ID) (l Learning, err error) {
	now := s.Env.Now()
	err = s.Store.Read(ctx, a.Academy, func(tx ReadStore) error {
		if l.Student, err = Student(ctx, tx, a, student); err != nil {
			return err
		}
		words, err := tx.QuietWords(ctx, student)
		if err != nil {
			return err
		}
		l.Quiet = agreementOf(l.Student, words)
		rows, err := studentRows(ctx, tx, a, []Member{l.Student}, now)
		if err != nil {
			return err
		}
		from := domain.DateOf(now, l.Student.Zone()).AddDays(-coldDays)
		since := from.AddDays(-1).Start(time.UTC)
		if agreed := l.Quiet.since(); !agreed.IsZero() && agreed.Before(since) {
			since = agreed
		}
		periods, err := tx.PeriodsOf(ctx, student, progress.PeriodOf(since))
		if err != nil {
			return err
		}
		l.Skills = nil
		for _, sk := range rows[0].Skills {
			l.Skills = append(l.Skills, learningOf(sk, periods, from, today(now, l.Student)))
		}
		l.Compared = estimate.QuietOf(l.Quiet.lotTests(periods))
		return nil
	})
	return l, err
}

// today is when the student's day began: what is due is so for the whole day.
func today(now time.Time, m Member) time.Time {
	return domain.DateOf(now, m.Zone()).Start(m.Zone())
}

func learningOf(sk StudentSkill, periods []progress.Period, from domain.Date, today time.Time) SkillLearning {
	own := slices.DeleteFunc(slices.Clone(periods), func(p progress.Period) bool { return p.Skill != sk.State.Skill })
	l := SkillLearning{Skill: sk.Skill, Steps: sk.State.Lasting(), Cold: estimate.ColdOf(progress.ColdDays(own, from))}
	if due, ok := sk.State.DueRetest(today); ok {
		l.Due = &due
	}
	return l
}

// DueSkill is a retest that is due, with the skill that it is of.
type DueSkill struct {
	Skill curriculum.Skill
	progress.Due
}

// dueRetests lists the retests that wait, of the skills that the student's programmes
// train, the longest due first.
func dueRetests(work []Work, states []progress.State, today time.Time) (all []DueSkill) {
	for _, state := range states {
		due, ok := state.DueRetest(today)
		if !ok {
			continue
		}
		for _, w := range work {
			if skill, trained := w.Version.SkillByID(state.Skill); trained {
				all = append(all, DueSkill{skill, due})
				break
			}
		}
	}
	slices.SortFunc(all, func(a, b DueSkill) int {
		return cmp.Or(a.DueAt.Compare(b.DueAt), cmp.Compare(a.Skill.ID, b.Skill.ID))
	})
	return all
}
