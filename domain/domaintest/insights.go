package domaintest

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/progress"
)

// insights are what was learned last, and of what.
type insights struct {
	changes int64
	at      time.Time
	of      map[domain.ID]progress.Insight
}

// Insights opens the store for academy.InsightService.
func (m *Memory) Insights() domain.Transactor[academy.InsightStore] {
	return opener[academy.InsightStore]{m}
}

// PracticeChanges implements academy.InsightStore.
func (t *tx) PracticeChanges(context.Context) (now, learned int64, err error) {
	if len(t.insights.of) > 0 {
		learned = t.insights.changes
	}
	return int64(t.changes), learned, t.call()
}

// PeriodsSince implements academy.InsightStore.
func (t *tx) PeriodsSince(_ context.Context, number int, found func(progress.Period)) error {
	if err := t.call(); err != nil {
		return err
	}
	keys := slices.SortedFunc(maps.Keys(t.periods), func(a, b atSkill) int {
		return cmp.Or(cmp.Compare(a.student, b.student), cmp.Compare(a.skill, b.skill))
	})
	for _, key := range keys {
		for _, p := range t.periods[key] {
			if p.Number >= number {
				p = copied(p)
				p.Student, p.Skill = key.student, key.skill
				found(p)
			}
		}
	}
	return nil
}

// Insight implements academy.InsightStore.
func (t *tx) Insight(_ context.Context, skill domain.ID) (progress.Insight, time.Time, error) {
	i, ok := t.insights.of[skill]
	if !ok {
		return progress.Insight{Skill: skill}, time.Time{}, t.call()
	}
	return copied(i), t.insights.at, t.call()
}

// SaveInsights implements academy.InsightStore.
func (t *tx) SaveInsights(_ context.Context, changes int64, at time.Time, all []progress.Insight) error {
	if err := t.change(); err != nil {
		return err
	}
	of := map[domain.ID]progress.Insight{}
	for _, i := range all {
		if _, ok := t.skills[i.Skill]; !ok {
			return domain.ErrNotFound("skill")
		}
		of[i.Skill] = copied(i)
	}
	t.insights = insights{changes, at, of}
	return nil
}
