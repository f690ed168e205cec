package api

import (
	"mime"
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"fringework/auth"
)

// OAuthProblem is an error of the token endpoint (RFC 6749 §5.2).
type OAuthProblem struct {
	// Error is the error's code (RFC 6749 §5.2).
	Error string `json:"error" binding:"required" enums:"invalid_request,invalid_client,invalid_grant,invalid_scope,unsupported_grant_type" example:"invalid_client"`
	// Description says it in a sentence.
	Description string `json:"error_description,omitempty"`
} // @name OAuthProblem

// OAuthToken is an access token for software (RFC 6749 §5.1).
type OAuthToken struct {
	// AccessToken is the access token.
	AccessToken string `json:"access_token" binding:"required"`
	TokenType   string `json:"token_type" binding:"required" example:"Bearer"`
	// ExpiresIn is how long the token is valid, in seconds.
	ExpiresIn int `json:"expires_in" binding:"required" minimum:"0" example:"600"`
	// Scope is the scopes of the token, separated by spaces.
	Scope string `json:"scope" binding:"required" example:"sessions:read progress:read"`
} // @name OAuthToken

// exchangeKey gives software an access token for its key.
//
//	@Summary		Exchange an application key for an access token
//	@Description	The client credentials grant of OAuth 2.0 (RFC 6749 §4.4). Send the key's id as client_id and its secret as client_secret, by HTTP Basic or in the body, not both. There is no refresh token: ask again when the token expires. Errors of the grant have the form of RFC 6749 §5.2; any other error is a problem document.
//	@ID				createToken
//	@Tags			Access
//	@Accept			x-www-form-urlencoded
//	@Produce		json
//	@Param			grant_type		formData	string	true	"client_credentials"	Enums(client_credentials)
//	@Param			client_id		formData	string	false	"The key's id, unless sent by HTTP Basic"
//	@Param			client_secret	formData	string	false	"The key's secret, unless sent by HTTP Basic"
//	@Param			scope			formData	string	false	"The scopes to ask for, separated by spaces; all of the key's by default"
//	@Success		200		{object}	OAuthToken
//	@Failure		400,401	{object}	OAuthProblem
//	@Failure		413,429,500	{object}	Problem
//	@Security		Basic
//	@x-optional-security	true
//	@Router			/v1/oauth/token [post]
func (s *Server) exchangeKey(c echo.Context) error {
	r, err := readGrant(c)
	if err != nil {
		return err
	}
	t, err := s.Auth.ExchangeKey(c.Request().Context(), r)
	if err != nil {
		return err
	}
	noStore(c)
	c.Response().Header().Set("Pragma", "no-cache")
	return writeJSON(c, http.StatusOK, OAuthToken{
		AccessToken: t.Access, TokenType: "Bearer", ExpiresIn: t.ExpiresIn, Scope: t.Scopes.String(),
	})
}

func badGrant(description string) error {
	return &auth.OAuthError{Code: auth.InvalidRequest, Description: description}
}

// readGrant reads a token request, RFC 6749 §§2.3.1 and 4.4.2. Parameters that
// the RFC does not know are ignored, as its §3.2 asks.
func readGrant(c echo.Context) (r auth.KeyRequest, err error) {
	req := c.Request()
	if t, _, err := mime.ParseMediaType(req.Header.Get(echo.HeaderContentType)); err != nil || t != echo.MIMEApplicationForm {
		return r, badGrant("Send the request as application/x-www-form-urlencoded.")
	}
	body, err := readAll(req)
	if err != nil {
		return r, err
	}
	form, err := url.ParseQuery(string(body))
	if err != nil {
		return r, badGrant("The body is not application/x-www-form-urlencoded.")
	}
	for name, values := range form {
		if len(values) > 1 && grantParameter(name) {
			return r, badGrant("The parameter " + name + " is given more than once; give it once.")
		}
	}
	r = auth.KeyRequest{
		GrantType: form.Get("grant_type"), ClientID: form.Get("client_id"), ClientSecret: form.Get("client_secret"),
		Scope: form.Get("scope"), Address: c.RealIP(),
	}
	return r, readBasic(req, &r)
}

func grantParameter(name string) bool {
	switch name {
	case "grant_type", "client_id", "client_secret", "scope":
		return true
	}
	return false
}

// readBasic takes the client's credentials from the Authorization header, if
// they are there.
func readBasic(req *http.Request, r *auth.KeyRequest) error {
	header := req.Header.Get(echo.HeaderAuthorization)
	if header == "" {
		return nil
	}
	refused := &auth.OAuthError{Code: auth.InvalidClient, Description: "The Authorization header is not HTTP Basic with client_id and client_secret."}
	user, password, ok := req.BasicAuth()
	if !ok {
		return refused
	}
	id, errID := url.QueryUnescape(user)
	secret, errSecret := url.QueryUnescape(password)
	if errID != nil || errSecret != nil {
		return refused
	}
	if r.ClientSecret != "" || r.ClientID != "" && !strings.EqualFold(r.ClientID, id) {
		return badGrant("Send the client credentials once, by HTTP Basic or in the body.")
	}
	r.ClientID, r.ClientSecret = id, secret
	return nil
}

func (s *Server) answerOAuth(c echo.Context, e *auth.OAuthError) {
	status := http.StatusBadRequest
	if e.Code == auth.InvalidClient {
		status = http.StatusUnauthorized
		c.Response().Header().Set(echo.HeaderWWWAuthenticate, `Basic realm="fringework"`)
	}
	noStore(c)
	c.Response().Header().Set("Pragma", "no-cache")
	if err := writeJSON(c, status, OAuthProblem{Error: string(e.Code), Description: e.Description}); err != nil {
		s.log.Warn("answer not sent", "request_id", requestID(c), "error", err)
	}
}
