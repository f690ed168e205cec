package domaintest

import (
	"context"
	"maps"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
)

// Skills implements curriculum.Store.
func (t *tx) Skills(_ context.Context, p domain.Page, archived bool) ([]curriculum.Skill, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := slices.DeleteFunc(slices.Collect(maps.Values(t.skills)), func(s curriculum.Skill) bool {
		return !archived && !s.ArchivedAt.IsZero()
	})
	return copied(page(all, func(s curriculum.Skill) domain.ID { return s.ID }, p)), nil
}

// SkillsByID implements curriculum.Store.
func (t *tx) SkillsByID(_ context.Context, ids []domain.ID) (map[domain.ID]curriculum.Skill, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	found := map[domain.ID]curriculum.Skill{}
	for _, id := range ids {
		if s, ok := t.skills[id]; ok {
			found[id] = copied(s)
		}
	}
	return found, nil
}

// SaveSkill implements curriculum.Store.
func (t *tx) SaveSkill(_ context.Context, s curriculum.Skill) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := next("skill", s.Revision, t.skills[s.ID].Revision); err != nil {
		return err
	}
	t.skills[s.ID] = copied(s)
	return nil
}

// Programmes implements curriculum.Store.
func (t *tx) Programmes(_ context.Context, p domain.Page, archived bool) ([]curriculum.Programme, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var all []curriculum.Programme
	for _, x := range t.programmes {
		if (archived || x.ArchivedAt.IsZero()) && !x.UpdatedAt.Before(p.UpdatedSince) {
			x.Draft.Weeks = nil
			all = append(all, copied(x))
		}
	}
	return page(all, func(p curriculum.Programme) domain.ID { return p.ID }, p), nil
}

// Programme implements curriculum.Store.
func (t *tx) Programme(_ context.Context, id domain.ID) (curriculum.Programme, error) {
	if err := t.call(); err != nil {
		return curriculum.Programme{}, err
	}
	p, ok := t.programmes[id]
	if !ok {
		return p, domain.ErrNotFound("programme")
	}
	return copied(p), nil
}

// SaveProgramme implements curriculum.Store.
func (t *tx) SaveProgramme(_ context.Context, p curriculum.Programme) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := next("programme", p.Revision, t.programmes[p.ID].Revision); err != nil {
		return err
	}
	t.programmes[p.ID] = copied(p)
	return nil
}

// Versions implements curriculum.Store.
func (t *tx) Versions(_ context.Context, programme domain.ID) ([]curriculum.Version, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var all []curriculum.Version
	for _, v := range t.versions {
		if v.Programme == programme {
			v.Content, v.Skills = curriculum.Content{}, nil
			all = append(all, v)
		}
	}
	slices.SortFunc(all, func(a, b curriculum.Version) int { return b.Number - a.Number })
	return all, nil
}

// Version implements curriculum.Store, academy.Store and practice.Store.
func (t *tx) Version(_ context.Context, programme domain.ID, number int) (curriculum.Version, error) {
	if err := t.call(); err != nil {
		return curriculum.Version{}, err
	}
	v, ok := t.versions[academy.VersionKey{Programme: programme, Number: number}]
	if !ok {
		return v, domain.ErrNotFound("version")
	}
	return copied(v), nil
}

// AddVersion implements curriculum.Store.
func (t *tx) AddVersion(_ context.Context, v curriculum.Version) error {
	if err := t.change(); err != nil {
		return err
	}
	key := academy.VersionKey{Programme: v.Programme, Number: v.Number}
	if _, ok := t.versions[key]; ok {
		return domain.Errorf(domain.Conflict, "version_exists", "Version %d was published already.", v.Number)
	}
	if _, ok := t.programmes[v.Programme]; !ok {
		return domain.ErrNotFound("programme")
	}
	t.versions[key] = copied(v)
	return nil
}
