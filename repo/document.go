package repo

import (
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Documents are what columns of JSON hold. Their names are part of the schema:
// renaming a field of the domain must not rename one here. Lengths are whole
// tenths of a millimetre.

type tierDoc struct {
	Run    int           `json:"run"`
	Radius domain.Length `json:"radius"`
	Holed  int           `json:"holed"`
}

type ladderDoc struct {
	Tiers     []tierDoc `json:"tiers"`
	TestOnly  bool      `json:"test_only,omitempty"`
	Technique bool      `json:"technique,omitempty"`
}

func tierDocs(tiers []streak.Tier) []tierDoc {
	return each(tiers, func(t streak.Tier) tierDoc { return tierDoc(t) })
}

func tiersOf(docs []tierDoc) []streak.Tier {
	return each(docs, func(d tierDoc) streak.Tier { return streak.Tier(d) })
}

func ladderToDoc(l streak.Ladder) ladderDoc {
	return ladderDoc{Tiers: tierDocs(l.Tiers), TestOnly: l.TestOnly, Technique: l.Technique}
}

func (d ladderDoc) ladder() streak.Ladder {
	return streak.Ladder{Tiers: tiersOf(d.Tiers), TestOnly: d.TestOnly, Technique: d.Technique}
}

// judgedDoc is a tier of a track.
type judgedDoc struct {
	tierDoc
	OpenUntil *int64 `json:"open_until,omitempty"`
	// TechniqueUntil was set by step 16 of the migrations for what there was then.
	TechniqueUntil *int64 `json:"technique_until,omitempty"`
}

func judgedToDoc(j progress.JudgedTier) judgedDoc {
	return judgedDoc{tierDoc: tierDoc(j.Tier), OpenUntil: maybeAt(j.OpenUntil), TechniqueUntil: maybeAt(j.TechniqueUntil)}
}

func (d judgedDoc) judged() progress.JudgedTier {
	return progress.JudgedTier{Tier: streak.Tier(d.tierDoc), OpenUntil: maybeInstant(d.OpenUntil), TechniqueUntil: maybeInstant(d.TechniqueUntil)}
}

// each converts every element; nothing becomes nil.
func each[S, T any](from []S, convert func(S) T) []T {
	if len(from) == 0 {
		return nil
	}
	to := make([]T, len(from))
	for i, x := range from {
		to[i] = convert(x)
	}
	return to
}

type limitDoc struct {
	Kind    curriculum.BlockKind `json:"kind"`
	AtLeast int                  `json:"at_least"`
	AtMost  int                  `json:"at_most"`
}

type weekDoc struct {
	Title string    `json:"title"`
	Skill domain.ID `json:"skill"`
	Text  string    `json:"text,omitempty"`
	Plans []planDoc `json:"plans"`
}

type planDoc struct {
	Name    string     `json:"name"`
	Minutes int        `json:"minutes"`
	Times   int        `json:"times"`
	Blocks  []blockDoc `json:"blocks"`
}

type blockDoc struct {
	Kind  curriculum.BlockKind `json:"kind"`
	Share int                  `json:"share"`
	Skill domain.ID            `json:"skill,omitempty"`
	Drill drillDoc             `json:"drill"`
}

type drillDoc struct {
	Text      string          `json:"text,omitempty"`
	Lies      []string        `json:"lies,omitempty"`
	Distances []domain.Length `json:"distances,omitempty"`
	Clubs     []string        `json:"clubs,omitempty"`
	Carry     int             `json:"carry,omitempty"`
	Radius    domain.Length   `json:"radius"`
	// The last two are later than the rest, so that they are left out where false.
	MoreOfMisses bool `json:"more_of_misses,omitempty"`
	AskContact   bool `json:"ask_contact,omitempty"`
}

func limitDocs(limits []curriculum.Limit) []limitDoc {
	return each(limits, func(l curriculum.Limit) limitDoc { return limitDoc(l) })
}

func limitsOf(docs []limitDoc) []curriculum.Limit {
	return each(docs, func(d limitDoc) curriculum.Limit { return curriculum.Limit(d) })
}

func weekDocs(weeks []curriculum.Week) []weekDoc {
	return each(weeks, func(w curriculum.Week) weekDoc {
		return weekDoc{Title: w.Title, Skill: w.Skill, Text: w.Text, Plans: each(w.Plans, planToDoc)}
	})
}

func planToDoc(p curriculum.Plan) planDoc {
	return planDoc{Name: p.Name, Minutes: p.Minutes, Times: p.Times, Blocks: each(p.Blocks, func(b curriculum.Block) blockDoc {
		return blockDoc{Kind: b.Kind, Share: b.Share, Skill: b.Skill, Drill: drillDoc(b.Drill)}
	})}
}

func weeksOf(docs []weekDoc) []curriculum.Week {
	return each(docs, func(d weekDoc) curriculum.Week {
		return curriculum.Week{Title: d.Title, Skill: d.Skill, Text: d.Text, Plans: each(d.Plans, planDoc.plan)}
	})
}

func (d planDoc) plan() curriculum.Plan {
	return curriculum.Plan{Name: d.Name, Minutes: d.Minutes, Times: d.Times, Blocks: each(d.Blocks, func(b blockDoc) curriculum.Block {
		return curriculum.Block{Kind: b.Kind, Share: b.Share, Skill: b.Skill, Drill: curriculum.Drill(b.Drill)}
	})}
}

// skillDrillDoc is what new blocks of a kind take from a skill.
type skillDrillDoc struct {
	Kind      curriculum.BlockKind `json:"kind"`
	Text      string               `json:"text,omitempty"`
	Lies      []string             `json:"lies,omitempty"`
	Distances []domain.Length      `json:"distances,omitempty"`
	Clubs     []string             `json:"clubs,omitempty"`
	Carry     int                  `json:"carry,omitempty"`
}

func skillDrillDocs(drills []curriculum.SkillDrill) []skillDrillDoc {
	return each(drills, func(d curriculum.SkillDrill) skillDrillDoc { return skillDrillDoc(d) })
}

func skillDrillsOf(docs []skillDrillDoc) []curriculum.SkillDrill {
	return each(docs, func(d skillDrillDoc) curriculum.SkillDrill { return curriculum.SkillDrill(d) })
}

// skillDoc is a skill as a version froze it.
type skillDoc struct {
	ID         domain.ID            `json:"id"`
	Name       string               `json:"name"`
	Kind       curriculum.SkillKind `json:"kind"`
	Text       string               `json:"text,omitempty"`
	Ladder     ladderDoc            `json:"ladder"`
	Drills     []skillDrillDoc      `json:"drills,omitempty"`
	ArchivedAt *int64               `json:"archived_at,omitempty"`
	Revision   int                  `json:"revision"`
	CreatedAt  int64                `json:"created_at"`
	UpdatedAt  int64                `json:"updated_at"`
}

func skillToDoc(s curriculum.Skill) skillDoc {
	return skillDoc{
		ID: s.ID, Name: s.Name, Kind: s.Kind, Text: s.Text, Ladder: ladderToDoc(s.Ladder), Drills: skillDrillDocs(s.Drills), ArchivedAt: maybeAt(s.ArchivedAt),
		Revision: s.Revision, CreatedAt: at(s.CreatedAt), UpdatedAt: at(s.UpdatedAt),
	}
}

func (d skillDoc) skill() curriculum.Skill {
	return curriculum.Skill{
		ID: d.ID, Name: d.Name, Kind: d.Kind, Text: d.Text, Ladder: d.Ladder.ladder(), Drills: skillDrillsOf(d.Drills), ArchivedAt: maybeInstant(d.ArchivedAt),
		Revision: d.Revision, CreatedAt: instant(d.CreatedAt), UpdatedAt: instant(d.UpdatedAt),
	}
}

type pauseDoc struct {
	From   string `json:"from"`
	Until  string `json:"until,omitempty"`
	Reason string `json:"reason,omitempty"`
}

func pauseToDoc(p academy.Pause) pauseDoc {
	return pauseDoc{From: p.From.String(), Until: p.Until.String(), Reason: p.Reason}
}

func (d pauseDoc) pause() (p academy.Pause, err error) {
	p.Reason = d.Reason
	if p.From, err = date(d.From); err != nil {
		return p, err
	}
	p.Until, err = date(d.Until)
	return p, err
}

type kindTimeDoc struct {
	Kind    string `json:"kind"`
	Planned int    `json:"planned"`
	Spent   int    `json:"spent"`
}

func kindTimeDocs(times []progress.KindTime) []kindTimeDoc {
	return each(times, func(t progress.KindTime) kindTimeDoc { return kindTimeDoc(t) })
}

func kindTimesOf(docs []kindTimeDoc) []progress.KindTime {
	return each(docs, func(d kindTimeDoc) progress.KindTime { return progress.KindTime(d) })
}
