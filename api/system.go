package api

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"
)

// Health says that the service is running.
type Health struct {
	// Status is ok.
	Status string `json:"status" binding:"required" example:"ok"`
	// Version is the program's.
	Version string `json:"version" binding:"required" example:"1.0.0"`
} // @name Health

// health answers while the process lives, whatever its database does.
//
//	@Summary	Check that the process is alive
//	@ID			getHealth
//	@Tags		System
//	@Produce	json
//	@Success	200	{object}	Health
//	@Router		/healthz [get]
func (s *Server) health(c echo.Context) error {
	return writeJSON(c, http.StatusOK, Health{Status: "ok", Version: s.Version})
}

// ready answers whether requests can be served.
//
//	@Summary	Check that requests can be served
//	@ID			getReadiness
//	@Tags		System
//	@Produce	json
//	@Success	200	{object}	Health
//	@Failure	503	{object}	Problem
//	@Router		/readyz [get]
func (s *Server) ready(c echo.Context) error {
	ctx, cancel := context.WithTimeout(c.Request().Context(), 2*time.Second)
	defer cancel()
	err := s.Ready(ctx)
	select {
	case <-s.draining:
		err = errors.New("stopping")
	default:
	}
	if err != nil {
		s.log.Warn("not ready", "error", err)
		c.Response().Header().Set(echo.HeaderRetryAfter, "2")
		return &requestError{status: http.StatusServiceUnavailable, code: "not_ready", detail: "The service is not ready; try again in a moment."}
	}
	return writeJSON(c, http.StatusOK, Health{Status: "ok", Version: s.Version})
}

// description serves the OpenAPI document.
//
//	@Summary	Read this description
//	@ID			getDescription
//	@Tags		System
//	@Produce	json
//	@Success	200	{object}	map[string]any
//	@Router		/openapi.json [get]
func (s *Server) description(c echo.Context) error {
	return cacheable(c, echo.MIMEApplicationJSON, s.Description)
}

// programmeSchema serves the JSON Schema of a programme document.
//
//	@Summary	Read the JSON Schema of a programme document
//	@ID			getProgrammeSchema
//	@Tags		System
//	@Produce	application/schema+json
//	@Success	200	{object}	map[string]any
//	@Router		/programme.schema.json [get]
func (s *Server) programmeSchema(c echo.Context) error {
	return cacheable(c, "application/schema+json", s.ProgrammeSchema)
}

// cacheable answers with what is nobody's data.
func cacheable(c echo.Context, contentType string, body []byte) error {
	c.Response().Header().Set(echo.HeaderCacheControl, "public, max-age=300")
	return c.Blob(http.StatusOK, contentType, body)
}
