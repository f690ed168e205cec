package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

type stageRow struct {
	SkillID      domain.ID
	Held         int
	RecentJudged int
	RecentInside int
}

// StageCounts implements academy.ReadStore. The order is fixed, so that what is
// learned from it is.
func (a *Academy) StageCounts(ctx context.Context, skills []domain.ID) ([]progress.StageCount, error) {
	var rows []stageRow
	err := a.rows(ctx).Table("states").Select("skill_id, held, recent_judged, recent_inside").
		Where(a.within("skill_id", texts(skills))).Where("recent_judged > 0").
		Order("skill_id, held, recent_judged, recent_inside").Find(&rows).Error
	return each(rows, func(r stageRow) progress.StageCount {
		return progress.StageCount{Skill: r.SkillID, Held: r.Held, Counts: estimate.Counts{Balls: r.RecentJudged, Inside: r.RecentInside}}
	}), fail(err, "skill")
}
