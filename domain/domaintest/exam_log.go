package domaintest

import (
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// retention: the log is read from its end, and forgets its beginning.
func (e *exam) retention() {
	for i := range 4 {
		write(e, e.s.Groups, func(tx academy.GroupStore) error {
			return tx.Record(e.ctx, domain.Event{At: examNow.Add(time.Duration(i) * time.Hour), Kind: "ball.struck", Subject: e.Student})
		})
	}
	span := func() academy.Span {
		return get(e, e.s.Events, func(tx academy.EventStore) (academy.Span, error) { return tx.EventSpan(e.ctx) })
	}
	all := get(e, e.s.Changes, func(tx academy.ChangeStore) ([]domain.Event, error) { return tx.Events(e.ctx, 0, 1000) })
	last := all[len(all)-1].Seq
	e.same("span", span(), academy.Span{First: 1, Last: last})
	numbers := func(before int64, limit int) (seqs []int64) {
		found := get(e, e.s.Events, func(tx academy.EventStore) ([]domain.Event, error) { return tx.EventsBefore(e.ctx, before, limit) })
		for _, x := range found {
			seqs = append(seqs, x.Seq)
		}
		return seqs
	}
	e.same("the end", numbers(0, 3), []int64{last, last - 1, last - 2})
	e.same("before it", numbers(last-2, 1), []int64{last - 3})
	e.same("before the first", numbers(1, 9), []int64(nil))
	drop := func(before time.Time, limit int) (n int) {
		write(e, e.s.Retention, func(tx academy.RetentionStore) (err error) {
			n, err = tx.DropEvents(e.ctx, before, limit)
			return err
		})
		return n
	}
	e.same("none is so old", drop(examNow.AddDate(-20, 0, 0), 9), 0)
	e.same("at most", drop(examNow.AddDate(20, 0, 0), 2), 2)
	e.same("span then", span(), academy.Span{First: 3, Last: last})
	// The last three are an hour apart; what is exactly so old stays.
	e.same("up to an instant", drop(examNow.Add(2*time.Hour), 1000), int(last)-4)
	e.same("what stays", numbers(0, 9), []int64{last, last - 1})
	e.same("all but the latest", drop(examNow.AddDate(20, 0, 0), 1000), 1)
	e.same("and that for good", drop(examNow.AddDate(20, 0, 0), 1000), 0)
	write(e, e.s.Groups, func(tx academy.GroupStore) error {
		return tx.Record(e.ctx, domain.Event{At: examNow, Kind: "ball.struck", Subject: e.Student})
	})
	e.same("numbers go on", span(), academy.Span{First: last, Last: last + 1})
}
