package api

import (
	"fmt"

	"github.com/google/uuid"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// Limit bounds the share of one kind of block in each plan.
type Limit struct {
	Kind string `json:"kind" validate:"required" binding:"required" extensions:"x-words=block_kinds" example:"technique"`
	// AtLeast is the smallest share, in whole per cent.
	AtLeast int `json:"at_least,omitempty" minimum:"0" maximum:"100" example:"0"`
	// AtMost is the largest share, in whole per cent; 100 by default.
	AtMost *int `json:"at_most,omitempty" minimum:"0" maximum:"100" example:"40"`
} // @name Limit

// Drill is what to do in a block.
type Drill struct {
	// Text tells the student what to do.
	Text string `json:"text,omitempty" maxLength:"4000" example:"Same spot, same club, one landing spot."`
	// Lies are the lies to play from.
	Lies []string `json:"lies,omitempty" maxItems:"24" example:"fairway"`
	// DistancesM are the distances to the hole to play from, in metres.
	DistancesM []float64 `json:"distances_m,omitempty" maxItems:"24" example:"12"`
	// Clubs may be named by a usual name, by a loft, or as low, middle or high wedge: each
	// student reads the own club that comes nearest.
	Clubs []string `json:"clubs,omitempty" maxItems:"24" example:"54° wedge"`
	// CarryPercent is how much of the way the ball flies, where it matters; the
	// rest is roll.
	CarryPercent int `json:"carry_percent,omitempty" minimum:"0" maximum:"100" example:"60"`
	// RadiusM is the radius of the target circle in metres; a ball at rest inside
	// it is in. Optional in a draft, required to publish.
	RadiusM float64 `json:"radius_m,omitempty" minimum:"0" maximum:"30" example:"2"`
	// MoreOfMisses deals each student more of what they miss most, in a random
	// block: at most three times as much of one task as of another, from the balls
	// of their last sessions.
	MoreOfMisses bool `json:"more_of_misses,omitempty" example:"true"`
	// AskContact lets the phone ask after each ball whether it was thin or fat, by one
	// further touch that the student may leave out.
	AskContact bool `json:"ask_contact,omitempty" example:"true"`
} // @name Drill

// Block is one part of a plan.
type Block struct {
	Kind string `json:"kind" validate:"required" binding:"required" extensions:"x-words=block_kinds" example:"test"`
	// Share is its part of the plan's time in whole per cent. The shares of a
	// plan must add up to 100.
	Share int `json:"share" validate:"required" binding:"required" minimum:"0" maximum:"100" example:"35"`
	// SkillID is what the block trains, if not the week's skill.
	SkillID domain.ID `json:"skill_id,omitempty" format:"uuid"`
	// Minutes are what the share comes to. The service works them out once the
	// shares add up; a value you send is ignored.
	Minutes int   `json:"minutes,omitempty" minimum:"0" maximum:"240" example:"16"`
	Drill   Drill `json:"drill"`
} // @name Block

// Plan is one session as planned.
type Plan struct {
	Name string `json:"name,omitempty" maxLength:"120" example:"Long session"`
	// Minutes is the length of the session.
	Minutes int `json:"minutes" validate:"required" binding:"required" minimum:"5" maximum:"240" example:"45"`
	// Times is how often to do the plan in its week; 1 by default.
	Times  *int    `json:"times,omitempty" minimum:"1" maximum:"14" default:"1" example:"2"`
	Blocks []Block `json:"blocks,omitempty" maxItems:"12"`
} // @name Plan

// Week is one week of a programme.
type Week struct {
	Title string `json:"title,omitempty" maxLength:"120" example:"Pitching from light rough"`
	// SkillID is what the week trains. Optional in a draft, required to publish.
	SkillID domain.ID `json:"skill_id,omitempty" format:"uuid"`
	Text    string    `json:"text,omitempty" maxLength:"4000"`
	Plans   []Plan    `json:"plans,omitempty" maxItems:"14"`
} // @name Week

// ProgrammeContent is a programme as a coach writes it. It can be saved as a
// draft before it is finished: shares that do not add up, a missing skill or a
// missing radius only keep it from being published.
type ProgrammeContent struct {
	Name string `json:"name" validate:"required" binding:"required" minLength:"1" maxLength:"120" example:"Six weeks around the green"`
	Text string `json:"text,omitempty" maxLength:"4000"`
	// Limits bound the share of a kind of block in every plan.
	Limits []Limit `json:"limits,omitempty" maxItems:"6"`
	Weeks  []Week  `json:"weeks,omitempty" maxItems:"104"`
} // @name ProgrammeContent

// bodyID reads an identity from a body; an empty one stays empty.
func bodyID(p *domain.Problems, at string, id domain.ID) domain.ID {
	if id == "" {
		return ""
	}
	parsed, err := uuid.Parse(string(id))
	if err != nil || len(id) != 36 {
		p.Add(at, "%q is not a UUID; check the ID", string(id))
		return ""
	}
	return domain.ID(parsed.String())
}

func orElse(n *int, otherwise int) int {
	if n == nil {
		return otherwise
	}
	return *n
}

func (l Limit) read() curriculum.Limit {
	return curriculum.Limit{Kind: curriculum.BlockKind(l.Kind), AtLeast: l.AtLeast, AtMost: orElse(l.AtMost, 100)}
}

func (c ProgrammeContent) read() (curriculum.Content, error) {
	var p domain.Problems
	out := curriculum.Content{Name: c.Name, Text: c.Text}
	for _, l := range c.Limits {
		out.Limits = append(out.Limits, l.read())
	}
	for i, w := range c.Weeks {
		out.Weeks = append(out.Weeks, w.read(&p, fmt.Sprintf("/weeks/%d", i)))
	}
	return out, p.Err("programme_invalid", "The programme was not saved.")
}

func (w Week) read(p *domain.Problems, at string) curriculum.Week {
	out := curriculum.Week{Title: w.Title, Skill: bodyID(p, at+"/skill_id", w.SkillID), Text: w.Text}
	for i, plan := range w.Plans {
		out.Plans = append(out.Plans, plan.read(p, fmt.Sprintf("%s/plans/%d", at, i)))
	}
	return out
}

func (plan Plan) read(p *domain.Problems, at string) curriculum.Plan {
	out := curriculum.Plan{Name: plan.Name, Minutes: plan.Minutes, Times: orElse(plan.Times, 1)}
	for i, b := range plan.Blocks {
		out.Blocks = append(out.Blocks, b.read(p, fmt.Sprintf("%s/blocks/%d", at, i)))
	}
	return out
}

func (b Block) read(p *domain.Problems, at string) curriculum.Block {
	return curriculum.Block{
		Kind: curriculum.BlockKind(b.Kind), Share: b.Share,
		Skill: bodyID(p, at+"/skill_id", b.SkillID), Drill: b.Drill.read(p, at+"/drill"),
	}
}

func (d Drill) read(p *domain.Problems, at string) curriculum.Drill {
	radius := length(p, at+"/radius_m", d.RadiusM)
	return curriculum.Drill{Text: d.Text, Lies: d.Lies, Distances: distances(p, at, d.DistancesM), Clubs: d.Clubs, Carry: d.CarryPercent, Radius: radius, MoreOfMisses: d.MoreOfMisses, AskContact: d.AskContact}
}

// distances reads the distances of a drill that is at a pointer.
func distances(p *domain.Problems, at string, metres []float64) (all []domain.Length) {
	for i, m := range metres {
		all = append(all, length(p, fmt.Sprintf("%s/distances_m/%d", at, i), m))
	}
	return all
}

func encodeContent(c curriculum.Content) ProgrammeContent {
	return ProgrammeContent{Name: c.Name, Text: c.Text, Limits: each(c.Limits, encodeLimit), Weeks: each(c.Weeks, encodeWeek)}
}

func encodeLimit(l curriculum.Limit) Limit {
	return Limit{Kind: string(l.Kind), AtLeast: l.AtLeast, AtMost: &l.AtMost}
}

func encodeWeek(w curriculum.Week) Week {
	return Week{Title: w.Title, SkillID: w.Skill, Text: w.Text, Plans: each(w.Plans, encodePlan)}
}

func encodePlan(p curriculum.Plan) Plan {
	out := Plan{Name: p.Name, Minutes: p.Minutes, Times: &p.Times}
	minutes := p.BlockMinutes()
	for i, b := range p.Blocks {
		x := Block{Kind: string(b.Kind), Share: b.Share, SkillID: b.Skill, Drill: encodeDrill(b.Drill)}
		if minutes != nil {
			x.Minutes = minutes[i]
		}
		out.Blocks = append(out.Blocks, x)
	}
	return out
}

func encodeDrill(d curriculum.Drill) Drill {
	return Drill{
		Text: d.Text, Lies: d.Lies, DistancesM: each(d.Distances, domain.Length.Metres),
		Clubs: d.Clubs, CarryPercent: d.Carry, RadiusM: d.Radius.Metres(), MoreOfMisses: d.MoreOfMisses, AskContact: d.AskContact,
	}
}
