package api

import (
	"fmt"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// Tier is one step of a ladder.
type Tier struct {
	// Run is how many balls in a row must come to rest inside the radius.
	Run int `json:"run" validate:"required" binding:"required" minimum:"1" maximum:"200" example:"9"`
	// RadiusM is the radius in metres; 5 ft are 1.524 m.
	RadiusM float64 `json:"radius_m" validate:"required" binding:"required" minimum:"0.1" maximum:"30" example:"1.524"`
	// Holed is how many of them must be holed.
	Holed int `json:"holed,omitempty" minimum:"0" maximum:"200" example:"0"`
} // @name Tier

// Ladder is the tiers of a skill, each strictly harder than the one before.
type Ladder struct {
	Tiers []Tier `json:"tiers" validate:"required" binding:"required" minItems:"1" maxItems:"12"`
	// TestOnly restricts the blocks that count to tests; otherwise every block
	// that plays the skill on one spot counts, a warm-up included.
	TestOnly bool `json:"test_only,omitempty"`
} // @name Ladder

// SkillRequest is a skill as a coach writes it.
type SkillRequest struct {
	Name string `json:"name" validate:"required" minLength:"1" maxLength:"120" example:"Pitch to a landing spot"`
	// Kind is the sort of shot.
	Kind   string `json:"kind" validate:"required" extensions:"x-words=skill_kinds" example:"pitch"`
	Text   string `json:"text,omitempty" maxLength:"4000"`
	Ladder Ladder `json:"ladder" validate:"required"`
} // @name SkillRequest

// Skill is what is trained, with the ladder that proves it.
type Skill struct {
	ID         domain.ID  `json:"id" binding:"required" format:"uuid"`
	Name       string     `json:"name" binding:"required"`
	Kind       string     `json:"kind" binding:"required" extensions:"x-words=skill_kinds"`
	Text       string     `json:"text,omitempty"`
	Ladder     Ladder     `json:"ladder" binding:"required"`
	ArchivedAt *time.Time `json:"archived_at,omitempty" format:"date-time"`
	Revision   int        `json:"revision" binding:"required"`
	CreatedAt  time.Time  `json:"created_at" binding:"required" format:"date-time"`
	UpdatedAt  time.Time  `json:"updated_at" binding:"required" format:"date-time"`
} // @name Skill

// SkillPage is a stretch of the academy's skills.
type SkillPage struct {
	Items []Skill `json:"items" binding:"required"`
	Links Links   `json:"links" binding:"required"`
} // @name SkillPage

func (t Tier) read(p *domain.Problems, at string) streak.Tier {
	return streak.Tier{Run: t.Run, Radius: length(p, at+"/radius_m", t.RadiusM), Holed: t.Holed}
}

func (l Ladder) read(p *domain.Problems, at string) streak.Ladder {
	out := streak.Ladder{TestOnly: l.TestOnly}
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
	return Ladder{Tiers: each(l.Tiers, encodeTier), TestOnly: l.TestOnly}
}

func encodeSkill(s curriculum.Skill) Skill {
	return Skill{
		ID: s.ID, Name: s.Name, Kind: string(s.Kind), Text: s.Text, Ladder: encodeLadder(s.Ladder),
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
func readSkill(c echo.Context) (curriculum.Skill, error) {
	var r SkillRequest
	if err := decode(c, &r); err != nil {
		return curriculum.Skill{}, err
	}
	var p domain.Problems
	skill := curriculum.Skill{Name: r.Name, Kind: curriculum.SkillKind(r.Kind), Text: r.Text, Ladder: r.Ladder.read(&p, "/ladder")}
	return skill, p.Err("skill_invalid", "The skill cannot be kept as it is.")
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
//	@Failure	400,401,403,413,415,422,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/skills [post]
func (s *Server) createSkill(c echo.Context) error {
	skill, err := readSkill(c)
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
//	@Param		limit		query		int		false	"How many at most"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor		query		string	false	"Where to go on, from links.next"
//	@Success	200			{object}	SkillPage
//	@Success	304			"Not modified"
//	@Failure	400,401,403,429,500	{object}	Problem
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
//	@Param		If-None-Match	header		string	false	"The entity tag you have"
//	@Success	200				{object}	Skill
//	@Success	304				"Not modified"
//	@Failure	401,403,404,429,500	{object}	Problem
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
//	@Description	Versions already published keep the skill as it was.
//	@ID				updateSkill
//	@Tags			Skills
//	@Accept			json
//	@Produce		json
//	@Param			skill_id	path		string			true	"The skill"	format(uuid)
//	@Param			If-Match	header		string			false	"The entity tag that the change is made to"
//	@Param			skill		body		SkillRequest	true	"The skill"
//	@Success		200			{object}	Skill
//	@Failure		400,401,403,404,412,413,415,422,429,500	{object}	Problem
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
	skill, err := readSkill(c)
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
//	@Failure	401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/skills/{skill_id}/archive [post]
func (s *Server) archiveSkill(c echo.Context) error { return s.setSkillArchived(c, true) }

// restoreSkill brings an archived skill back.
//
//	@Summary	Bring an archived skill back
//	@ID			restoreSkill
//	@Tags		Skills
//	@Produce	json
//	@Param		skill_id	path		string	true	"The skill"	format(uuid)
//	@Success	200			{object}	Skill
//	@Failure	401,403,404,429,500	{object}	Problem
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
