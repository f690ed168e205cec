package api

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// documentFormat names the format of a programme document and its version.
const documentFormat = "fringework-programme/1"

// ProgrammeDocument is a complete programme in one file, as YAML or JSON. It
// contains the skills it trains, under keys, and writes every length as a string
// with its unit.
type ProgrammeDocument struct {
	// Format is the name and the version of this format.
	Format string `json:"format" validate:"required" binding:"required" enums:"fringework-programme/1" example:"fringework-programme/1"`
	Name   string `json:"name" validate:"required" binding:"required" minLength:"1" maxLength:"120" example:"Six weeks around the green"`
	Text   string `json:"text,omitempty" maxLength:"4000"`
	// Limits bound the share of a kind of block in every plan.
	Limits []Limit `json:"limits,omitempty" maxItems:"6"`
	// Skills are the skills it trains, under keys that weeks and blocks refer to.
	// A key has small letters, digits, hyphens and underscores.
	Skills map[string]DocumentSkill `json:"skills,omitempty"`
	Weeks  []DocumentWeek           `json:"weeks,omitempty" maxItems:"104"`
} // @name ProgrammeDocument

// DocumentSkill is a skill with its ladder.
type DocumentSkill struct {
	Name   string         `json:"name" validate:"required" binding:"required" minLength:"1" maxLength:"120" example:"Pitch to a landing spot"`
	Kind   string         `json:"kind" validate:"required" binding:"required" extensions:"x-words=skill_kinds" example:"pitch"`
	Text   string         `json:"text,omitempty" maxLength:"4000"`
	Ladder DocumentLadder `json:"ladder" validate:"required" binding:"required"`
	// Drills are what new blocks take from the skill, at most one for each kind of
	// block.
	Drills []DocumentSkillDrill `json:"drills,omitempty" maxItems:"6"`
} // @name DocumentSkill

// DocumentSkillDrill is what every new block of one kind that plays a skill takes
// from it.
type DocumentSkillDrill struct {
	Kind string   `json:"kind" validate:"required" binding:"required" extensions:"x-words=block_kinds" example:"test"`
	Text string   `json:"text,omitempty" maxLength:"4000"`
	Lies []string `json:"lies,omitempty" maxItems:"24"`
	// Distances are the distances to the hole to play from.
	Distances    []string `json:"distances,omitempty" maxItems:"24" example:"10 yd"`
	Clubs        []string `json:"clubs,omitempty" maxItems:"24"`
	CarryPercent int      `json:"carry_percent,omitempty" minimum:"0" maximum:"100"`
} // @name DocumentSkillDrill

// DocumentLadder is the tiers of a skill: its steps, each harder than the one
// before.
type DocumentLadder struct {
	Tiers []DocumentTier `json:"tiers" validate:"required" binding:"required" minItems:"1" maxItems:"12"`
	// TestOnly makes only blocks of kind test count. By default tests and warm-ups
	// that play the skill count.
	TestOnly bool `json:"test_only,omitempty"`
	// TechniqueCounts lets blocks of kind technique count, too; it says nothing
	// beside test_only. By default technique is not tested.
	TechniqueCounts bool `json:"technique_counts,omitempty"`
} // @name DocumentLadder

// DocumentTier is a tier, one step of the ladder: run balls in a row inside the
// radius, of which at least holed are holed.
type DocumentTier struct {
	// Run is how many balls in a row the step asks for.
	Run int `json:"run" validate:"required" binding:"required" minimum:"1" maximum:"200" example:"5"`
	// Radius is the radius of the circle, with its unit.
	Radius string `json:"radius" validate:"required" binding:"required" example:"7 ft"`
	// Holed is how many of them must be holed.
	Holed int `json:"holed,omitempty" minimum:"0" maximum:"200"`
} // @name DocumentTier

// DocumentWeek is one week.
type DocumentWeek struct {
	Title string `json:"title,omitempty" maxLength:"120"`
	// Skill is a key from skills.
	Skill string         `json:"skill,omitempty" example:"pitch"`
	Text  string         `json:"text,omitempty" maxLength:"4000"`
	Plans []DocumentPlan `json:"plans,omitempty" maxItems:"14"`
} // @name DocumentWeek

// DocumentPlan is one session as planned.
type DocumentPlan struct {
	Name    string `json:"name,omitempty" maxLength:"120"`
	Minutes int    `json:"minutes" validate:"required" binding:"required" minimum:"5" maximum:"240" example:"70"`
	// Times is how often to do it in its week; 1 by default.
	Times  *int            `json:"times,omitempty" minimum:"1" maximum:"14" default:"1"`
	Blocks []DocumentBlock `json:"blocks,omitempty" maxItems:"12"`
} // @name DocumentPlan

// DocumentBlock is one part of a plan.
type DocumentBlock struct {
	Kind  string `json:"kind" validate:"required" binding:"required" extensions:"x-words=block_kinds" example:"test"`
	Share int    `json:"share" validate:"required" binding:"required" minimum:"0" maximum:"100" example:"30"`
	// Skill is a key from skills; the week's skill by default.
	Skill string         `json:"skill,omitempty" example:"pitch"`
	Drill *DocumentDrill `json:"drill,omitempty"`
} // @name DocumentBlock

// DocumentDrill is what to do in a block.
type DocumentDrill struct {
	Text string   `json:"text,omitempty" maxLength:"4000"`
	Lies []string `json:"lies,omitempty" maxItems:"24"`
	// Distances are the distances to the hole to play from.
	Distances    []string `json:"distances,omitempty" maxItems:"24" example:"10 yd"`
	Clubs        []string `json:"clubs,omitempty" maxItems:"24"`
	CarryPercent int      `json:"carry_percent,omitempty" minimum:"0" maximum:"100"`
	// MoreOfMisses deals each student more of what they miss most, in a random block.
	MoreOfMisses bool `json:"more_of_misses,omitempty"`
	// AskContact lets the phone ask after each ball whether it was thin or fat.
	AskContact bool `json:"ask_contact,omitempty"`
	// Radius is the radius of the target circle.
	Radius string `json:"radius,omitempty" example:"7 ft"`
} // @name DocumentDrill

// lengthForm is a length with its unit. Lengths are kept to a tenth of a
// millimetre, in which feet and yards are exact.
var lengthForm = regexp.MustCompile(`^([0-9]{1,5}(?:\.[0-9]{1,6})?) ?(m|ft|yd)$`)

// parseLength reads "5 ft", "12 yd" or "1.5 m".
func parseLength(text string) (domain.Length, bool) {
	m := lengthForm.FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	n, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		return 0, false
	}
	unit := map[string]domain.Length{"m": domain.Metre, "ft": domain.Foot, "yd": domain.Yard}[m[2]]
	return domain.Metres(n * float64(unit) / float64(domain.Metre))
}

// lengthText writes what parseLength reads as the same length: whole feet as
// feet, anything else as metres.
func lengthText(l domain.Length) string {
	if l%domain.Foot == 0 {
		return strconv.Itoa(int(l/domain.Foot)) + " ft"
	}
	return strconv.FormatFloat(l.Metres(), 'f', -1, 64) + " m"
}

// readLength reads a length of a document; an empty one is none.
func readLength(p *domain.Problems, at, text string) domain.Length {
	if text == "" {
		return 0
	}
	l, ok := parseLength(text)
	if !ok {
		p.Add(at, `%q is not a length; write a number and its unit, such as "5 ft", "12 yd" or "1.5 m"`, text)
	}
	return l
}

// readLengths reads the lengths of a list, of which none may be empty.
func readLengths(p *domain.Problems, at string, texts []string) (all []domain.Length) {
	for i, text := range texts {
		here := fmt.Sprintf("%s/%d", at, i)
		if text == "" {
			p.Add(here, "is empty; write a length such as \"10 yd\", or remove it")
		}
		all = append(all, readLength(p, here, text))
	}
	return all
}

// skillKey is the form of a skill's key.
var skillKey = regexp.MustCompile(`^[a-z0-9][a-z0-9_-]{0,59}$`)

// read gives the programme of a document, in which skills are named by their
// keys, and the skills by key.
func (d ProgrammeDocument) read() (curriculum.Content, map[domain.ID]curriculum.Skill, error) {
	var p domain.Problems
	const detail = "The document is not a valid programme."
	if d.Format != documentFormat {
		p.Add("/format", "is %q; this service reads %s, so write that", d.Format, documentFormat)
		return curriculum.Content{}, nil, p.Err("document_invalid", detail)
	}
	skills := map[domain.ID]curriculum.Skill{}
	for _, key := range slices.Sorted(maps.Keys(d.Skills)) {
		at := "/skills/" + domain.PointerToken(key)
		if !skillKey.MatchString(key) {
			p.Add(at, "is not a valid key; use at most 60 small letters, digits, hyphens and underscores, beginning with a letter or digit")
		}
		skills[domain.ID(key)] = d.Skills[key].read(&p, at)
	}
	c := curriculum.Content{Name: d.Name, Text: d.Text}
	for _, l := range d.Limits {
		c.Limits = append(c.Limits, l.read())
	}
	r := documentReader{problems: &p, skills: skills}
	for i, w := range d.Weeks {
		c.Weeks = append(c.Weeks, r.week(fmt.Sprintf("/weeks/%d", i), w))
	}
	return c, skills, p.Err("document_invalid", detail)
}

func (s DocumentSkill) read(p *domain.Problems, at string) curriculum.Skill {
	out := curriculum.Skill{Name: s.Name, Kind: curriculum.SkillKind(s.Kind), Text: s.Text, Ladder: streak.Ladder{TestOnly: s.Ladder.TestOnly, Technique: s.Ladder.TechniqueCounts}}
	for i, t := range s.Ladder.Tiers {
		radius := readLength(p, fmt.Sprintf("%s/ladder/tiers/%d/radius", at, i), t.Radius)
		out.Ladder.Tiers = append(out.Ladder.Tiers, streak.Tier{Run: t.Run, Radius: radius, Holed: t.Holed})
	}
	for i, d := range s.Drills {
		here := fmt.Sprintf("%s/drills/%d", at, i)
		out.Drills = append(out.Drills, curriculum.SkillDrill{
			Kind: curriculum.BlockKind(d.Kind), Text: d.Text, Lies: d.Lies, Distances: readLengths(p, here+"/distances", d.Distances), Clubs: d.Clubs, Carry: d.CarryPercent,
		})
	}
	return out
}

// documentReader reads the weeks of a document.
type documentReader struct {
	problems *domain.Problems
	skills   map[domain.ID]curriculum.Skill
}

func (r documentReader) skill(at, key string) domain.ID {
	id := domain.ID(key)
	if _, ok := r.skills[id]; !ok && key != "" {
		r.problems.Add(at, "%q is not a skill of this document; add it under skills or correct the key", key)
	}
	return id
}

func (r documentReader) week(at string, w DocumentWeek) curriculum.Week {
	out := curriculum.Week{Title: w.Title, Skill: r.skill(at+"/skill", w.Skill), Text: w.Text}
	for i, plan := range w.Plans {
		out.Plans = append(out.Plans, r.plan(fmt.Sprintf("%s/plans/%d", at, i), plan))
	}
	return out
}

func (r documentReader) plan(at string, plan DocumentPlan) curriculum.Plan {
	out := curriculum.Plan{Name: plan.Name, Minutes: plan.Minutes, Times: orElse(plan.Times, 1)}
	for i, b := range plan.Blocks {
		here := fmt.Sprintf("%s/blocks/%d", at, i)
		block := curriculum.Block{Kind: curriculum.BlockKind(b.Kind), Share: b.Share, Skill: r.skill(here+"/skill", b.Skill)}
		if b.Drill != nil {
			block.Drill = r.drill(here+"/drill", *b.Drill)
		}
		out.Blocks = append(out.Blocks, block)
	}
	return out
}

func (r documentReader) drill(at string, d DocumentDrill) curriculum.Drill {
	return curriculum.Drill{
		Text: d.Text, Lies: d.Lies, Distances: readLengths(r.problems, at+"/distances", d.Distances), Clubs: d.Clubs,
		Carry: d.CarryPercent, MoreOfMisses: d.MoreOfMisses, AskContact: d.AskContact, Radius: readLength(r.problems, at+"/radius", d.Radius),
	}
}

// documentPointer turns a pointer into the API's form of a programme into one
// into a document, whose members carry units and keys in their values.
func documentPointer(pointer string) string {
	tokens := strings.Split(pointer, "/")
	for i, token := range tokens {
		if i == 2 && tokens[1] == "skills" {
			continue // a key, whatever it looks like
		}
		switch token {
		case "skill_id":
			tokens[i] = "skill"
		case "radius_m":
			tokens[i] = "radius"
		case "distances_m":
			tokens[i] = "distances"
		}
	}
	return strings.Join(tokens, "/")
}

// documentOf writes a programme and the skills it trains as a document.
func documentOf(c curriculum.Content, skills map[domain.ID]curriculum.Skill) ProgrammeDocument {
	w := documentWriter{keys: skillKeys(c.SkillIDs(), skills)}
	d := ProgrammeDocument{Format: documentFormat, Name: c.Name, Text: c.Text, Limits: each(c.Limits, encodeLimit), Weeks: each(c.Weeks, w.week)}
	if len(w.keys) > 0 {
		d.Skills = map[string]DocumentSkill{}
	}
	for id, key := range w.keys {
		d.Skills[key] = documentSkill(skills[id])
	}
	return d
}

// skillKeys makes a readable key for each skill, from its name.
func skillKeys(ids []domain.ID, skills map[domain.ID]curriculum.Skill) map[domain.ID]string {
	keys, taken := map[domain.ID]string{}, map[string]bool{}
	for _, id := range ids {
		skill, ok := skills[id]
		if !ok {
			continue
		}
		base := slug(skill.Name, "skill")
		key := base
		for n := 2; taken[key]; n++ {
			key = fmt.Sprintf("%s-%d", base, n)
		}
		taken[key], keys[id] = true, key
	}
	return keys
}

// slug makes a short word of small ASCII letters, digits and hyphens out of a
// name, or gives otherwise when nothing is left of it.
func slug(name, otherwise string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9') })
	s := strings.Join(words, "-")
	if len(s) > 40 {
		s = strings.TrimRight(s[:40], "-")
	}
	if s == "" {
		return otherwise
	}
	return s
}

type documentWriter struct{ keys map[domain.ID]string }

func (w documentWriter) week(x curriculum.Week) DocumentWeek {
	return DocumentWeek{Title: x.Title, Skill: w.keys[x.Skill], Text: x.Text, Plans: each(x.Plans, w.plan)}
}

func (w documentWriter) plan(p curriculum.Plan) DocumentPlan {
	return DocumentPlan{Name: p.Name, Minutes: p.Minutes, Times: &p.Times, Blocks: each(p.Blocks, w.block)}
}

func (w documentWriter) block(b curriculum.Block) DocumentBlock {
	out := DocumentBlock{Kind: string(b.Kind), Share: b.Share, Skill: w.keys[b.Skill]}
	d := b.Drill
	drill := DocumentDrill{Text: d.Text, Lies: d.Lies, Distances: each(d.Distances, lengthText), Clubs: d.Clubs, CarryPercent: d.Carry, MoreOfMisses: d.MoreOfMisses, AskContact: d.AskContact}
	if d.Radius != 0 {
		drill.Radius = lengthText(d.Radius)
	}
	out.Drill = &drill
	return out
}

func documentSkill(s curriculum.Skill) DocumentSkill {
	return DocumentSkill{Name: s.Name, Kind: string(s.Kind), Text: s.Text, Ladder: DocumentLadder{
		TestOnly: s.Ladder.TestOnly, TechniqueCounts: s.Ladder.Technique,
		Tiers: each(s.Ladder.Tiers, func(t streak.Tier) DocumentTier {
			return DocumentTier{Run: t.Run, Radius: lengthText(t.Radius), Holed: t.Holed}
		}),
	}, Drills: each(s.Drills, documentSkillDrill)}
}

func documentSkillDrill(d curriculum.SkillDrill) DocumentSkillDrill {
	return DocumentSkillDrill{Kind: string(d.Kind), Text: d.Text, Lies: d.Lies, Distances: each(d.Distances, lengthText), Clubs: d.Clubs, CarryPercent: d.Carry}
}
