package domaintest

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// bag is one of a left-hander, with a loft between two degrees.
func (f *Fixture) bag() greenside.Bag {
	return greenside.Bag{Hand: greenside.LeftHanded, Clubs: []greenside.Club{{Name: "My 57 ⛳", LoftDeg: 57.5}, {Name: "9 iron", LoftDeg: 41}}}
}

// said is what a session says of the green, with so many landings.
func said(s practice.Session, landings int) practice.Session {
	s.Green = greenside.Green{StimpFt: 9.25, SlopeDeg: -1.5}
	s.Landings = nil
	for i := range landings {
		s.Landings = append(s.Landings, practice.Landing{
			Club: "My 57 ⛳", LoftDeg: 57.5, Lie: greenside.Rough,
			Carry: 6*domain.Metre + domain.Length(i), Total: 11 * domain.Metre, Aim: 6 * domain.Metre,
		})
	}
	return s
}

// bags: one for each student, as it was set last.
func (e *exam) bags() {
	bag := func(student domain.ID) greenside.Bag {
		return get(e, e.s.Bags, func(tx academy.BagStore) (greenside.Bag, error) { return tx.Bag(e.ctx, student) })
	}
	save := func(b greenside.Bag) {
		write(e, e.s.Bags, func(tx academy.BagStore) error { return tx.SaveBag(e.ctx, e.Spare, b) })
	}
	e.same("the bag", bag(e.Student), e.bag())
	e.same("no bag", bag(e.Spare), greenside.Bag{})
	save(e.bag())
	bare := greenside.Bag{Hand: greenside.RightHanded}
	save(bare)
	e.same("the last bag", bag(e.Spare), bare)
	e.same("another's", bag(e.Student), e.bag())
	refuse(e, "a bag of nobody", e.s.Bags, domain.NotFound, func(tx academy.BagStore) error { return tx.SaveBag(e.ctx, examID(), bare) })
}

// landed: of sessions on a green that stand and say where balls landed, the latest sessions first.
func (e *exam) landed() {
	landed := func(sessions int) []greenside.Landed {
		return get(e, e.s.Bags, func(tx academy.BagStore) ([]greenside.Landed, error) { return tx.Landed(e.ctx, e.Spare, sessions) })
	}
	put := func(day, landings int) practice.Session {
		s := said(practice.Session{ID: examID(), Student: e.Spare, TimeZone: "Europe/Oslo", StartedAt: examStart.AddDate(0, 0, -day), Revision: 1}, landings)
		e.Put(e.T, s)
		return s
	}
	e.same("nothing", len(landed(9)), 0)
	first, latest := put(3, 2), put(1, 3)
	e.Put(e.T, practice.Session{ID: examID(), Student: e.Spare, TimeZone: "Europe/Oslo", StartedAt: examStart, Revision: 1})
	mat := said(practice.Session{ID: examID(), Student: e.Spare, TimeZone: "Europe/Oslo", StartedAt: examStart.Add(time.Hour), Surface: curriculum.OnMat, Revision: 1}, 2)
	mat.Blocks = []practice.Block{
		{Kind: curriculum.Playout, Skill: e.Chip, Radius: domain.Metre, Seconds: 300, Balls: []practice.Ball{{Outcome: streak.Holed, Strokes: 1}, {Strokes: 3}, {}}},
		{Kind: curriculum.Test, Skill: e.Chip, Radius: domain.Metre, Purpose: curriculum.EndTest, Attested: &progress.Attested{Balls: 20, Inside: 9}},
	}
	e.Put(e.T, mat)
	kept := get(e, e.s.Sessions, func(tx practice.ReadStore) (practice.Session, error) { return tx.Session(e.ctx, mat.ID) })
	e.same("the mat", kept.Surface, curriculum.OnMat)
	e.same("what was played out", kept.Blocks[0].Balls, mat.Blocks[0].Balls)
	e.same("the test", kept.Blocks[1].Purpose, curriculum.EndTest)
	if err := e.practice().Delete(e.ctx, e.Actor(), put(2, 4).ID, e.Spare, 2); err != nil {
		e.Fatal(err)
	}
	e.same("all", landed(9), slices.Concat(latest.Landed(), first.Landed()))
	e.same("the latest", landed(1), latest.Landed())
	edited := said(latest, 1)
	edited.Revision, edited.EndedAt = 2, latest.StartedAt.Add(time.Hour)
	e.Put(e.T, edited)
	e.same("after an edit", landed(1), edited.Landed())
	e.same("the session", get(e, e.s.Sessions, func(tx practice.ReadStore) (practice.Session, error) { return tx.Session(e.ctx, latest.ID) }).Landings, edited.Landings)
}

// baggingCalls are those of reading students' own clubs.
func baggingCalls[S academy.Bagging](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{
		call(of, "Bag", func(ctx context.Context, tx S, f *Fixture) (bool, error) { return some(tx.Bag(ctx, f.Student)) }),
		call(of, "Landed", func(ctx context.Context, tx S, f *Fixture) (bool, error) { return some(tx.Landed(ctx, f.Student, 9)) }),
	}
}

func bagCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.BagStore] { return s.Bags }
	return slices.Concat(logCalls(of), viewingCalls(of), baggingCalls(of), []Call{
		call(of, "SaveBag", func(ctx context.Context, tx academy.BagStore, f *Fixture) (bool, error) {
			return changed(tx.SaveBag(ctx, f.Student, f.bag()))
		}),
	})
}
