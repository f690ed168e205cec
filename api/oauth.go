package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"fringework/auth"
)

// OAuthProblem is an error of the token endpoint, as RFC 6749 §5.2 says.
type OAuthProblem struct {
	Error       string `json:"error" binding:"required" example:"invalid_client"`
	Description string `json:"error_description,omitempty"`
} // @name OAuthProblem

func (s *Server) answerOAuth(c echo.Context, e *auth.OAuthError) {
	status := http.StatusBadRequest
	if e.Code == auth.InvalidClient {
		status = http.StatusUnauthorized
		c.Response().Header().Set(echo.HeaderWWWAuthenticate, `Basic realm="fringework"`)
	}
	c.Response().Header().Set(echo.HeaderCacheControl, "no-store")
	if err := writeJSON(c, status, OAuthProblem{Error: string(e.Code), Description: e.Description}); err != nil {
		s.log.Warn("answer not sent", "request_id", requestID(c), "error", err)
	}
}
