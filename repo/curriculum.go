package repo

import (
	"context"
	"sync"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
)

type skillRow struct {
	AcademyID  domain.ID `gorm:"primaryKey"`
	ID         domain.ID `gorm:"primaryKey"`
	Name       string
	Kind       curriculum.SkillKind
	Text       string
	Ladder     string
	Drills     string
	ArchivedAt *int64
	Revision   int
	CreatedAt  int64 `gorm:"autoCreateTime:false"`
	UpdatedAt  int64 `gorm:"autoUpdateTime:false"`
}

// TableName names the table.
func (skillRow) TableName() string { return "skills" }

func (r skillRow) skill() (curriculum.Skill, error) {
	ladder, err := decode[ladderDoc](r.Ladder)
	if err != nil {
		return curriculum.Skill{}, err
	}
	drills, err := decode[[]skillDrillDoc](r.Drills)
	return curriculum.Skill{
		ID: r.ID, Name: r.Name, Kind: r.Kind, Text: r.Text, Ladder: ladder.ladder(), Drills: skillDrillsOf(drills), ArchivedAt: maybeInstant(r.ArchivedAt),
		Revision: r.Revision, CreatedAt: instant(r.CreatedAt), UpdatedAt: instant(r.UpdatedAt),
	}, err
}

// Skills implements curriculum.Store.
func (s curriculumStore) Skills(ctx context.Context, page domain.Page, archived bool) ([]curriculum.Skill, error) {
	q := s.rows(ctx).Where("id > ?", page.After).Order("id").Limit(page.Limit)
	if !archived {
		q = q.Where("archived_at IS NULL")
	}
	var rows []skillRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "skill")
	}
	return tryEach(rows, skillRow.skill)
}

// tryEach converts every element; nothing becomes nil.
func tryEach[S, T any](from []S, convert func(S) (T, error)) ([]T, error) {
	if len(from) == 0 {
		return nil, nil
	}
	to := make([]T, len(from))
	for i, x := range from {
		var err error
		if to[i], err = convert(x); err != nil {
			return nil, err
		}
	}
	return to, nil
}

// skills finds skills.
type skills struct{ *scope }

// SkillsByID implements the stores of curriculum, academy and practice.
func (s skills) SkillsByID(ctx context.Context, ids []domain.ID) (map[domain.ID]curriculum.Skill, error) {
	found := map[domain.ID]curriculum.Skill{}
	if len(ids) == 0 {
		return found, nil
	}
	err := s.batch(ctx, query{
		sql: "SELECT id, name, kind, text, ladder, drills, archived_at, revision, created_at, updated_at FROM skills" +
			" WHERE academy_id = ? AND id ~",
		args: []any{s.id, s.list(texts(ids))}, what: "skill",
		row: func(scan func(...any) error) error {
			var r skillRow
			if err := scan(&r.ID, &r.Name, &r.Kind, &r.Text, &r.Ladder, &r.Drills, &r.ArchivedAt, &r.Revision, &r.CreatedAt, &r.UpdatedAt); err != nil {
				return err
			}
			skill, err := r.skill()
			found[r.ID] = skill
			return err
		},
	})
	return found, err
}

// SaveSkill implements curriculum.Store.
func (s curriculumStore) SaveSkill(ctx context.Context, k curriculum.Skill) error {
	row := skillRow{
		AcademyID: s.id, ID: k.ID, Name: k.Name, Kind: k.Kind, Text: k.Text, Ladder: encode(ladderToDoc(k.Ladder)),
		Drills: encode(skillDrillDocs(k.Drills)), ArchivedAt: maybeAt(k.ArchivedAt), Revision: k.Revision, CreatedAt: at(k.CreatedAt), UpdatedAt: at(k.UpdatedAt),
	}
	return s.save(ctx, &row, k.ID, k.Revision, "skill", "name", "kind", "text", "ladder", "drills", "archived_at", "updated_at")
}

type programmeRow struct {
	AcademyID  domain.ID `gorm:"primaryKey"`
	ID         domain.ID `gorm:"primaryKey"`
	Name       string
	Text       string
	Limits     string
	Weeks      string
	Published  int
	ArchivedAt *int64
	Revision   int
	CreatedBy  *domain.ID
	CreatedAt  int64 `gorm:"autoCreateTime:false"`
	UpdatedAt  int64 `gorm:"autoUpdateTime:false"`
}

// TableName names the table.
func (programmeRow) TableName() string { return "programmes" }

func (r programmeRow) programme() (curriculum.Programme, error) {
	draft, err := content(r.Name, r.Text, r.Limits, r.Weeks)
	return curriculum.Programme{
		ID: r.ID, Draft: draft, Published: r.Published, ArchivedAt: maybeInstant(r.ArchivedAt), Revision: r.Revision,
		CreatedBy: orEmpty(r.CreatedBy), CreatedAt: instant(r.CreatedAt), UpdatedAt: instant(r.UpdatedAt),
	}, err
}

// content reads what a programme is made of; weeks may be left unread.
func content(name, text, limits, weeks string) (c curriculum.Content, err error) {
	c.Name, c.Text = name, text
	if limits != "" {
		docs, err := decode[[]limitDoc](limits)
		if err != nil {
			return c, err
		}
		c.Limits = limitsOf(docs)
	}
	if weeks != "" {
		docs, err := decode[[]weekDoc](weeks)
		if err != nil {
			return c, err
		}
		c.Weeks = weeksOf(docs)
	}
	return c, nil
}

// Programmes implements curriculum.Store.
func (s curriculumStore) Programmes(ctx context.Context, page domain.Page, archived bool) ([]curriculum.Programme, error) {
	q := s.rows(ctx).Omit("weeks").Where("id > ?", page.After).Order("id").Limit(page.Limit)
	q = since(q, "updated_at", page.UpdatedSince)
	if !archived {
		q = q.Where("archived_at IS NULL")
	}
	var rows []programmeRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "programme")
	}
	return tryEach(rows, programmeRow.programme)
}

// programmes finds programmes.
type programmes struct{ *scope }

// Programme implements curriculum.Store and academy.CohortStore. When writing it
// locks the programme.
func (s programmes) Programme(ctx context.Context, id domain.ID) (curriculum.Programme, error) {
	var r programmeRow
	if err := s.rows(ctx).Clauses(s.forUpdate("programmes")).Where("id = ?", id).Take(&r).Error; err != nil {
		return curriculum.Programme{}, fail(err, "programme")
	}
	return r.programme()
}

// SaveProgramme implements curriculum.Store.
func (s curriculumStore) SaveProgramme(ctx context.Context, p curriculum.Programme) error {
	row := programmeRow{
		AcademyID: s.id, ID: p.ID, Name: p.Draft.Name, Text: p.Draft.Text,
		Limits: encode(limitDocs(p.Draft.Limits)), Weeks: encode(weekDocs(p.Draft.Weeks)),
		Published: p.Published, ArchivedAt: maybeAt(p.ArchivedAt), Revision: p.Revision,
		CreatedBy: maybeText(p.CreatedBy), CreatedAt: at(p.CreatedAt), UpdatedAt: at(p.UpdatedAt),
	}
	return s.save(ctx, &row, p.ID, p.Revision, "programme", "name", "text", "limits", "weeks", "published", "archived_at", "updated_at")
}

type versionRow struct {
	AcademyID   domain.ID
	ProgrammeID domain.ID
	Number      int
	Name        string
	Text        string
	Limits      string
	Weeks       string
	Skills      string
	PublishedAt int64
	PublishedBy *domain.ID
}

// TableName names the table.
func (versionRow) TableName() string { return "versions" }

func (r versionRow) version() (curriculum.Version, error) {
	v := curriculum.Version{Programme: r.ProgrammeID, Number: r.Number, PublishedAt: instant(r.PublishedAt), PublishedBy: orEmpty(r.PublishedBy)}
	var err error
	if v.Content, err = content(r.Name, r.Text, r.Limits, r.Weeks); err != nil || r.Skills == "" {
		return v, err
	}
	skills, err := decode[[]skillDoc](r.Skills)
	v.Skills = each(skills, skillDoc.skill)
	return v, err
}

// Versions implements curriculum.Store.
func (s curriculumStore) Versions(ctx context.Context, programme domain.ID) ([]curriculum.Version, error) {
	var rows []versionRow
	err := s.rows(ctx).Select("programme_id", "number", "published_at", "published_by").
		Where("programme_id = ?", programme).Order("number DESC").Find(&rows).Error
	if err != nil {
		return nil, fail(err, "programme")
	}
	return tryEach(rows, versionRow.version)
}

// versions finds published versions.
type versions struct{ *scope }

// published is Version from the cache, if it is there: what is published never
// changes, and whoever is given it must not change it either.
func (s versions) published(ctx context.Context, programme domain.ID, number int) (curriculum.Version, error) {
	key := academy.VersionKey{Programme: programme, Number: number}
	if v, ok := s.scope.versions.get(s.id, key); ok {
		return v, nil
	}
	v, err := s.Version(ctx, programme, number)
	if err == nil {
		s.scope.versions.put(s.id, key, v)
	}
	return v, err
}

// versionCache keeps published versions, the last few hundred that were asked
// for: they are large, never change, and each upload asks for one.
type versionCache struct {
	mu    sync.Mutex
	known map[versionID]curriculum.Version
}

type versionID struct {
	academy domain.ID
	academy.VersionKey
}

// keptVersions bounds the cache.
const keptVersions = 512

func (c *versionCache) get(of domain.ID, key academy.VersionKey) (curriculum.Version, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	v, ok := c.known[versionID{of, key}]
	return v, ok
}

func (c *versionCache) put(of domain.ID, key academy.VersionKey, v curriculum.Version) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.known == nil || len(c.known) >= keptVersions {
		c.known = map[versionID]curriculum.Version{}
	}
	c.known[versionID{of, key}] = v
}

// Version implements the stores of curriculum and academy.
func (s versions) Version(ctx context.Context, programme domain.ID, number int) (curriculum.Version, error) {
	var r versionRow
	if err := s.rows(ctx).Where("programme_id = ? AND number = ?", programme, number).Take(&r).Error; err != nil {
		return curriculum.Version{}, fail(err, "version")
	}
	return r.version()
}

// AddVersion implements curriculum.Store.
func (s curriculumStore) AddVersion(ctx context.Context, v curriculum.Version) error {
	return s.insert(ctx, &versionRow{
		AcademyID: s.id, ProgrammeID: v.Programme, Number: v.Number, Name: v.Content.Name, Text: v.Content.Text,
		Limits: encode(limitDocs(v.Content.Limits)), Weeks: encode(weekDocs(v.Content.Weeks)), Skills: encode(each(v.Skills, skillToDoc)),
		PublishedAt: at(v.PublishedAt), PublishedBy: maybeText(v.PublishedBy),
	}, 1, "version")
}
