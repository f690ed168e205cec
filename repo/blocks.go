package repo

import (
	"context"
	"fmt"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

type blockRow struct {
	AcademyID      domain.ID
	SessionID      domain.ID
	Position       int
	PlanBlock      int
	Kind           curriculum.BlockKind
	SkillID        domain.ID
	Radius         domain.Length
	Seconds        int
	Planned        int
	Balls          int
	Inside         int
	Holed          int
	AttestedBalls  *int
	AttestedInside *int
	AttestedHoled  *int
	AttestedBest   *int
	Packed         []byte
}

// TableName names the table.
func (blockRow) TableName() string { return "session_blocks" }

func (s *scope) blockRow(session domain.ID, position int, b practice.Block) blockRow {
	r := blockRow{
		AcademyID: s.id, SessionID: session, Position: position, PlanBlock: b.PlanBlock, Kind: b.Kind, SkillID: b.Skill,
		Radius: b.Radius, Seconds: b.Seconds, Planned: b.Planned, Packed: pack(b.Balls),
	}
	counts := practice.CountBalls(b.Balls)
	r.Balls, r.Inside, r.Holed = counts.Balls, counts.Inside, counts.Holed
	if t := b.Attested; t != nil {
		r.AttestedBalls, r.AttestedInside, r.AttestedHoled, r.AttestedBest = &t.Balls, &t.Inside, &t.Holed, &t.BestRun
	}
	return r
}

// block reads a block; without its balls when they were not asked for.
func (r blockRow) block() (practice.Block, error) {
	b := practice.Block{
		PlanBlock: r.PlanBlock, Kind: r.Kind, Skill: r.SkillID, Radius: r.Radius, Seconds: r.Seconds, Planned: r.Planned,
		Counts: practice.BlockCounts{Balls: r.Balls, Inside: r.Inside, Holed: r.Holed},
	}
	if r.AttestedBalls != nil {
		b.Attested = &progress.Attested{Balls: *r.AttestedBalls, Inside: *r.AttestedInside, Holed: *r.AttestedHoled, BestRun: *r.AttestedBest}
	}
	if r.Packed == nil {
		return b, nil
	}
	var err error
	if b.Balls, err = unpack(r.Packed); err == nil && practice.CountBalls(b.Balls) != b.Counts {
		err = errPacked
	}
	if err != nil {
		return b, fmt.Errorf("session %s, block %d: %w", r.SessionID, r.Position, err)
	}
	return b, nil
}

// withBlocks gives sessions with their blocks, in the order of the rows; balls
// says whether the blocks come with their balls.
func (s *scope) withBlocks(ctx context.Context, rows []sessionRow, balls bool) ([]practice.Session, error) {
	if len(rows) == 0 {
		return nil, nil
	}
	ids := make([]string, len(rows))
	for i, r := range rows {
		ids[i] = string(r.ID)
	}
	q := s.rows(ctx).Where(s.within("session_id", ids)).Order("session_id, position")
	if !balls {
		q = q.Omit("packed")
	}
	var blocks []blockRow
	if err := q.Find(&blocks).Error; err != nil {
		return nil, fail(err, "session")
	}
	of := map[domain.ID][]practice.Block{}
	for _, r := range blocks {
		b, err := r.block()
		if err != nil {
			return nil, err
		}
		of[r.SessionID] = append(of[r.SessionID], b)
	}
	return tryEach(rows, func(r sessionRow) (practice.Session, error) {
		session, err := r.session()
		session.Blocks = of[session.ID]
		return session, err
	})
}
