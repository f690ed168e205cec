package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// Introspection is what a token is worth (RFC 7662 §2.2). Of one that is not good
// it has active alone.
type Introspection struct {
	// Active says whether the token is good.
	Active bool `json:"active" binding:"required"`
	// Scope is the token's scopes, separated by spaces.
	Scope string `json:"scope,omitempty" example:"sessions:read progress:read"`
	// ClientID is the app or key that it was given to.
	ClientID string `json:"client_id,omitempty" format:"uuid"`
	// TokenType is how an access token is sent; a refresh token has none.
	TokenType string `json:"token_type,omitempty" example:"Bearer"`
	// ExpiresAt is when it ends, in seconds since 1970-01-01 UTC.
	ExpiresAt int64 `json:"exp,omitempty" example:"1777881600"`
	// Subject is the account, or the key.
	Subject string `json:"sub,omitempty" format:"uuid"`
	// Issuer is this service.
	Issuer string `json:"iss,omitempty" example:"https://practice.example.org"`
	// AcademyID and MemberID are whose data it reads; a key has no member.
	AcademyID domain.ID `json:"academy_id,omitempty" format:"uuid"`
	MemberID  domain.ID `json:"member_id,omitempty" format:"uuid"`
} // @name Introspection

// introspectToken tells about a token.
//
//	@Summary		Ask about a token
//	@Description	OAuth 2.0 token introspection (RFC 7662), for apps and keys that have a secret, about their own tokens. Any other token is told as not active.
//	@ID				introspectToken
//	@Tags			Access
//	@Accept			x-www-form-urlencoded
//	@Produce		json
//	@Param			token			formData	string	true	"The access or refresh token"
//	@Param			token_type_hint	formData	string	false	"access_token or refresh_token; not needed"
//	@Param			client_id		formData	string	false	"The app's or key's id, unless sent by HTTP Basic"
//	@Param			client_secret	formData	string	false	"Its secret, unless sent by HTTP Basic"
//	@Success		200		{object}	Introspection
//	@Failure		400,401	{object}	OAuthProblem
//	@Failure		413,429,500	{object}	Problem
//	@Security		Basic
//	@x-optional-security	true
//	@Router			/v1/oauth/introspect [post]
func (s *Server) introspectToken(c echo.Context) error {
	form, r, err := readGrant(c)
	if err != nil {
		return err
	}
	t, err := s.Auth.Introspect(c.Request().Context(), r, form.Get("token"))
	if err != nil {
		return err
	}
	noStore(c)
	if !t.Active {
		return writeJSON(c, http.StatusOK, Introspection{})
	}
	out := Introspection{
		Active: true, Scope: t.Scopes.String(), ClientID: string(t.Client), ExpiresAt: t.Expires.Unix(),
		Subject: string(t.Subject), Issuer: s.Auth.Issuer, AcademyID: t.Academy, MemberID: t.Member,
	}
	if !t.Refresh {
		out.TokenType = "Bearer"
	}
	return writeJSON(c, http.StatusOK, out)
}

// revokeToken ends a token.
//
//	@Summary		Give a token back
//	@Description	OAuth 2.0 token revocation (RFC 7009), for apps. Either token of a connection ends all of it. An unknown token is no error.
//	@ID				revokeToken
//	@Tags			Access
//	@Accept			x-www-form-urlencoded
//	@Produce		json
//	@Param			token			formData	string	true	"The access or refresh token"
//	@Param			token_type_hint	formData	string	false	"access_token or refresh_token; not needed"
//	@Param			client_id		formData	string	false	"The app's id, unless sent by HTTP Basic"
//	@Param			client_secret	formData	string	false	"The app's secret, if it has one, unless sent by HTTP Basic"
//	@Success		200		"The token is good no more"
//	@Failure		400,401	{object}	OAuthProblem
//	@Failure		413,429,500	{object}	Problem
//	@Security		Basic
//	@x-optional-security	true
//	@Router			/v1/oauth/revoke [post]
func (s *Server) revokeToken(c echo.Context) error {
	form, r, err := readGrant(c)
	if err != nil {
		return err
	}
	if err := s.Auth.RevokeToken(c.Request().Context(), r, form.Get("token")); err != nil {
		return err
	}
	noStore(c)
	return c.NoContent(http.StatusOK)
}

// OAuthMetadata describes the authorization server (RFC 8414 §2).
type OAuthMetadata struct {
	// Issuer names the service, as tokens and answers to apps do.
	Issuer string `json:"issuer" binding:"required" example:"https://practice.example.org"`
	// AuthorizationEndpoint is the page that asks people.
	AuthorizationEndpoint string `json:"authorization_endpoint" binding:"required" example:"https://practice.example.org/connect"`
	// TokenEndpoint gives tokens.
	TokenEndpoint string `json:"token_endpoint" binding:"required" example:"https://practice.example.org/v1/oauth/token"`
	// RevocationEndpoint takes tokens back.
	RevocationEndpoint string `json:"revocation_endpoint" binding:"required" example:"https://practice.example.org/v1/oauth/revoke"`
	// IntrospectionEndpoint tells about tokens.
	IntrospectionEndpoint string `json:"introspection_endpoint" binding:"required" example:"https://practice.example.org/v1/oauth/introspect"`
	// ServiceDocumentation is this description.
	ServiceDocumentation string `json:"service_documentation" binding:"required" example:"https://practice.example.org/openapi.json"`
	// Scopes are all that there are.
	Scopes []string `json:"scopes_supported" binding:"required" example:"sessions:read,progress:read"`
	// ResponseTypes are what the page can be asked for.
	ResponseTypes []string `json:"response_types_supported" binding:"required" example:"code"`
	// ResponseModes are how the page answers an app.
	ResponseModes []string `json:"response_modes_supported" binding:"required" example:"query"`
	// GrantTypes are what tokens are given for.
	GrantTypes []string `json:"grant_types_supported" binding:"required" example:"authorization_code,refresh_token,client_credentials"`
	// ChallengeMethods are those of PKCE, which is required.
	ChallengeMethods []string `json:"code_challenge_methods_supported" binding:"required" example:"S256"`
	// TokenAuth is how clients prove themselves to get a token.
	TokenAuth []string `json:"token_endpoint_auth_methods_supported" binding:"required" example:"client_secret_basic,client_secret_post,none"`
	// RevocationAuth is how apps prove themselves to give a token back.
	RevocationAuth []string `json:"revocation_endpoint_auth_methods_supported" binding:"required" example:"client_secret_basic,client_secret_post,none"`
	// IntrospectionAuth is how clients prove themselves to ask about a token.
	IntrospectionAuth []string `json:"introspection_endpoint_auth_methods_supported" binding:"required" example:"client_secret_basic,client_secret_post"`
	// Iss says that answers to apps name the issuer (RFC 9207 §3).
	Iss bool `json:"authorization_response_iss_parameter_supported" binding:"required" example:"true"`
} // @name OAuthMetadata

// oauthMetadata describes the authorization server.
//
//	@Summary		Read where OAuth 2.0 is served
//	@Description	Authorization server metadata (RFC 8414), for apps that members connect. Many client libraries need no more than this address.
//	@ID				getOAuthMetadata
//	@Tags			System
//	@Produce		json
//	@Success		200	{object}	OAuthMetadata
//	@Failure		500	{object}	Problem
//	@Router			/.well-known/oauth-authorization-server [get]
func (s *Server) oauthMetadata(c echo.Context) error {
	at := s.publicURL(c)
	secret := []string{"client_secret_basic", "client_secret_post"}
	anyClient := append([]string{"none"}, secret...)
	body, err := encode(OAuthMetadata{
		Issuer: s.Auth.Issuer, AuthorizationEndpoint: at + connectPage, TokenEndpoint: at + tokenPath,
		RevocationEndpoint: at + revokePath, IntrospectionEndpoint: at + introspectPath, ServiceDocumentation: at + "/openapi.json",
		Scopes: words(auth.AllScopes()), ResponseTypes: []string{"code"}, ResponseModes: []string{"query"},
		GrantTypes: []string{"authorization_code", "refresh_token", "client_credentials"}, ChallengeMethods: []string{"S256"},
		TokenAuth: anyClient, RevocationAuth: anyClient, IntrospectionAuth: secret, Iss: true,
	})
	if err != nil {
		return err
	}
	return cacheable(c, echo.MIMEApplicationJSON, body)
}
