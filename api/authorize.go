package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// AuthorizationRequest is what an app sends a person to /connect with, as its query
// has it (RFC 6749 §4.1.1, RFC 7636 §4.3). What the query has besides is left out.
type AuthorizationRequest struct {
	// ResponseType is what is asked for: code.
	ResponseType string `json:"response_type,omitempty" example:"code"`
	// ClientID is the app.
	ClientID string `json:"client_id,omitempty" format:"uuid" example:"0198c5f2-0000-7000-8000-000000000000"`
	// RedirectURI is where the person is to return to: one that the app was registered
	// with, letter by letter, but for the port on the person's own machine.
	RedirectURI string `json:"redirect_uri,omitempty" example:"https://diary.example/connected"`
	// Scope is the scopes asked for, separated by spaces; all that the app may ask for
	// by default.
	Scope string `json:"scope,omitempty" example:"sessions:read progress:read"`
	// State is given back to the app as it is.
	State string `json:"state,omitempty" example:"af0ifjsldkj"`
	// CodeChallenge is the SHA-256 of the verifier that the code will be exchanged
	// with, in base64url.
	CodeChallenge string `json:"code_challenge,omitempty" example:"E9Melhoa2OwvFrEMTJguCHaoeK1t8URWbuGJSstw-cM"`
	// CodeChallengeMethod says how the challenge was made: S256.
	CodeChallengeMethod string `json:"code_challenge_method,omitempty" example:"S256"`
} // @name AuthorizationRequest

func (r AuthorizationRequest) request() auth.AppRequest { return auth.AppRequest(r) }

// AuthorizationDecision is a person's word on what an app asks.
type AuthorizationDecision struct {
	AuthorizationRequest
	// Allow is true for yes.
	Allow bool `json:"allow" validate:"required" example:"true"`
} // @name AuthorizationDecision

// Authorization is what an app asks of the person who is signed in.
type Authorization struct {
	// AppID is the app.
	AppID domain.ID `json:"app_id" binding:"required" format:"uuid"`
	// AppName is what the academy's owner called it.
	AppName string `json:"app_name" binding:"required" example:"Swing diary"`
	// RegisteredBy is the name of the owner who registered the app.
	RegisteredBy string `json:"registered_by" binding:"required" example:"Olga Fairway"`
	// AcademyID is the app's academy.
	AcademyID   domain.ID `json:"academy_id" binding:"required" format:"uuid"`
	AcademyName string    `json:"academy_name" binding:"required" example:"Links Academy"`
	// Elsewhere is true when the token is for another of the person's academies: it
	// has to be refreshed with this academy_id before they can say yes.
	Elsewhere bool `json:"elsewhere" binding:"required"`
	// MemberName and Role are as whom the app would read.
	MemberName string `json:"member_name" binding:"required" example:"Ada Birch"`
	Role       string `json:"role" binding:"required" extensions:"x-words=roles" example:"student"`
	// Asks is what it asks for, without what is of no use to the role.
	Asks []AppScope `json:"asks" binding:"required"`
	// Never is what no app can do, each to follow "It can never".
	Never []string `json:"never" binding:"required" example:"change or delete anything"`
	// NeedsGuardian is true for a junior whose guardian has not agreed: the answer can
	// only be no.
	NeedsGuardian bool `json:"needs_guardian" binding:"required"`
	// ReturnTo leads back to the app with the error, when the request is wrong and
	// cannot be allowed.
	ReturnTo string `json:"return_to,omitempty"`
	// Error and ErrorDescription say what is wrong with the request, for the app's
	// developer (RFC 6749 §4.1.2.1).
	Error            string `json:"error,omitempty" example:"invalid_scope"`
	ErrorDescription string `json:"error_description,omitempty"`
} // @name Authorization

// AuthorizationAnswer is where the person goes on.
type AuthorizationAnswer struct {
	// ReturnTo is the app's own address with the code, or with an error, the state
	// and iss (RFC 6749 §4.1.2, RFC 9207).
	ReturnTo string `json:"return_to" binding:"required" example:"https://diary.example/connected?code=fwc_…&iss=https%3A%2F%2Fpractice.example.org&state=af0ifjsldkj"`
} // @name AuthorizationAnswer

// inspectAuthorization tells what an app asks.
//
//	@Summary		See what an app asks for
//	@Description	The page at /connect does this. An unknown app and a redirect_uri that is not the app's are problems: send nobody anywhere then. Anything else wrong with the request is told in error, with the address that takes it back to the app.
//	@ID				inspectAuthorization
//	@Tags			Apps
//	@Accept			json
//	@Produce		json
//	@Param			request	body		AuthorizationRequest	true	"What the app sent"
//	@Success		200		{object}	Authorization
//	@Failure		400,401,403,409,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/oauth/authorizations/inspect [post]
func (s *Server) inspectAuthorization(c echo.Context) error {
	var r AuthorizationRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	a, err := s.Auth.AskApp(c.Request().Context(), identity(c), r.request())
	if err != nil {
		return err
	}
	out := Authorization{
		AppID: a.App.ID, AppName: a.App.Name, RegisteredBy: a.RegisteredBy, AcademyID: a.Academy, AcademyName: a.AcademyName, Elsewhere: a.Elsewhere,
		MemberName: a.MemberName, Role: string(a.Role), Asks: appScopes(a.Scopes, a.Role), Never: auth.Never,
		NeedsGuardian: a.NeedsGuardian, ReturnTo: a.Back,
	}
	if a.Wrong != nil {
		out.Error, out.ErrorDescription = string(a.Wrong.Code), a.Wrong.Description
	}
	noStore(c)
	return writeJSON(c, http.StatusOK, out)
}

// decideAuthorization takes a person's word.
//
//	@Summary		Allow what an app asks for, or not
//	@Description	The page at /connect does this when the person has read what the app asks for. Software must never press "allow" for a person. The code in the answer is good once, for a minute.
//	@ID				decideAuthorization
//	@Tags			Apps
//	@Accept			json
//	@Produce		json
//	@Param			decision	body		AuthorizationDecision	true	"What the app sent, and the person's word"
//	@Success		200			{object}	AuthorizationAnswer
//	@Failure		400,401,403,409,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/oauth/authorizations [post]
func (s *Server) decideAuthorization(c echo.Context) error {
	var r AuthorizationDecision
	if err := decode(c, &r); err != nil {
		return err
	}
	back, err := s.Auth.DecideApp(c.Request().Context(), identity(c), r.request(), r.Allow)
	if err != nil {
		return err
	}
	noStore(c)
	return writeJSON(c, http.StatusOK, AuthorizationAnswer{ReturnTo: back})
}
