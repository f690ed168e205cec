package academy

import (
	"context"
	"slices"
	"strconv"

	"fringework/domain"
)

// Groups lists the academy's groups. A coach sees every group, and in it the
// students linked to them.
func (s Service) Groups(ctx context.Context, a domain.Actor, page domain.Page) (gs []Group, err error) {
	err = s.GroupStore.Read(ctx, a.Academy, func(tx GroupStore) error {
		if gs, err = tx.Groups(ctx, page); err != nil {
			return err
		}
		visible, err := visibleStudents(ctx, tx, a)
		for i := range gs {
			gs[i].Students = keepVisible(visible, gs[i].Students)
		}
		return err
	})
	return gs, err
}

// Group reads one group, as Groups does.
func (s Service) Group(ctx context.Context, a domain.Actor, id domain.ID) (g Group, err error) {
	err = s.GroupStore.Read(ctx, a.Academy, func(tx GroupStore) error {
		if g, err = tx.Group(ctx, id); err != nil {
			return err
		}
		g.Students, err = visibleOf(ctx, tx, a, g.Students)
		return err
	})
	return g, err
}

// visibleStudents gives the students that the actor may see, by identity.
func visibleStudents(ctx context.Context, tx Listing, a domain.Actor) (map[domain.ID]Member, error) {
	members, err := Students(ctx, tx, a, MemberFilter{})
	visible := make(map[domain.ID]Member, len(members))
	for _, m := range members {
		visible[m.ID] = m
	}
	return visible, err
}

// keepVisible keeps the visible students, each once and in order of identity.
func keepVisible(visible map[domain.ID]Member, students []domain.ID) []domain.ID {
	kept := slices.DeleteFunc(slices.Sorted(slices.Values(students)), func(id domain.ID) bool {
		_, ok := visible[id]
		return !ok
	})
	return slices.Compact(kept)
}

// visibleOf keeps the students that the actor may see.
func visibleOf(ctx context.Context, tx GroupStore, a domain.Actor, students []domain.ID) ([]domain.ID, error) {
	if len(students) == 0 {
		return nil, nil
	}
	visible, err := visibleStudents(ctx, tx, a)
	return keepVisible(visible, students), err
}

// maxGroup is how many students fit in a group.
const maxGroup = 500

// CreateGroup keeps a new group of students whom the actor may see.
func (s Service) CreateGroup(ctx context.Context, a domain.Actor, name string, students []domain.ID) (g Group, err error) {
	err = s.GroupStore.Write(ctx, a.Academy, func(tx GroupStore) error {
		g = Group{ID: s.Env.NewID(), Name: name, Revision: 1, CreatedAt: s.Env.Now()}
		if g.Students, err = checkGroup(ctx, tx, a, name, students); err != nil {
			return err
		}
		if err := tx.SaveGroup(ctx, g); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "group.created", g.ID, "", map[string]any{"name": name, "students": g.Students}))
	})
	return g, err
}

func checkGroup(ctx context.Context, tx GroupStore, a domain.Actor, name string, students []domain.ID) ([]domain.ID, error) {
	var p domain.Problems
	checkName(&p, "/name", name)
	if len(students) > maxGroup {
		p.Add("/student_ids", "there are %d students; at most %d fit in a group", len(students), maxGroup)
	}
	visible, err := visibleOf(ctx, tx, a, students)
	if err != nil {
		return nil, err
	}
	for i, id := range students {
		if !slices.Contains(visible, id) {
			p.Add("/student_ids/"+strconv.Itoa(i), "there is no student %q among those you may see", id)
		}
	}
	return visible, p.Err("group_invalid", "The group cannot be kept as it is.")
}

// ChangeGroup renames a group and sets its students. Students whom the actor
// may not see stay in it.
func (s Service) ChangeGroup(ctx context.Context, a domain.Actor, id domain.ID, revision int, name string, students []domain.ID) (g Group, err error) {
	err = s.GroupStore.Write(ctx, a.Academy, func(tx GroupStore) error {
		if g, err = tx.Group(ctx, id); err != nil {
			return err
		}
		if err := domain.CheckRevision("group", revision, g.Revision); err != nil {
			return err
		}
		wanted, err := checkGroup(ctx, tx, a, name, students)
		if err != nil {
			return err
		}
		seen, err := visibleOf(ctx, tx, a, g.Students)
		if err != nil {
			return err
		}
		all := slices.DeleteFunc(slices.Clone(g.Students), func(id domain.ID) bool { return slices.Contains(seen, id) })
		all = append(all, wanted...)
		slices.Sort(all)
		g.Name, g.Students, g.Revision = name, slices.Compact(all), g.Revision+1
		if err := tx.SaveGroup(ctx, g); err != nil {
			return err
		}
		if err := tx.Record(ctx, s.event(a, "group.changed", id, "", map[string]any{"name": name, "students": g.Students})); err != nil {
			return err
		}
		g.Students = wanted
		return nil
	})
	return g, err
}

// DeleteGroup forgets a group; its students and their assignments stay.
func (s Service) DeleteGroup(ctx context.Context, a domain.Actor, id domain.ID) error {
	return s.GroupStore.Write(ctx, a.Academy, func(tx GroupStore) error {
		g, err := tx.Group(ctx, id)
		if err != nil {
			return err
		}
		if err := tx.DeleteGroup(ctx, id); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "group.deleted", id, "", map[string]any{"name": g.Name, "students": g.Students}))
	})
}
