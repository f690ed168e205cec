package demo

import (
	"context"
	"fmt"
	"time"
)

// season is what a student plays for, as the API takes it.
type season struct {
	Goal         string        `json:"goal"`
	Competitions []competition `json:"competitions,omitempty"`
	OffSeason    *offSeason    `json:"off_season,omitempty"`
}

type competition struct {
	Name string `json:"name"`
	Date string `json:"date"`
	Days int    `json:"days"`
}

type offSeason struct {
	From  string `json:"from"`
	Until string `json:"until"`
}

// fillSeasons lets two students say what they play for: one of them has a competition
// in two and a half weeks.
func (w *Academy) fillSeasons(ctx context.Context, c Config) error {
	in := func(days int) string { return c.today().AddDate(0, 0, days).Format(time.DateOnly) }
	for i, s := range []season{
		{Goal: "Up and down from the fringe more often than not", Competitions: []competition{{"Larkmoor foursomes", in(18), 1}, {"Club championship", in(66), 2}}},
		{Goal: "A round without a three-putt", OffSeason: &offSeason{in(180), in(270)}},
	} {
		student := w.Students[i]
		if err := student.Call(ctx, "PUT", "/v1/students/"+student.id+"/season", s, nil); err != nil {
			return fmt.Errorf("%s: %w", student.name, err)
		}
	}
	return nil
}
