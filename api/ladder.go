package api

import (
	"fmt"
	"net/http"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/streak"
)

// LadderPreviewRequest is a ladder to look at; it need not be the skill's own yet.
type LadderPreviewRequest struct {
	Tiers []Tier `json:"tiers" validate:"required" minItems:"1" maxItems:"12"`
	// Balls is how many balls of a session count for it, in one block.
	Balls int `json:"balls" validate:"required" minimum:"1" maximum:"500" example:"30"`
} // @name LadderPreviewRequest

// LadderPreview is what the students' present rates say of a ladder.
type LadderPreview struct {
	// Students is how many you see.
	Students int `json:"students" binding:"required" example:"12"`
	// Sessions is within how many sessions a tier is looked at.
	Sessions int            `json:"sessions" binding:"required" example:"4"`
	Tiers    []TierProspect `json:"tiers" binding:"required"`
} // @name LadderPreview

// TierProspect is how students stand to one tier. Passed, Known and Unknown add up
// to all students.
type TierProspect struct {
	Tier Tier `json:"tier" binding:"required"`
	// Passed is how many have passed it, or a harder one.
	Passed int `json:"passed" binding:"required" example:"2"`
	// Known is how many of the others have struck enough balls to tell, Unknown how
	// many have not.
	Known   int `json:"known" binding:"required" example:"7"`
	Unknown int `json:"unknown" binding:"required" example:"3"`
	// Expected is how many of Known may be expected to pass it within the sessions:
	// the sum of their chances, what is not known of their rates averaged over.
	Expected float64 `json:"expected" binding:"required" example:"3.2"`
} // @name TierProspect

// previewLadder says who would pass the steps of a ladder.
//
//	@Summary		Who would pass the steps of a ladder
//	@Description	Works out from the present rates of the students you see, each judged at the tier's own radius, how many would pass each tier within four sessions. For what a tier takes at given rates, see the calculation ladder.
//	@ID				previewLadder
//	@Tags			Skills
//	@Accept			json
//	@Produce		json
//	@Param			skill_id	path		string					true	"The skill"	format(uuid)
//	@Param			ladder		body		LadderPreviewRequest	true	"The ladder"
//	@Success		200			{object}	LadderPreview
//	@Failure		400,401,403,404,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/skills/{skill_id}/ladder/preview [post]
func (s *Server) previewLadder(c echo.Context) error {
	id, err := pathID(c, "skill_id")
	if err != nil {
		return err
	}
	var r LadderPreviewRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	var l streak.Ladder
	for i, t := range r.Tiers {
		l.Tiers = append(l.Tiers, t.read(&p, fmt.Sprintf("/tiers/%d", i)))
	}
	if err := p.Err("ladder_invalid", "The ladder was not looked at."); err != nil {
		return err
	}
	steps, err := s.Read.Prospects(c.Request().Context(), actor(c), id, l, r.Balls)
	if err != nil {
		return err
	}
	out := LadderPreview{Sessions: academy.ProspectSessions, Tiers: each(steps, encodeProspect)}
	out.Students = out.Tiers[0].Passed + out.Tiers[0].Known + out.Tiers[0].Unknown
	return writeJSON(c, http.StatusOK, out)
}

func encodeProspect(p academy.Prospect) TierProspect {
	return TierProspect{Tier: encodeTier(p.Tier), Passed: p.Passed, Known: p.Known, Unknown: p.Unknown, Expected: p.Expected}
}
