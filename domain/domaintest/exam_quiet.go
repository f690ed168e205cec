package domaintest

import (
	"context"
	"errors"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// word is what a side said on a student's quiet tests some minutes after the rest.
func (f *Fixture) word(student domain.ID, side academy.QuietSide, agrees bool, minutes int) academy.QuietWord {
	return academy.QuietWord{Student: student, Side: side, Agrees: agrees, By: f.Coach, At: examNow.Add(time.Duration(minutes) * time.Minute)}
}

// quiet: all words on a student's tests, oldest first, two at one instant by side.
func (e *exam) quiet() {
	words := func(student domain.ID) []academy.QuietWord {
		return get(e, e.s.Quiet, func(tx academy.QuietStore) ([]academy.QuietWord, error) { return tx.QuietWords(e.ctx, student) })
	}
	e.same("the word", words(e.Student), []academy.QuietWord{e.word(e.Student, academy.QuietCoach, true, 0)})
	e.same("no word", len(words(e.Spare)), 0)
	said := []academy.QuietWord{
		e.word(e.Spare, academy.QuietStudent, true, 1), e.word(e.Spare, academy.QuietCoach, true, 2),
		e.word(e.Spare, academy.QuietGuardian, false, 2), e.word(e.Spare, academy.QuietCoach, false, 9),
	}
	write(e, e.s.Quiet, func(tx academy.QuietStore) error {
		var all []error
		for _, w := range slices.Backward(said) {
			all = append(all, tx.SaveQuietWord(e.ctx, w))
		}
		return errors.Join(all...)
	})
	e.same("in order", words(e.Spare), said)
	said[0].Agrees = false
	write(e, e.s.Quiet, func(tx academy.QuietStore) error { return tx.SaveQuietWord(e.ctx, said[0]) })
	e.same("at the same instant", words(e.Spare), said)
	refuse(e, "a word on nobody", e.s.Quiet, domain.NotFound, func(tx academy.QuietStore) error {
		return tx.SaveQuietWord(e.ctx, e.word(examID(), academy.QuietCoach, true, 0))
	})
}

// quietingCalls are those of reading what was said about quiet tests.
func quietingCalls[S academy.Quieting](of func(Stores) domain.Transactor[S]) []Call {
	return []Call{
		call(of, "QuietWords", func(ctx context.Context, tx S, f *Fixture) (bool, error) { return some(tx.QuietWords(ctx, f.Student)) }),
	}
}

func quietCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.QuietStore] { return s.Quiet }
	return slices.Concat(logCalls(of), viewingCalls(of), quietingCalls(of), []Call{
		call(of, "SaveQuietWord", func(ctx context.Context, tx academy.QuietStore, f *Fixture) (bool, error) {
			return changed(tx.SaveQuietWord(ctx, f.word(f.Student, academy.QuietCoach, true, 0)))
		}),
	})
}
