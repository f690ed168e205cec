package auth

import (
	"context"
	"net"
	"net/url"
	"slices"
	"strings"
	"time"

	"fringework/domain"
)

// Bounds of apps.
const (
	// MaxApps is how many good apps an academy may have.
	MaxApps = 50
	// MaxRedirects is how many redirect addresses an app may have, each of at most
	// maxRedirect bytes.
	MaxRedirects = 10
	maxRedirect  = 500
)

// App is software of others that members may connect to their account: a client
// in the terms of RFC 6749. Its ID is the client_id.
type App struct {
	ID   domain.ID
	Name string
	// Redirects are where a person may be sent back to (RFC 6749 §3.1.2).
	Redirects []string
	// Scopes are all that the app may ask for.
	Scopes Scopes
	// Secret is the digest of the client secret, which is shown once; zero for an
	// app that can keep none, such as one on a phone.
	Secret Digest
	// By is the owner who registered it.
	By      domain.ID
	Created time.Time
	// Revoked is when it was withdrawn, zero while it is good.
	Revoked time.Time
}

// Public reports whether the app has no secret (RFC 6749 §2.1).
func (a App) Public() bool { return a.Secret == Digest{} }

// NewApp describes an app to register.
type NewApp struct {
	Name      string
	Redirects []string
	Scopes    Scopes
	// Public asks for no secret.
	Public bool
}

// RegisterApp registers an app for the asker's academy. The secret is shown this
// once; it is empty for a public app. Bad fields are Invalid, at /name,
// /redirect_uris and /scopes.
func (s *Service) RegisterApp(ctx context.Context, a domain.Actor, n NewApp) (app App, secret string, err error) {
	if err := allowed(a, AppManage); err != nil {
		return App{}, "", err
	}
	app, err = n.checked()
	if err != nil {
		return App{}, "", err
	}
	if !n.Public {
		raw := newSecret()
		secret = appPrefix + encode(raw[:])
		app.Secret = DigestOf(secret)
	}
	app.ID, app.By, app.Created = s.Env.NewID(), a.Member, s.now()
	err = s.Store.Write(ctx, func(tx Tx) error { return addApp(ctx, tx, a, app) })
	if err != nil {
		return App{}, "", err
	}
	return app, secret, nil
}

func (n NewApp) checked() (App, error) {
	var p domain.Problems
	app := App{Name: checkName(&p, "/name", n.Name), Redirects: n.Redirects}
	if len(n.Redirects) < 1 || len(n.Redirects) > MaxRedirects {
		p.Add("/redirect_uris", "has %d addresses; give 1 to %d", len(n.Redirects), MaxRedirects)
	}
	for _, address := range n.Redirects[:min(len(n.Redirects), MaxRedirects)] {
		if wrong := wrongRedirect(address); wrong != "" {
			p.Add("/redirect_uris", "%s", wrong)
		}
	}
	known, ok := ParseScopes(n.Scopes.String())
	if !ok || len(known) == 0 {
		p.Add("/scopes", "has what is no scope, or nothing; give one or more of %s", listed(AllScopes()))
	}
	app.Scopes = known
	return app, p.Err("app", "The app was not registered.")
}

// wrongRedirect says what is wrong with a redirect address, nothing when it is
// good: https, http to this very machine (RFC 8252 §7.3), or a scheme of the app's
// own with a dot in it (§7.1). A fragment is not allowed (RFC 6749 §3.1.2).
func wrongRedirect(address string) string {
	u, err := url.Parse(address)
	switch {
	case len(address) > maxRedirect:
		return "has an address that is too long; use at most 500 characters"
	case err != nil || !u.IsAbs() || strings.ContainsFunc(address, func(r rune) bool { return r <= ' ' || r > '~' || r == '\\' }):
		return "has what is not an absolute address; write it like https://app.example/done"
	case strings.Contains(address, "#") || u.User != nil:
		return "has an address with a fragment or a user name; leave that out"
	case u.Scheme == "https" && u.Hostname() != "", isLoopback(u), strings.Contains(u.Scheme, ".") && u.Host == "":
		return ""
	case u.Scheme == "http":
		return "has an address that is not encrypted; use https, or http://127.0.0.1 for an app on the person's own machine"
	}
	return "has an address of a kind that cannot be used; use https, http://127.0.0.1, or a scheme of your own such as org.example.app:/done"
}

// isLoopback reports whether an address leads to the machine itself by number; its
// name could be made to lead elsewhere (RFC 8252 §8.3).
func isLoopback(u *url.URL) bool {
	ip := net.ParseIP(u.Hostname())
	return u.Scheme == "http" && ip != nil && ip.IsLoopback()
}

// allows reports whether an address is one of the app's, compared as text (RFC
// 9700 §2.1). On the person's own machine the port is free, since the system picks
// it (RFC 8252 §7.3).
func (a App) allows(redirect string) bool {
	if len(redirect) > maxRedirect {
		return false
	}
	asked, err := url.Parse(redirect)
	if err != nil {
		return false
	}
	return slices.ContainsFunc(a.Redirects, func(known string) bool {
		u, err := url.Parse(known)
		return known == redirect || err == nil && isLoopback(u) && isLoopback(asked) && portless(known, u) == portless(redirect, asked)
	})
}

// portless is an address without its port.
func portless(address string, u *url.URL) string {
	if u.Port() == "" {
		return address
	}
	return strings.Replace(address, ":"+u.Port(), "", 1)
}

func addApp(ctx context.Context, tx Tx, a domain.Actor, app App) error {
	n, err := tx.GoodApps(ctx, a.Academy)
	if err != nil {
		return err
	}
	if n >= MaxApps {
		return domain.Errorf(domain.Conflict, "too_many_apps", "The academy already has %d apps. Revoke one that is no longer used first.", n)
	}
	if err := tx.AddApp(ctx, a.Academy, app); err != nil {
		return err
	}
	return tx.Record(ctx, a.Academy, domain.Event{
		At: app.Created, Actor: a.Member, Kind: "app.registered", Subject: app.ID,
		Data: map[string]any{"name": app.Name, "scopes": app.Scopes.String(), "redirect_uris": app.Redirects},
	})
}

// ListApps gives the academy's apps ordered by identity, revoked ones too.
func (s *Service) ListApps(ctx context.Context, a domain.Actor, page domain.Page) (list []App, err error) {
	if err := allowed(a, AppManage); err != nil {
		return nil, err
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		list, err = tx.Apps(ctx, a.Academy, page)
		return err
	})
	return list, err
}

// App gives one of the academy's apps, a revoked one too.
func (s *Service) App(ctx context.Context, a domain.Actor, id domain.ID) (app App, err error) {
	if err := allowed(a, AppManage); err != nil {
		return App{}, err
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		app, err = ownApp(ctx, tx, a, id)
		return err
	})
	return app, err
}

func ownApp(ctx context.Context, tx AppTx, a domain.Actor, id domain.ID) (App, error) {
	academy, app, err := findApp(ctx, tx, id)
	if err == nil && academy != a.Academy {
		return App{}, domain.ErrNotFound("app")
	}
	return app, err
}

// findApp finds an app of any academy by what somebody gave as its identity.
func findApp(ctx context.Context, tx AppTx, id domain.ID) (domain.ID, App, error) {
	if !isID(id) {
		return "", App{}, domain.ErrNotFound("app")
	}
	return tx.AppByID(ctx, id)
}

// RevokeApp withdraws an app and ends all connections to it; its tokens stop
// working at once. Withdrawing again changes nothing.
func (s *Service) RevokeApp(ctx context.Context, a domain.Actor, id domain.ID) error {
	if err := allowed(a, AppManage); err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		now := s.now()
		app, err := ownApp(ctx, tx, a, id)
		if err != nil {
			return err
		}
		revoked, err := tx.RevokeApp(ctx, a.Academy, id, now)
		if err != nil || !revoked {
			return err
		}
		if _, err := tx.EndConnections(ctx, a.Academy, ConnectionQuery{App: id}, now, AppRevoked); err != nil {
			return err
		}
		return tx.Record(ctx, a.Academy, domain.Event{
			At: now, Actor: a.Member, Kind: "app.revoked", Subject: id, Data: map[string]any{"name": app.Name},
		})
	})
}
