package academy

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"fringework/domain"
)

// GroupProgramme is a programme that at least half of a group have.
type GroupProgramme struct {
	Programme domain.ID
	Name      string
	// Version and Start are those that most of them have.
	Version int
	Start   domain.Date
	// Weeks is how many the version has, and Position where they stand today.
	Weeks    int
	Position Position
	// Lacking are those without it, newcomers for instance, in order of identity.
	Lacking []domain.ID
}

// GroupProgrammes tells which programmes a group has in common, and who of it
// lacks them. It looks at the students whom the actor may see, and leaves out
// programmes that are over.
func (s Service) GroupProgrammes(ctx context.Context, a domain.Actor, group domain.ID) (all []GroupProgramme, err error) {
	err = s.AssignmentStore.Read(ctx, a.Academy, func(tx AssignmentStore) error {
		all = nil
		g, err := tx.Group(ctx, group)
		if err != nil {
			return err
		}
		visible, err := visibleStudents(ctx, tx, a)
		if err != nil {
			return err
		}
		students := keepVisible(visible, g.Students)
		var given []Assignment
		for _, id := range students {
			current, err := tx.Assignments(ctx, AssignmentFilter{Student: id, Current: true}, domain.Page{Limit: maxStudents})
			if err != nil {
				return err
			}
			given = append(given, current...)
		}
		for _, having := range byProgramme(given) {
			if 2*len(having) < len(students) {
				continue
			}
			usual := usualOf(having)
			common, err := s.common(ctx, tx, usual, s.today(visible[usual.Student]))
			if err != nil {
				return err
			}
			common.Lacking = without(students, having)
			if common.Position.Phase != Finished {
				all = append(all, common)
			}
		}
		return nil
	})
	return all, err
}

// byProgramme groups assignments, in order of the programme.
func byProgramme(all []Assignment) [][]Assignment {
	groups := groupBy(all, func(as Assignment) domain.ID { return as.Programme })
	out := make([][]Assignment, 0, len(groups))
	for _, programme := range slices.Sorted(maps.Keys(groups)) {
		out = append(out, groups[programme])
	}
	return out
}

// usualOf gives an assignment of the version and start that most of some
// assignments of a programme have; of several such the first.
func usualOf(having []Assignment) Assignment {
	alike := func(a Assignment) (n int) {
		for _, b := range having {
			if a.Version == b.Version && a.Start == b.Start {
				n++
			}
		}
		return n
	}
	return slices.MaxFunc(having, func(a, b Assignment) int { return cmp.Compare(alike(a), alike(b)) })
}

// without gives the students who have none of some assignments.
func without(students []domain.ID, having []Assignment) []domain.ID {
	return slices.DeleteFunc(slices.Clone(students), func(id domain.ID) bool {
		return slices.ContainsFunc(having, func(as Assignment) bool { return as.Student == id })
	})
}

// common tells of a programme as it is usual, on a day.
func (s Service) common(ctx context.Context, tx AssignmentStore, usual Assignment, today domain.Date) (GroupProgramme, error) {
	v, err := tx.Version(ctx, usual.Programme, usual.Version)
	weeks := len(v.Content.Weeks)
	return GroupProgramme{
		Programme: usual.Programme, Name: v.Content.Name, Version: usual.Version, Start: usual.Start,
		Weeks: weeks, Position: usual.On(today, weeks),
	}, err
}
