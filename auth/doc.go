// Package auth says who is asking and what they may try: passwords, signing
// keys, access and refresh tokens, invitations, application keys, limits on
// guessing, and the one table of who may do what. It knows neither HTTP nor
// SQL; the store it needs is declared here and implemented elsewhere.
//
// An account is global: one e-mail, one password, any number of academies. A
// member is an account in one academy, with one role there. Signing in starts
// a family: the chain of refresh tokens of one device. Access tokens are short
// and signed; each use of one is still checked against the family and the
// member, so that signing out, removal and a change of role act at once.
//
// A refresh token gives its one successor, as often as it is asked, until that
// successor is used. So a device whose network loses replies, for an hour or for
// days, stays signed in, and so does one that dies before it has kept the new
// token. Whoever presents an older token has a copy of the chain: the family
// ends, for both holders (RFC 9700 §4.14.2). Of a token the store keeps the
// digest alone, and of its successor a salt that is of use only together with
// the token itself.
//
// An app is software of others that an owner registers and members connect to their
// account: OAuth 2.0 (RFC 6749) with the authorization code and PKCE (RFC 7636), by
// the best current practice (RFC 9700). A connection is one member's word to one app;
// its tokens read what the member may read, within the scopes allowed, for as long as
// the member, their role, the app and the word stand.
//
// Every instant kept is UTC, in whole milliseconds.
package auth
