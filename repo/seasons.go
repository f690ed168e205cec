package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/academy"
)

// seasonDoc is a season as it is kept.
type seasonDoc struct {
	Goal         string           `json:"goal,omitempty"`
	Competitions []competitionDoc `json:"competitions,omitempty"`
	OffFrom      string           `json:"off_from,omitempty"`
	OffUntil     string           `json:"off_until,omitempty"`
}

type competitionDoc struct {
	ID   domain.ID `json:"id"`
	Name string    `json:"name"`
	Date string    `json:"date"`
	Days int       `json:"days"`
}

func packSeason(s academy.Season) string {
	return encode(seasonDoc{
		Goal: s.Goal, OffFrom: s.Off.From.String(), OffUntil: s.Off.Until.String(),
		Competitions: each(s.Competitions, func(c academy.Competition) competitionDoc {
			return competitionDoc{ID: c.ID, Name: c.Name, Date: c.Date.String(), Days: c.Days}
		}),
	})
}

func unpackSeason(text string, changed int64) (s academy.Season, err error) {
	d, err := decode[seasonDoc](text)
	if err != nil {
		return s, err
	}
	s = academy.Season{Goal: d.Goal, Changed: instant(changed)}
	if s.Off.From, err = date(d.OffFrom); err != nil {
		return s, err
	}
	if s.Off.Until, err = date(d.OffUntil); err != nil {
		return s, err
	}
	for _, c := range d.Competitions {
		day, err := date(c.Date)
		if err != nil {
			return s, err
		}
		s.Competitions = append(s.Competitions, academy.Competition{ID: c.ID, Name: c.Name, Date: day, Days: c.Days})
	}
	return s, nil
}

// seasonsOf reads the seasons of some students.
func (s *scope) seasonsOf(students any, into map[domain.ID]academy.Season) query {
	return query{
		sql:  "SELECT student_id, doc, changed_at FROM seasons WHERE academy_id = ? AND student_id ~",
		args: []any{s.id, students}, what: "student",
		row: func(scan func(...any) error) error {
			var student domain.ID
			var text string
			var changed int64
			if err := scan(&student, &text, &changed); err != nil {
				return err
			}
			season, err := unpackSeason(text, changed)
			into[student] = season
			return err
		},
	}
}

// Season implements academy.SeasonStore.
func (s seasonStore) Season(ctx context.Context, student domain.ID) (academy.Season, error) {
	found := map[domain.ID]academy.Season{}
	err := s.batch(ctx, s.seasonsOf(s.list([]string{string(student)}), found))
	return found[student], err
}

// SaveSeason implements academy.SeasonStore.
func (s seasonStore) SaveSeason(ctx context.Context, student domain.ID, season academy.Season) error {
	if !s.writing {
		return errReadOnly
	}
	return s.batch(ctx, query{
		sql: "INSERT INTO seasons (academy_id, student_id, doc, changed_at) VALUES (?, ?, ?, ?)" +
			" ON CONFLICT (academy_id, student_id) DO UPDATE SET doc = excluded.doc, changed_at = excluded.changed_at",
		args: []any{s.id, student, packSeason(season), at(season.Changed)}, what: "student",
	})
}
