package repo

import (
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

type stateRow struct {
	AcademyID        domain.ID
	StudentID        domain.ID
	SkillID          domain.ID
	Ladder           string
	Held             int
	Totals           tally `gorm:"embedded"`
	LastAt           *int64
	BestRun          int
	BestHoled        int
	Near             nearColumns `gorm:"embedded;embeddedPrefix:near_"`
	RecentSessions   int
	RecentJudged     int
	RecentInside     int
	RecentUnmeasured int
	LastMilestoneAt  *int64
	Assessment       string
}

// TableName names the table.
func (stateRow) TableName() string { return "states" }

func (r stateRow) state() (progress.State, error) {
	s := progress.State{
		Student: r.StudentID, Skill: r.SkillID, Held: r.Held, Totals: progress.Tally(r.Totals), LastAt: maybeInstant(r.LastAt),
		Best: streak.Run{Length: r.BestRun, Holed: r.BestHoled}, Near: streak.Near(r.Near),
		Recent: progress.RecentCounts{
			Sessions: r.RecentSessions, Judged: r.RecentJudged, Inside: r.RecentInside, Unmeasured: r.RecentUnmeasured,
		},
		LastMilestoneAt: maybeInstant(r.LastMilestoneAt),
	}
	ladder, err := decode[ladderDoc](r.Ladder)
	if err != nil {
		return s, err
	}
	assessment, err := decode[assessmentDoc](r.Assessment)
	s.Ladder, s.Assessment = ladder.ladder(), assessment.assessment()
	return s, err
}

func (a *Academy) stateRow(s progress.State) stateRow {
	return stateRow{
		AcademyID: a.id, StudentID: s.Student, SkillID: s.Skill, Ladder: encode(ladderToDoc(s.Ladder)), Held: s.Held,
		Totals: tally(s.Totals), LastAt: maybeAt(s.LastAt), BestRun: s.Best.Length, BestHoled: s.Best.Holed, Near: nearColumns(s.Near),
		RecentSessions: s.Recent.Sessions, RecentJudged: s.Recent.Judged, RecentInside: s.Recent.Inside, RecentUnmeasured: s.Recent.Unmeasured,
		LastMilestoneAt: maybeAt(s.LastMilestoneAt), Assessment: encode(assessmentToDoc(s.Assessment)),
	}
}

// Totals implements progress.Keeper. When writing it locks the student.
func (a *Academy) Totals(ctx context.Context, student, skill domain.ID) (progress.Tally, error) {
	if err := a.lockStudent(ctx, student); err != nil {
		return progress.Tally{}, err
	}
	var rows []tally
	err := a.forSkill(ctx, student, skill).Model(&stateRow{}).Select(tallyColumns).Limit(1).Find(&rows).Error
	if err != nil || len(rows) == 0 {
		return progress.Tally{}, fail(err, "student")
	}
	return progress.Tally(rows[0]), nil
}

// ForgetState implements progress.Keeper.
func (a *Academy) ForgetState(ctx context.Context, student, skill domain.ID) error {
	return fail(a.forSkill(ctx, student, skill).Delete(&stateRow{}).Error, "student")
}

// SaveState implements progress.Keeper.
func (a *Academy) SaveState(ctx context.Context, s progress.State) error {
	row := a.stateRow(s)
	return a.upsert(ctx, &row, "student or skill", "academy_id", "student_id", "skill_id")
}

type milestoneRow struct {
	AcademyID domain.ID
	StudentID domain.ID
	SkillID   domain.ID
	Tier      tierColumns `gorm:"embedded;embeddedPrefix:tier_"`
	SessionID domain.ID
	Block     int
	Ball      int
	At        int64
}

// TableName names the table.
func (milestoneRow) TableName() string { return "milestones" }

// inOrderMade is how milestones are listed: by the ball, and by tier where one
// ball completed several.
const inOrderMade = "at, session_id, block, ball, student_id, skill_id, tier_run, tier_radius DESC, tier_holed"

func (r milestoneRow) milestone() progress.Milestone {
	return progress.Milestone{
		Student: r.StudentID, Skill: r.SkillID, Tier: r.Tier.tier(),
		Hit: progress.Hit{Session: r.SessionID, Block: r.Block, Ball: r.Ball, At: instant(r.At)},
	}
}

func (a *Academy) milestoneRow(m progress.Milestone) milestoneRow {
	return milestoneRow{
		AcademyID: a.id, StudentID: m.Student, SkillID: m.Skill, Tier: tierColumns(m.Tier),
		SessionID: m.Session, Block: m.Block, Ball: m.Ball, At: at(m.At),
	}
}

// ReplaceMilestones implements progress.Keeper. Most sessions change none, so
// it looks first.
func (a *Academy) ReplaceMilestones(ctx context.Context, student, skill domain.ID, ms []progress.Milestone) error {
	var old []milestoneRow
	if err := a.forSkill(ctx, student, skill).Find(&old).Error; err != nil {
		return fail(err, "student")
	}
	wanted := each(ms, a.milestoneRow)
	byTier := func(x, y milestoneRow) int { return progress.CompareTiers(x.Tier.tier(), y.Tier.tier()) }
	slices.SortFunc(old, byTier)
	slices.SortFunc(wanted, byTier)
	if slices.Equal(old, wanted) {
		return nil
	}
	if len(old) > 0 {
		if err := a.forSkill(ctx, student, skill).Delete(&milestoneRow{}).Error; err != nil {
			return err
		}
	}
	return a.insert(ctx, wanted, len(wanted), "session")
}

// MilestonesOf implements practice.Store, in order of when they were made.
func (a *Academy) MilestonesOf(ctx context.Context, session domain.ID) ([]progress.Milestone, error) {
	var rows []milestoneRow
	if err := a.rows(ctx).Where("session_id = ?", session).Order(inOrderMade).Find(&rows).Error; err != nil {
		return nil, fail(err, "session")
	}
	return each(rows, milestoneRow.milestone), nil
}
