package domaintest_test

import (
	"context"
	"errors"
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
)

var (
	ctx = context.Background()
	now = time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
)

func TestTransactions(t *testing.T) {
	mem := domaintest.Populated(now)
	mem.Retry(0)
	before := mem.Snapshot(domaintest.Hollow)
	stop := errors.New("stop")
	err := mem.People().Store.Write(ctx, domaintest.Hollow, func(tx academy.Store) error {
		if err := tx.SetLink(ctx, domaintest.CoachID, domaintest.BenID, true); err != nil {
			t.Error(err)
		}
		return stop
	})
	if !errors.Is(err, stop) || !reflect.DeepEqual(mem.Snapshot(domaintest.Hollow), before) {
		t.Errorf("a failed write gave %v and kept something", err)
	}
	err = mem.People().Store.Read(ctx, domaintest.Hollow, func(tx academy.Store) error { return tx.SaveAcademy(ctx, academy.Academy{}) })
	if !errors.Is(err, domaintest.ErrReadOnly) {
		t.Errorf("a write inside a read gave %v", err)
	}
	err = mem.People().Store.Read(ctx, "nowhere", func(academy.Store) error { return nil })
	if domain.KindOf(err) != domain.NotFound {
		t.Errorf("an academy that is not there gave %v", err)
	}
}

// TestRevisions: a save that does not follow what stands is stale.
func TestRevisions(t *testing.T) {
	mem := domaintest.Populated(now)
	save := func(revision int) error {
		return mem.Curriculum().Write(ctx, domaintest.Hollow, func(tx curriculum.Store) error {
			return tx.SaveSkill(ctx, curriculum.Skill{ID: "s", Revision: revision})
		})
	}
	if err := save(1); err != nil {
		t.Error(err)
	}
	for _, c := range []struct {
		revision int
		ok       bool
	}{{1, false}, {3, false}, {2, true}} {
		if err := save(c.revision); (err == nil) != c.ok || err != nil && domain.KindOf(err) != domain.Stale {
			t.Errorf("saving revision %d: got %v, want success %v", c.revision, err, c.ok)
		}
	}
}

// TestCopies: what was read or saved shares nothing with what is kept.
func TestCopies(t *testing.T) {
	mem := domaintest.Populated(now)
	skill := curriculum.Skill{ID: "s", Revision: 1, Ladder: domaintest.PitchLadder()}
	read := func() (tier int) {
		err := mem.Curriculum().Read(ctx, domaintest.Hollow, func(tx curriculum.Store) error {
			found, err := tx.SkillsByID(ctx, []domain.ID{"s"})
			tier = found["s"].Ladder.Tiers[0].Run
			found["s"].Ladder.Tiers[0].Run = 1
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return tier
	}
	if err := mem.Curriculum().Write(ctx, domaintest.Hollow, func(tx curriculum.Store) error { return tx.SaveSkill(ctx, skill) }); err != nil {
		t.Fatal(err)
	}
	skill.Ladder.Tiers[0].Run = 2
	if first, second := read(), read(); first != 9 || second != 9 {
		t.Errorf("the kept run is %d, then %d, want 9 both times", first, second)
	}
}
