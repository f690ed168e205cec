package domaintest

import (
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
)

// retention: the log is read from its end, and forgets its beginning.
func (e *exam) retention() {
	for i := range 4 {
		write(e, e.s.Groups, func(tx academy.GroupStore) error {
			return tx.Record(e.ctx, domain.Event{At: examNow.Add(time.Duration(i) * time.Hour), Kind: "ball.struck", Subject: e.Student})
		})
	}
	// span is the number of the oldest event that is kept, and that of the latest.
	span := func() [2]int64 {
		kept := get(e, e.s.Changes, func(tx academy.ChangeStore) ([]domain.Event, error) { return tx.Events(e.ctx, 0, 1) })
		last := get(e, e.s.Changes, func(tx academy.ChangeStore) (int64, error) { return tx.LastEvent(e.ctx) })
		return [2]int64{kept[0].Seq, last}
	}
	all := get(e, e.s.Changes, func(tx academy.ChangeStore) ([]domain.Event, error) { return tx.Events(e.ctx, 0, 1000) })
	last := all[len(all)-1].Seq
	e.same("span", span(), [2]int64{1, last})
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
	e.same("span then", span(), [2]int64{3, last})
	// The last three are an hour apart; what is exactly so old stays.
	e.same("up to an instant", drop(examNow.Add(2*time.Hour), 1000), int(last)-4)
	e.same("what stays", numbers(0, 9), []int64{last, last - 1})
	e.same("all but the latest", drop(examNow.AddDate(20, 0, 0), 1000), 1)
	e.same("and that for good", drop(examNow.AddDate(20, 0, 0), 1000), 0)
	write(e, e.s.Groups, func(tx academy.GroupStore) error {
		return tx.Record(e.ctx, domain.Event{At: examNow, Kind: "ball.struck", Subject: e.Student})
	})
	e.same("numbers go on", span(), [2]int64{last, last + 1})
}

// updatedSince: lists leave out what was not changed since an instant, as the log
// and the revisions tell it.
func (e *exam) updatedSince() {
	later := examNow.Add(time.Hour)
	ids := func(since time.Time) (lists [5][]domain.ID) {
		page := domain.Page{Limit: 100, UpdatedSince: since}
		lists[0] = idsOf(get(e, e.s.People, func(tx academy.Store) ([]academy.Member, error) {
			return tx.Members(e.ctx, academy.MemberFilter{}, page)
		}), func(m academy.Member) domain.ID { return m.ID })
		lists[1] = idsOf(get(e, e.s.Assignments, func(tx academy.AssignmentStore) ([]academy.Assignment, error) {
			return tx.Assignments(e.ctx, academy.AssignmentFilter{}, page)
		}), func(a academy.Assignment) domain.ID { return a.ID })
		lists[2] = idsOf(get(e, e.s.Curriculum, func(tx curriculum.Store) ([]curriculum.Programme, error) {
			return tx.Programmes(e.ctx, page, true)
		}), func(p curriculum.Programme) domain.ID { return p.ID })
		lists[3] = idsOf(get(e, e.s.Sessions, func(tx practice.ReadStore) ([]practice.Session, error) {
			return tx.Sessions(e.ctx, practice.SessionFilter{Student: e.Student, Limit: 100, UpdatedSince: since})
		}), func(s practice.Session) domain.ID { return s.ID })
		lists[4] = idsOf(get(e, e.s.Rounds, func(tx academy.RoundStore) ([]course.Round, error) {
			return tx.Rounds(e.ctx, academy.RoundFilter{Student: e.Student, Limit: 100, UpdatedSince: since})
		}), func(r course.Round) domain.ID { return r.ID })
		return lists
	}
	e.same("nothing yet", ids(later), [5][]domain.ID{})
	write(e, e.s.People, func(tx academy.Store) error {
		for kind, subject := range map[string]domain.ID{"consent.given": e.Student, "member.changed": e.Coach, "assignment.paused": e.Assignment} {
			if err := tx.Record(e.ctx, domain.Event{At: later, Kind: kind, Subject: subject}); err != nil {
				return err
			}
		}
		return nil
	})
	var p curriculum.Programme
	write(e, e.s.Curriculum, func(tx curriculum.Store) (err error) {
		if p, err = tx.Programme(e.ctx, e.Programme); err != nil {
			return err
		}
		p.UpdatedAt, p.Revision = later, p.Revision+1
		return tx.SaveProgramme(e.ctx, p)
	})
	changed := []domain.ID{e.Coach, e.Student}
	slices.Sort(changed)
	e.same("changed", ids(later), [5][]domain.ID{changed, {e.Assignment}, {e.Programme}})
	e.same("nothing since", ids(later.Add(time.Millisecond)), [5][]domain.ID{})
	all := ids(time.Time{})
	if len(all[0]) < 5 || len(all[3]) != 2 || len(all[4]) != 1 {
		e.Errorf("without an instant: %v", all)
	}
	received := get(e, e.s.Sessions, func(tx practice.ReadStore) (practice.Session, error) { return tx.Session(e.ctx, e.Session) }).ReceivedAt
	if got := ids(received); !slices.Contains(got[3], e.Session) || len(got[4]) != 1 {
		e.Errorf("since %v: %v, want the session and the round", received, got)
	}
}
