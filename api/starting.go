package api

import (
	"github.com/labstack/echo/v4"

	"fringework/domain/curriculum"
)

// StartingPoint is a skill to begin with, and an hour in four parts that trains
// it. It is invented, to be taken and changed; it is not a recommendation.
type StartingPoint struct {
	// Key is the stable name of the starting point.
	Key string `json:"key" binding:"required" example:"low_chips"`
	// Skill can be sent as it is to create the skill.
	Skill SkillRequest `json:"skill" binding:"required"`
	// Plan can be a plan of a week that trains the skill.
	Plan Plan `json:"plan" binding:"required"`
} // @name StartingPoint

// StartingPoints is every starting point, the simplest first.
type StartingPoints struct {
	Items []StartingPoint `json:"items" binding:"required"`
} // @name StartingPoints

func encodeStartingPoint(p curriculum.StartingPoint) StartingPoint {
	return StartingPoint{Key: p.Key, Plan: encodePlan(p.Plan), Skill: SkillRequest{
		Name: p.Skill.Name, Kind: string(p.Skill.Kind), Text: p.Skill.Text, Ladder: encodeLadder(p.Skill.Ladder), Drills: each(p.Skill.Drills, encodeSkillDrill),
	}}
}

// listStartingPoints lists skills to begin with.
//
//	@Summary		List starting points
//	@Description	Skills of our own invention, each with a ladder, drills and an hour in four parts, for an academy to take and change.
//	@ID				listStartingPoints
//	@Tags			Skills
//	@Produce		json
//	@Success		200	{object}	StartingPoints
//	@Success		304	"Not modified"
//	@Failure		401,403,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/starting-points [get]
func (s *Server) listStartingPoints(c echo.Context) error {
	return ok(c, 0, StartingPoints{Items: each(curriculum.StartingPoints(), encodeStartingPoint)})
}
