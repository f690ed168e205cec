package api

import (
	"mime"
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// OAuthProblem is an error of OAuth 2.0 (RFC 6749 §5.2, RFC 7009 §2.2.1).
type OAuthProblem struct {
	// Error is the error's code.
	Error string `json:"error" binding:"required" enums:"invalid_request,invalid_client,invalid_grant,invalid_scope,unauthorized_client,unsupported_grant_type,unsupported_token_type" example:"invalid_client"`
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
	// Scope is the scopes of the token, separated by spaces. It may be less than was
	// asked for.
	Scope string `json:"scope" binding:"required" example:"sessions:read progress:read"`
	// RefreshToken is an app's, for its next access token, which comes with the next
	// refresh token; a key has none.
	RefreshToken string `json:"refresh_token,omitempty"`
	// AcademyID and MemberID are who connected the app.
	AcademyID domain.ID `json:"academy_id,omitempty" format:"uuid"`
	MemberID  domain.ID `json:"member_id,omitempty" format:"uuid"`
} // @name OAuthToken

// createToken gives software an access token.
//
//	@Summary		Get an access token for software
//	@Description	For an application key: the client credentials grant of OAuth 2.0 (RFC 6749 §4.4). There is no refresh token: ask again when the token expires.
//	@Description
//	@Description	For an app that a member connects: the authorization code grant (§4.1) with PKCE (RFC 7636), and then refresh_token (§6). A code is good once, for a minute; using it twice ends the connection. A refresh token is replaced by each use; until you use the new one, the old one gives it again, so a lost answer does no harm. One that is older ends the connection, since somebody else has a copy.
//	@Description
//	@Description	Send the id as client_id and the secret as client_secret, by HTTP Basic or in the body, not both; a public app sends its client_id alone, in the body. Errors of the grant have the form of RFC 6749 §5.2; any other error is a problem document.
//	@ID				createToken
//	@Tags			Access
//	@Accept			x-www-form-urlencoded
//	@Produce		json
//	@Param			grant_type		formData	string	true	"What the token is asked for by"	Enums(client_credentials,authorization_code,refresh_token)
//	@Param			client_id		formData	string	false	"The key's or app's id, unless sent by HTTP Basic"
//	@Param			client_secret	formData	string	false	"Its secret, unless sent by HTTP Basic"
//	@Param			scope			formData	string	false	"The scopes to ask for, separated by spaces; all there are by default. Not with authorization_code"
//	@Param			code			formData	string	false	"With authorization_code: the code"
//	@Param			redirect_uri	formData	string	false	"With authorization_code: the one that the code was asked for with"
//	@Param			code_verifier	formData	string	false	"With authorization_code: what the code_challenge was made from"
//	@Param			refresh_token	formData	string	false	"With refresh_token: the newest refresh token"
//	@Success		200		{object}	OAuthToken
//	@Failure		400,401	{object}	OAuthProblem
//	@Failure		413,429,500,503	{object}	Problem
//	@Security		Basic
//	@x-optional-security	true
//	@Router			/v1/oauth/token [post]
func (s *Server) createToken(c echo.Context) error {
	form, r, err := readGrant(c)
	if err != nil {
		return err
	}
	var t auth.AppToken
	switch r.GrantType {
	case "authorization_code", "refresh_token":
		t, err = s.Auth.ExchangeApp(c.Request().Context(), auth.AppTokenRequest{
			KeyRequest: r, Code: form.Get("code"), RedirectURI: form.Get("redirect_uri"),
			CodeVerifier: form.Get("code_verifier"), RefreshToken: form.Get("refresh_token"),
		})
	default:
		t.KeyToken, err = s.Auth.ExchangeKey(c.Request().Context(), r)
	}
	if err != nil {
		return err
	}
	noStore(c)
	c.Response().Header().Set("Pragma", "no-cache")
	return writeJSON(c, http.StatusOK, OAuthToken{
		AccessToken: t.Access, TokenType: "Bearer", ExpiresIn: t.ExpiresIn, Scope: t.Scopes.String(),
		RefreshToken: t.Refresh, AcademyID: t.Academy, MemberID: t.Member,
	})
}

func badGrant(description string) error {
	return &auth.OAuthError{Code: auth.InvalidRequest, Description: description}
}

// readGrant reads a request about tokens, RFC 6749 §§2.3.1 and 4.4.2. Parameters
// that the RFC does not know are ignored, as its §3.2 asks.
func readGrant(c echo.Context) (form url.Values, r auth.KeyRequest, err error) {
	req := c.Request()
	if t, _, err := mime.ParseMediaType(req.Header.Get(echo.HeaderContentType)); err != nil || t != echo.MIMEApplicationForm {
		return nil, r, badGrant("Send the request as application/x-www-form-urlencoded.")
	}
	body, err := readAll(req)
	if err != nil {
		return nil, r, err
	}
	form, err = url.ParseQuery(string(body))
	if err != nil {
		return nil, r, badGrant("The body is not application/x-www-form-urlencoded.")
	}
	for name, values := range form {
		if len(values) > 1 && grantParameter(name) {
			return nil, r, badGrant("The parameter " + name + " is given more than once; give it once.")
		}
	}
	r = auth.KeyRequest{
		GrantType: form.Get("grant_type"), ClientID: form.Get("client_id"), ClientSecret: form.Get("client_secret"),
		Scope: form.Get("scope"), Address: c.RealIP(),
	}
	err = readBasic(req, &r)
	return form, r, err
}

func grantParameter(name string) bool {
	switch name {
	case "grant_type", "client_id", "client_secret", "scope", "code", "redirect_uri", "code_verifier", "refresh_token", "token", "token_type_hint":
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
