package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// AppRegistration describes an app to register.
type AppRegistration struct {
	// Name is what people see when they are asked.
	Name string `json:"name" validate:"required" minLength:"1" maxLength:"100" example:"Swing diary"`
	// RedirectURIs are where a person may be sent back to: https, http://127.0.0.1 or
	// http://[::1] with any port, or a scheme of the app's own with a dot in it.
	RedirectURIs []string `json:"redirect_uris" validate:"required" minItems:"1" maxItems:"10" example:"https://diary.example/connected"`
	// Scopes are all that the app may ever ask for.
	Scopes []string `json:"scopes" validate:"required" minItems:"1" enums:"sessions:read,progress:read,programmes:read,members:read,events:read,calc:use" example:"sessions:read,progress:read"`
	// Public is true for an app that can keep no secret, such as one on a phone or in
	// a browser.
	Public bool `json:"public,omitempty"`
} // @name AppRegistration

// App is software of others that members may connect to their account.
type App struct {
	// ID is the OAuth client_id.
	ID domain.ID `json:"id" binding:"required" format:"uuid"`
	// Name is what people see when they are asked.
	Name string `json:"name" binding:"required" example:"Swing diary"`
	// RedirectURIs are where people return to.
	RedirectURIs []string `json:"redirect_uris" binding:"required" example:"https://diary.example/connected"`
	// Scopes are all that the app may ask for.
	Scopes []string `json:"scopes" binding:"required" enums:"sessions:read,progress:read,programmes:read,members:read,events:read,calc:use"`
	// Public is true for an app without a secret.
	Public bool `json:"public" binding:"required"`
	// CreatedBy is the owner who registered it.
	CreatedBy domain.ID `json:"created_by" binding:"required" format:"uuid"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	// RevokedAt is when it was withdrawn; absent while it is good.
	RevokedAt *time.Time `json:"revoked_at,omitempty" format:"date-time"`
} // @name App

// AppCreated is a new app. Its secret, absent for a public app, is shown only this
// once.
type AppCreated struct {
	App
	// ClientSecret is the OAuth client_secret.
	ClientSecret string `json:"client_secret,omitempty" example:"fwa_example-only-not-a-real-secret"`
} // @name AppCreated

// AppPage is one page of the academy's apps.
type AppPage struct {
	Items []App `json:"items" binding:"required"`
	Links Links `json:"links" binding:"required"`
} // @name AppPage

// Connection is a member's word that an app may read for them.
type Connection struct {
	ID domain.ID `json:"id" binding:"required" format:"uuid"`
	// AppID is the app.
	AppID domain.ID `json:"app_id" binding:"required" format:"uuid"`
	// AppName is what the academy's owner called it.
	AppName string `json:"app_name" binding:"required" example:"Swing diary"`
	// MemberID is who has let it in.
	MemberID domain.ID `json:"member_id" binding:"required" format:"uuid"`
	// MemberName is the member's name.
	MemberName string `json:"member_name" binding:"required" example:"Ada Birch"`
	// Allows is what the app may see.
	Allows []AppScope `json:"allows" binding:"required"`
	// ConnectedAt is when the member allowed it.
	ConnectedAt time.Time `json:"connected_at" binding:"required" format:"date-time"`
	// UsedAt is when the app last got an access token.
	UsedAt time.Time `json:"used_at" binding:"required" format:"date-time"`
	// ExpiresAt is when it ends unless the app uses it before.
	ExpiresAt time.Time `json:"expires_at" binding:"required" format:"date-time"`
} // @name Connection

// AppScope is a scope, in words for the member whom it concerns.
type AppScope struct {
	// Scope is the scope.
	Scope string `json:"scope" binding:"required" enums:"sessions:read,progress:read,programmes:read,members:read,events:read,calc:use" example:"progress:read"`
	// Text says what it lets an app see.
	Text string `json:"text" binding:"required" example:"See your progress and what you should practise now"`
} // @name AppScope

// ConnectionPage is one page of connections.
type ConnectionPage struct {
	Items []Connection `json:"items" binding:"required"`
	Links Links        `json:"links" binding:"required"`
} // @name ConnectionPage

func encodeApp(a auth.App) App {
	return App{
		ID: a.ID, Name: a.Name, RedirectURIs: a.Redirects, Scopes: words(a.Scopes), Public: a.Public(),
		CreatedBy: a.By, CreatedAt: a.Created.UTC(), RevokedAt: instant(a.Revoked),
	}
}

func appScopes(scopes auth.Scopes, role domain.Role) []AppScope {
	return each(scopes, func(s auth.Scope) AppScope { return AppScope{Scope: string(s), Text: s.Words(role)} })
}

func (s *Server) encodeConnection(c auth.Connected) Connection {
	return Connection{
		ID: c.ID, AppID: c.App, AppName: c.AppName, MemberID: c.Member, MemberName: c.MemberName, Allows: appScopes(c.Scopes, c.Role),
		ConnectedAt: c.Created.UTC(), UsedAt: c.Rotated.UTC(), ExpiresAt: s.Auth.ConnectionEnd(c.Connection).UTC(),
	}
}

// registerApp registers an app.
//
//	@Summary		Register an app
//	@Description	Members may then connect the app to their account by OAuth 2.0: the authorization code grant with PKCE (RFC 6749, RFC 7636, RFC 9700), described at /.well-known/oauth-authorization-server. An app only reads, and only what the member who connects it may read. The answer has the secret, shown only this once: copy it now. A public app gets none.
//	@ID				registerApp
//	@Tags			Apps
//	@Accept			json
//	@Produce		json
//	@Param			app	body		AppRegistration	true	"The app"
//	@Success		201	{object}	AppCreated
//	@Failure		400,401,403,409,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/apps [post]
func (s *Server) registerApp(c echo.Context) error {
	var r AppRegistration
	if err := decode(c, &r); err != nil {
		return err
	}
	app, secret, err := s.Auth.RegisterApp(c.Request().Context(), actor(c), auth.NewApp{
		Name: r.Name, Redirects: r.RedirectURIs, Public: r.Public,
		Scopes: each(r.Scopes, func(text string) auth.Scope { return auth.Scope(text) }),
	})
	if err != nil {
		return err
	}
	noStore(c)
	return created(c, "/v1/apps/"+string(app.ID), 0, AppCreated{App: encodeApp(app), ClientSecret: secret})
}

// listApps lists the academy's apps.
//
//	@Summary	List apps
//	@ID			listApps
//	@Tags		Apps
//	@Produce	json
//	@Param		limit	query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor	query		string	false	"Where to continue, from links.next"
//	@Success	200		{object}	AppPage
//	@Success	304		"Not modified"
//	@Failure	400,401,403,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/apps [get]
func (s *Server) listApps(c echo.Context) error {
	q := newQuery(c)
	page := q.page()
	if err := q.done(); err != nil {
		return err
	}
	apps, err := s.Auth.ListApps(c.Request().Context(), actor(c), page)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, apps, func(a auth.App) domain.ID { return a.ID }, encodeApp)
	return ok(c, 0, AppPage{Items: items, Links: links})
}

// getApp reads an app.
//
//	@Summary	Read an app
//	@ID			getApp
//	@Tags		Apps
//	@Produce	json
//	@Param		app_id			path		string	true	"The app"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	App
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/apps/{app_id} [get]
func (s *Server) getApp(c echo.Context) error {
	id, err := pathID(c, "app_id")
	if err != nil {
		return err
	}
	app, err := s.Auth.App(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, encodeApp(app))
}

// revokeApp withdraws an app.
//
//	@Summary		Withdraw an app
//	@Description	All connections to it end, and its tokens stop working at once. Withdrawing twice changes nothing.
//	@ID				revokeApp
//	@Tags			Apps
//	@Produce		json
//	@Param			app_id	path	string	true	"The app"	format(uuid)
//	@Success		204		"Withdrawn"
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/apps/{app_id} [delete]
func (s *Server) revokeApp(c echo.Context) error {
	id, err := pathID(c, "app_id")
	if err != nil {
		return err
	}
	if err := s.Auth.RevokeApp(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	return noContent(c)
}

// listAppConnections lists who has connected an app.
//
//	@Summary	List who has connected an app
//	@ID			listAppConnections
//	@Tags		Apps
//	@Produce	json
//	@Param		app_id	path		string	true	"The app"	format(uuid)
//	@Param		limit	query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor	query		string	false	"Where to continue, from links.next"
//	@Success	200		{object}	ConnectionPage
//	@Success	304		"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/apps/{app_id}/connections [get]
func (s *Server) listAppConnections(c echo.Context) error {
	id, err := pathID(c, "app_id")
	if err != nil {
		return err
	}
	return s.connectionPage(c, func(page domain.Page) ([]auth.Connected, error) {
		return s.Auth.ConnectionsOf(c.Request().Context(), actor(c), id, page)
	})
}

// listConnections lists one's own connections.
//
//	@Summary	List the apps that you have connected
//	@ID			listConnections
//	@Tags		Apps
//	@Produce	json
//	@Param		limit	query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor	query		string	false	"Where to continue, from links.next"
//	@Success	200		{object}	ConnectionPage
//	@Success	304		"Not modified"
//	@Failure	400,401,403,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/connections [get]
func (s *Server) listConnections(c echo.Context) error {
	return s.connectionPage(c, func(page domain.Page) ([]auth.Connected, error) {
		return s.Auth.Connections(c.Request().Context(), actor(c), page)
	})
}

func (s *Server) connectionPage(c echo.Context, list func(domain.Page) ([]auth.Connected, error)) error {
	q := newQuery(c)
	page := q.page()
	if err := q.done(); err != nil {
		return err
	}
	found, err := list(page)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, found, func(c auth.Connected) domain.ID { return c.ID }, s.encodeConnection)
	return ok(c, 0, ConnectionPage{Items: items, Links: links})
}

// endConnection disconnects an app.
//
//	@Summary		Disconnect an app
//	@Description	Of yourself, or, for owners, of anybody in the academy. The app's tokens stop working at once. Disconnecting twice changes nothing.
//	@ID				endConnection
//	@Tags			Apps
//	@Produce		json
//	@Param			connection_id	path	string	true	"The connection"	format(uuid)
//	@Success		204				"Disconnected"
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/connections/{connection_id} [delete]
func (s *Server) endConnection(c echo.Context) error {
	id, err := pathID(c, "connection_id")
	if err != nil {
		return err
	}
	if err := s.Auth.Disconnect(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	return noContent(c)
}
