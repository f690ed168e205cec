package academy

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/progress"
)

// RecordMilestones tells of the milestones of a student at a skill that a change
// made, or moved to another ball, and of those that it took back. The subject is
// the skill.
func RecordMilestones(ctx context.Context, log domain.EventLog, a domain.Actor, at time.Time, before, after []progress.Milestone) error {
	for _, e := range milestoneEvents(a, at, before, after) {
		if err := log.Record(ctx, e); err != nil {
			return err
		}
	}
	return nil
}

func milestoneEvents(a domain.Actor, at time.Time, before, after []progress.Milestone) (events []domain.Event) {
	tell := func(kind string, m progress.Milestone) {
		events = append(events, a.Event(at, kind, m.Skill, m.Student, map[string]any{
			"run": m.Tier.Run, "radius_m": m.Tier.Radius.Metres(), "holed": m.Tier.Holed, "session_id": m.Session, "passed_at": m.At,
		}))
	}
	for _, m := range before {
		if !slices.ContainsFunc(after, func(o progress.Milestone) bool { return o.Tier == m.Tier }) {
			tell("milestone.withdrawn", m)
		}
	}
	for _, m := range after {
		if !slices.ContainsFunc(before, func(o progress.Milestone) bool { return o.Compare(m) == 0 }) {
			tell("milestone.made", m)
		}
	}
	return events
}
