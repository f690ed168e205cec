package domaintest

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
)

// round is one of the fixture's student, the evening before, with an up and down, a
// chance that was missed, and one of which nothing is known.
func (f *Fixture) round(id domain.ID, revision int) course.Round {
	return course.Round{
		ID: id, Student: f.Student, PlayedAt: examStart.AddDate(0, 0, -1), TimeZone: "Europe/Oslo", Course: "Fairlight ⛳", Note: "Firm.",
		Shots: []course.Shot{
			{Hole: 2, Lie: course.Rough, Distance: 17 * domain.Metre, Left: 12_345, LeftLie: course.Green, Putts: 1},
			{Hole: 5, Lie: course.Sand, Distance: 9 * domain.Yard, Left: 6 * domain.Metre, LeftLie: course.Rough},
			{Hole: 5, Lie: course.Rough, Distance: 6 * domain.Metre, Left: domain.Metre, LeftLie: course.Green, Putts: 2},
			{Lie: course.Fairway, Distance: 22 * domain.Metre, Left: 3 * domain.Metre, LeftLie: course.Green},
		},
		Revision: revision, By: f.Student, ReceivedAt: examNow,
	}
}

// rounds: kept as given, listed latest first, counted, and never overtaken by an
// earlier revision.
func (e *exam) rounds() {
	save := func(r course.Round) {
		write(e, e.s.Rounds, func(tx academy.RoundStore) error { return tx.SaveRound(e.ctx, r) })
	}
	list := func(f academy.RoundFilter) []course.Round {
		f.Student, f.Limit = e.Student, max(f.Limit, 2)
		return get(e, e.s.Rounds, func(tx academy.RoundStore) ([]course.Round, error) { return tx.Rounds(e.ctx, f) })
	}
	tally := func() course.Tally {
		return get(e, e.s.Reading, func(tx academy.ReadStore) (academy.Stored, error) {
			return tx.Stored(e.ctx, []domain.ID{e.Student, e.Spare})
		}).Course[e.Student]
	}
	first := e.round(e.Round, 1)
	later, same := e.round(examID(), 1), e.round(examID(), 1)
	later.PlayedAt, later.Shots = later.PlayedAt.Add(time.Hour), []course.Shot{{Hole: 18, Lie: course.Fairway, Distance: 8 * domain.Metre, Holed: true}}
	save(later)
	save(same)
	e.same("Round", get(e, e.s.Rounds, func(tx academy.RoundStore) (course.Round, error) { return tx.Round(e.ctx, e.Round) }), first)
	e.same("Rounds", list(academy.RoundFilter{}), []course.Round{later, same})
	e.same("a page", list(academy.RoundFilter{Before: same.PlayedAt, BeforeID: same.ID}), []course.Round{first})
	e.same("the tally", tally(), course.Tally{Rounds: 3, Chances: 5, Saved: 3})

	edited := first
	edited.Revision, edited.Shots, edited.Note, edited.By = 3, first.Shots[:1], "", e.Owner
	save(edited)
	e.same("the tally after an edit", tally(), course.Tally{Rounds: 3, Chances: 4, Saved: 3})
	for what, r := range map[string]course.Round{"an earlier revision": e.round(e.Round, 2), "the same revision": e.round(e.Round, 3)} {
		refuse(e, what, e.s.Rounds, domain.Stale, func(tx academy.RoundStore) error { return tx.SaveRound(e.ctx, r) })
	}
	anothers := edited
	anothers.Student, anothers.Revision = e.Spare, 9
	refuse(e, "another student's", e.s.Rounds, domain.Stale, func(tx academy.RoundStore) error { return tx.SaveRound(e.ctx, anothers) })
	nobodys := e.round(examID(), 1)
	nobodys.Student = examID()
	refuse(e, "of nobody", e.s.Rounds, domain.NotFound, func(tx academy.RoundStore) error { return tx.SaveRound(e.ctx, nobodys) })
	refuse(e, "an absent one", e.s.Rounds, domain.NotFound, func(tx academy.RoundStore) error { _, err := tx.Round(e.ctx, nobodys.ID); return err })

	for _, r := range []course.Round{edited, later, same} {
		r.Shots, r.Revision, r.DeletedAt = nil, r.Revision+1, examNow
		save(r)
		e.same("a deleted one", get(e, e.s.Rounds, func(tx academy.RoundStore) (course.Round, error) { return tx.Round(e.ctx, r.ID) }), r)
	}
	e.same("Rounds without any", len(list(academy.RoundFilter{})), 0)
	e.same("the tally without any", tally(), course.Tally{})

	early := course.Round{ID: examID(), Student: e.Student, Revision: 4, DeletedAt: examNow, By: e.Student, ReceivedAt: examNow}
	save(early) // a deletion that overtook its round
	e.same("a deletion alone", get(e, e.s.Rounds, func(tx academy.RoundStore) (course.Round, error) { return tx.Round(e.ctx, early.ID) }), early)

	for i := range academy.TallyRounds + 3 {
		r := e.round(examID(), 1)
		r.PlayedAt = r.PlayedAt.Add(time.Duration(i) * time.Minute)
		if i < 3 {
			r.Shots = slices.Repeat(r.Shots, 5)
		}
		save(r)
	}
	e.same("the tally of many", tally(), course.Tally{Rounds: academy.TallyRounds, Chances: 2 * academy.TallyRounds, Saved: academy.TallyRounds})
}

func roundCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.RoundStore] { return s.Rounds }
	return slices.Concat(logCalls(of), viewingCalls(of), []Call{
		call(of, "Round", func(ctx context.Context, tx academy.RoundStore, f *Fixture) (bool, error) {
			return some(tx.Round(ctx, f.Round))
		}),
		call(of, "Rounds", func(ctx context.Context, tx academy.RoundStore, f *Fixture) (bool, error) {
			return some(tx.Rounds(ctx, academy.RoundFilter{Student: f.Student, Limit: 9}))
		}),
		call(of, "SaveRound", func(ctx context.Context, tx academy.RoundStore, f *Fixture) (bool, error) {
			return changed(tx.SaveRound(ctx, f.round(f.Round, 2)))
		}),
	})
}
