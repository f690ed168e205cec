package practice

import (
	"cmp"
	"fmt"
	"slices"

	"fringework/domain/progress"
)

// notices tells the student what to know about a session that was stored.
func notices(o PutResult, overlapping []Session) []Notice {
	var all []Notice
	for _, other := range overlapping {
		all = append(all, Notice{Code: "overlaps", Session: other.ID,
			Detail: fmt.Sprintf("This session overlaps with the one that started at %s. Both are kept; delete one if they are the same practice.",
				other.StartedAt.In(o.Session.Zone()).Format("15:04 on 2 January 2006"))})
	}
	if o.Session.lacksPlan() {
		all = append(all, Notice{Code: "plan_missing",
			Detail: fmt.Sprintf("Version %d of the programme has no plan %d with these blocks in week %d, so your time is not compared with a plan.", o.Session.Version, o.Session.Plan, o.Session.Week)})
	}
	for _, r := range unmeasured(o) {
		all = append(all, Notice{Code: "unmeasured",
			Detail: fmt.Sprintf("%s at another radius without a measured distance and cannot count toward %d in a row inside %v. Measure the distance left, or judge at %v.",
				judged(r.Unmeasured), r.Tier.Run, r.Tier.Radius, r.Tier.Radius)})
	}
	return all
}

func judged(balls int) string {
	if balls == 1 {
		return "1 ball was judged"
	}
	return fmt.Sprintf("%d balls were judged", balls)
}

// lacksPlan reports whether a block names a block of a plan that was not found.
func (s Session) lacksPlan() bool {
	found := map[int]bool{}
	for _, b := range s.Blocks {
		found[b.PlanBlock] = found[b.PlanBlock] || b.Planned > 0
	}
	return s.Assignment != "" && slices.ContainsFunc(s.Blocks, func(b Block) bool { return b.PlanBlock > 0 && !found[b.PlanBlock] })
}

// unmeasured gives the easiest result of each skill that some balls say
// nothing about, in a fixed order.
func unmeasured(o PutResult) []progress.TierResult {
	var found []progress.TierResult
	for _, p := range o.Session.Plays() {
		results := o.Results[p.Skill]
		if i := slices.IndexFunc(results, func(r progress.TierResult) bool { return r.Unmeasured > 0 }); i >= 0 {
			found = append(found, results[i])
		}
	}
	slices.SortStableFunc(found, func(a, b progress.TierResult) int { return cmp.Compare(b.Unmeasured, a.Unmeasured) })
	return found
}
