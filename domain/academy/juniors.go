package academy

import (
	"context"
	"fmt"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// What a junior's plan is changed to when they are given a programme, until a coach
// changes that: shorter sessions, not more than three a week, and shots from closer in,
// which makes fewer balls and smaller swings. Common practice, no source; the same
// for every age, which is not known.
const (
	juniorMinutes      = 40
	juniorPerWeek      = 3
	juniorDistancePart = 75
)

// juniorDefaults lists the changes of a programme for a junior. A short putt is close
// enough as it is.
func juniorDefaults(v curriculum.Version) []Adjustment {
	all := []Adjustment{
		{Adjustment: curriculum.Adjustment{Kind: curriculum.ShorterSessions, Minutes: juniorMinutes}, Text: fmt.Sprintf("For juniors: at most %d minutes a session.", juniorMinutes)},
		{Adjustment: curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: juniorPerWeek}, Text: fmt.Sprintf("For juniors: at most %d sessions a week.", juniorPerWeek)},
	}
	for _, skill := range v.Skills {
		if skill.Kind != curriculum.ShortPutt {
			all = append(all, Adjustment{
				Adjustment: curriculum.Adjustment{Kind: curriculum.OtherDistances, Skill: skill.ID, DistancePart: juniorDistancePart},
				Text:       fmt.Sprintf("For juniors: %s from closer in.", skill.Name),
			})
		}
	}
	return all
}

// adjustForJunior gives a junior the changes of a new assignment that change something
// and that no other change is in the way of. They are the coach's to undo, and are told as
// any other.
func (s Service) adjustForJunior(ctx context.Context, tx AssignmentStore, a domain.Actor, junior Member, as Assignment, v curriculum.Version) error {
	standing, err := tx.Adjustments(ctx, junior.ID, true)
	if err != nil {
		return err
	}
	now := s.Env.Now()
	for _, x := range juniorDefaults(v) {
		x.ID, x.Student, x.Assignment, x.Revision, x.CreatedBy, x.CreatedAt = s.Env.NewID(), junior.ID, as.ID, 1, a.Member, now
		x.From = domain.DateOf(now, junior.Zone())
		if x.check(v, standing) != nil {
			continue
		}
		if err := saveAdjustment(ctx, tx, a.Event(now, "adjustment.made", x.ID, x.Student, nil), x); err != nil {
			return err
		}
	}
	return nil
}
