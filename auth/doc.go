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
// Every instant kept is UTC, in whole milliseconds.
package auth
