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
		g = Group{ID: s.Env.NewID(), Name: name, Revision: 1, CreatedAt: s.Env.Now(), By: a.Member}
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
		p.Add("/student_ids", "has %d students; put at most %d in a group", len(students), maxGroup)
	}
	visible, err := visibleOf(ctx, tx, a, students)
	if err != nil {
		return nil, err
	}
	for i, id := range students {
		if !slices.Contains(visible, id) {
			p.Add("/student_ids/"+strconv.Itoa(i), "you have no student %q; check the ID", id)
		}
	}
	return visible, p.Err("group_invalid", "The group was not saved.")
}

// ChangeGroup renames a group and sets its students. Students whom the actor
// may not see stay in it, and only who made it, or an owner, may rename it.
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
		if name != g.Name {
			if err := ownGroup(ctx, tx, a, g, "rename", false); err != nil {
				return err
			}
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

// ownGroup refuses to do something to a group that is not the actor's own; with whole
// also to one that has students whom they may not see. Where nobody knows who made a
// group, it belongs to those who see all of it.
func ownGroup(ctx context.Context, tx GroupStore, a domain.Actor, g Group, do string, whole bool) error {
	if a.SeesAll() || g.By == a.Member && !whole {
		return nil
	}
	if g.By == a.Member || g.By == "" {
		everybody := domain.Actor{Academy: a.Academy, Role: domain.Owner}
		all, err := visibleOf(ctx, tx, everybody, g.Students)
		if err != nil {
			return err
		}
		if seen, err := visibleOf(ctx, tx, a, g.Students); err != nil || len(seen) == len(all) {
			return err
		}
		return domain.Errorf(domain.Forbidden, "others_group",
			"This group has students of other coaches, so you may not %s it; ask an owner. You may take your own students out.", do)
	}
	return domain.Errorf(domain.Forbidden, "others_group",
		"Another coach made this group, so you may not %s it; ask them or an owner. You may put your own students into it and take them out.", do)
}

// DeleteGroup forgets a group; its students and their assignments stay. Only who
// made it may, if all in it are their own students, or an owner.
func (s Service) DeleteGroup(ctx context.Context, a domain.Actor, id domain.ID, revision int) error {
	return s.GroupStore.Write(ctx, a.Academy, func(tx GroupStore) error {
		g, err := tx.Group(ctx, id)
		if err != nil {
			return err
		}
		if err := domain.CheckRevision("group", revision, g.Revision); err != nil {
			return err
		}
		if err := ownGroup(ctx, tx, a, g, "delete", true); err != nil {
			return err
		}
		if err := tx.DeleteGroup(ctx, id); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "group.deleted", id, "", map[string]any{"name": g.Name, "students": g.Students}))
	})
}
