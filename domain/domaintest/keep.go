package domaintest

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// log gives a student's sessions, oldest first.
func (t *tx) log(student domain.ID) []practice.Session {
	var all []practice.Session
	for _, s := range t.sessions {
		if s.Student == student && !s.Deleted() {
			all = append(all, copied(s.Session))
		}
	}
	slices.SortFunc(all, func(a, b practice.Session) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt), cmp.Compare(a.ID, b.ID))
	})
	return all
}

// RecentTimes implements practice.Store.
func (t *tx) RecentTimes(_ context.Context, student, except domain.ID, limit int) ([]progress.SessionTime, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var times []progress.SessionTime
	for _, s := range t.log(student) {
		if s.ID != except {
			times = append(times, s.Time())
		}
	}
	return times[max(0, len(times)-limit):], nil
}

// Tracks implements progress.Keeper.
func (t *tx) Tracks(_ context.Context, student domain.ID, skills []domain.ID) (map[domain.ID]progress.Track, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	found := map[domain.ID]progress.Track{}
	for _, id := range skills {
		if track, ok := t.tracks[atSkill{student, id}]; ok {
			found[id] = copied(track)
		}
	}
	return found, nil
}

// History implements progress.Keeper.
func (t *tx) History(_ context.Context, student, skill domain.ID) ([]progress.Play, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var plays []progress.Play
	for _, s := range t.log(student) {
		for _, p := range s.Plays() {
			if p.Skill == skill {
				plays = append(plays, p)
			}
		}
	}
	return plays, nil
}

// ReplaceRecord implements progress.Keeper.
func (t *tx) ReplaceRecord(_ context.Context, r progress.Record) error {
	if err := t.change(); err != nil {
		return err
	}
	key := atSkill{r.Track.Student, r.Track.Skill}
	if err := t.known(key.student); err != nil {
		return err
	}
	if _, ok := t.skills[key.skill]; !ok {
		return domain.ErrNotFound("skill")
	}
	t.tracks[key], t.states[key], t.periods[key] = copied(r.Track), copied(r.State), copied(r.Periods)
	return nil
}

// Periods implements practice.Store.
func (t *tx) Periods(_ context.Context, student, skill domain.ID) ([]progress.Period, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	return copied(t.periods[atSkill{student, skill}]), nil
}

// SkillRecord implements academy.ReadStore.
func (t *tx) SkillRecord(_ context.Context, student, skill domain.ID, _, since int) (progress.Record, error) {
	if err := t.call(); err != nil {
		return progress.Record{}, err
	}
	key := atSkill{student, skill}
	var numbers []int
	for _, p := range t.periods[key] {
		if p.Number >= since {
			numbers = append(numbers, p.Number)
		}
	}
	r := t.record(key, numbers...)
	r.State = progress.State{}
	return r, nil
}

// record gives a record as a store may give it: no more than must be.
func (t *tx) record(key atSkill, numbers ...int) progress.Record {
	r := progress.Record{Track: copied(t.tracks[key]), State: copied(t.states[key])}
	r.Track.Student, r.Track.Skill = key.student, key.skill
	r.Periods, r.Whole = progress.Latest(copied(t.periods[key]), numbers...)
	return r
}

// keep makes periods what is kept in their place.
func (t *tx) keep(key atSkill, periods []progress.Period) {
	all := slices.Clone(t.periods[key])
	for _, p := range periods {
		all = slices.DeleteFunc(all, func(old progress.Period) bool { return old.Number == p.Number })
		if len(p.Sessions) > 0 {
			all = append(all, copied(p))
		}
	}
	slices.SortFunc(all, func(a, b progress.Period) int { return cmp.Compare(a.Number, b.Number) })
	if t.periods[key] = all; len(all) == 0 {
		delete(t.periods, key)
	}
}

// StageCounts implements academy.LearnStore.
func (t *tx) StageCounts(context.Context) ([]progress.StageCount, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var found []progress.StageCount
	for key, s := range t.states {
		if s.Recent.Balls() == 0 {
			continue
		}
		found = append(found, progress.StageCount{
			Skill: key.skill, Held: s.Held, Counts: estimate.Counts{Balls: s.Recent.Judged, Inside: s.Recent.Inside},
			Form: s.Assessment.Form.Kinds,
		})
	}
	slices.SortFunc(found, func(a, b progress.StageCount) int {
		return cmp.Or(cmp.Compare(a.Skill, b.Skill), cmp.Compare(a.Held, b.Held), cmp.Compare(a.Balls, b.Balls), cmp.Compare(a.Inside, b.Inside), slices.Compare(a.Form[:], b.Form[:]))
	})
	return found, nil
}

// Priors implements academy.ReadStore and academy.LearnStore.
func (t *tx) Priors(context.Context) (progress.Priors, error) { return clonePriors(t.priors), t.call() }

// SavePriors implements academy.LearnStore.
func (t *tx) SavePriors(_ context.Context, p progress.Priors) error {
	if err := t.change(); err != nil {
		return err
	}
	t.priors = clonePriors(p)
	t.learned++
	return nil
}

func clonePriors(p progress.Priors) progress.Priors {
	p.Rates = maps.Clone(p.Rates)
	return p
}
