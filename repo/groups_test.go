package repo

import (
	"errors"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
)

// Whoever accepts an invitation joins its group, which the two sides share.
func TestGroupsAndInvitationsIntoThem(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		ctx := w.ctx
		group := academy.Group{ID: newID(), Name: "Monday", Students: []domain.ID{w.student}, Revision: 1, CreatedAt: monday}
		other := academy.Group{ID: newID(), Name: "Tuesday", Revision: 1, CreatedAt: monday}
		w.write(func(a *store) error { return errors.Join(a.SaveGroup(ctx, group), a.SaveGroup(ctx, other)) })
		invitation := auth.Invitation{ID: newID(), Role: domain.Student, By: w.owner, Group: group.ID, Code: auth.DigestOf("code"), Created: monday, Expires: monday.Add(time.Hour)}
		w.auth(func(tx auth.Tx) error { return tx.AddInvitation(ctx, w.academy, invitation) })
		joined := w.member(domain.Student)
		w.auth(func(tx auth.Tx) error { return tx.Join(ctx, w.academy, group.ID, joined, monday) })
		w.read(func(a *store) error {
			got, err := a.Groups(ctx, domain.Page{Limit: 10})
			want := group
			want.Students = []domain.ID{w.student, joined}
			want.Revision = 2 // who changes the group now learns that somebody joined
			same(t, "Groups", got, []academy.Group{want, other})
			return err
		})
		w.write(func(a *store) error { return a.DeleteGroup(ctx, group.ID) })
		w.auth(func(tx auth.Tx) error {
			got, err := tx.Invitation(ctx, w.academy, invitation.ID)
			if got.Group != "" {
				t.Errorf("an invitation leads into a group that is gone: %s", got.Group)
			}
			return err
		})
		wantKind(t, "deleted group", w.attempt(func(a *store) error { _, err := a.Group(ctx, group.ID); return err }), domain.NotFound)
		wantKind(t, "deleting it again", w.attempt(func(a *store) error { return a.DeleteGroup(ctx, group.ID) }), domain.NotFound)
	})
}
