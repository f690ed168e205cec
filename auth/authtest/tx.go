package authtest

import (
	"context"
	"maps"
	"slices"
	"strings"
	"time"

	"fringework/auth"
	"fringework/domain"
)

func conflict(what string) error {
	return domain.Errorf(domain.Conflict, "taken", "This %s is taken.", what)
}

func (t *tx) AddAccount(_ context.Context, a auth.Account) error {
	for _, other := range t.accounts {
		if other.Email == a.Email {
			return conflict("e-mail")
		}
	}
	t.accounts[a.ID] = a
	return t.writable()
}

func (t *tx) Account(_ context.Context, id domain.ID) (auth.Account, error) {
	return find(t.accounts, id, "account")
}

func (t *tx) AccountByEmail(_ context.Context, email string) (auth.Account, error) {
	for _, a := range t.accounts {
		if a.Email == email {
			return a, nil
		}
	}
	return auth.Account{}, domain.ErrNotFound("account")
}

func (t *tx) SetPassword(_ context.Context, account domain.ID, was, hash string) (bool, error) {
	a, ok := t.accounts[account]
	if !ok || a.Password != was {
		return false, t.writable()
	}
	a.Password = hash
	t.accounts[account] = a
	return true, t.writable()
}

func (t *tx) Memberships(_ context.Context, account domain.ID) ([]auth.Membership, error) {
	var out []auth.Membership
	for id, r := range t.members {
		if m := r.value; m.Account == account && m.Removed.IsZero() {
			out = append(out, auth.Membership{
				Academy: r.academy, AcademyName: t.academies[r.academy].Name, Member: id, Role: m.Role,
				FactorRequired: t.required[r.academy],
			})
		}
	}
	slices.SortFunc(out, func(a, b auth.Membership) int { return strings.Compare(string(a.Member), string(b.Member)) })
	return out, nil
}

func (t *tx) AddFamily(_ context.Context, f auth.Family) error {
	t.families[f.ID] = f
	return t.writable()
}

func (t *tx) Family(_ context.Context, id domain.ID) (auth.Family, error) {
	return find(t.families, id, "sign-in")
}

func (t *tx) SaveFamily(_ context.Context, f auth.Family, was auth.Digest) (bool, error) {
	old, ok := t.families[f.ID]
	if !ok || !old.Ended.IsZero() || old.Current != was {
		return false, t.writable()
	}
	old.Academy, old.Member, old.Rotated = f.Academy, f.Member, f.Rotated
	old.Current, old.Previous, old.Salt = f.Current, f.Previous, f.Salt
	t.families[f.ID] = old
	return true, t.writable()
}

func (t *tx) EndFamily(_ context.Context, id domain.ID, at time.Time, why auth.EndReason) (bool, error) {
	f, ok := t.families[id]
	if !ok || !f.Ended.IsZero() {
		return false, t.writable()
	}
	f.Ended, f.Why = at, why
	t.families[id] = f
	return true, t.writable()
}

func (t *tx) EndFamilies(ctx context.Context, account, except domain.ID, at time.Time, why auth.EndReason) (n int, err error) {
	for id, f := range t.families {
		if f.Account == account && id != except && f.Ended.IsZero() {
			n++
			if _, err := t.EndFamily(ctx, id, at, why); err != nil {
				return n, err
			}
		}
	}
	return n, t.writable()
}

func (t *tx) KnownOrigin(_ context.Context, account domain.ID, origin string) (bool, error) {
	for _, f := range t.families {
		if f.Account == account && f.Origin == origin {
			return true, nil
		}
	}
	return false, nil
}

func (t *tx) SweepFamilies(_ context.Context, before time.Time, limit int) (n int, err error) {
	for id, f := range t.families {
		if n < limit && f.Expires.Before(before) {
			delete(t.families, id)
			n++
		}
	}
	return n, t.writable()
}

func (t *tx) AddAcademy(_ context.Context, a auth.Academy) error {
	t.academies[a.ID] = a
	return t.writable()
}

func (t *tx) Academy(_ context.Context, academy domain.ID) (auth.Academy, error) {
	return find(t.academies, academy, "academy")
}

func (t *tx) AddMember(ctx context.Context, academy domain.ID, m auth.Member) error {
	if _, err := t.MemberOfAccount(ctx, academy, m.Account); err == nil {
		return conflict("membership")
	}
	t.members[m.ID] = row[auth.Member]{academy, m}
	return t.writable()
}

func (t *tx) Reinstate(ctx context.Context, academy domain.ID, m auth.Member) (bool, error) {
	old, err := t.Member(ctx, academy, m.ID)
	if err != nil || old.Removed.IsZero() {
		return false, t.writable()
	}
	old.Role, old.Name, old.TimeZone, old.Junior, old.Removed = m.Role, m.Name, m.TimeZone, m.Junior, time.Time{}
	t.members[m.ID] = row[auth.Member]{academy, old}
	return true, t.writable()
}

func (t *tx) Member(_ context.Context, academy, member domain.ID) (auth.Member, error) {
	return of(t.members, academy, member, "member")
}

func (t *tx) MemberOfAccount(_ context.Context, academy, account domain.ID) (auth.Member, error) {
	for _, r := range t.members {
		if r.academy == academy && r.value.Account == account {
			return r.value, nil
		}
	}
	return auth.Member{}, domain.ErrNotFound("member")
}

// both is NotFound unless both members are in the academy.
func (t *tx) both(ctx context.Context, academy, a, b domain.ID) error {
	for _, id := range []domain.ID{a, b} {
		if _, err := t.Member(ctx, academy, id); err != nil {
			return err
		}
	}
	return t.writable()
}

func (t *tx) Link(ctx context.Context, academy, coach, student domain.ID, _ time.Time) error {
	if err := t.both(ctx, academy, coach, student); err != nil {
		return err
	}
	t.links[pair{academy, coach, student}] = true
	return nil
}

func (t *tx) Linked(_ context.Context, academy, coach, student domain.ID) (bool, error) {
	return t.links[pair{academy, coach, student}], nil
}

func (t *tx) Guard(ctx context.Context, academy, guardian, student domain.ID, _ time.Time) error {
	if err := t.both(ctx, academy, guardian, student); err != nil {
		return err
	}
	t.guards[pair{academy, guardian, student}] = true
	return nil
}

func (t *tx) HasGroup(_ context.Context, academy, group domain.ID) (bool, error) {
	return t.groups[pair{academy, group, ""}], nil
}

func (t *tx) Join(ctx context.Context, academy, group, student domain.ID, _ time.Time) error {
	if !t.groups[pair{academy, group, ""}] {
		return domain.ErrNotFound("group")
	}
	if err := t.both(ctx, academy, student, student); err != nil {
		return err
	}
	t.inGroup[pair{academy, group, student}] = true
	return nil
}

func (t *tx) AddInvitation(ctx context.Context, academy domain.ID, i auth.Invitation) error {
	if _, _, err := t.InvitationByCode(ctx, i.Code); err == nil {
		return conflict("code")
	}
	if g := i.Gives; g.Programme != "" && !t.versions[version(academy, g.Programme, g.Version)] {
		return domain.ErrNotFound("version")
	}
	t.invitations[i.ID] = row[auth.Invitation]{academy, i}
	return t.writable()
}

func (t *tx) Invitation(_ context.Context, academy, id domain.ID) (auth.Invitation, error) {
	return of(t.invitations, academy, id, "invitation")
}

func (t *tx) InvitationByCode(_ context.Context, code auth.Digest) (domain.ID, auth.Invitation, error) {
	for _, r := range t.invitations {
		if r.value.Code == code {
			return r.academy, r.value, nil
		}
	}
	return "", auth.Invitation{}, domain.ErrNotFound("invitation")
}

func (t *tx) Invitations(_ context.Context, academy domain.ID, q auth.InvitationQuery) ([]auth.Invitation, error) {
	return page(t.invitations, academy, q.Page, func(i auth.Invitation) bool {
		mine := q.By == "" || i.By == q.By
		stays := t.members[i.By].value.Removed.IsZero()
		return mine && (q.OpenAt.IsZero() || stays && i.State(q.OpenAt) == auth.Open)
	}), nil
}

// closing changes an invitation that is open.
func (t *tx) closing(ctx context.Context, academy, id domain.ID, at time.Time, change func(*auth.Invitation)) (bool, error) {
	i, err := t.Invitation(ctx, academy, id)
	if err != nil || i.State(at) != auth.Open {
		return false, t.writable()
	}
	change(&i)
	t.invitations[id] = row[auth.Invitation]{academy, i}
	return true, t.writable()
}

func (t *tx) TakeInvitation(ctx context.Context, academy, id, member domain.ID, at time.Time) (bool, error) {
	return t.closing(ctx, academy, id, at, func(i *auth.Invitation) { i.Accepted, i.AcceptedBy = at, member })
}

func (t *tx) RevokeInvitation(ctx context.Context, academy, id domain.ID, at time.Time) (bool, error) {
	return t.closing(ctx, academy, id, at, func(i *auth.Invitation) { i.Revoked = at })
}

func (t *tx) AddKey(_ context.Context, academy domain.ID, k auth.AppKey) error {
	k.Scopes = slices.Clone(k.Scopes)
	t.keys[k.ID] = row[auth.AppKey]{academy, k}
	return t.writable()
}

func (t *tx) KeyByID(_ context.Context, id domain.ID) (domain.ID, auth.AppKey, error) {
	r, err := find(t.keys, id, "key")
	return r.academy, r.value, err
}

func (t *tx) Keys(_ context.Context, academy domain.ID, p domain.Page) ([]auth.AppKey, error) {
	return page(t.keys, academy, p, func(auth.AppKey) bool { return true }), nil
}

func (t *tx) GoodKeys(_ context.Context, academy domain.ID) (n int, err error) {
	for _, r := range t.keys {
		if r.academy == academy && r.value.Revoked.IsZero() {
			n++
		}
	}
	return n, nil
}

func (t *tx) RevokeKey(_ context.Context, academy, id domain.ID, at time.Time) (bool, error) {
	k, err := of(t.keys, academy, id, "key")
	if err != nil || !k.Revoked.IsZero() {
		return false, t.writable()
	}
	k.Revoked = at
	t.keys[id] = row[auth.AppKey]{academy, k}
	return true, t.writable()
}

func (t *tx) TouchKey(_ context.Context, academy, id domain.ID, at time.Time) error {
	k, err := of(t.keys, academy, id, "key")
	if err != nil {
		return err
	}
	k.Used = at
	t.keys[id] = row[auth.AppKey]{academy, k}
	return t.writable()
}

func (t *tx) Attempt(_ context.Context, bucket string) (time.Time, error) {
	return t.attempts[bucket], t.writable()
}

func (t *tx) SetAttempt(_ context.Context, bucket string, at time.Time) error {
	t.attempts[bucket] = at
	return t.writable()
}

func (t *tx) PeekAttempt(_ context.Context, bucket string) (time.Time, error) {
	return t.attempts[bucket], nil
}

func (t *tx) SweepAttempts(_ context.Context, before time.Time, limit int) (n int, err error) {
	for bucket, at := range t.attempts {
		if n < limit && at.Before(before) {
			delete(t.attempts, bucket)
			n++
		}
	}
	return n, t.writable()
}

func (t *tx) Everywhere(_ context.Context, account domain.ID) (out []auth.Membership, err error) {
	for id, r := range t.members {
		if m := r.value; m.Account == account {
			out = append(out, auth.Membership{
				Academy: r.academy, AcademyName: t.academies[r.academy].Name, Member: id, Role: m.Role, Left: !m.Removed.IsZero(),
			})
		}
	}
	slices.SortFunc(out, func(a, b auth.Membership) int { return strings.Compare(string(a.Member), string(b.Member)) })
	return out, nil
}

func (t *tx) OtherOwner(_ context.Context, academy, member domain.ID) (bool, error) {
	for id, r := range t.members {
		if r.academy == academy && id != member && r.value.Role == domain.Owner && r.value.Removed.IsZero() {
			return true, nil
		}
	}
	return false, nil
}

func (t *tx) EraseMember(ctx context.Context, academy, member domain.ID) error {
	if _, err := t.Member(ctx, academy, member); err != nil {
		return err
	}
	delete(t.members, member)
	for _, ties := range []map[pair]bool{t.links, t.guards, t.inGroup} {
		maps.DeleteFunc(ties, func(p pair, _ bool) bool { return p.academy == academy && (p.a == member || p.b == member) })
	}
	maps.DeleteFunc(t.invitations, func(_ domain.ID, r row[auth.Invitation]) bool {
		return r.value.AcceptedBy == member || r.value.Student == member
	})
	for id, r := range t.invitations {
		if r.value.By == member {
			r.value.By = domain.Nobody
		}
		if r.value.Coach == member {
			r.value.Coach = domain.Nobody
		}
		t.invitations[id] = r
	}
	maps.DeleteFunc(t.connections, func(_ domain.ID, r row[auth.Connection]) bool { return r.value.Member == member })
	for id, f := range t.families {
		if f.Member == member {
			f.Academy, f.Member = "", ""
			t.families[id] = f
		}
	}
	return t.writable()
}

func (t *tx) DeleteAccount(_ context.Context, account domain.ID) error {
	delete(t.accounts, account)
	maps.DeleteFunc(t.families, func(_ domain.ID, f auth.Family) bool { return f.Account == account })
	return t.writable()
}
