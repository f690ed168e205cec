package progress

import (
	"context"

	"fringework/domain"
)

// Keeper keeps the records of an academy's students.
type Keeper interface {
	// Tracks gives a student's tracks for the skills; skills without one are
	// left out. When writing it locks the student.
	Tracks(ctx context.Context, student domain.ID, skills []domain.ID) (map[domain.ID]Track, error)
	// History gives everything a student did at a skill, balls included. It is
	// for Rejudge alone: its cost grows with the history.
	History(ctx context.Context, student, skill domain.ID) ([]Play, error)
	// ReplaceRecord makes a whole record all that is kept of a student at a
	// skill, its track included.
	ReplaceRecord(ctx context.Context, r Record) error
}

// Rejudge judges a student's whole history at a skill by a new track, and gives
// the record that is kept from then on, with the milestones by the old track: an
// explicit act, when a version with another ladder is assigned or a ladder gets an
// extra step.
func Rejudge(ctx context.Context, k Keeper, old, t Track) (r Record, before []Milestone, err error) {
	plays, err := k.History(ctx, t.Student, t.Skill)
	if err != nil {
		return Record{}, nil, err
	}
	r = Recompute(t, summarised(t, plays))
	if len(old.Judged) > 0 {
		periods := periodsOf(summarised(old, plays))
		before = State{Student: t.Student, Skill: t.Skill, Tiers: records(old, periods), Retests: retestsOf(periods)}.Milestones()
	}
	return r, before, k.ReplaceRecord(ctx, r)
}

func summarised(t Track, plays []Play) []SessionSummary {
	summaries := make([]SessionSummary, len(plays))
	for i, p := range plays {
		summaries[i] = t.Summarise(p)
	}
	return summaries
}
