package practice_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// exported lists what an actor's export gives: students and their sessions.
func (h *fixture) exported(a domain.Actor, f practice.ExportFilter) (all []domain.ID, err error) {
	err = h.s.Export(ctx, a, f, func(m academy.Member, sessions []practice.Session) error {
		for _, s := range sessions {
			if s.Student != m.ID || s.Blocks[0].Counts.Balls != len(s.Blocks[0].Balls) {
				h.t.Errorf("session %s of %s given with %s and %d balls", s.ID, s.Student, m.ID, len(s.Blocks[0].Balls))
			}
			all = append(all, s.ID)
		}
		return nil
	})
	return all, err
}

// An export gives each session of the students whom the asker may see, once.
func TestExportGivesEverySessionOnce(t *testing.T) {
	h := open(t)
	var hers, his []domain.ID
	// More than one stretch, and some that began at one instant.
	for i := range 60 {
		s := session(h.mem.NewID(), 1, block(curriculum.Test, h.pitch, "io"))
		s.StartedAt = s.StartedAt.Add(-time.Duration(i/3) * time.Hour)
		s.EndedAt = s.StartedAt.Add(time.Hour)
		h.put(ada, s)
		hers = append(hers, s.ID)
	}
	b := session(h.mem.NewID(), 1, block(curriculum.Test, h.pitch, "iih"))
	h.put(ben, b)
	his = append(his, b.ID)
	deleted := session(h.mem.NewID(), 1, block(curriculum.Test, h.pitch, "i"))
	h.put(ada, deleted)
	if err := h.s.Delete(ctx, ada, deleted.ID, adaID, 2); err != nil {
		t.Fatal(err)
	}
	sorted := func(ids ...domain.ID) []domain.ID { return slices.Sorted(slices.Values(ids)) }
	for name, c := range map[string]struct {
		by   domain.Actor
		f    practice.ExportFilter
		want []domain.ID
	}{
		"the owner":       {owner, practice.ExportFilter{}, append(slices.Clone(hers), his...)},
		"software":        {domain.Actor{Academy: hollow, Key: "key"}, practice.ExportFilter{}, append(slices.Clone(hers), his...)},
		"her coach":       {coach, practice.ExportFilter{}, hers},
		"one student":     {owner, practice.ExportFilter{Student: benID}, his},
		"a student":       {ben, practice.ExportFilter{}, his},
		"a guardian":      {domaintest.AsGuardian, practice.ExportFilter{}, nil},
		"another academy": {domaintest.AsOther, practice.ExportFilter{}, nil},
		"a stretch":       {coach, practice.ExportFilter{From: now.Add(-4 * time.Hour), Until: now.Add(-2 * time.Hour)}, hers[3:9]},
	} {
		got, err := h.exported(c.by, c.f)
		if err != nil || !slices.Equal(sorted(got...), sorted(c.want...)) {
			t.Errorf("%s: %d sessions, %v; want %d", name, len(got), err, len(c.want))
		}
	}
	if got, err := h.exported(coach, practice.ExportFilter{Student: benID}); domain.KindOf(err) != domain.NotFound || got != nil {
		t.Errorf("a coach's export of another's student: %v, %v", got, err)
	}
	enough := errors.New("enough")
	if err := h.s.Export(ctx, owner, practice.ExportFilter{}, func(academy.Member, []practice.Session) error { return enough }); !errors.Is(err, enough) {
		t.Errorf("an export that could not be given on: %v", err)
	}
}

// Where students stand is exported for those whom the asker may see.
func TestExportOfStates(t *testing.T) {
	h := open(t)
	h.put(ada, session(h.mem.NewID(), 1, block(curriculum.Test, h.pitch, "iio"), block(curriculum.Test, h.chip, "i")))
	h.put(ben, session(h.mem.NewID(), 1, block(curriculum.Test, h.pitch, "io")))
	states := func(a domain.Actor, student domain.ID) (all []progress.State, err error) {
		err = h.s.ExportStates(ctx, a, student, func(m academy.Member, some []progress.State) error {
			all = append(all, some...)
			return nil
		})
		return all, err
	}
	all := must(states(owner, ""))(t)
	if len(all) != 3 || all[0].Totals.Balls+all[1].Totals.Balls+all[2].Totals.Balls != 6 {
		t.Errorf("the owner's export: %+v", all)
	}
	if hers := must(states(coach, ""))(t); len(hers) != 2 || hers[0].Student != adaID {
		t.Errorf("the coach's export: %+v", hers)
	}
	if _, err := states(ada, benID); domain.KindOf(err) != domain.NotFound {
		t.Errorf("another student's: %v", err)
	}
	for n := 1; n <= 3; n++ {
		h.mem.FailAt(n)
		if _, err := states(owner, ""); !errors.Is(err, domaintest.ErrFault) {
			t.Errorf("failing at call %d: %v", n, err)
		}
		h.mem.FailAt(n)
		if _, err := h.exported(owner, practice.ExportFilter{}); !errors.Is(err, domaintest.ErrFault) {
			t.Errorf("failing at call %d: %v", n, err)
		}
	}
}
