package authtest

import (
	"context"
	"slices"
	"time"

	"fringework/auth"
	"fringework/domain"
)

func (t *tx) AddApp(_ context.Context, academy domain.ID, a auth.App) error {
	t.apps[a.ID] = row[auth.App]{academy, a}
	return t.writable()
}

func (t *tx) AppByID(_ context.Context, id domain.ID) (domain.ID, auth.App, error) {
	r, err := find(t.apps, id, "app")
	return r.academy, r.value, err
}

func (t *tx) Apps(_ context.Context, academy domain.ID, p domain.Page) ([]auth.App, error) {
	return page(t.apps, academy, p, func(auth.App) bool { return true }), nil
}

func (t *tx) GoodApps(_ context.Context, academy domain.ID) (n int, err error) {
	for _, r := range t.apps {
		if r.academy == academy && r.value.Revoked.IsZero() {
			n++
		}
	}
	return n, nil
}

func (t *tx) RevokeApp(_ context.Context, academy, id domain.ID, at time.Time) (bool, error) {
	a, err := of(t.apps, academy, id, "app")
	if err != nil || !a.Revoked.IsZero() {
		return false, t.writable()
	}
	a.Revoked = at
	t.apps[id] = row[auth.App]{academy, a}
	return true, t.writable()
}

func (t *tx) AddConnection(_ context.Context, academy domain.ID, c auth.Connection) error {
	if _, err := of(t.apps, academy, c.App, "app"); err != nil {
		return err
	}
	if _, err := of(t.members, academy, c.Member, "member"); err != nil {
		return err
	}
	t.connections[c.ID] = row[auth.Connection]{academy, c}
	return t.writable()
}

func (t *tx) ConnectionByID(_ context.Context, id domain.ID) (domain.ID, auth.Connection, error) {
	r, err := find(t.connections, id, "connection")
	return r.academy, r.value, err
}

func (t *tx) SaveConnection(_ context.Context, academy domain.ID, c auth.Connection, was auth.Digest) (bool, error) {
	old, err := of(t.connections, academy, c.ID, "connection")
	if err != nil || !old.Ended.IsZero() || old.Current != was {
		return false, t.writable()
	}
	old.Lineage, old.Current, old.Previous, old.Salt = c.Lineage, c.Current, c.Previous, c.Salt
	old.Exchanged, old.Rotated, old.Expires = c.Exchanged, c.Rotated, c.Expires
	t.connections[c.ID] = row[auth.Connection]{academy, old}
	return true, t.writable()
}

// picks reports whether a query picks a connection.
func picks(q auth.ConnectionQuery, c auth.Connection) bool {
	live := q.LiveAt.IsZero() || !c.Exchanged.IsZero() && c.Ended.IsZero() && c.Expires.After(q.LiveAt)
	return (q.ID == "" || q.ID == c.ID) && (q.App == "" || q.App == c.App) && (q.Member == "" || q.Member == c.Member) && live
}

func (t *tx) Connections(_ context.Context, academy domain.ID, q auth.ConnectionQuery, p domain.Page) ([]auth.Connection, error) {
	return page(t.connections, academy, p, func(c auth.Connection) bool { return picks(q, c) }), nil
}

func (t *tx) EndConnections(_ context.Context, academy domain.ID, q auth.ConnectionQuery, at time.Time, why auth.EndReason) (n int, err error) {
	if q == (auth.ConnectionQuery{}) {
		return 0, t.writable()
	}
	for id, r := range t.connections {
		if c := r.value; r.academy == academy && c.Ended.IsZero() && picks(q, c) {
			c.Ended, c.Why = at, why
			t.connections[id] = row[auth.Connection]{academy, c}
			n++
		}
	}
	return n, t.writable()
}

func (t *tx) SweepConnections(_ context.Context, before time.Time, limit int) (n int, err error) {
	for id, r := range t.connections {
		if n < limit && r.value.Expires.Before(before) {
			delete(t.connections, id)
			n++
		}
	}
	return n, t.writable()
}

// AppAccess implements auth.Store.
func (m *Memory) AppAccess(_ context.Context, academy, connection domain.ID) (auth.AppAccess, error) {
	s := m.snapshot()
	c, ok := s.connections[connection]
	member, app := s.members[c.value.Member].value, s.apps[c.value.App].value
	if !ok || c.academy != academy || !c.value.Ended.IsZero() || !app.Revoked.IsZero() || !member.Removed.IsZero() ||
		member.Role != c.value.Role || member.Junior && !member.AppsAgreed {
		return auth.AppAccess{}, domain.ErrNotFound("connection")
	}
	return auth.AppAccess{App: app.ID, Member: member.ID, Role: member.Role}, nil
}

// AllowApps implements Probe.
func (m *Memory) AllowApps(_ context.Context, academy, member domain.ID, given bool) error {
	m.change(func(s *state) {
		if r := s.members[member]; r.academy == academy {
			r.value.AppsAgreed = given
			s.members[member] = r
		}
	})
	return nil
}

// app adds an app of an academy.
func (e *exam) app(academy domain.ID, by auth.Member, name string) auth.App {
	e.Helper()
	a := auth.App{
		ID: e.clock.NewID(), Name: name, Redirects: []string{"https://app.example/ä?x=1", "org.example.app:/done"},
		Scopes: auth.Scopes{auth.ProgressRead, auth.SessionsRead}, Secret: auth.DigestOf(name), By: by.ID, Created: e.clock.Now(),
	}
	e.write(func(tx auth.Tx) error { return tx.AddApp(e.ctx, academy, a) })
	return a
}

func (e *exam) apps() {
	academy, owner := e.owned("one")
	other, _ := e.owned("two")
	one, two := e.app(academy, owner, "one"), e.app(academy, owner, "two")
	public := auth.App{ID: e.clock.NewID(), Name: "public", Redirects: []string{"https://app.example/"}, Scopes: auth.Scopes{auth.CalcUse}, By: owner.ID, Created: e.clock.Now()}
	e.write(func(tx auth.Tx) error { return tx.AddApp(e.ctx, academy, public) })
	at := e.clock.Now().Add(time.Second)
	revoke := func(academy, id domain.ID) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.RevokeApp(e.ctx, academy, id, at) }
	}
	e.wrote("revoke from another academy", false, revoke(other, one.ID))
	e.wrote("revoke", true, revoke(academy, one.ID))
	e.wrote("revoke twice", false, revoke(academy, one.ID))
	e.wrote("revoke what is absent", false, revoke(academy, e.clock.NewID()))
	one.Revoked = at
	e.read(func(tx auth.Tx) error {
		in, got, err := tx.AppByID(e.ctx, one.ID)
		if err != nil {
			return err
		}
		e.same("academy of the app", in, academy)
		e.same("AppByID", got, one)
		list, err := tx.Apps(e.ctx, academy, domain.Page{Limit: 10})
		if err != nil {
			return err
		}
		e.same("Apps", list, []auth.App{one, two, public})
		e.same("public", []bool{two.Public(), list[2].Public()}, []bool{false, true})
		if list, err = tx.Apps(e.ctx, academy, domain.Page{After: one.ID, Limit: 1}); err != nil {
			return err
		}
		e.same("second page", list, []auth.App{two})
		list, err = tx.Apps(e.ctx, other, domain.Page{Limit: 10})
		e.same("apps of another academy", len(list), 0)
		return err
	})
	e.write(func(tx auth.Tx) error {
		n, err := tx.GoodApps(e.ctx, academy)
		e.same("good apps", n, 2)
		return err
	})
	e.kind("absent app", domain.NotFound, func(tx auth.Tx) error {
		_, _, err := tx.AppByID(e.ctx, e.clock.NewID())
		return err
	})
}

// connection adds a connection whose code was not exchanged yet.
func (e *exam) connection(academy domain.ID, a auth.App, m auth.Member) auth.Connection {
	e.Helper()
	now := e.clock.Now()
	c := auth.Connection{
		ID: e.clock.NewID(), App: a.ID, Member: m.ID, Role: m.Role, Scopes: auth.Scopes{auth.SessionsRead},
		Code: auth.DigestOf("code"), Redirect: a.Redirects[0], Challenge: "challenge", Created: now, Rotated: now, Expires: now.Add(time.Minute),
	}
	e.write(func(tx auth.Tx) error { return tx.AddConnection(e.ctx, academy, c) })
	return c
}

// exchanged is a connection after its first tokens.
func (e *exam) exchanged(academy domain.ID, c auth.Connection) auth.Connection {
	e.Helper()
	was := c.Current
	c.Lineage, c.Current, c.Previous, c.Salt = auth.DigestOf("lineage"), auth.DigestOf("one"), auth.DigestOf("none"), auth.DigestOf("salt")
	c.Exchanged, c.Rotated, c.Expires = e.clock.Now().Add(time.Second), e.clock.Now().Add(2*time.Second), e.clock.Now().Add(time.Hour)
	e.wrote("exchange", true, func(tx auth.Tx) (bool, error) { return tx.SaveConnection(e.ctx, academy, c, was) })
	return c
}

func (e *exam) connections() {
	academy, owner := e.owned("one")
	other, stranger := e.owned("two")
	a := e.app(academy, owner, "one")
	c := e.connection(academy, a, owner)
	e.kind("a member of another academy", domain.NotFound, func(tx auth.Tx) error {
		return tx.AddConnection(e.ctx, academy, auth.Connection{ID: e.clock.NewID(), App: a.ID, Member: stranger.ID, Role: domain.Owner, Scopes: c.Scopes})
	})
	e.kind("an app of another academy", domain.NotFound, func(tx auth.Tx) error {
		return tx.AddConnection(e.ctx, other, auth.Connection{ID: e.clock.NewID(), App: a.ID, Member: stranger.ID, Role: domain.Owner, Scopes: c.Scopes})
	})
	is := func(what string, want auth.Connection) {
		e.Helper()
		e.read(func(tx auth.Tx) error {
			in, got, err := tx.ConnectionByID(e.ctx, want.ID)
			e.same("academy", in, academy)
			e.same(what, got, want)
			return err
		})
	}
	is("a fresh connection", c)
	save := func(academy domain.ID, c auth.Connection, was auth.Digest) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.SaveConnection(e.ctx, academy, c, was) }
	}
	e.wrote("save over what is not current", false, save(academy, c, auth.DigestOf("x")))
	e.wrote("save from another academy", false, save(other, c, c.Current))
	c = e.exchanged(academy, c)
	is("after the exchange", c)
	end := func(in domain.ID, q auth.ConnectionQuery, want int) {
		e.Helper()
		e.write(func(tx auth.Tx) error {
			n, err := tx.EndConnections(e.ctx, in, q, e.clock.Now().Add(time.Minute), auth.Disconnected)
			e.same("ended", n, want)
			return err
		})
	}
	end(academy, auth.ConnectionQuery{}, 0)
	end(other, auth.ConnectionQuery{ID: c.ID}, 0)
	end(academy, auth.ConnectionQuery{ID: c.ID}, 1)
	end(academy, auth.ConnectionQuery{ID: c.ID}, 0)
	e.wrote("save what has ended", false, save(academy, c, c.Current))
	c.Ended, c.Why = e.clock.Now().Add(time.Minute), auth.Disconnected
	is("after the end", c)
	e.write(func(tx auth.Tx) error {
		n, err := tx.SweepConnections(e.ctx, c.Expires, 10)
		e.same("swept at its end", n, 0)
		return err
	})
	e.write(func(tx auth.Tx) error {
		n, err := tx.SweepConnections(e.ctx, c.Expires.Add(time.Millisecond), 10)
		e.same("swept", n, 1)
		return err
	})
	e.kind("absent connection", domain.NotFound, func(tx auth.Tx) error {
		_, _, err := tx.ConnectionByID(e.ctx, c.ID)
		return err
	})
}

func (e *exam) connectionLists() {
	academy, owner := e.owned("one")
	student := e.member(academy, e.account("stu@one.example").ID, domain.Student)
	one, two := e.app(academy, owner, "one"), e.app(academy, owner, "two")
	fresh := e.connection(academy, one, owner)
	mine := e.exchanged(academy, e.connection(academy, one, owner))
	theirs := e.exchanged(academy, e.connection(academy, two, student))
	list := func(what string, q auth.ConnectionQuery, p domain.Page, want ...auth.Connection) {
		e.Helper()
		e.read(func(tx auth.Tx) error {
			got, err := tx.Connections(e.ctx, academy, q, p)
			e.same(what, slices.Clone(got), slices.Clone(want))
			return err
		})
	}
	all := domain.Page{Limit: 10}
	list("all", auth.ConnectionQuery{}, all, fresh, mine, theirs)
	list("pages", auth.ConnectionQuery{}, domain.Page{After: fresh.ID, Limit: 1}, mine)
	list("of an app", auth.ConnectionQuery{App: two.ID}, all, theirs)
	list("of a member", auth.ConnectionQuery{Member: owner.ID}, all, fresh, mine)
	list("alive", auth.ConnectionQuery{LiveAt: e.clock.Now()}, all, mine, theirs)
	list("too late", auth.ConnectionQuery{LiveAt: mine.Expires}, all)
	e.write(func(tx auth.Tx) error {
		n, err := tx.EndConnections(e.ctx, academy, auth.ConnectionQuery{Member: owner.ID}, e.clock.Now(), auth.Rejoined)
		e.same("ended of a member", n, 2)
		return err
	})
	list("alive after that", auth.ConnectionQuery{LiveAt: e.clock.Now()}, all, theirs)
}

func (e *exam) connectionRace() {
	academy, owner := e.owned("one")
	c := e.connection(academy, e.app(academy, owner, "one"), owner)
	wins := e.race(8, func(tx auth.Tx, i int) (bool, error) {
		next := c
		next.Current = auth.DigestOf(string(rune('a' + i)))
		return tx.SaveConnection(e.ctx, academy, next, c.Current)
	})
	e.same("transactions that saved over the same token", wins, 1)
}

// appAccess holds access to what is done to the member and the app.
func (e *exam) appAccess(p Probe) {
	academy, owner := e.owned("one")
	other, _ := e.owned("two")
	junior := e.member(academy, e.account("jo@one.example").ID, domain.Student)
	a := e.app(academy, owner, "one")
	own, theirs := e.exchanged(academy, e.connection(academy, a, owner)), e.exchanged(academy, e.connection(academy, a, junior))
	good := func(what string, c auth.Connection, want auth.AppAccess) {
		e.Helper()
		got, err := e.store.AppAccess(e.ctx, academy, c.ID)
		e.same(what, got, want)
		e.same(what, err, nil)
	}
	bad := func(what string, in, id domain.ID) {
		e.Helper()
		if got, err := e.store.AppAccess(e.ctx, in, id); err == nil || domain.KindOf(err) != domain.NotFound {
			e.Errorf("%s: got %+v, %v; want NotFound", what, got, err)
		}
	}
	good("an owner's", own, auth.AppAccess{App: a.ID, Member: owner.ID, Role: domain.Owner})
	bad("another academy", other, own.ID)
	bad("absent", academy, e.clock.NewID())
	bad("a junior without consent", academy, theirs.ID)
	e.ok(p.AllowApps(e.ctx, academy, junior.ID, true))
	e.read(func(tx auth.Tx) error {
		m, err := tx.Member(e.ctx, academy, junior.ID)
		e.same("agreed", m.AppsAgreed, true)
		return err
	})
	good("a junior's with it", theirs, auth.AppAccess{App: a.ID, Member: junior.ID, Role: domain.Student})
	e.ok(p.AllowApps(e.ctx, academy, junior.ID, false))
	bad("a junior's after it was withdrawn", academy, theirs.ID)
	e.ok(p.AllowApps(e.ctx, academy, junior.ID, true))
	e.ok(p.SetRole(e.ctx, academy, junior.ID, domain.Coach))
	bad("in another role", academy, theirs.ID)
	e.ok(p.SetRole(e.ctx, academy, junior.ID, domain.Student))
	e.ok(p.RemoveMember(e.ctx, academy, junior.ID, e.clock.Now()))
	bad("of somebody who left", academy, theirs.ID)
	e.wrote("revoke", true, func(tx auth.Tx) (bool, error) { return tx.RevokeApp(e.ctx, academy, a.ID, e.clock.Now()) })
	bad("of an app that was revoked", academy, own.ID)
}
