package practice

import (
	"maps"
	"slices"

	"fringework/domain"
	"fringework/domain/greenside"
)

// tell makes the event of a change; nil while a session only goes on, which is
// told once, when it ends or pauses ([PauseService.Tell]). An edit or a
// deletion keeps what was, whole.
func (s Service) tell(a domain.Actor, next Session, o Opened, grown bool) *domain.Event {
	data := map[string]any{"revision": next.Revision, "balls": next.balls()}
	kind := "session.stored"
	switch {
	case next.Deleted():
		kind = "session.deleted"
	case !o.Known:
	case o.Before.Deleted():
		kind = "session.restored"
	case !grown:
		kind = "session.edited"
	case next.EndedAt.IsZero():
		return nil
	default:
		kind = "session.extended"
	}
	if kind == "session.edited" || kind == "session.deleted" && o.Known && !o.Before.Deleted() {
		data["before"] = o.Before.record()
	}
	e := a.Event(s.Env.Now(), kind, next.ID, next.Student, data)
	return &e
}

func (s Session) balls() int {
	n := 0
	for _, b := range s.Blocks {
		n += len(b.Balls)
	}
	return n
}

// extendedBy reports whether next only adds to s: more balls, more time, more
// blocks, an end.
func (s Session) extendedBy(next Session) bool {
	same := s.Student == next.Student && s.Assignment == next.Assignment && s.Week == next.Week && s.Plan == next.Plan && s.Version == next.Version &&
		s.StartedAt.Equal(next.StartedAt) && s.TimeZone == next.TimeZone && (s.EndedAt.IsZero() || s.EndedAt.Equal(next.EndedAt)) &&
		s.Surface == next.Surface && s.Variant == next.Variant && s.Match == next.Match && (s.Note == "" || s.Note == next.Note) && len(s.Blocks) <= len(next.Blocks) &&
		(s.Green == greenside.Green{} || s.Green == next.Green) && len(s.Landings) <= len(next.Landings)
	if !same || !slices.Equal(s.Landings, next.Landings[:len(s.Landings)]) {
		return false
	}
	for i, b := range s.Blocks {
		if !b.extendedBy(next.Blocks[i]) {
			return false
		}
	}
	return true
}

func (b Block) extendedBy(next Block) bool {
	if b.PlanBlock != next.PlanBlock || b.Kind != next.Kind || b.Skill != next.Skill || b.Radius != next.Radius || b.Purpose != next.Purpose || b.Quiet != next.Quiet ||
		b.Seconds > next.Seconds || len(b.Balls) > len(next.Balls) || (b.Attested == nil) != (next.Attested == nil) {
		return false
	}
	if b.Attested != nil && *b.Attested != *next.Attested {
		return false
	}
	return slices.EqualFunc(b.Balls, next.Balls[:len(b.Balls)], Ball.extendedBy)
}

// extendedBy reports whether next is the same ball, or that ball holed at last.
func (b Ball) extendedBy(next Ball) bool {
	if b.Strokes == 0 {
		next.Strokes = 0
	}
	return b == next
}

// record writes a session for the log, with every ball.
func (s Session) record() map[string]any {
	blocks := make([]map[string]any, len(s.Blocks))
	for i, b := range s.Blocks {
		blocks[i] = b.record()
	}
	m := map[string]any{"revision": s.Revision, "started_at": s.StartedAt, "time_zone": s.TimeZone, "note": s.Note, "blocks": blocks, "by": s.By}
	if !s.EndedAt.IsZero() {
		m["ended_at"] = s.EndedAt
	}
	if s.Green != (greenside.Green{}) {
		m["green"] = map[string]any{"stimp_ft": s.Green.StimpFt, "slope_deg": s.Green.SlopeDeg}
	}
	if len(s.Landings) > 0 {
		landings := make([]map[string]any, len(s.Landings))
		for i, x := range s.Landings {
			landings[i] = x.record()
		}
		m["landings"] = landings
	}
	if s.Surface != "" {
		m["surface"] = s.Surface
	}
	if s.Variant != "" {
		m["variant"] = s.Variant
	}
	if s.Match != "" {
		m["match_id"] = s.Match
	}
	if s.Assignment != "" {
		maps.Copy(m, map[string]any{"assignment_id": s.Assignment, "week": s.Week, "plan": s.Plan, "version": s.Version})
	}
	return m
}

func (b Block) record() map[string]any {
	m := map[string]any{"kind": b.Kind, "skill_id": b.Skill, "radius_m": b.Radius.Metres(), "seconds": b.Seconds, "plan_block": b.PlanBlock}
	if b.Purpose != "" {
		m["purpose"] = b.Purpose
	}
	if b.Quiet {
		m["quiet"] = true
	}
	if a := b.Attested; a != nil {
		m["attested"] = map[string]int{"balls": a.Balls, "inside": a.Inside, "holed": a.Holed, "best_run": a.BestRun}
		return m
	}
	balls := make([]map[string]any, len(b.Balls))
	for i, x := range b.Balls {
		ball := map[string]any{"outcome": x.Outcome.String()}
		if x.Measured {
			ball["leave_m"] = x.Leave.Metres()
		}
		if x.Miss != "" {
			ball["miss"] = x.Miss
		}
		if x.Contact != "" {
			ball["contact"] = x.Contact
		}
		if x.Club != "" {
			ball["club"] = x.Club
		}
		if x.Lie != "" {
			ball["lie"] = x.Lie
		}
		if x.Distance != 0 {
			ball["distance_m"] = x.Distance.Metres()
		}
		if x.Strokes != 0 {
			ball["strokes"] = x.Strokes
		}
		if x.After != 0 {
			ball["after_s"] = x.After.Seconds()
		}
		balls[i] = ball
	}
	m["balls"] = balls
	return m
}
