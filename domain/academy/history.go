package academy

import (
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// SkillHistory is one student at one skill over time.
type SkillHistory struct {
	Student Member
	Skill   curriculum.Skill
	State   progress.State
	// Tier is what the points are judged for; ok is false without a ladder.
	Tier   streak.Tier
	Judged bool
	// Points are the last sessions that say something about the tier, oldest
	// first.
	Points     []Point
	Milestones []progress.Milestone
	// Weeks are the last practice weeks with any practice, oldest first.
	Weeks []WeekTally
}

// Point is one session in a history, with the rate as it stood after it.
type Point struct {
	progress.TierResult
	Rate estimate.Rate
}

// historyWeeks is how many practice weeks a history tells of: half a year.
const historyWeeks = 26

// History reads one student at one skill over time: the last sessions with the
// rate after each, the milestones, and balls and time by the week.
func (s ReadService) History(ctx context.Context, a domain.Actor, student, skill domain.ID) (h SkillHistory, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx ReadStore) error {
		m, err := Student(ctx, tx, a, student)
		if err != nil {
			return err
		}
		rows, err := standings(ctx, tx, []Member{m}, s.Env.Now())
		if err != nil {
			return err
		}
		for _, sk := range rows[0].Skills {
			if sk.State.Skill == skill {
				h = SkillHistory{Student: m, Skill: sk.Skill, State: sk.State, Milestones: sk.Milestones}
			}
		}
		if h.Student.ID == "" {
			return domain.ErrNotFound("skill of this student")
		}
		if err := h.readPoints(ctx, tx); err != nil {
			return err
		}
		return h.readWeeks(ctx, tx, domain.DateOf(s.Env.Now(), m.Zone()).Monday())
	})
	return h, err
}

func (h *SkillHistory) readPoints(ctx context.Context, tx ReadStore) error {
	if h.Tier, h.Judged = h.State.Focus(); !h.Judged {
		return nil
	}
	readings, err := tx.RecentReadings(ctx, h.Student.ID, h.State.Skill, h.Tier, estimate.Window)
	if err != nil {
		return err
	}
	var sessions []estimate.Observation
	for _, r := range readings {
		sessions = append(sessions, estimate.Observation{Balls: r.Judged, Inside: r.Inside, Holed: r.Holed})
		h.Points = append(h.Points, Point{TierResult: r, Rate: estimate.RateOf(sessions, estimate.Prior{})})
	}
	return nil
}

func (h *SkillHistory) readWeeks(ctx context.Context, tx ReadStore, monday domain.Date) error {
	weeks := make([]domain.Date, historyWeeks)
	for i := range weeks {
		weeks[i] = monday.AddDays(-7 * i)
	}
	tallies, err := tx.WeekTallies(ctx, []domain.ID{h.Student.ID}, weeks)
	if err != nil {
		return err
	}
	for _, t := range tallies {
		if t.Skill == h.State.Skill {
			h.Weeks = append(h.Weeks, t)
		}
	}
	slices.SortFunc(h.Weeks, func(a, b WeekTally) int { return b.Week.DaysUntil(a.Week) })
	return nil
}
