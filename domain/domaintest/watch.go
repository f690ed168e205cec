package domaintest

import (
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
)

// ToldReasons implements academy.WatchStore.
func (t *tx) ToldReasons(context.Context) ([]academy.ToldReason, error) {
	return slices.Clone(t.told), t.call()
}

// SaveToldReasons implements academy.WatchStore.
func (t *tx) SaveToldReasons(_ context.Context, all []academy.ToldReason) error {
	if err := t.change(); err != nil {
		return err
	}
	for _, r := range all {
		if err := t.known(r.Student); err != nil {
			return err
		}
	}
	t.told = slices.Clone(all)
	return nil
}

// Watching gives the service that tells of reasons.
func (m *Memory) Watching() academy.WatchService {
	return academy.WatchService{Store: opener[academy.WatchStore]{m}, Reading: opener[academy.ReadStore]{m}, Env: m.Env()}
}

// toldReasons: the reasons that the log has told of, as given and in order.
func (e *exam) toldReasons() {
	told := func() []academy.ToldReason {
		return get(e, e.s.Watching, func(tx academy.WatchStore) ([]academy.ToldReason, error) { return tx.ToldReasons(e.ctx) })
	}
	save := func(all ...academy.ToldReason) {
		write(e, e.s.Watching, func(tx academy.WatchStore) error { return tx.SaveToldReasons(e.ctx, all) })
	}
	all := []academy.ToldReason{{Student: e.Student, Reason: advice.Lapsed}, {Student: e.Student, Skill: e.Pitch, Reason: advice.Flat}, {Student: e.Spare, Reason: advice.Lapsed}}
	save(all...)
	e.same("as given", told(), all)
	save(all[1:]...)
	e.same("fewer", told(), all[1:])
	save()
	e.same("none", told(), []academy.ToldReason(nil))
	refuse(e, "of nobody", e.s.Watching, domain.NotFound, func(tx academy.WatchStore) error {
		return tx.SaveToldReasons(e.ctx, []academy.ToldReason{{Student: examID(), Reason: advice.Lapsed}})
	})
}

func watchCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.WatchStore] { return s.Watching }
	return slices.Concat(logCalls(of), []Call{
		call(of, "ToldReasons", func(ctx context.Context, tx academy.WatchStore, f *Fixture) (bool, error) {
			return some(tx.ToldReasons(ctx))
		}),
		call(of, "SaveToldReasons", func(ctx context.Context, tx academy.WatchStore, f *Fixture) (bool, error) {
			return changed(tx.SaveToldReasons(ctx, []academy.ToldReason{{Student: f.Student, Reason: advice.Lopsided}}))
		}),
	})
}
