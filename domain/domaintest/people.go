package domaintest

import (
	"context"
	"maps"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
)

// Academy implements academy.Store.
func (t *tx) Academy(context.Context) (academy.Academy, error) {
	return t.academy, t.call()
}

// SaveAcademy implements academy.Store.
func (t *tx) SaveAcademy(_ context.Context, a academy.Academy) error {
	if err := t.change(); err != nil {
		return err
	}
	if a.ID != t.academy.ID {
		return domain.ErrNotFound("academy")
	}
	a.CreatedAt = t.academy.CreatedAt
	t.academy = a
	return nil
}

// Members implements academy.Store.
func (t *tx) Members(_ context.Context, f academy.MemberFilter, p domain.Page) ([]academy.Member, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := slices.DeleteFunc(slices.Collect(maps.Values(t.members)), func(m academy.Member) bool {
		return t.unchanged(m.ID, p.UpdatedSince, "member", "consent") || f.Role != "" && m.Role != f.Role || !f.Removed && !m.Active() ||
			f.ForApps && !m.ForApps() || f.NotForApps && m.ForApps() || m.ID == domain.Nobody ||
			f.Group != "" && !slices.Contains(t.groups[f.Group].Students, m.ID) ||
			f.VisibleTo != "" && !t.visible(f.VisibleTo, m)
	})
	return page(all, func(m academy.Member) domain.ID { return m.ID }, p), nil
}

// visible says whether a member may see another, who may see all only as an
// owner.
func (t *tx) visible(to domain.ID, m academy.Member) bool {
	if m.ID == to || m.Role == domain.Student && t.linked(to, m.ID) {
		return true
	}
	return t.members[to].Role == domain.Coach && (m.Role == domain.Owner || m.Role == domain.Coach)
}

// Member implements academy.Viewing.
func (t *tx) Member(_ context.Context, id domain.ID) (academy.Member, error) {
	if err := t.call(); err != nil {
		return academy.Member{}, err
	}
	m, ok := t.members[id]
	if !ok {
		return m, domain.ErrNotFound("member")
	}
	return m, nil
}

// WorksWith implements academy.Viewing.
func (t *tx) WorksWith(_ context.Context, member, student domain.ID) (bool, error) {
	return t.linked(member, student), t.call()
}

// linked says whether a coach works with a student, or a guardian reads them.
func (t *tx) linked(member, student domain.ID) bool {
	l := link{member, student}
	return t.links[l] && t.asked[l].IsZero()
}

// SaveMember implements academy.Store.
func (t *tx) SaveMember(_ context.Context, m academy.Member) error {
	if err := t.change(); err != nil {
		return err
	}
	old, ok := t.members[m.ID]
	if !ok {
		return domain.ErrNotFound("member")
	}
	if err := next("member", m.Revision, old.Revision); err != nil {
		return err
	}
	m.Account, m.Email, m.JoinedAt = old.Account, old.Email, old.JoinedAt
	t.members[m.ID] = m
	return nil
}

// CoachesOf implements academy.Store.
func (t *tx) CoachesOf(_ context.Context, student domain.ID) ([]domain.ID, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var ids []domain.ID
	for l := range t.links {
		if m := t.members[l.member]; l.student == student && m.Role != domain.Guardian && m.Active() {
			ids = append(ids, l.member)
		}
	}
	slices.Sort(ids)
	return ids, nil
}

// known wants members to be there.
func (t *tx) known(members ...domain.ID) error {
	for _, id := range members {
		if _, ok := t.members[id]; !ok {
			return domain.ErrNotFound("member")
		}
	}
	return nil
}

// SetLink implements academy.Store.
func (t *tx) SetLink(_ context.Context, coach, student domain.ID, linked bool) error {
	if err := t.change(); err != nil {
		return err
	}
	if delete(t.links, link{coach, student}); linked {
		if err := t.known(coach, student); err != nil {
			return err
		}
		t.links[link{coach, student}] = true
	}
	return nil
}

// Groups implements academy.Store.
func (t *tx) Groups(_ context.Context, p domain.Page) ([]academy.Group, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := slices.Collect(maps.Values(t.groups))
	return copied(page(all, func(g academy.Group) domain.ID { return g.ID }, p)), nil
}

// Group implements academy.Store.
func (t *tx) Group(_ context.Context, id domain.ID) (academy.Group, error) {
	if err := t.call(); err != nil {
		return academy.Group{}, err
	}
	g, ok := t.groups[id]
	if !ok {
		return g, domain.ErrNotFound("group")
	}
	return copied(g), nil
}

// SaveGroup implements academy.Store.
func (t *tx) SaveGroup(_ context.Context, g academy.Group) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := next("group", g.Revision, t.groups[g.ID].Revision); err != nil {
		return err
	}
	if err := t.known(g.Students...); err != nil {
		return err
	}
	g = copied(g)
	slices.Sort(g.Students)
	t.groups[g.ID] = g
	return nil
}

// DeleteGroup implements academy.Store.
func (t *tx) DeleteGroup(_ context.Context, id domain.ID) error {
	if err := t.change(); err != nil {
		return err
	}
	if _, ok := t.groups[id]; !ok {
		return domain.ErrNotFound("group")
	}
	delete(t.groups, id)
	return nil
}

// Assignment implements academy.Store and practice.Store.
func (t *tx) Assignment(_ context.Context, id domain.ID) (academy.Assignment, error) {
	if err := t.call(); err != nil {
		return academy.Assignment{}, err
	}
	a, ok := t.assignments[id]
	if !ok {
		return a, domain.ErrNotFound("assignment")
	}
	return copied(a), nil
}

// Assignments implements academy.Store.
func (t *tx) Assignments(_ context.Context, f academy.AssignmentFilter, p domain.Page) ([]academy.Assignment, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := slices.DeleteFunc(slices.Collect(maps.Values(t.assignments)), func(a academy.Assignment) bool {
		return t.unchanged(a.ID, p.UpdatedSince, "assignment") || f.Student != "" && a.Student != f.Student || f.Programme != "" && a.Programme != f.Programme ||
			f.Current && !a.EndedAt.IsZero() ||
			f.ForApps && !t.members[a.Student].ForApps() ||
			f.VisibleTo != "" && f.VisibleTo != a.Student && !t.linked(f.VisibleTo, a.Student)
	})
	return copied(page(all, func(a academy.Assignment) domain.ID { return a.ID }, p)), nil
}

// SaveAssignment implements academy.Store; the count of sessions is kept apart.
func (t *tx) SaveAssignment(_ context.Context, a academy.Assignment) error {
	if err := t.change(); err != nil {
		return err
	}
	old := t.assignments[a.ID]
	if err := next("assignment", a.Revision, old.Revision); err != nil {
		return err
	}
	if err := t.known(a.Student); err != nil {
		return err
	}
	if _, ok := t.versions[a.Pins()]; !ok {
		return domain.ErrNotFound("version")
	}
	for _, other := range t.assignments {
		if a.EndedAt.IsZero() && other.EndedAt.IsZero() && other.ID != a.ID && other.Student == a.Student && other.Programme == a.Programme {
			return domain.Errorf(domain.Conflict, "exists", "The student has the programme already.")
		}
	}
	a.Sessions = old.Sessions
	t.assignments[a.ID] = copied(a)
	return nil
}
