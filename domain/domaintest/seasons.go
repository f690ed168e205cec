package domaintest

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// Seasons gives the service of students' seasons.
func (m *Memory) Seasons() academy.SeasonService {
	return academy.SeasonService{Store: opener[academy.SeasonStore]{m}, Env: m.Env()}
}

// Season implements academy.SeasonStore.
func (t *tx) Season(_ context.Context, student domain.ID) (academy.Season, error) {
	return copied(t.seasons[student]), t.call()
}

// SaveSeason implements academy.SeasonStore.
func (t *tx) SaveSeason(_ context.Context, student domain.ID, s academy.Season) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(student); err != nil {
		return err
	}
	t.seasons[student] = copied(s)
	return nil
}

// season is one of a student who plays twice and rests over the winter.
func (f *Fixture) season() academy.Season {
	day := func(year int, month time.Month, day int) domain.Date {
		return domain.Date{Year: year, Month: month, Day: day}
	}
	return academy.Season{
		Goal: "Up and down half the time ⛳",
		Competitions: []academy.Competition{
			{ID: "a1b2c3d4-0000-7000-8000-000000000001", Name: "Spring \"cup\"", Date: day(2026, 5, 30), Days: 2},
			{ID: "a1b2c3d4-0000-7000-8000-000000000002", Name: "Club day", Date: day(2026, 7, 4), Days: 1},
		},
		Off:     academy.OffSeason{From: day(2026, 11, 1), Until: day(2027, 2, 28)},
		Changed: examNow.Truncate(time.Millisecond).UTC(),
	}
}

// seasons: one for each student, as it was set last.
func (e *exam) seasons() {
	season := func(student domain.ID) academy.Season {
		return get(e, e.s.Seasons, func(tx academy.SeasonStore) (academy.Season, error) { return tx.Season(e.ctx, student) })
	}
	save := func(s academy.Season) {
		write(e, e.s.Seasons, func(tx academy.SeasonStore) error { return tx.SaveSeason(e.ctx, e.Spare, s) })
	}
	e.same("the season", season(e.Student), e.season())
	e.same("no season", season(e.Spare), academy.Season{})
	save(e.season())
	bare := academy.Season{Goal: "Hole more", Changed: examNow.Add(time.Hour).Truncate(time.Millisecond).UTC()}
	save(bare)
	e.same("the last season", season(e.Spare), bare)
	e.same("another's", season(e.Student), e.season())
	stored := get(e, e.s.Reading, func(tx academy.ReadStore) (academy.Stored, error) {
		return tx.Stored(e.ctx, []domain.ID{e.Student})
	})
	e.same("stored", stored.Seasons, map[domain.ID]academy.Season{e.Student: e.season()})
	refuse(e, "a season of nobody", e.s.Seasons, domain.NotFound, func(tx academy.SeasonStore) error { return tx.SaveSeason(e.ctx, examID(), bare) })
}

func seasonCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.SeasonStore] { return s.Seasons }
	return slices.Concat(logCalls(of), viewingCalls(of), []Call{
		call(of, "Season", func(ctx context.Context, tx academy.SeasonStore, f *Fixture) (bool, error) {
			return some(tx.Season(ctx, f.Student))
		}),
		call(of, "SaveSeason", func(ctx context.Context, tx academy.SeasonStore, f *Fixture) (bool, error) {
			return changed(tx.SaveSeason(ctx, f.Student, f.season()))
		}),
	})
}
