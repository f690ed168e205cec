package repo

import (
	"context"
	"slices"
	"strings"

	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// tierColumns are the columns of a tier.
type tierColumns struct {
	Run    int
	Radius domain.Length
	Holed  int
}

func (t tierColumns) tier() streak.Tier { return streak.Tier(t) }

// nearColumns are the columns of a streak.Near.
type nearColumns struct {
	Runs   int
	Length int
	Times  int
	Holed  int
}

type readingRow struct {
	AcademyID     domain.ID
	SessionID     domain.ID
	SkillID       domain.ID
	Tier          tierColumns `gorm:"embedded;embeddedPrefix:tier_"`
	StudentID     domain.ID
	StartedAt     int64
	Day           string
	SaidAt        *int64
	Judged        int
	Inside        int
	Holed         int
	Unmeasured    int
	BestRun       int
	BestHoled     int
	Near          nearColumns `gorm:"embedded;embeddedPrefix:near_"`
	Chances       int
	AttainedBlock *int
	AttainedBall  *int
	AttainedAt    *int64
}

// TableName names the table.
func (readingRow) TableName() string { return "readings" }

func (r readingRow) reading() (progress.TierResult, error) {
	day, err := date(r.Day)
	return progress.TierResult{
		Session: r.SessionID, StartedAt: instant(r.StartedAt), Day: day, Tier: r.Tier.tier(),
		Judged: r.Judged, Inside: r.Inside, Holed: r.Holed, Unmeasured: r.Unmeasured,
		Best: streak.Run{Length: r.BestRun, Holed: r.BestHoled}, Near: streak.Near(r.Near), Chances: r.Chances, Attained: r.hit(),
	}, err
}

// hit is nil when the session did not complete the tier.
func (r readingRow) hit() *progress.Hit {
	if r.AttainedAt == nil {
		return nil
	}
	return &progress.Hit{Session: r.SessionID, Block: *r.AttainedBlock, Ball: *r.AttainedBall, At: instant(*r.AttainedAt)}
}

func (a *Academy) readingRows(student domain.ID, d progress.SessionSummary) []readingRow {
	return each(d.Results, func(r progress.TierResult) readingRow {
		row := readingRow{
			AcademyID: a.id, SessionID: d.Session, SkillID: d.Skill, Tier: tierColumns(r.Tier), StudentID: student,
			StartedAt: at(r.StartedAt), Day: r.Day.String(),
			Judged: r.Judged, Inside: r.Inside, Holed: r.Holed, Unmeasured: r.Unmeasured,
			BestRun: r.Best.Length, BestHoled: r.Best.Holed, Near: nearColumns(r.Near), Chances: r.Chances,
		}
		if r.Judged+r.Unmeasured > 0 {
			row.SaidAt = maybeAt(r.StartedAt)
		}
		if h := r.Attained; h != nil {
			row.AttainedBlock, row.AttainedBall, row.AttainedAt = &h.Block, &h.Ball, maybeAt(h.At)
		}
		return row
	})
}

// perInsert bounds the rows of one statement, each of some two dozen values,
// below what either engine takes.
const perInsert = 500

func (a *Academy) insertReadings(ctx context.Context, rows []readingRow) error {
	for part := range slices.Chunk(rows, perInsert) {
		if err := a.insert(ctx, part, len(part), "digest"); err != nil {
			return err
		}
	}
	return nil
}

const ofTier = "tier_run = ? AND tier_radius = ? AND tier_holed = ?"

func (a *Academy) forTier(ctx context.Context, student, skill domain.ID, t streak.Tier) *gorm.DB {
	return a.forSkill(ctx, student, skill).Where(ofTier, t.Run, t.Radius, t.Holed)
}

// perUnion bounds the parts of one statement below what SQLite takes.
const perUnion = 100

// FirstHits implements progress.Keeper, in the order of the tiers. Each tier is
// one look at the head of an index, all in one statement.
func (a *Academy) FirstHits(ctx context.Context, student, skill domain.ID, tiers []streak.Tier) ([]progress.Milestone, error) {
	first := map[streak.Tier]readingRow{}
	for part := range slices.Chunk(tiers, perUnion) {
		var queries []string
		var vars []any
		for _, t := range part {
			queries = append(queries, "SELECT * FROM (SELECT session_id, tier_run, tier_radius, tier_holed, attained_block, attained_ball, attained_at"+
				" FROM readings WHERE academy_id = ? AND student_id = ? AND skill_id = ? AND "+ofTier+
				" AND attained_at IS NOT NULL ORDER BY attained_at, session_id LIMIT 1) AS hit")
			vars = append(vars, a.id, student, skill, t.Run, t.Radius, t.Holed)
		}
		var rows []readingRow
		if err := on(ctx, a.tx).Raw(strings.Join(queries, " UNION ALL "), vars...).Scan(&rows).Error; err != nil {
			return nil, fail(err, "student")
		}
		for _, r := range rows {
			first[r.Tier.tier()] = r
		}
	}
	var made []progress.Milestone
	for _, t := range tiers {
		if r, ok := first[t]; ok {
			made = append(made, progress.Milestone{Student: student, Skill: skill, Tier: t, Hit: *r.hit()})
		}
	}
	return made, nil
}

// RecentReadings implements progress.Keeper.
func (a *Academy) RecentReadings(ctx context.Context, student, skill domain.ID, tier streak.Tier, limit int) ([]progress.TierResult, error) {
	var rows []readingRow
	err := a.forTier(ctx, student, skill, tier).Where("said_at IS NOT NULL").
		Order("said_at DESC, session_id DESC").Limit(limit).Find(&rows).Error
	if err != nil {
		return nil, fail(err, "student")
	}
	slices.Reverse(rows)
	return tryEach(rows, readingRow.reading)
}

// BestRun implements progress.Keeper.
func (a *Academy) BestRun(ctx context.Context, student, skill domain.ID, tier streak.Tier) (streak.Run, error) {
	var best []readingRow
	err := a.forTier(ctx, student, skill, tier).Select("best_run", "best_holed").
		Order("best_run DESC, best_holed DESC").Limit(1).Find(&best).Error
	if err != nil || len(best) == 0 {
		return streak.Run{}, fail(err, "student")
	}
	return streak.Run{Length: best[0].BestRun, Holed: best[0].BestHoled}, nil
}

// ReadingsOf implements practice.Store; readings are in the order of a track.
func (a *Academy) ReadingsOf(ctx context.Context, session domain.ID) (map[domain.ID][]progress.TierResult, error) {
	var rows []readingRow
	if err := a.rows(ctx).Where("session_id = ?", session).Find(&rows).Error; err != nil {
		return nil, fail(err, "session")
	}
	slices.SortFunc(rows, byTier)
	of := map[domain.ID][]progress.TierResult{}
	for _, row := range rows {
		r, err := row.reading()
		if err != nil {
			return nil, err
		}
		of[row.SkillID] = append(of[row.SkillID], r)
	}
	return of, nil
}

func blockKind(kind string) curriculum.BlockKind { return curriculum.BlockKind(kind) }
