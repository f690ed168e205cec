package auth

import (
	"context"
	"encoding/base64"
	"net/url"
	"slices"
	"strings"
	"time"

	"fringework/domain"
)

// CodeLife is how long an authorization code may be exchanged. RFC 6749 §4.1.2
// recommends ten minutes at most; an app does it at once.
const CodeLife = time.Minute

// maxState is the longest state that is passed on, in bytes.
const maxState = 2000

// AppRequest is an authorization request (RFC 6749 §4.1.1, RFC 7636 §4.3).
type AppRequest struct {
	ResponseType        string
	ClientID            string
	RedirectURI         string
	Scope               string
	State               string
	CodeChallenge       string
	CodeChallengeMethod string
}

// Asking is what an app asks of a member, for them to decide.
type Asking struct {
	App App
	// RegisteredBy is the name of the owner who registered the app.
	RegisteredBy string
	// Academy is the app's, and MemberName and Role are the asker's there.
	Academy     domain.ID
	AcademyName string
	MemberName  string
	Role        domain.Role
	// Elsewhere says that the asker is signed in to another of their academies, and
	// has to go there first.
	Elsewhere bool
	// Scopes are those asked for that are of use to the member's role.
	Scopes Scopes
	// NeedsGuardian says that the member is a junior whose guardian has not agreed.
	NeedsGuardian bool
	// Wrong is why the request cannot be granted, whatever the member says; nil when
	// it can. Back leads to the app with that answer.
	Wrong *OAuthError
	Back  string
}

// The codes of RFC 6749 §4.1.2.1, §5.2 and RFC 7009 §2.2.1 that only apps meet.
const (
	AccessDenied            OAuthCode = "access_denied"
	UnauthorizedClient      OAuthCode = "unauthorized_client"
	UnsupportedResponseType OAuthCode = "unsupported_response_type"
	UnsupportedTokenType    OAuthCode = "unsupported_token_type"
)

// Connection is what a member has let an app do: a grant in the terms of RFC 6749,
// with its authorization code and the chain of its refresh tokens. Only digests of
// these are kept.
type Connection struct {
	ID     domain.ID
	App    domain.ID
	Member domain.ID
	// Role is the member's when they agreed.
	Role   domain.Role
	Scopes Scopes
	// Code is the digest of the authorization code; it is exchanged with the same
	// Redirect and with what Challenge is the SHA-256 of.
	Code      Digest
	Redirect  string
	Challenge string
	// Lineage, Current, Previous and Salt are as in Family; zero until the code is
	// exchanged.
	Lineage  Digest
	Current  Digest
	Previous Digest
	Salt     Digest
	Created  time.Time
	// Exchanged is when the code was exchanged, zero before.
	Exchanged time.Time
	// Rotated is when the app last got an access token.
	Rotated time.Time
	// Expires is when it ends whatever happens: with its code, unless that is
	// exchanged.
	Expires time.Time
	Ended   time.Time
	Why     EndReason
}

// AskApp tells what an app asks of a member. An unknown app and an address that is
// not the app's are Invalid, at /client_id and /redirect_uri: nobody may be sent
// anywhere then.
func (s *Service) AskApp(ctx context.Context, id Identity, r AppRequest) (asking Asking, err error) {
	if err := allowed(id.Actor, AppConnect); err != nil {
		return Asking{}, err
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		asking, err = s.ask(ctx, tx, id, r)
		return err
	})
	return asking, err
}

func (s *Service) ask(ctx context.Context, tx Tx, id Identity, r AppRequest) (asking Asking, err error) {
	in, app, err := askedApp(ctx, tx, id, r)
	if err != nil {
		return asking, err
	}
	m, err := tx.Member(ctx, in.Academy, in.Member)
	if err != nil {
		return asking, err
	}
	by, err := tx.Member(ctx, in.Academy, app.By)
	if err != nil {
		return asking, err
	}
	asking = Asking{
		App: app, RegisteredBy: by.Name, Academy: in.Academy, AcademyName: in.AcademyName, MemberName: m.Name, Role: m.Role,
		Elsewhere: in.Academy != id.Academy, NeedsGuardian: m.Junior && !m.AppsAgreed,
	}
	asking.Scopes, asking.Wrong = r.check(app, m.Role)
	if asking.Wrong != nil {
		asking.Back = s.back(r, url.Values{"error": {string(asking.Wrong.Code)}, "error_description": {asking.Wrong.Description}})
	}
	return asking, nil
}

// askedApp finds the app of a request, which must be of an academy of the asker's,
// and whom it asks there, and holds the address to it.
func askedApp(ctx context.Context, tx Tx, id Identity, r AppRequest) (in Membership, app App, err error) {
	academy, app, err := findApp(ctx, tx, domain.ID(r.ClientID))
	if isNotFound(err) || err == nil && !app.Revoked.IsZero() {
		return in, app, unknownApp()
	}
	if err != nil {
		return in, app, err
	}
	all, err := tx.Memberships(ctx, id.Account)
	if err != nil {
		return in, app, err
	}
	i := slices.IndexFunc(all, func(m Membership) bool { return m.Academy == academy })
	if i < 0 {
		return in, app, unknownApp()
	}
	if !app.allows(r.RedirectURI) {
		var p domain.Problems
		p.Add("/redirect_uri", "is not one of the addresses that the app was registered with; it must be the same, letter by letter")
		return in, app, p.Err("app_request", "The app wants the answer sent to an address that is not its own. Nothing was allowed.")
	}
	return all[i], app, nil
}

// unknownApp is the refusal for an app that is none of the asker's academies.
func unknownApp() error {
	var p domain.Problems
	p.Add("/client_id", "names no app that is known here; it may have been withdrawn")
	return p.Err("app_request", "This app is not known here. Nothing was allowed.")
}

// check gives the scopes to ask a member for, or what is wrong with a request whose
// app and address are known.
func (r AppRequest) check(app App, role domain.Role) (Scopes, *OAuthError) {
	wrong := func(code OAuthCode, description string) (Scopes, *OAuthError) {
		return nil, &OAuthError{code, description}
	}
	switch {
	case r.ResponseType == "":
		return wrong(InvalidRequest, "response_type is missing; use code.")
	case r.ResponseType != "code":
		return wrong(UnsupportedResponseType, "Only response_type code is served here.")
	case len(r.State) > maxState:
		return wrong(InvalidRequest, "state is too long; use at most 2000 characters.")
	case r.CodeChallenge == "":
		return wrong(InvalidRequest, "code_challenge is missing; PKCE (RFC 7636) is required.")
	case r.CodeChallengeMethod != "S256":
		return wrong(InvalidRequest, "code_challenge_method must be S256.")
	case !isChallenge(r.CodeChallenge):
		return wrong(InvalidRequest, "code_challenge is not the base64url of a SHA-256, which has 43 characters.")
	}
	asked, ok := ParseScopes(r.Scope)
	if !ok || len(asked.Without(app.Scopes)) > 0 {
		return wrong(InvalidScope, "This app may ask for: "+app.Scopes.String()+".")
	}
	if len(asked) == 0 {
		asked = app.Scopes
	}
	if asked = asked.Useful(role); len(asked) == 0 {
		return wrong(InvalidScope, "Nothing of this is of use for a "+string(role)+".")
	}
	return asked, nil
}

// isChallenge reports whether text is a SHA-256 in base64url (RFC 7636 §4.2).
func isChallenge(text string) bool {
	sum, err := base64.RawURLEncoding.Strict().DecodeString(text)
	return err == nil && len(sum) == len(Digest{}) && !strings.ContainsAny(text, "\r\n")
}

// back is the address that a person returns to the app by, with its state and who
// answers (RFC 6749 §4.1.2, RFC 9207 §2).
func (s *Service) back(r AppRequest, answer url.Values) string {
	if r.State != "" {
		answer.Set("state", r.State)
	}
	answer.Set("iss", s.Issuer)
	between := "?"
	if strings.Contains(r.RedirectURI, "?") {
		between = "&"
	}
	return r.RedirectURI + between + answer.Encode()
}

// DecideApp takes a member's word on what an app asks, and gives the address that
// they return to the app by. What AskApp refuses it refuses as well. A junior whose
// guardian has not agreed may only say no, and so may somebody who is signed in to
// another academy than the app's; yes is Conflict.
func (s *Service) DecideApp(ctx context.Context, id Identity, r AppRequest, allow bool) (back string, err error) {
	if err := allowed(id.Actor, AppConnect); err != nil {
		return "", err
	}
	err = s.Store.Write(ctx, func(tx Tx) error {
		asking, err := s.ask(ctx, tx, id, r)
		if err != nil {
			return err
		}
		back, err = s.decide(ctx, tx, id, r, asking, allow)
		return err
	})
	return back, err
}

func (s *Service) decide(ctx context.Context, tx Tx, id Identity, r AppRequest, asking Asking, allow bool) (back string, err error) {
	switch {
	case asking.Wrong != nil:
		return asking.Back, nil //nolint:nilerr // the app is told
	case !allow:
		return s.back(r, url.Values{"error": {string(AccessDenied)}, "error_description": {"The person said no."}}), nil
	case asking.Elsewhere:
		return "", domain.Errorf(domain.Conflict, "other_academy", "This app belongs to %s. Go there first.", asking.AcademyName)
	case asking.NeedsGuardian:
		return "", domain.Errorf(domain.Conflict, "consent_missing", "You are a junior, so a guardian has to agree before an app may see your data. Ask your guardian first.")
	}
	now := s.now()
	c := Connection{
		ID: s.Env.NewID(), App: asking.App.ID, Member: id.Member, Role: asking.Role, Scopes: asking.Scopes,
		Redirect: r.RedirectURI, Challenge: r.CodeChallenge, Created: now, Rotated: now, Expires: now.Add(CodeLife),
	}
	secret := newSecret()
	code := codePrefix + string(c.ID) + "." + encode(secret[:])
	c.Code = DigestOf(code)
	if err := tx.AddConnection(ctx, id.Academy, c); err != nil {
		return "", err
	}
	return s.back(r, url.Values{"code": {code}}),
		tx.Record(ctx, id.Academy, c.event(now, id.Member, "app.connected", map[string]any{"name": asking.App.Name, "scopes": c.Scopes.String()}))
}

// event is an event about a connection: its subject is the app.
func (c Connection) event(at time.Time, by domain.ID, kind string, data map[string]any) domain.Event {
	if data == nil {
		data = map[string]any{}
	}
	data["connection"], data["member"] = string(c.ID), string(c.Member)
	e := domain.Event{At: at, Actor: by, Kind: kind, Subject: c.App, Data: data}
	if c.Role == domain.Student {
		e.Student = c.Member
	}
	return e
}

// Connected is a connection with the app's name, and the member's.
type Connected struct {
	Connection
	AppName    string
	MemberName string
}

// Connections lists the asker's own connections to apps, ordered by identity.
func (s *Service) Connections(ctx context.Context, a domain.Actor, page domain.Page) ([]Connected, error) {
	if err := allowed(a, AppConnect); err != nil {
		return nil, err
	}
	return s.connections(ctx, a.Academy, ConnectionQuery{Member: a.Member}, page)
}

// ConnectionsOf lists everybody's connections to one of the academy's apps.
func (s *Service) ConnectionsOf(ctx context.Context, a domain.Actor, app domain.ID, page domain.Page) ([]Connected, error) {
	if _, err := s.App(ctx, a, app); err != nil {
		return nil, err
	}
	return s.connections(ctx, a.Academy, ConnectionQuery{App: app}, page)
}

func (s *Service) connections(ctx context.Context, academy domain.ID, q ConnectionQuery, page domain.Page) (list []Connected, err error) {
	q.LiveAt = s.now()
	err = s.Store.Read(ctx, func(tx Tx) error {
		list = nil
		found, err := tx.Connections(ctx, academy, q, page)
		if err != nil {
			return err
		}
		apps, members := map[domain.ID]string{}, map[domain.ID]string{}
		for _, c := range found {
			if apps[c.App] == "" {
				_, app, err := tx.AppByID(ctx, c.App)
				if err != nil {
					return err
				}
				apps[c.App] = app.Name
			}
			if members[c.Member] == "" {
				m, err := tx.Member(ctx, academy, c.Member)
				if err != nil {
					return err
				}
				members[c.Member] = m.Name
			}
			list = append(list, Connected{c, apps[c.App], members[c.Member]})
		}
		return nil
	})
	return list, err
}

// Disconnect ends a connection: a member's own, or, for owners, anybody's. The
// app's tokens stop working at once. Ending again changes nothing.
func (s *Service) Disconnect(ctx context.Context, a domain.Actor, id domain.ID) error {
	if err := allowed(a, AppConnect); err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		if !isID(id) {
			return domain.ErrNotFound("connection")
		}
		academy, c, err := tx.ConnectionByID(ctx, id)
		if isNotFound(err) || err == nil && (academy != a.Academy || c.Member != a.Member && a.Role != domain.Owner) {
			return domain.ErrNotFound("connection")
		}
		if err != nil {
			return err
		}
		return s.endConnection(ctx, tx, academy, c, a.Member, "app.disconnected", Disconnected)
	})
}

// endConnection ends a connection, if it still lives, and says so in the log.
func (s *Service) endConnection(ctx context.Context, tx Tx, academy domain.ID, c Connection, by domain.ID, kind string, why EndReason) error {
	now := s.now()
	n, err := tx.EndConnections(ctx, academy, ConnectionQuery{ID: c.ID}, now, why)
	if err != nil || n == 0 {
		return err
	}
	return tx.Record(ctx, academy, c.event(now, by, kind, nil))
}
