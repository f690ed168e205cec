package domaintest

import (
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// examMatch is the match that the fixture's session was played in.
const examMatch = "58000000-2000-8000-8000-6d6174636873"

// matches: the sessions of a match that stand, with their balls, in order of start; and
// a student's matches, each once, latest first.
func (e *exam) matches() {
	first, second := e.Join(e, domain.Student), e.Join(e, domain.Student)
	one := curriculum.Match{Kind: curriculum.Pitch, Balls: 6, Seed: 1}.ID()
	two := curriculum.Match{Kind: curriculum.Pitch, Balls: 6, Seed: 2}.ID()
	played := func(student, match domain.ID, day int) practice.Session {
		s := practice.Session{
			ID: examID(), Student: student, TimeZone: "Europe/Oslo", StartedAt: examStart.AddDate(0, 0, day), Revision: 1, Match: match,
			Blocks: []practice.Block{{Kind: curriculum.Random, Skill: e.Chip, Radius: domain.Metre, Balls: []practice.Ball{{Outcome: streak.In}, {Outcome: streak.Out}}}},
		}
		e.save(bare(s))
		return s
	}
	late, early := played(first, one, 5), played(second, one, 1)
	played(first, two, 2)
	played(first, two, 7)
	played(first, "", 8)
	gone := played(second, two, 3)
	gone.Revision, gone.Blocks, gone.DeletedAt = 2, nil, examNow
	e.save(bare(gone))
	of := func(match domain.ID, limit int) []practice.Session {
		return get(e, e.s.Matches, func(tx practice.MatchStore) ([]practice.Session, error) { return tx.MatchSessions(e.ctx, match, limit) })
	}
	id := func(s practice.Session) domain.ID { return s.ID }
	e.same("in order of start", idsOf(of(one, 9), id), []domain.ID{early.ID, late.ID})
	e.same("balls", of(one, 1)[0].Blocks[0].Balls, early.Blocks[0].Balls)
	e.same("without what was deleted", len(of(two, 9)), 2)
	e.same("of no match", of(examID(), 9), []practice.Session{})
	list := func(student domain.ID, limit int) []domain.ID {
		return get(e, e.s.Matches, func(tx practice.MatchStore) ([]domain.ID, error) { return tx.Matches(e.ctx, student, limit) })
	}
	e.same("each once, latest first", list(first, 9), []domain.ID{two, one})
	e.same("the latest", list(first, 1), []domain.ID{two})
	e.same("of the other", list(second, 9), []domain.ID{one})
	e.same("of nobody", list(examID(), 9), []domain.ID{})
}

func matchCalls() []Call {
	of := func(s Stores) domain.Transactor[practice.MatchStore] { return s.Matches }
	return slices.Concat(viewingCalls(of), skillCalls(of), gatheringCalls(of), []Call{
		call(of, "MatchSessions", func(ctx context.Context, tx practice.MatchStore, f *Fixture) (bool, error) {
			return some(tx.MatchSessions(ctx, examMatch, 9))
		}),
		call(of, "Matches", func(ctx context.Context, tx practice.MatchStore, f *Fixture) (bool, error) {
			return some(tx.Matches(ctx, f.Student, 9))
		}),
	})
}
