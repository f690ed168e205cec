package demo

import (
	"context"
	"fmt"
	"time"
)

// cues are in the students' words, the latest last.
var cues = []string{"Brush the grass after the ball", "Let the club head pass my hands", "Land it on the first cut of green"}

// giveLessons lets the coach teach the first three students: three weeks ago with a
// cue, and again today, not prepared yet.
func (w *Academy) giveLessons(ctx context.Context, c Config) error {
	for i, s := range w.Students[:min(len(cues), len(w.Students))] {
		today := c.today()
		at := func(days int) time.Time {
			return time.Date(today.Year(), today.Month(), today.Day()-days, 13, 45*i, 0, 0, time.UTC)
		}
		for _, days := range []int{21, 0} {
			var made struct {
				Items []struct {
					ID string `json:"id"`
				} `json:"items"`
			}
			if err := w.Coach.Call(ctx, "POST", "/v1/lessons", map[string]any{"student_ids": []string{s.id}, "starts_at": at(days), "minutes": 45}, &made); err != nil {
				return fmt.Errorf("%s: %w", s.name, err)
			}
			if days == 0 {
				continue
			}
			lesson := map[string]any{"starts_at": at(days), "minutes": 45, "cue": cues[i], "drill": "Ten balls between two tees, the last three with eyes closed.", "notes": "Weight stays back when the lie is bare."}
			if err := w.Coach.Call(ctx, "PUT", "/v1/lessons/"+made.Items[0].ID, lesson, nil); err != nil {
				return fmt.Errorf("%s: %w", s.name, err)
			}
		}
	}
	return nil
}
