package api

import (
	"fmt"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// Tier is a tier, one step of the ladder: run balls in a row inside a circle, of
// which at least holed are holed.
type Tier struct {
	// Run is how many balls in a row must come to rest inside the radius.
	Run int `json:"run" validate:"required" binding:"required" minimum:"1" maximum:"200" example:"6"`
	// RadiusM is the radius of the circle in metres.
	RadiusM float64 `json:"radius_m" validate:"required" binding:"required" minimum:"0.1" maximum:"30" example:"1.5"`
	// Holed is how many of them must be holed at least.
	Holed int `json:"holed,omitempty" minimum:"0" maximum:"200" example:"0"`
} // @name Tier

// Ladder is the tiers of a skill: its steps, each harder than the one before.
type Ladder struct {
	Tiers []Tier `json:"tiers" validate:"required" binding:"required" minItems:"1" maxItems:"12"`
	// TestOnly makes only blocks of kind test count. By default tests and warm-ups
	// that play the skill count.
	TestOnly bool `json:"test_only,omitempty"`
	// TechniqueCounts lets blocks of kind technique count, too; it says nothing
	// beside test_only. By default technique is not tested.
	TechniqueCounts bool `json:"technique_counts,omitempty"`
} // @name Ladder

// SkillDrill is what every new block of one kind that plays a skill takes from
// it. What you leave out is filled with what is usual for the kind of shot. The
// target radius is the ladder's.
type SkillDrill struct {
	Kind string `json:"kind" validate:"required" binding:"required" extensions:"x-words=block_kinds" example:"test"`
	// Text tells the student what to do.
	Text string `json:"text,omitempty" maxLength:"4000" example:"Ten balls from the fringe."`
	// Lies are the lies to play from.
	Lies []string `json:"lies,omitempty" maxItems:"24" example:"fringe"`
	// DistancesM are the distances to the hole to play from, in metres.
	DistancesM []float64 `json:"distances_m,omitempty" maxItems:"24" example:"9"`
	Clubs      []string  `json:"clubs,omitempty" maxItems:"24" example:"8 iron"`
	// CarryPercent is how much of the way the ball flies; the rest is roll.
	CarryPercent int `json:"carry_percent,omitempty" minimum:"0" maximum:"100" example:"30"`
} // @name SkillDrill

// FittedDrill is the whole drill that a new block of one kind takes from a skill.
type FittedDrill struct {
	Kind  string `json:"kind" binding:"required" extensions:"x-words=block_kinds" example:"test"`
	Drill Drill  `json:"drill" binding:"required"`
} // @name FittedDrill

// SkillRequest is a skill as a coach writes it.
type SkillRequest struct {
	Name string `json:"name" validate:"required" minLength:"1" maxLength:"120" example:"Pitch to a landing spot"`
	// Kind is the kind of shot.
	Kind   string `json:"kind" validate:"required" extensions:"x-words=skill_kinds" example:"pitch"`
	Text   string `json:"text,omitempty" maxLength:"4000"`
	Ladder Ladder `json:"ladder" validate:"required"`
	// Drills are what new blocks take from the skill, at most one for each kind of
	// block.
	Drills []SkillDrill `json:"drills,omitempty" maxItems:"6"`
} // @name SkillRequest

// Skill is a skill to train, with its ladder of tiers.
type Skill struct {
	ID     domain.ID `json:"id" binding:"required" format:"uuid"`
	Name   string    `json:"name" binding:"required"`
	Kind   string    `json:"kind" binding:"required" extensions:"x-words=skill_kinds"`
	Text   string    `json:"text,omitempty"`
	Ladder Ladder    `json:"ladder" binding:"required"`
	// Drills are what the coach gave for new blocks, by kind of block.
	Drills []SkillDrill `json:"drills" binding:"required"`
	// Fitted is the whole drill of a new block of each kind: what the coach gave,
	// the rest as usual for the kind of shot, and the first tier's radius.
	Fitted     []FittedDrill `json:"fitted" binding:"required"`
	ArchivedAt *time.Time    `json:"archived_at,omitempty" format:"date-time"`
	Revision   int           `json:"revision" binding:"required"`
	CreatedAt  time.Time     `json:"created_at" binding:"required" format:"date-time"`
	UpdatedAt  time.Time     `json:"updated_at" binding:"required" format:"date-time"`
} // @name Skill

// SkillPage is one page of the academy's skills.
type SkillPage struct {
	Items []Skill `json:"items" binding:"required"`
	Links Links   `json:"links" binding:"required"`
} // @name SkillPage

func (t Tier) read(p *domain.Problems, at string) streak.Tier {
	return streak.Tier{Run: t.Run, Radius: length(p, at+"/radius_m", t.RadiusM), Holed: t.Holed}
}

func (l Ladder) read(p *domain.Problems, at string) streak.Ladder {
	out := streak.Ladder{TestOnly: l.TestOnly, Technique: l.TechniqueCounts}
	for i, t := range l.Tiers {
		out.Tiers = append(out.Tiers, t.read(p, fmt.Sprintf("%s/tiers/%d", at, i)))
	}
	return out
}

// length reads a length in metres.
func length(p *domain.Problems, at string, metres float64) domain.Length {
	l, ok := domain.Metres(metres)
	if !ok {
		p.Add(at, "is %v m; give a length of at most %v m", metres, domain.MaxLength.Metres())
	}
	return l
}

func encodeTier(t streak.Tier) Tier {
	return Tier{Run: t.Run, RadiusM: t.Radius.Metres(), Holed: t.Holed}
}

func encodeLadder(l streak.Ladder) Ladder {
	return Ladder{Tiers: each(l.Tiers, encodeTier), TestOnly: l.TestOnly, TechniqueCounts: l.Technique}
}

func (d SkillDrill) read(p *domain.Problems, at string) curriculum.SkillDrill {
	return curriculum.SkillDrill{Kind: curriculum.BlockKind(d.Kind), Text: d.Text, Lies: d.Lies, Distances: distances(p, at, d.DistancesM), Clubs: d.Clubs, Carry: d.CarryPercent}
}

func encodeSkillDrill(d curriculum.SkillDrill) SkillDrill {
	return SkillDrill{Kind: string(d.Kind), Text: d.Text, Lies: d.Lies, DistancesM: each(d.Distances, domain.Length.Metres), Clubs: d.Clubs, CarryPercent: d.Carry}
}

func encodeFitted(s curriculum.Skill) []FittedDrill {
	return each(curriculum.BlockKinds(), func(k curriculum.BlockKind) FittedDrill {
		return FittedDrill{Kind: string(k), Drill: encodeDrill(s.Fitted(k))}
	})
}

func encodeSkill(s curriculum.Skill) Skill {
	return Skill{
		ID: s.ID, Name: s.Name, Kind: string(s.Kind), Text: s.Text, Ladder: encodeLadder(s.Ladder),
		Drills: each(s.Drills, encodeSkillDrill), Fitted: encodeFitted(s),
		ArchivedAt: instant(s.ArchivedAt), Revision: s.Revision, CreatedAt: s.CreatedAt.UTC(), UpdatedAt: s.UpdatedAt.UTC(),
	}
}

// instant leaves out the zero time.
func instant(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.UTC()
	return &t
}

// readSkill binds a skill.
func readSkill(c echo.Context, decode decoder) (curriculum.Skill, error) {
	var r SkillRequest
	if err := decode(c, &r); err != nil {
		return curriculum.Skill{}, err
	}
	var p domain.Problems
	skill := curriculum.Skill{Name: r.Name, Kind: curriculum.SkillKind(r.Kind), Text: r.Text, Ladder: r.Ladder.read(&p, "/ladder")}
	for i, d := range r.Drills {
		skill.Drills = append(skill.Drills, d.read(&p, fmt.Sprintf("/drills/%d", i)))
	}
	return skill, p.Err("skill_invalid", "The skill was not saved.")
}

// createSkill keeps a new skill.
//
//	@Summary	Create a skill
//	@ID			createSkill
//	@Tags		Skills
//	@Accept		json
//	@Produce	json
//	@Param		skill	body		SkillRequest	true	"The skill"
//	@Success	201		{object}	Skill
//	@Failure	400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/skills [post]
func (s *Server) createSkill(c echo.Context) error {
	skill, err := readSkill(c, decode)
	if err != nil {
		return err
	}
	if skill, err = s.Curriculum.CreateSkill(c.Request().Context(), actor(c), skill); err != nil {
		return err
	}
	return created(c, "/v1/skills/"+string(skill.ID), skill.Revision, encodeSkill(skill))
}

// listSkills lists the academy's skills.
//
//	@Summary	List skills
//	@ID			listSkills
//	@Tags		Skills
//	@Produce	json
//	@Param		archived	query		bool	false	"Include archived skills"
//	@Param		limit		query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor		query		string	false	"Where to continue, from links.next"
//	@Success	200			{object}	SkillPage
//	@Success	304			"Not modified"
//	@Failure	400,401,403,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/skills [get]
func (s *Server) listSkills(c echo.Context) error {
	q := newQuery(c)
	page, archived := q.page(), q.flag("archived")
	if err := q.done(); err != nil {
		return err
	}
	skills, err := s.Curriculum.Skills(c.Request().Context(), actor(c), page, archived)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, skills, func(s curriculum.Skill) domain.ID { return s.ID }, encodeSkill)
	return ok(c, 0, SkillPage{Items: items, Links: links})
}

// getSkill reads a skill.
//
//	@Summary	Read a skill
//	@ID			getSkill
//	@Tags		Skills
//	@Produce	json
//	@Param		skill_id		path		string	true	"The skill"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	Skill
//	@Success	304				"Not modified"
//	@Failure	401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/skills/{skill_id} [get]
func (s *Server) getSkill(c echo.Context) error {
	id, err := pathID(c, "skill_id")
	if err != nil {
		return err
	}
	skill, err := s.Curriculum.Skill(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, skill.Revision, encodeSkill(skill))
}

// updateSkill replaces a skill.
//
//	@Summary		Replace a skill
//	@Description	Published versions keep the skill as it was.
//	@ID				updateSkill
//	@Tags			Skills
//	@Accept			json
//	@Produce		json
//	@Param			skill_id	path		string			true	"The skill"	format(uuid)
//	@Param			If-Match	header		string			false	"The ETag of the version you are changing"
//	@Param			skill		body		SkillRequest	true	"The skill"
//	@Success		200			{object}	Skill
//	@Failure		400,401,403,404,409,412,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/skills/{skill_id} [put]
func (s *Server) updateSkill(c echo.Context) error {
	id, err := pathID(c, "skill_id")
	if err != nil {
		return err
	}
	revision, err := ifMatch(c)
	if err != nil {
		return err
	}
	skill, err := readSkill(c, decodeReadBack[Skill])
	if err != nil {
		return err
	}
	if skill, err = s.Curriculum.UpdateSkill(c.Request().Context(), actor(c), id, revision, skill); err != nil {
		return err
	}
	return ok(c, skill.Revision, encodeSkill(skill))
}

// archiveSkill puts a skill away.
//
//	@Summary	Archive a skill
//	@ID			archiveSkill
//	@Tags		Skills
//	@Produce	json
//	@Param		skill_id	path		string	true	"The skill"	format(uuid)
//	@Success	200			{object}	Skill
//	@Failure	401,403,404,409,413,422,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/skills/{skill_id}/archive [post]
func (s *Server) archiveSkill(c echo.Context) error { return s.setSkillArchived(c, true) }

// restoreSkill brings an archived skill back.
//
//	@Summary	Restore an archived skill
//	@ID			restoreSkill
//	@Tags		Skills
//	@Produce	json
//	@Param		skill_id	path		string	true	"The skill"	format(uuid)
//	@Success	200			{object}	Skill
//	@Failure	401,403,404,409,413,422,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/skills/{skill_id}/restore [post]
func (s *Server) restoreSkill(c echo.Context) error { return s.setSkillArchived(c, false) }

func (s *Server) setSkillArchived(c echo.Context, archived bool) error {
	id, err := pathID(c, "skill_id")
	if err != nil {
		return err
	}
	skill, err := s.Curriculum.ArchiveSkill(c.Request().Context(), actor(c), id, archived)
	if err != nil {
		return err
	}
	return ok(c, skill.Revision, encodeSkill(skill))
}
