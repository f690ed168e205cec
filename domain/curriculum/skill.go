package curriculum

import (
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// SkillKind is what sort of shot a skill trains.
type SkillKind string

// The kinds of skill; Own is whatever the coach names.
const (
	ChipAndRun SkillKind = "chip_and_run"
	Pitch      SkillKind = "pitch"
	BunkerShot SkillKind = "bunker_shot"
	Lob        SkillKind = "lob"
	LagPutt    SkillKind = "lag_putt"
	ShortPutt  SkillKind = "short_putt"
	Own        SkillKind = "own"
)

// SkillKinds lists them in the order a chooser shows.
func SkillKinds() []SkillKind {
	return []SkillKind{ChipAndRun, Pitch, BunkerShot, Lob, LagPutt, ShortPutt, Own}
}

// Check notes in p, at the JSON pointer at, what is not a kind of skill.
func (k SkillKind) Check(p *domain.Problems, at string) {
	if !slices.Contains(SkillKinds(), k) {
		p.Add(at, "%q is not a kind of skill; use one of %s", k, domain.OneOf(SkillKinds()))
	}
}

// Stroke is the sort of shot that the holed balls of a skill depend on.
func (k SkillKind) Stroke() greenside.Stroke {
	switch k {
	case LagPutt:
		return greenside.LagPutt
	case ShortPutt:
		return greenside.ShortPutt
	}
	return greenside.OffGreen
}

// Skill is what is trained, with the ladder that proves it. Its ladder reaches
// students through published versions, which keep a copy.
type Skill struct {
	ID   domain.ID
	Name string
	Kind SkillKind
	// Text tells the student what the skill is, in plain words.
	Text   string
	Ladder streak.Ladder
	// Drills are what new blocks of the skill take, at most one for each kind of
	// block; see Fitted for what they leave open.
	Drills []SkillDrill
	// ArchivedAt is when it was put away; zero while in use.
	ArchivedAt time.Time
	// Revision rises with every change, from 1.
	Revision  int
	CreatedAt time.Time
	UpdatedAt time.Time
}

// Limits on what is written, so that no page or row grows without bound.
const (
	MaxName = 120
	MaxText = 4000
)

func (s Skill) check(p *domain.Problems, at string) {
	checkName(p, at+"/name", s.Name)
	checkText(p, at+"/text", s.Text)
	s.Kind.Check(p, at+"/kind")
	s.Ladder.Check(p, at+"/ladder/tiers")
	s.checkDrills(p, at+"/drills")
}

func checkName(p *domain.Problems, at, name string) {
	switch n := len([]rune(strings.TrimSpace(name))); {
	case n == 0:
		p.Add(at, "is empty; give a name of 1 to %d characters", MaxName)
	case n > MaxName:
		p.Add(at, "has %d characters; use at most %d", n, MaxName)
	}
	checkPrintable(p, at, name)
}

func checkText(p *domain.Problems, at, text string) {
	if n := len([]rune(text)); n > MaxText {
		p.Add(at, "has %d characters; use at most %d", n, MaxText)
	}
	checkPrintable(p, at, text)
}

// checkPrintable refuses NUL, which PostgreSQL cannot store.
func checkPrintable(p *domain.Problems, at, text string) {
	if strings.ContainsRune(text, 0) {
		p.Add(at, "contains a NUL character; remove it")
	}
}
