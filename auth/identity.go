package auth

import (
	"time"

	"fringework/domain"
)

// Identity is who asks, as a bearer token and the store told it.
type Identity struct {
	// Actor is what the domain's services are given. For a person who has
	// chosen no academy all its fields are empty.
	domain.Actor
	// Account is the person's account; empty for an application key.
	Account domain.ID
	// Family is the sign-in the token came from; empty for a key and for an app.
	Family domain.ID
	// Connection is what an app asks by; empty unless Actor.App is set.
	Connection domain.ID
	// Scopes are what a key or an app may do; nil for a person.
	Scopes Scopes
	// Expires is when the token ends.
	Expires time.Time
}

// May reports whether the identity may try an action.
func (i Identity) May(a Action) bool {
	switch {
	case i.App != "":
		// What the person may, of what they allowed.
		return May(i.Role, nil, a) && May("", i.Scopes, a)
	case i.Account != "" && i.Role == "":
		return PermissionOf(a).Anywhere
	}
	return May(i.Role, i.Scopes, a)
}
