package calc

import (
	"fringework/domain"
	"fringework/domain/curriculum"
)

var usualDrills = define[usualDrillsIn, UsualDrillsOut]("usual-drills",
	"Gives the drill that is usual for each kind of block of a kind of skill: common practice, without a source.",
	`{"skill":"bunker_shot"}`,
	answerUsualDrills)

// usualDrillsIn is the input of usual-drills.
type usualDrillsIn struct {
	// Skill is the kind of skill.
	Skill *string `json:"skill" validate:"required"`
}

// UsualDrillsOut is the answer of usual-drills.
type UsualDrillsOut struct {
	Drills []UsualDrillOut `json:"drills"`
}

// UsualDrillOut is the drill of one kind of block, without a radius, which is the
// ladder's. What nobody can know of a coach's own shot is left out.
type UsualDrillOut struct {
	// Kind is the kind of block.
	Kind         string    `json:"kind"`
	Text         string    `json:"text"`
	Lies         []string  `json:"lies,omitempty"`
	DistancesM   []float64 `json:"distances_m,omitempty"`
	Clubs        []string  `json:"clubs,omitempty"`
	CarryPercent int       `json:"carry_percent,omitempty"`
}

func answerUsualDrills(in usualDrillsIn, p *domain.Problems) (any, error) {
	skill := curriculum.SkillKind(need(p, "/skill", in.Skill))
	if in.Skill != nil {
		skill.Check(p, "/skill")
	}
	var out UsualDrillsOut
	for _, kind := range curriculum.BlockKinds() {
		d := skill.Usual(kind)
		drill := UsualDrillOut{Kind: string(kind), Text: d.Text, Lies: d.Lies, Clubs: d.Clubs, CarryPercent: d.Carry}
		for _, distance := range d.Distances {
			drill.DistancesM = append(drill.DistancesM, distance.Metres())
		}
		out.Drills = append(out.Drills, drill)
	}
	return out, nil
}
