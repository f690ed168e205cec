package repo

import (
	"context"
	"errors"
	"testing"
	"time"

	"fringework/auth"
	"fringework/auth/authtest"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
)

// probed is the store of auth with the domain's stores beside it.
type probed struct {
	auth.Store
	db *DB
}

var _ authtest.Probe = probed{}

func (p probed) on(ctx context.Context, in domain.ID, fn func(*store) error) error {
	return everything(p.db).Write(ctx, in, fn)
}

// change saves a member changed.
func (p probed) change(ctx context.Context, in, member domain.ID, change func(*academy.Member)) error {
	return p.on(ctx, in, func(a *store) error {
		m, err := a.Member(ctx, member)
		if err != nil {
			return err
		}
		change(&m)
		m.Revision++
		return a.SaveMember(ctx, m)
	})
}

// RemoveMember implements authtest.Probe.
func (p probed) RemoveMember(ctx context.Context, in, member domain.ID, at time.Time) error {
	return p.change(ctx, in, member, func(m *academy.Member) { m.RemovedAt = at })
}

// SetRole implements authtest.Probe.
func (p probed) SetRole(ctx context.Context, in, member domain.ID, role domain.Role) error {
	return p.change(ctx, in, member, func(m *academy.Member) { m.Role = role })
}

// AddGroup implements authtest.Probe.
func (p probed) AddGroup(ctx context.Context, in, group domain.ID) error {
	return p.on(ctx, in, func(a *store) error {
		return a.SaveGroup(ctx, academy.Group{ID: group, Name: "Juniors", Revision: 1, CreatedAt: monday})
	})
}

// AddVersion implements authtest.Probe.
func (p probed) AddVersion(ctx context.Context, in, programme domain.ID, number int) error {
	return p.on(ctx, in, func(a *store) error {
		content := curriculum.Content{Name: "Six weeks"}
		return errors.Join(
			a.SaveProgramme(ctx, curriculum.Programme{ID: programme, Draft: content, Revision: 1, CreatedAt: monday, UpdatedAt: monday}),
			a.AddVersion(ctx, curriculum.Version{Programme: programme, Number: number, Content: content, PublishedAt: monday}),
		)
	})
}

// Grouped implements authtest.Probe.
func (p probed) Grouped(ctx context.Context, in, group, student domain.ID) (ok bool, err error) {
	err = p.on(ctx, in, func(a *store) error {
		g, err := a.Group(ctx, group)
		for _, id := range g.Students {
			ok = ok || id == student
		}
		return err
	})
	return ok, err
}

// Guarded implements authtest.Probe.
func (p probed) Guarded(ctx context.Context, in, guardian, student domain.ID) (ok bool, err error) {
	err = p.on(ctx, in, func(a *store) error {
		ok, err = a.WorksWith(ctx, guardian, student)
		return err
	})
	return ok, err
}

// Events implements authtest.Probe.
func (p probed) Events(ctx context.Context, in domain.ID) (events []domain.Event, err error) {
	err = p.on(ctx, in, func(a *store) error {
		events, err = a.Events(ctx, 0, 1000)
		return err
	})
	return events, err
}

func TestAuthExam(t *testing.T) {
	t.Parallel()
	for _, e := range engines {
		t.Run(e.name, func(t *testing.T) {
			t.Parallel()
			authtest.Exercise(t, func(t *testing.T) auth.Store { return openAt(t, e.url(t)).Auth() })
			authtest.ExerciseWith(t, func(t *testing.T) (auth.Store, authtest.Probe) {
				db := openAt(t, e.url(t))
				return db.Auth(), probed{db.Auth(), db}
			})
		})
	}
}

// AllowApps implements authtest.Probe.
func (p probed) AllowApps(ctx context.Context, in, member domain.ID, given bool) error {
	return p.change(ctx, in, member, func(m *academy.Member) {
		m.AppsAt = time.Time{}
		if given {
			m.AppsAt = monday
		}
	})
}
