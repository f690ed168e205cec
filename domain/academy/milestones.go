package academy

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/progress"
)

// RecordMilestones tells of the milestones of a student at a skill that a change
// made, or moved to another ball, and of those that it took back; and of those that
// are held since, or no more. The subject is the skill.
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
		data := map[string]any{
			"run": m.Tier.Run, "radius_m": m.Tier.Radius.Metres(), "holed": m.Tier.Holed, "session_id": m.Session, "passed_at": m.At,
		}
		if kind == "milestone.held" {
			data["held_at"] = m.HeldAt
		}
		events = append(events, a.Event(at, kind, m.Skill, m.Student, data))
	}
	for _, m := range before {
		is := func(o progress.Milestone) bool { return o.Tier == m.Tier }
		if !slices.ContainsFunc(after, is) {
			tell("milestone.withdrawn", m)
		}
		if !m.HeldAt.IsZero() && !slices.ContainsFunc(after, func(o progress.Milestone) bool { return is(o) && !o.HeldAt.IsZero() }) {
			tell("milestone.reopened", m)
		}
	}
	for _, m := range after {
		if !slices.ContainsFunc(before, func(o progress.Milestone) bool { return o.Compare(m) == 0 }) {
			tell("milestone.made", m)
		}
		if !m.HeldAt.IsZero() && !slices.ContainsFunc(before, func(o progress.Milestone) bool { return o.Tier == m.Tier && !o.HeldAt.IsZero() }) {
			tell("milestone.held", m)
		}
	}
	return events
}
