package auth

import (
	"context"
	"time"

	"fringework/domain"
)

// AppTx keeps apps and the connections that members make to them.
type AppTx interface {
	// AddApp stores a new app.
	AddApp(ctx context.Context, academy domain.ID, a App) error
	// AppByID finds an app of any academy, revoked ones too, by its identity, which
	// is unique among all academies. NotFound when absent.
	AppByID(ctx context.Context, id domain.ID) (academy domain.ID, a App, err error)
	// Apps lists an academy's apps, revoked ones too, ordered by identity, at most
	// Page.Limit, after Page.After.
	Apps(ctx context.Context, academy domain.ID, page domain.Page) ([]App, error)
	// GoodApps counts the academy's apps that are not revoked, and keeps others from
	// adding one until the transaction ends.
	GoodApps(ctx context.Context, academy domain.ID) (int, error)
	// RevokeApp marks an app revoked. It reports false, and changes nothing, when the
	// app is absent from the academy or revoked already.
	RevokeApp(ctx context.Context, academy, id domain.ID, at time.Time) (bool, error)

	// AddConnection stores a new connection.
	AddConnection(ctx context.Context, academy domain.ID, c Connection) error
	// ConnectionByID finds a connection of any academy, ended ones too, by its
	// identity, which is unique among all academies. NotFound when absent.
	ConnectionByID(ctx context.Context, id domain.ID) (academy domain.ID, c Connection, err error)
	// SaveConnection stores Lineage, Current, Previous, Salt, Exchanged, Rotated and
	// Expires of c if the connection still lives and its stored Current still is
	// was; else it reports false and changes nothing. Of several transactions that
	// save over the same Current, exactly one is told true.
	SaveConnection(ctx context.Context, academy domain.ID, c Connection, was Digest) (bool, error)
	// Connections lists what a query picks, ordered by identity, at most Page.Limit,
	// after Page.After.
	Connections(ctx context.Context, academy domain.ID, q ConnectionQuery, page domain.Page) ([]Connection, error)
	// EndConnections ends the living connections that a query picks and reports how
	// many. An empty query picks none.
	EndConnections(ctx context.Context, academy domain.ID, q ConnectionQuery, at time.Time, why EndReason) (int, error)
	// SweepConnections deletes connections that expired before an instant, at most
	// limit of them, and reports how many.
	SweepConnections(ctx context.Context, before time.Time, limit int) (int, error)
}

// ConnectionQuery picks connections of an academy: of one app, of one member, or
// one of them. What is empty picks all.
type ConnectionQuery struct {
	ID, App, Member domain.ID
	// LiveAt, when not zero, picks those whose code was exchanged, that have not
	// ended, and that expire after it.
	LiveAt time.Time
}

// AppAccess says for whom an app may ask this moment.
type AppAccess struct {
	App    domain.ID
	Member domain.ID
	Role   domain.Role
}
