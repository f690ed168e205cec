package curriculum

import (
	"context"
	"maps"
	"slices"
	"time"

	"fringework/domain"
)

// Store is what the curriculum needs kept, seen for one academy. Lists are in
// order of identity. What is absent gives a domain.NotFound error; a save with
// a revision that is not one above the stored one gives domain.Stale.
type Store interface {
	domain.EventLog

	// Skills lists skills, archived ones only when asked for.
	Skills(ctx context.Context, page domain.Page, archived bool) ([]Skill, error)
	// SkillsByID gives the named skills that exist, archived ones included.
	SkillsByID(ctx context.Context, ids []domain.ID) (map[domain.ID]Skill, error)
	SaveSkill(ctx context.Context, s Skill) error

	// Programmes lists programmes without their weeks.
	Programmes(ctx context.Context, page domain.Page, archived bool) ([]Programme, error)
	Programme(ctx context.Context, id domain.ID) (Programme, error)
	SaveProgramme(ctx context.Context, p Programme) error

	// Versions lists a programme's versions, latest first, without their
	// content.
	Versions(ctx context.Context, programme domain.ID) ([]Version, error)
	Version(ctx context.Context, programme domain.ID, number int) (Version, error)
	// AddVersion keeps a version for good; nothing updates one.
	AddVersion(ctx context.Context, v Version) error
}

// Service is what can be done with the curriculum. The edge has checked that
// the actor's role may try; coaches share the academy's programmes.
type Service struct {
	Store domain.Transactor[Store]
	Env   domain.Env
}

// event fills in what every event of this package shares.
func (s Service) event(a domain.Actor, kind string, subject domain.ID, data map[string]any) domain.Event {
	return a.Event(s.Env.Now(), kind, subject, "", data)
}

// CreateSkill keeps a new skill; its ID, times and revision are given here.
func (s Service) CreateSkill(ctx context.Context, a domain.Actor, skill Skill) (Skill, error) {
	now := s.Env.Now()
	skill.ID, skill.Revision, skill.CreatedAt, skill.UpdatedAt, skill.ArchivedAt = s.Env.NewID(), 1, now, now, time.Time{}
	var p domain.Problems
	if skill.check(&p, ""); len(p.Fields()) > 0 {
		return Skill{}, p.Err("skill_invalid", "The skill was not saved.")
	}
	return skill, s.Store.Write(ctx, a.Academy, func(tx Store) error {
		if err := tx.SaveSkill(ctx, skill); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "skill.created", skill.ID, map[string]any{"name": skill.Name}))
	})
}

// UpdateSkill replaces a skill's name, kind, text, ladder and drills, if its
// revision is still the one given (0 skips the check). Published versions keep
// the skill as it was, and blocks the drills that they took from it.
func (s Service) UpdateSkill(ctx context.Context, a domain.Actor, id domain.ID, revision int, wanted Skill) (Skill, error) {
	var p domain.Problems
	if wanted.check(&p, ""); len(p.Fields()) > 0 {
		return Skill{}, p.Err("skill_invalid", "The skill was not saved.")
	}
	return s.changeSkill(ctx, a, id, revision, "skill.changed", func(old *Skill) {
		old.Name, old.Kind, old.Text, old.Ladder, old.Drills = wanted.Name, wanted.Kind, wanted.Text, wanted.Ladder, wanted.Drills
	})
}

// ArchiveSkill puts a skill away, or brings it back. Programmes already
// published go on using it.
func (s Service) ArchiveSkill(ctx context.Context, a domain.Actor, id domain.ID, archived bool) (Skill, error) {
	kind := "skill.archived"
	if !archived {
		kind = "skill.restored"
	}
	return s.changeSkill(ctx, a, id, 0, kind, func(old *Skill) { old.ArchivedAt = s.archivedAt(archived) })
}

func (s Service) archivedAt(archived bool) time.Time {
	if archived {
		return s.Env.Now()
	}
	return time.Time{}
}

func (s Service) changeSkill(ctx context.Context, a domain.Actor, id domain.ID, revision int, kind string, change func(*Skill)) (Skill, error) {
	var skill Skill
	err := s.Store.Write(ctx, a.Academy, func(tx Store) (err error) {
		if skill, err = oneSkill(ctx, tx, id); err != nil {
			return err
		}
		if err := domain.CheckRevision("skill", revision, skill.Revision); err != nil {
			return err
		}
		change(&skill)
		skill.Revision++
		skill.UpdatedAt = s.Env.Now()
		if err := tx.SaveSkill(ctx, skill); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, kind, id, map[string]any{"name": skill.Name, "ladder": ladderText(skill, domain.Length.String)}))
	})
	return skill, err
}

func oneSkill(ctx context.Context, tx Store, id domain.ID) (Skill, error) {
	found, err := tx.SkillsByID(ctx, []domain.ID{id})
	if err != nil {
		return Skill{}, err
	}
	skill, ok := found[id]
	if !ok {
		return Skill{}, domain.ErrNotFound("skill")
	}
	return skill, nil
}

// Skill reads one skill.
func (s Service) Skill(ctx context.Context, a domain.Actor, id domain.ID) (skill Skill, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		skill, err = oneSkill(ctx, tx, id)
		return err
	})
	return skill, err
}

// Skills lists the academy's skills.
func (s Service) Skills(ctx context.Context, a domain.Actor, page domain.Page, archived bool) (skills []Skill, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		skills, err = tx.Skills(ctx, page, archived)
		return err
	})
	return skills, err
}

// CreateProgramme keeps a new draft.
func (s Service) CreateProgramme(ctx context.Context, a domain.Actor, c Content) (Programme, error) {
	var p Programme
	err := s.Store.Write(ctx, a.Academy, func(tx Store) (err error) {
		p, err = s.create(ctx, tx, a, c, "programme.created")
		return err
	})
	return p, err
}

func (s Service) create(ctx context.Context, tx Store, a domain.Actor, c Content, kind string) (Programme, error) {
	if err := checkDraft(ctx, tx, c); err != nil {
		return Programme{}, err
	}
	now := s.Env.Now()
	p := Programme{ID: s.Env.NewID(), Draft: c, Revision: 1, CreatedBy: a.Member, CreatedAt: now, UpdatedAt: now}
	if err := tx.SaveProgramme(ctx, p); err != nil {
		return Programme{}, err
	}
	return p, tx.Record(ctx, s.event(a, kind, p.ID, map[string]any{"name": c.Name}))
}

func checkDraft(ctx context.Context, tx Store, c Content) error {
	skills, err := tx.SkillsByID(ctx, c.SkillIDs())
	if err != nil {
		return err
	}
	return c.CheckDraft(skills)
}

// SaveDraft replaces a programme's draft, if its revision is still the one
// given (0 skips the check).
func (s Service) SaveDraft(ctx context.Context, a domain.Actor, id domain.ID, revision int, c Content) (Programme, error) {
	return s.change(ctx, a, id, revision, "programme.drafted", func(tx Store, p *Programme) error {
		p.Draft = c
		return checkDraft(ctx, tx, c)
	})
}

// ArchiveProgramme puts a programme away, or brings it back. Assignments of its
// versions go on.
func (s Service) ArchiveProgramme(ctx context.Context, a domain.Actor, id domain.ID, archived bool) (Programme, error) {
	kind := "programme.archived"
	if !archived {
		kind = "programme.restored"
	}
	return s.change(ctx, a, id, 0, kind, func(_ Store, p *Programme) error {
		p.ArchivedAt = s.archivedAt(archived)
		return nil
	})
}

func (s Service) change(ctx context.Context, a domain.Actor, id domain.ID, revision int, kind string, change func(Store, *Programme) error) (Programme, error) {
	var p Programme
	err := s.Store.Write(ctx, a.Academy, func(tx Store) (err error) {
		if p, err = tx.Programme(ctx, id); err != nil {
			return err
		}
		if err := domain.CheckRevision("programme", revision, p.Revision); err != nil {
			return err
		}
		if err := change(tx, &p); err != nil {
			return err
		}
		p.Revision++
		p.UpdatedAt = s.Env.Now()
		if err := tx.SaveProgramme(ctx, p); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, kind, id, map[string]any{"name": p.Draft.Name, "revision": p.Revision}))
	})
	return p, err
}

// Clone starts a new programme from another's draft.
func (s Service) Clone(ctx context.Context, a domain.Actor, id domain.ID, name string) (Programme, error) {
	var p Programme
	err := s.Store.Write(ctx, a.Academy, func(tx Store) error {
		original, err := tx.Programme(ctx, id)
		if err != nil {
			return err
		}
		c := original.Draft
		if c.Name = copyName(c.Name); name != "" {
			c.Name = name
		}
		p, err = s.create(ctx, tx, a, c, "programme.cloned")
		return err
	})
	return p, err
}

// copyName names a copy so that the name still fits.
func copyName(name string) string {
	const mark = " (copy)"
	runes := []rune(name)
	return string(runes[:min(len(runes), MaxName-len(mark))]) + mark
}

// Programme reads one programme with its draft, and what is to be told of the
// draft before it is published.
func (s Service) Programme(ctx context.Context, a domain.Actor, id domain.ID) (p Programme, found Findings, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		if p, err = tx.Programme(ctx, id); err != nil {
			return err
		}
		skills, err := tx.SkillsByID(ctx, p.Draft.SkillIDs())
		found = p.Draft.Check(skills)
		return err
	})
	return p, found, err
}

// Programmes lists the academy's programmes without their weeks.
func (s Service) Programmes(ctx context.Context, a domain.Actor, page domain.Page, archived bool) (ps []Programme, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		ps, err = tx.Programmes(ctx, page, archived)
		return err
	})
	return ps, err
}

// Publish freezes the draft as the next version. A draft that breaks a rule is
// refused and kept; one equal to the latest version is refused as well, since
// nobody could tell the two apart.
func (s Service) Publish(ctx context.Context, a domain.Actor, id domain.ID, revision int) (Version, error) {
	var v Version
	_, err := s.change(ctx, a, id, revision, "programme.published", func(tx Store, p *Programme) (err error) {
		if v, err = s.freeze(ctx, tx, a, *p); err != nil {
			return err
		}
		p.Published = v.Number
		return tx.AddVersion(ctx, v)
	})
	return v, err
}

func (s Service) freeze(ctx context.Context, tx Store, a domain.Actor, p Programme) (Version, error) {
	if !p.ArchivedAt.IsZero() {
		return Version{}, domain.Errorf(domain.Conflict, "programme_archived", "The programme is archived. Restore it before publishing.")
	}
	skills, err := tx.SkillsByID(ctx, p.Draft.SkillIDs())
	if err != nil {
		return Version{}, err
	}
	if err := p.Draft.CheckPublishable(skills); err != nil {
		return Version{}, err
	}
	v := Version{Programme: p.ID, Number: p.Published + 1, Content: p.Draft, PublishedAt: s.Env.Now(), PublishedBy: a.Member}
	for _, id := range p.Draft.SkillIDs() {
		v.Skills = append(v.Skills, skills[id])
	}
	if p.Published > 0 {
		latest, err := tx.Version(ctx, p.ID, p.Published)
		if err != nil {
			return Version{}, err
		}
		if len(Diff(latest, v, domain.Length.String)) == 0 {
			return Version{}, domain.Errorf(domain.Conflict, "nothing_changed", "The draft is the same as version %d. Change it before publishing.", p.Published)
		}
	}
	return v, nil
}

// Versions lists a programme's versions, latest first, without their content.
func (s Service) Versions(ctx context.Context, a domain.Actor, id domain.ID) (vs []Version, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		if _, err = tx.Programme(ctx, id); err != nil {
			return err
		}
		vs, err = tx.Versions(ctx, id)
		return err
	})
	return vs, err
}

// Version reads one published version.
func (s Service) Version(ctx context.Context, a domain.Actor, id domain.ID, number int) (v Version, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		v, err = tx.Version(ctx, id, number)
		return err
	})
	return v, err
}

// Differences reads what changed from one version to another, as [Diff] does.
func (s Service) Differences(ctx context.Context, a domain.Actor, id domain.ID, from, to int, write func(domain.Length) string) (changes []Change, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		before, err := tx.Version(ctx, id, from)
		if err != nil {
			return err
		}
		after, err := tx.Version(ctx, id, to)
		if err != nil {
			return err
		}
		changes = Diff(before, after, write)
		return nil
	})
	return changes, err
}

// Draft reads a programme's draft with the skills it trains, which is what an
// exported document holds.
func (s Service) Draft(ctx context.Context, a domain.Actor, id domain.ID) (c Content, skills map[domain.ID]Skill, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx Store) error {
		p, err := tx.Programme(ctx, id)
		if err != nil {
			return err
		}
		c = p.Draft
		skills, err = tx.SkillsByID(ctx, c.SkillIDs())
		return err
	})
	return c, skills, err
}

// Import keeps a programme that came with its own skills, as a document does.
// In c skills are named by the keys of skills. One with the same name, kind and
// ladder in the academy is used as it is; any other is created.
func (s Service) Import(ctx context.Context, a domain.Actor, c Content, skills map[domain.ID]Skill) (Programme, error) {
	var p Programme
	err := s.Store.Write(ctx, a.Academy, func(tx Store) error {
		ids, err := s.adopt(ctx, tx, a, skills)
		if err != nil {
			return err
		}
		p, err = s.create(ctx, tx, a, c.withSkills(ids), "programme.imported")
		return err
	})
	return p, err
}

// adopt maps a document's skill keys to the academy's skills.
func (s Service) adopt(ctx context.Context, tx Store, a domain.Actor, skills map[domain.ID]Skill) (map[domain.ID]domain.ID, error) {
	var p domain.Problems
	keys := slices.Sorted(maps.Keys(skills))
	for _, key := range keys {
		skills[key].check(&p, "/skills/"+domain.PointerToken(string(key)))
	}
	if err := p.Err("programme_invalid", "A skill of the document is not valid; nothing was imported."); err != nil {
		return nil, err
	}
	have, err := tx.Skills(ctx, domain.Page{Limit: maxSkills}, false)
	if err != nil {
		return nil, err
	}
	ids := make(map[domain.ID]domain.ID, len(skills))
	now := s.Env.Now()
	for _, key := range keys {
		wanted := skills[key]
		if i := slices.IndexFunc(have, wanted.same); i >= 0 {
			ids[key] = have[i].ID
			continue
		}
		wanted.ID, wanted.Revision, wanted.CreatedAt, wanted.UpdatedAt, wanted.ArchivedAt = s.Env.NewID(), 1, now, now, time.Time{}
		if err := tx.SaveSkill(ctx, wanted); err != nil {
			return nil, err
		}
		if err := tx.Record(ctx, s.event(a, "skill.created", wanted.ID, map[string]any{"name": wanted.Name})); err != nil {
			return nil, err
		}
		ids[key] = wanted.ID
		have = append(have, wanted)
	}
	return ids, nil
}

// maxSkills is how many of an academy's skills an import compares with.
const maxSkills = 1000

// same reports whether two skills train the same thing by the same ladder.
func (s Skill) same(other Skill) bool {
	return s.Name == other.Name && s.Kind == other.Kind && s.Ladder.Equal(other.Ladder)
}

// withSkills copies the content with every skill renamed by ids; unknown names
// stay, for the check to tell.
func (c Content) withSkills(ids map[domain.ID]domain.ID) Content {
	rename := func(id domain.ID) domain.ID {
		if to, ok := ids[id]; ok {
			return to
		}
		return id
	}
	c.Weeks = slices.Clone(c.Weeks)
	for i := range c.Weeks {
		w := &c.Weeks[i]
		w.Skill = rename(w.Skill)
		w.Plans = slices.Clone(w.Plans)
		for j := range w.Plans {
			w.Plans[j].Blocks = slices.Clone(w.Plans[j].Blocks)
			for k := range w.Plans[j].Blocks {
				b := &w.Plans[j].Blocks[k]
				b.Skill = rename(b.Skill)
			}
		}
	}
	return c
}
