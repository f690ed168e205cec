package curriculum_test

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/streak"
)

var (
	ctx   = context.Background()
	now   = time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	coach = domaintest.AsCoach
)

// open makes a service with a pitch and a chip in it.
func open(t *testing.T) (mem *domaintest.Memory, s curriculum.Service, pitch, chip curriculum.Skill) {
	t.Helper()
	mem = domaintest.Populated(now)
	s = curriculum.Service{Store: mem.Curriculum(), Env: mem.Env()}
	pitch = must(s.CreateSkill(ctx, coach, curriculum.Skill{Name: "Pitch", Kind: curriculum.Pitch, Ladder: domaintest.PitchLadder()}))(t)
	chip = must(s.CreateSkill(ctx, coach, curriculum.Skill{Name: "Chip", Kind: curriculum.ChipAndRun, Ladder: domaintest.ChipLadder()}))(t)
	return mem, s, pitch, chip
}

// must gives the value, or ends the test.
func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// wantError checks an error's kind and code.
func wantError(t *testing.T, what string, err error, kind domain.Kind, code string) {
	t.Helper()
	var e *domain.Error
	if !errors.As(err, &e) || e.Kind != kind || e.Code != code {
		t.Errorf("%s: got %v, want %s (kind %d)", what, err, code, kind)
	}
}

// wantEvent checks the last event of the log.
func wantEvent(t *testing.T, mem *domaintest.Memory, kind string, subject domain.ID, data map[string]any) {
	t.Helper()
	log := mem.Events(domaintest.Hollow)
	if len(log) == 0 {
		t.Fatalf("the log is empty, want %s", kind)
	}
	want := domain.Event{Seq: int64(len(log)), At: mem.Now(), Actor: coach.Member, Kind: kind, Subject: subject, Data: data}
	if got := log[len(log)-1]; !reflect.DeepEqual(got, want) {
		t.Errorf("last event:\ngot  %+v\nwant %+v", got, want)
	}
}

func TestSkillLife(t *testing.T) {
	mem, s, pitch, chip := open(t)
	if pitch.Revision != 1 || !pitch.CreatedAt.Equal(now) || !pitch.UpdatedAt.Equal(now) || pitch.ID == "" {
		t.Errorf("a new skill is %+v, want revision 1 made and updated now", pitch)
	}
	mem.Pass(time.Hour)
	wanted := curriculum.Skill{ID: "x", Name: "High pitch", Kind: curriculum.Own, Text: "Up.", Ladder: domaintest.ChipLadder(), Revision: 99}
	changed := must(s.UpdateSkill(ctx, coach, pitch.ID, 1, wanted))(t)
	want := wanted
	want.ID, want.Revision, want.CreatedAt, want.UpdatedAt = pitch.ID, 2, now, now.Add(time.Hour)
	if !reflect.DeepEqual(changed, want) {
		t.Errorf("changed skill:\ngot  %+v\nwant %+v", changed, want)
	}
	wantEvent(t, mem, "skill.changed", pitch.ID, map[string]any{"name": "High pitch", "ladder": "9 in a row inside 3 ft (0.91 m)"})
	if got := must(s.Skill(ctx, coach, pitch.ID))(t); !reflect.DeepEqual(got, want) {
		t.Errorf("read skill:\ngot  %+v\nwant %+v", got, want)
	}
	archived := must(s.ArchiveSkill(ctx, coach, chip.ID, true))(t)
	if !archived.ArchivedAt.Equal(mem.Now()) {
		t.Errorf("archived at %v, want %v", archived.ArchivedAt, mem.Now())
	}
	list := func(all bool) (names []string) {
		for _, skill := range must(s.Skills(ctx, coach, domain.Page{Limit: 10}, all))(t) {
			names = append(names, skill.Name)
		}
		return names
	}
	if got := list(false); !slices.Equal(got, []string{"High pitch"}) {
		t.Errorf("skills in use: got %v", got)
	}
	if got := list(true); !slices.Equal(got, []string{"High pitch", "Chip"}) {
		t.Errorf("all skills: got %v", got)
	}
	back := must(s.ArchiveSkill(ctx, coach, chip.ID, false))(t)
	if !back.ArchivedAt.IsZero() || back.Revision != 3 {
		t.Errorf("brought back: got %+v, want revision 3 in use", back)
	}
	wantEvent(t, mem, "skill.restored", chip.ID, map[string]any{"name": "Chip", "ladder": "9 in a row inside 3 ft (0.91 m)"})
}

func TestSkillRefusals(t *testing.T) {
	mem, s, pitch, _ := open(t)
	bad := curriculum.Skill{Kind: "putting", Text: strings.Repeat("x", 4001), Ladder: streak.Ladder{Tiers: []streak.Tier{{Run: 9, Radius: domain.Metre}, {Run: 9, Radius: domain.Metre}}}}
	want := []told{
		{"/name", "is empty; give a name of 1 to 120 characters"},
		{"/text", "has 4001 characters; use at most 4000"},
		{"/kind", `"putting" is not a kind of skill; use one of chip_and_run, pitch, bunker_shot, lob, lag_putt, short_putt or own`},
		{"/ladder/tiers/1", "step 2 equals step 1; ask for more in a row, a smaller radius or more holed balls"},
	}
	_, err := s.CreateSkill(ctx, coach, bad)
	wantError(t, "a bad skill", err, domain.Invalid, "skill_invalid")
	if got := toldOf(err); !slices.Equal(got, want) {
		t.Errorf("got %v\nwant %v", got, want)
	}
	_, err = s.UpdateSkill(ctx, coach, pitch.ID, 1, bad)
	if got := toldOf(err); !slices.Equal(got, want) {
		t.Errorf("got %v\nwant %v", got, want)
	}
	good := curriculum.Skill{Name: "Pitch", Kind: curriculum.Pitch, Ladder: domaintest.PitchLadder()}
	_, err = s.UpdateSkill(ctx, coach, pitch.ID, 2, good)
	wantError(t, "a revision not read", err, domain.Stale, "stale")
	_, err = s.UpdateSkill(ctx, coach, "none", 0, good)
	wantError(t, "an absent skill", err, domain.NotFound, "not_found")
	_, err = s.Skill(ctx, domaintest.AsOther, pitch.ID)
	wantError(t, "another academy's skill", err, domain.NotFound, "not_found")
	_, err = s.ArchiveSkill(ctx, domaintest.AsOther, pitch.ID, true)
	wantError(t, "archiving another academy's skill", err, domain.NotFound, "not_found")
	if got := len(mem.Events(domaintest.Hollow)); got != 2 {
		t.Errorf("refusals left %d events, want the 2 of the skills made", got)
	}
}

func TestDraftAndPublish(t *testing.T) {
	mem, s, pitch, chip := open(t)
	c := domaintest.Programme(pitch.ID, chip.ID)
	p := must(s.CreateProgramme(ctx, coach, c))(t)
	if p.Revision != 1 || p.Published != 0 || p.CreatedBy != coach.Member || !reflect.DeepEqual(p.Draft, c) {
		t.Errorf("a new programme is %+v", p)
	}
	wantEvent(t, mem, "programme.created", p.ID, map[string]any{"name": "Two weeks"})

	unfinished := domaintest.Programme(pitch.ID, chip.ID)
	unfinished.Weeks[0].Plans[0].Blocks[0].Share = 20
	mem.Pass(time.Hour)
	p = must(s.SaveDraft(ctx, coach, p.ID, 1, unfinished))(t)
	if p.Revision != 2 || !p.UpdatedAt.Equal(mem.Now()) {
		t.Errorf("a saved draft is at revision %d, updated %v", p.Revision, p.UpdatedAt)
	}
	read, found, err := s.Programme(ctx, coach, p.ID, domain.Length.String)
	if err != nil || !reflect.DeepEqual(read, p) {
		t.Errorf("read %+v, %v, want %+v", read, err, p)
	}
	want := []told{{"/weeks/0/plans/0/blocks", "week 1, plan 1 (Hour): shares sum to 95; add 5"}}
	if !slices.Equal(asTold(found.Problems), want) {
		t.Errorf("problems of the draft: got %v, want %v", found.Problems, want)
	}
	_, err = s.Publish(ctx, coach, p.ID, 2)
	wantError(t, "an unfinished draft", err, domain.Invalid, "programme_unpublishable")
	if got := toldOf(err); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	must(s.SaveDraft(ctx, coach, p.ID, 2, c))(t)
	_, err = s.Publish(ctx, coach, p.ID, 2)
	wantError(t, "a revision not read", err, domain.Stale, "stale")
	v := must(s.Publish(ctx, coach, p.ID, 3))(t)
	wantVersion := curriculum.Version{Programme: p.ID, Number: 1, Content: c, Skills: []curriculum.Skill{pitch, chip}, PublishedAt: mem.Now(), PublishedBy: coach.Member}
	if !reflect.DeepEqual(v, wantVersion) {
		t.Errorf("version 1:\ngot  %+v\nwant %+v", v, wantVersion)
	}
	wantEvent(t, mem, "programme.published", p.ID, map[string]any{"name": "Two weeks", "revision": 4})
	_, err = s.Publish(ctx, coach, p.ID, 4)
	wantError(t, "publishing the same again", err, domain.Conflict, "nothing_changed")
}

// TestVersionsNeverChange: what is published stays as it was when the draft
// and the skills go on.
func TestVersionsNeverChange(t *testing.T) {
	mem, s, pitch, chip := open(t)
	p := must(s.CreateProgramme(ctx, coach, domaintest.Programme(pitch.ID, chip.ID)))(t)
	first := must(s.Publish(ctx, coach, p.ID, 0))(t)
	mem.Pass(time.Hour)
	must(s.UpdateSkill(ctx, coach, pitch.ID, 0, curriculum.Skill{Name: "Pitch", Kind: curriculum.Pitch, Text: "Up.", Ladder: domaintest.PitchLadder()}))(t)
	// The skill's text alone is a reason for a version.
	second := must(s.Publish(ctx, coach, p.ID, 0))(t)
	c := domaintest.Programme(chip.ID, pitch.ID)
	block(&c, 3).Drill.Radius = 3 * domain.Foot // as the chip's ladder asks
	must(s.SaveDraft(ctx, coach, p.ID, 0, c))(t)
	third := must(s.Publish(ctx, coach, p.ID, 0))(t)
	for i, want := range []curriculum.Version{first, second, third} {
		got := must(s.Version(ctx, coach, p.ID, i+1))(t)
		if !reflect.DeepEqual(got, want) || got.Number != i+1 {
			t.Errorf("version %d:\ngot  %+v\nwant %+v", i+1, got, want)
		}
	}
	if first.Skills[0].Text != "" || second.Skills[0].Text != "Up." {
		t.Errorf("the pitch's text is %q, then %q, want none, then Up.", first.Skills[0].Text, second.Skills[0].Text)
	}
	changes := must(s.Differences(ctx, coach, p.ID, 1, 2, domain.Length.String))(t)
	if want := []curriculum.Change{{"/skills", "skill Pitch", "text", "", "Up."}}; !slices.Equal(changes, want) {
		t.Errorf("from 1 to 2: got %v, want %v", changes, want)
	}
	if back := must(s.Differences(ctx, coach, p.ID, 3, 2, domain.Length.String))(t); len(back) != 4 {
		t.Errorf("from 3 back to 2: got %v, want the skills of both weeks and of the warm-up, and the radius of a test", back)
	}
	vs := must(s.Versions(ctx, coach, p.ID))(t)
	if len(vs) != 3 || vs[0].Number != 3 || vs[2].Number != 1 || vs[0].Content.Weeks != nil {
		t.Errorf("got versions %+v, want 3, 2, 1 without content", vs)
	}
	for what, err := range map[string]error{
		"an absent version":              failure(s.Version(ctx, coach, p.ID, 4)),
		"another academy's version":      failure(s.Version(ctx, domaintest.AsOther, p.ID, 1)),
		"another academy's versions":     failure(s.Versions(ctx, domaintest.AsOther, p.ID)),
		"differences from nothing":       failure(s.Differences(ctx, coach, p.ID, 0, 1, domain.Length.String)),
		"differences to nothing":         failure(s.Differences(ctx, coach, p.ID, 1, 9, domain.Length.String)),
		"a draft of an absent programme": func() error { _, _, err := s.Draft(ctx, coach, "none"); return err }(),
	} {
		wantError(t, what, err, domain.NotFound, "not_found")
	}
}

func failure[T any](_ T, err error) error { return err }

func TestArchiveProgramme(t *testing.T) {
	mem, s, pitch, chip := open(t)
	p := must(s.CreateProgramme(ctx, coach, domaintest.Programme(pitch.ID, chip.ID)))(t)
	p = must(s.ArchiveProgramme(ctx, coach, p.ID, true))(t)
	wantEvent(t, mem, "programme.archived", p.ID, map[string]any{"name": "Two weeks", "revision": 2})
	_, err := s.Publish(ctx, coach, p.ID, 0)
	wantError(t, "publishing an archived programme", err, domain.Conflict, "programme_archived")
	page := domain.Page{Limit: 10}
	if got := must(s.Programmes(ctx, coach, page, false))(t); len(got) != 0 {
		t.Errorf("in use: got %v, want none", got)
	}
	if got := must(s.Programmes(ctx, coach, page, true))(t); len(got) != 1 || !got[0].ArchivedAt.Equal(now) || got[0].Draft.Weeks != nil {
		t.Errorf("all: got %v, want the archived one without its weeks", got)
	}
	p = must(s.ArchiveProgramme(ctx, coach, p.ID, false))(t)
	wantEvent(t, mem, "programme.restored", p.ID, map[string]any{"name": "Two weeks", "revision": 3})
	must(s.ArchiveSkill(ctx, coach, chip.ID, true))(t)
	_, err = s.Publish(ctx, coach, p.ID, 0)
	wantError(t, "publishing with an archived skill", err, domain.Invalid, "programme_unpublishable")
}

func TestProgrammeRefusals(t *testing.T) {
	_, s, pitch, _ := open(t)
	_, err := s.CreateProgramme(ctx, coach, domaintest.Programme(pitch.ID, "none"))
	if got := toldOf(err); len(got) != 1 || got[0].Pointer != "/weeks/1/skill_id" {
		t.Errorf("an unknown skill: got %v", err)
	}
	_, err = s.CreateProgramme(ctx, domaintest.AsOther, domaintest.Programme(pitch.ID, pitch.ID))
	wantError(t, "another academy's skill", err, domain.Invalid, "programme_invalid")
	p := must(s.CreateProgramme(ctx, coach, domaintest.Programme(pitch.ID, pitch.ID)))(t)
	_, err = s.SaveDraft(ctx, coach, p.ID, 1, curriculum.Content{})
	wantError(t, "a draft without a name", err, domain.Invalid, "programme_invalid")
	for what, err := range map[string]error{
		"saving":    failure(s.SaveDraft(ctx, domaintest.AsOther, p.ID, 1, p.Draft)),
		"cloning":   failure(s.Clone(ctx, domaintest.AsOther, p.ID, "")),
		"archiving": failure(s.ArchiveProgramme(ctx, domaintest.AsOther, p.ID, true)),
	} {
		wantError(t, what+" another academy's programme", err, domain.NotFound, "not_found")
	}
}

func TestClone(t *testing.T) {
	mem, s, pitch, chip := open(t)
	c := domaintest.Programme(pitch.ID, chip.ID)
	c.Name = strings.Repeat("é", 120)
	p := must(s.CreateProgramme(ctx, coach, c))(t)
	must(s.Publish(ctx, coach, p.ID, 0))(t)
	copied := must(s.Clone(ctx, coach, p.ID, ""))(t)
	want := strings.Repeat("é", 113) + " (copy)"
	if copied.ID == p.ID || copied.Published != 0 || copied.Revision != 1 || copied.Draft.Name != want {
		t.Errorf("got %+v, want a new programme named %s", copied, want)
	}
	wantEvent(t, mem, "programme.cloned", copied.ID, map[string]any{"name": want})
	if !reflect.DeepEqual(copied.Draft.Weeks, c.Weeks) {
		t.Errorf("the weeks were not copied: %+v", copied.Draft.Weeks)
	}
	if named := must(s.Clone(ctx, coach, p.ID, "Mine"))(t); named.Draft.Name != "Mine" {
		t.Errorf("got %q, want Mine", named.Draft.Name)
	}
}

// TestImport: export and import give the same programme, and skills that the
// academy has are not made twice.
func TestImport(t *testing.T) {
	mem, s, pitch, chip := open(t)
	p := must(s.CreateProgramme(ctx, coach, domaintest.Programme(pitch.ID, chip.ID)))(t)
	c, skills, err := s.Draft(ctx, coach, p.ID)
	if err != nil || !reflect.DeepEqual(c, p.Draft) || len(skills) != 2 {
		t.Fatalf("exported %+v with %d skills, %v", c, len(skills), err)
	}
	again := must(s.Import(ctx, coach, c, skills))(t)
	if !reflect.DeepEqual(again.Draft, p.Draft) || again.ID == p.ID {
		t.Errorf("imported:\ngot  %+v\nwant %+v", again.Draft, p.Draft)
	}
	wantEvent(t, mem, "programme.imported", again.ID, map[string]any{"name": "Two weeks"})

	elsewhere, err := s.Import(ctx, domaintest.AsOther, c, skills)
	if err != nil {
		t.Fatal(err)
	}
	if id := elsewhere.Draft.Weeks[0].Skill; id == pitch.ID || elsewhere.Draft.Weeks[1].Plans[0].Blocks[0].Skill != id {
		t.Errorf("in another academy: got skill %s, want its own in every place", id)
	}
	if c.Weeks[0].Skill != pitch.ID {
		t.Errorf("importing changed the document: %s", c.Weeks[0].Skill)
	}
}

func TestImportSkills(t *testing.T) {
	mem, s, pitch, chip := open(t)
	other := pitch
	other.Ladder.TestOnly = true
	doc := map[domain.ID]curriculum.Skill{"a": other, "b": other, "c": chip}
	p := must(s.Import(ctx, coach, domaintest.Programme("a", "b"), doc))(t)
	made := p.Draft.Weeks[0].Skill
	if made == pitch.ID || p.Draft.Weeks[1].Skill != made {
		t.Errorf("a skill with another ladder, named twice: got %s and %s, want one new skill", made, p.Draft.Weeks[1].Skill)
	}
	all := must(s.Skills(ctx, coach, domain.Page{Limit: 10}, true))(t)
	if len(all) != 3 || all[2].ID != made || all[2].Revision != 1 || !all[2].Ladder.TestOnly {
		t.Errorf("got skills %+v, want one more", all)
	}
	events := mem.Events(domaintest.Hollow)
	if e := events[len(events)-2]; e.Kind != "skill.created" || e.Subject != made {
		t.Errorf("got %+v, want the skill made", e)
	}

	bad := map[domain.ID]curriculum.Skill{"x/y": {Kind: curriculum.Pitch, Name: "P"}}
	_, err := s.Import(ctx, coach, domaintest.Programme("x/y", "x/y"), bad)
	want := []told{{"/skills/x~1y/ladder/tiers", "a ladder has at least one step"}}
	if got := toldOf(err); !slices.Equal(got, want) {
		t.Errorf("a bad skill: got %v, want %v", err, want)
	}
	_, err = s.Import(ctx, coach, domaintest.Programme("a", "z"), doc)
	if got := toldOf(err); len(got) != 1 || got[0].Pointer != "/weeks/1/skill_id" {
		t.Errorf("a skill that the document lacks: got %v", err)
	}
}

// TestEveryFault: whichever store call fails, the failure comes out and nothing
// is kept.
func TestEveryFault(t *testing.T) {
	mem, s, pitch, chip := open(t)
	c := domaintest.Programme(pitch.ID, chip.ID)
	p := must(s.CreateProgramme(ctx, coach, c))(t)
	must(s.Publish(ctx, coach, p.ID, 0))(t)
	c.Name = "New"
	skill := curriculum.Skill{Name: "Lob", Kind: curriculum.Lob, Ladder: domaintest.ChipLadder()}
	page := domain.Page{Limit: 5}
	for what, do := range map[string]func() error{
		"CreateSkill":      func() error { return failure(s.CreateSkill(ctx, coach, skill)) },
		"UpdateSkill":      func() error { return failure(s.UpdateSkill(ctx, coach, chip.ID, 0, skill)) },
		"Skill":            func() error { return failure(s.Skill(ctx, coach, chip.ID)) },
		"Skills":           func() error { return failure(s.Skills(ctx, coach, page, true)) },
		"CreateProgramme":  func() error { return failure(s.CreateProgramme(ctx, coach, c)) },
		"SaveDraft":        func() error { return failure(s.SaveDraft(ctx, coach, p.ID, 0, c)) },
		"ArchiveProgramme": func() error { return failure(s.ArchiveProgramme(ctx, coach, p.ID, false)) },
		"Clone":            func() error { return failure(s.Clone(ctx, coach, p.ID, "")) },
		"Programme":        func() error { _, _, err := s.Programme(ctx, coach, p.ID, domain.Length.String); return err },
		"Programmes":       func() error { return failure(s.Programmes(ctx, coach, page, true)) },
		"Versions":         func() error { return failure(s.Versions(ctx, coach, p.ID)) },
		"Version":          func() error { return failure(s.Version(ctx, coach, p.ID, 1)) },
		"Differences":      func() error { return failure(s.Differences(ctx, coach, p.ID, 1, 1, domain.Length.String)) },
		"Draft":            func() error { _, _, err := s.Draft(ctx, coach, p.ID); return err },
		"Import": func() error {
			return failure(s.Import(ctx, coach, domaintest.Programme("l", "l"), map[domain.ID]curriculum.Skill{"l": {Name: "Imported lob", Kind: curriculum.Lob, Ladder: domaintest.ChipLadder()}}))
		},
	} {
		if err := domaintest.EveryFault(t, mem, domaintest.Hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	changed := domaintest.Programme(pitch.ID, chip.ID)
	changed.Text = "For spring."
	must(s.SaveDraft(ctx, coach, p.ID, 0, changed))(t)
	if err := domaintest.EveryFault(t, mem, domaintest.Hollow, func() error { return failure(s.Publish(ctx, coach, p.ID, 0)) }); err != nil {
		t.Errorf("Publish: %v", err)
	}
}
