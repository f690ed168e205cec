package academy

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
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
	Learned progress.Learned
	// Tier is what the points are judged for; ok is false without a ladder.
	Tier   streak.Tier
	Judged bool
	// Points are the last sessions that say something about the tier, oldest
	// first.
	Points     []Point
	Milestones []progress.Milestone
	// Stalls are the reasons to look at the student that are about the skill.
	Stalls []advice.Stall
	// Present is the week that the student works on; nil without one.
	Present *curriculum.Week
	// Weeks are the last practice weeks with any practice, oldest first.
	Weeks []progress.WeekTally
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
		rows, err := studentRows(ctx, tx, []Member{m}, s.Env.Now())
		if err != nil {
			return err
		}
		for _, sk := range rows[0].Skills {
			if sk.State.Skill == skill {
				h = SkillHistory{Student: m, Skill: sk.Skill, State: sk.State, Learned: sk.Learned, Milestones: sk.Milestones, Stalls: sk.Stalls, Present: rows[0].Week}
			}
		}
		if h.Student.ID == "" {
			return domain.ErrNotFound("skill of this student")
		}
		return h.readRecord(ctx, tx, domain.DateOf(s.Env.Now(), m.Zone()).Monday())
	})
	return h, err
}

// readRecord reads the points and the weeks.
func (h *SkillHistory) readRecord(ctx context.Context, tx ReadStore, monday domain.Date) error {
	first := monday.AddDays(-7 * (historyWeeks - 1))
	// The week may have begun a day earlier where the student was then.
	since := progress.PeriodOf(first.AddDays(-1).Start(time.UTC))
	record, err := tx.SkillRecord(ctx, h.Student.ID, h.State.Skill, estimate.Window, since)
	if err != nil {
		return err
	}
	if h.Tier, h.Judged = h.State.Focus(); h.Judged {
		results := record.Last(h.Tier, estimate.Window)
		rates := estimate.RatesOf(progress.Observations(results), h.Tier.Radius, estimate.Prior{})
		for i, r := range results {
			h.Points = append(h.Points, Point{TierResult: r, Rate: rates[i]})
		}
		if last := len(h.Points) - 1; last >= 0 { // as it is told elsewhere, under what others teach
			h.Points[last].Rate = h.State.Assessment.Rate
		}
	}
	for _, w := range record.Weeks() {
		if !w.Week.Before(first) && !monday.Before(w.Week) {
			h.Weeks = append(h.Weeks, w)
		}
	}
	return nil
}
