package academy

import (
	"context"
	"slices"

	"fringework/domain/curriculum"
)

// Credit says how sessions by an earlier version count for the version that an
// assignment pins: by what was done, not by the place of the week.
type Credit struct {
	Version int
	// Weeks has, for each week of Version, the 1-based week of the pinned version
	// that its sessions count for; 0 for none.
	Weeks []int
}

// CountsFor gives the week of the pinned version that a session by a week of a
// version counts for; 0 for none. Of a version without a credit weeks count by
// their number.
func (a Assignment) CountsFor(version, week int) int {
	for _, c := range a.Credits {
		if c.Version == version && 1 <= week && week <= len(c.Weeks) {
			return c.Weeks[week-1]
		}
	}
	return week
}

// MovedWeek is a week of an earlier version whose sessions count elsewhere than
// under its number.
type MovedWeek struct {
	Version, Week int
	// For is the week of the pinned version; 0 when it has nothing like it.
	For int
}

// MovedWeeks lists the weeks of earlier versions that changed places or are no
// more, latest version first.
func (a Assignment) MovedWeeks() []MovedWeek {
	var moved []MovedWeek
	for _, c := range slices.Backward(a.Credits) {
		for i, to := range c.Weeks {
			if to != i+1 {
				moved = append(moved, MovedWeek{c.Version, i + 1, to})
			}
		}
	}
	return moved
}

// credit matches the weeks of every version that the assignment pinned so far
// with those of the one that it pins next.
func (a *Assignment) credit(ctx context.Context, tx AssignmentStore, to curriculum.Version) error {
	versions := []int{a.Version}
	for _, c := range a.Credits {
		versions = append(versions, c.Version)
	}
	slices.Sort(versions)
	a.Credits = nil
	for _, number := range slices.Compact(versions) {
		if number == to.Number {
			continue
		}
		before, err := tx.Version(ctx, a.Programme, number)
		if err != nil {
			return err
		}
		a.Credits = append(a.Credits, Credit{number, curriculum.MatchWeeks(before.Content, to.Content)})
	}
	return nil
}
