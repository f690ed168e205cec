package practice

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// notices tells student and coach what to know about a session that was stored.
func (o Opened) notices(out PutResult) []Notice {
	var all []Notice
	for _, other := range o.Overlapping {
		all = append(all, Notice{Code: "overlaps", Session: other.ID,
			Detail: fmt.Sprintf("This session overlaps with the one that started at %s. Both are kept; delete one if they are the same practice.",
				other.StartedAt.In(out.Session.Zone()).Format("15:04 on 2 January 2006"))})
	}
	all = append(all, out.Session.planNotices()...)
	all = append(all, out.Session.notCounted()...)
	all = append(all, o.notInARow(out)...)
	if text := o.withoutSteps(out.Session); text != "" {
		all = append(all, Notice{Code: "no_programme", Detail: text})
	}
	for _, r := range o.unmeasured(out) {
		all = append(all, Notice{Code: "unmeasured",
			Detail: fmt.Sprintf("%s towards %d in a row inside %v. Play to a circle of %v, or say how far each ball is from the hole.",
				elsewhere(r.Unmeasured), r.Tier.Run, r.Tier.Radius, r.Tier.Radius)})
	}
	return all
}

// withoutSteps says why the session, or a part of it, moved no step: no programme
// that trains the skill was ever assigned. It is empty without such a part.
func (o Opened) withoutSteps(s Session) string {
	without, plays := 0, s.Plays()
	for _, p := range plays {
		if len(o.Records[p.Skill].Track.Ladder.Tiers) == 0 {
			without++
		}
	}
	const remedy = "so there is no step to pass. Once a coach assigns one, these balls count."
	switch {
	case without == 0:
		return ""
	case without < len(plays):
		return "Some of these balls moved no step: no programme with their skill is assigned, " + remedy
	case len(plays) > 1:
		return "These balls moved no step: no programme with their skills is assigned, " + remedy
	}
	return "These balls moved no step: no programme with this skill is assigned, " + remedy
}

// elsewhere says that some balls were logged for another circle.
func elsewhere(balls int) string {
	if balls == 1 {
		return "1 ball was logged for another circle, so it does not count"
	}
	return fmt.Sprintf("%d balls were logged for another circle, so they do not count", balls)
}

// unmeasured gives, of each skill, the result for the step to pass next where some
// balls say nothing about it, in a fixed order.
func (o Opened) unmeasured(out PutResult) []progress.TierResult {
	var found []progress.TierResult
	for _, p := range out.Session.Plays() {
		next, open := o.Records[p.Skill].State.Next()
		// What is measured passes no step, whatever its circle.
		p.Blocks = slices.DeleteFunc(slices.Clone(p.Blocks), func(b progress.PlayedBlock) bool { return b.Measures() })
		for _, r := range o.Records[p.Skill].Track.Summarise(p).Results {
			if open && r.Tier == next && r.Unmeasured > 0 {
				found = append(found, r)
			}
		}
	}
	slices.SortStableFunc(found, func(a, b progress.TierResult) int { return cmp.Compare(b.Unmeasured, a.Unmeasured) })
	return found
}

// noneOf says that some blocks do not count.
func noneOf(blocks []string) string {
	if last := len(blocks) - 1; last > 0 {
		return "Blocks " + strings.Join(blocks[:last], ", ") + " and " + blocks[last] + " do not count"
	}
	return "Block " + blocks[0] + " does not count"
}

// titles are the kinds of block as a person reads them.
var titles = map[curriculum.BlockKind]string{
	curriculum.Warmup: "Warm-up", curriculum.Technique: "Technique", curriculum.Stations: "Stations", curriculum.Random: "Random", curriculum.Test: "Test",
	curriculum.Playout: "Played out",
}

// notInARow tells that nothing played off the green counts or, of each skill whose
// next step is open, that none of the session's balls were in a block where balls in
// a row count.
func (o Opened) notInARow(out PutResult) (all []Notice) {
	if out.Session.Surface.Off() {
		return []Notice{{Code: "off_green", Detail: "This was not played on a green: the time counts as practice, and no step is passed there."}}
	}
	for _, p := range out.Session.Plays() {
		var blocks []string
		for _, b := range p.Blocks {
			if len(b.Balls) > 0 {
				blocks = append(blocks, fmt.Sprintf("%d (%s)", b.Position, titles[curriculum.BlockKind(b.Kind)]))
			}
		}
		record := o.Records[p.Skill]
		next, open := record.State.Next()
		where := "warm-up and test do"
		if record.Track.Ladder.TestOnly {
			where = "a test does"
		} else if record.Track.Ladder.Technique {
			where = "warm-up, technique and test do"
		}
		for _, r := range out.Results[p.Skill] {
			if open && r.Tier == next && len(blocks) > 0 && r.Judged+r.Unmeasured == 0 {
				all = append(all, Notice{Code: "not_in_a_row",
					Detail: fmt.Sprintf("%s for the step or the rate; %s.", noneOf(blocks), where)})
			}
		}
	}
	return all
}
