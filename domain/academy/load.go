package academy

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/progress"
)

// StudentLoad is how much a student practised in the present practice week and the
// four before it, at all skills, cards included.
type StudentLoad struct {
	// First is the Monday of the oldest of Weeks.
	First domain.Date
	Weeks [advice.LoadWeeks]advice.LoadWeek
	advice.Load
}

// readLoad reads the load up to the week of a Monday.
func readLoad(ctx context.Context, tx ReadStore, m Member, monday domain.Date) (*StudentLoad, error) {
	l := &StudentLoad{First: monday.AddDays(-7 * (advice.LoadWeeks - 1))}
	// The week may have begun a day earlier where the student was then.
	periods, err := tx.PeriodsOf(ctx, m.ID, progress.PeriodOf(l.First.AddDays(-1).Start(time.UTC)))
	if err != nil {
		return nil, err
	}
	for _, w := range progress.WeeksOf(periods) {
		if i := l.First.DaysUntil(w.Week) / 7; !w.Week.Before(l.First) && i < len(l.Weeks) {
			l.Weeks[i] = advice.LoadWeek{Balls: w.Tally.Balls + w.Tally.AttestedBalls, Minutes: float64(w.Tally.Seconds) / 60}
		}
	}
	l.Load = advice.LoadOf(l.Weeks, m.Junior)
	return l, nil
}
