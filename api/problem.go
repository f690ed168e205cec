package api

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// Problem is an error (RFC 9457). Its type is about:blank, so title is the status
// in words; software should use code.
type Problem struct {
	// Type is about:blank.
	Type string `json:"type" binding:"required" example:"about:blank"`
	// Title is the status in words.
	Title string `json:"title" binding:"required" example:"Unprocessable Entity"`
	// Status is the HTTP status.
	Status int `json:"status" binding:"required" example:"422"`
	// Detail says what is wrong and how to correct it.
	Detail string `json:"detail,omitempty" example:"The programme cannot be published yet. The draft is saved."`
	// Instance is the path of the request.
	Instance string `json:"instance,omitempty" example:"/v1/programmes/0198c5f2-0000-7000-8000-000000000000/versions"`
	// Code is the stable name of the error.
	Code string `json:"code" binding:"required" example:"programme_unpublishable"`
	// RequestID identifies the request in the service's log.
	RequestID string `json:"request_id,omitempty"`
	// Errors lists everything that is wrong with the input.
	Errors []ProblemField `json:"errors,omitempty"`
	// Stored describes what the service has instead of what you sent.
	Stored *Stored `json:"stored,omitempty"`
} // @name Problem

// Stored is what the service has.
type Stored struct {
	// Revision is the one that stands: send a higher one to change it.
	Revision int `json:"revision" binding:"required" example:"4"`
	// Deleted says that what stands is a deletion; absent for what cannot be
	// deleted and brought back.
	Deleted *bool `json:"deleted,omitempty" example:"false"`
} // @name Stored

// ProblemField is one error in the input: at a JSON pointer into the body, in a
// query or path parameter, or in a table.
type ProblemField struct {
	// Pointer is a JSON pointer into the body.
	Pointer string `json:"pointer,omitempty" example:"/weeks/1/plans/0/blocks"`
	// Parameter is the name of a query or path parameter.
	Parameter string `json:"parameter,omitempty"`
	// Line is that of a table, from 1, and Column the name of its column.
	Line   int    `json:"line,omitempty" example:"12"`
	Column string `json:"column,omitempty" example:"leave_m"`
	// Place is the pointer in words, where there are any; Detail begins with it.
	Place  string `json:"place,omitempty" example:"week 2, plan 1"`
	Detail string `json:"detail" binding:"required" example:"week 2, plan 1: shares sum to 95; add 5"`
} // @name ProblemField

const problemType = "application/problem+json"

// statusOf is the only place where a kind of failure becomes a status.
func statusOf(k domain.Kind) int {
	switch k {
	case domain.Invalid:
		return http.StatusUnprocessableEntity
	case domain.Unauthenticated:
		return http.StatusUnauthorized
	case domain.Forbidden:
		return http.StatusForbidden
	case domain.NotFound:
		return http.StatusNotFound
	case domain.Conflict:
		return http.StatusConflict
	case domain.Stale:
		return http.StatusPreconditionFailed
	case domain.TooMany:
		return http.StatusTooManyRequests
	case domain.Gone:
		return http.StatusGone
	case domain.Unavailable:
		return http.StatusServiceUnavailable
	default:
		return http.StatusInternalServerError
	}
}

// ProblemOf makes the problem document of an error, without internal text.
func ProblemOf(err error) Problem {
	var de *domain.Error
	if errors.As(err, &de) && de.Kind != domain.Internal {
		p := newProblem(statusOf(de.Kind), de.Code, de.Detail)
		p.Stored, p.Errors = (*Stored)(de.Stored), problemFields(de.Fields)
		return p
	}
	if re, ok := errors.AsType[*requestError](err); ok {
		p := newProblem(re.status, re.code, re.detail)
		p.Errors = re.fields
		return p
	}
	var he *echo.HTTPError
	if errors.As(err, &he) && he.Code >= 400 && he.Code < 500 {
		return routingProblem(he.Code)
	}
	return newProblem(http.StatusInternalServerError, "internal", "Something went wrong in the service. Try again; if it happens again, tell the operator the request_id.")
}

func newProblem(status int, code, detail string) Problem {
	return Problem{Type: "about:blank", Title: http.StatusText(status), Status: status, Code: code, Detail: detail}
}

// maxProblemFields is how many faults of an input one answer tells: more than
// anybody reads, and not as many as a body of a megabyte can have.
const maxProblemFields = 200

func problemFields(all []domain.Field) (fields []ProblemField) {
	for _, f := range all[:min(len(all), maxProblemFields)] {
		fields = append(fields, problemField(f))
	}
	if more := len(all) - maxProblemFields; more > 0 {
		fields = append(fields, ProblemField{Detail: fmt.Sprintf("and %d more; correct these first", more)})
	}
	return fields
}

func problemField(f domain.Field) ProblemField {
	if f.Pointer == "" || strings.HasPrefix(f.Pointer, "/") {
		return ProblemField{Pointer: nearest(jsontext.Pointer(f.Pointer)), Place: f.Place, Detail: f.Detail}
	}
	return ProblemField{Parameter: domain.Cut(f.Pointer), Detail: f.Detail}
}

// routingProblem words what the router refuses.
func routingProblem(status int) Problem {
	switch status {
	case http.StatusNotFound:
		return newProblem(status, "no_route", "There is nothing at this address; /openapi.json lists what there is.")
	case http.StatusMethodNotAllowed:
		return newProblem(status, "method_not_allowed", "This address does not support the method; see the Allow header.")
	case http.StatusRequestEntityTooLarge:
		return newProblem(status, "body_too_large", "The request body is too large.")
	default:
		return newProblem(status, "refused", "The request was refused.")
	}
}

// requestError is a request that no use case has seen: its form is wrong.
type requestError struct {
	status int
	code   string
	detail string
	fields []ProblemField
}

func (e *requestError) Error() string { return e.code + ": " + e.detail }

// malformed is a 400 about the whole request or one parameter of it.
func malformed(code, detail string, fields ...ProblemField) error {
	return &requestError{status: http.StatusBadRequest, code: code, detail: detail, fields: fields}
}

// badParameter is a 400 about one query or path parameter.
func badParameter(name, detail string) error {
	return malformed("parameter_invalid", "A parameter of the request is not valid.", ProblemField{Parameter: domain.Cut(name), Detail: detail})
}

// statusLeft is told to the log alone: whoever asked has gone.
const statusLeft = 499

// retrySoon is in how many seconds to ask again where nobody knows better.
const retrySoon = 2

// handleError answers every error, in one shape.
func (s *Server) handleError(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	if oauth, ok := errors.AsType[*auth.OAuthError](err); ok {
		s.answerOAuth(c, oauth)
		return
	}
	if errors.Is(err, context.Canceled) && c.Request().Context().Err() != nil {
		c.Response().WriteHeader(statusLeft)
		return
	}
	p := ProblemOf(err)
	p.Instance = c.Request().URL.Path
	p.RequestID = requestID(c)
	if under, _ := c.Get(underKey).(string); under != "" {
		for i := range p.Errors {
			p.Errors[i].Pointer = under + p.Errors[i].Pointer
		}
	}
	h := c.Response().Header()
	switch p.Status {
	case http.StatusUnauthorized:
		h.Set(echo.HeaderWWWAuthenticate, challenge(p.Code))
	case http.StatusForbidden:
		if p.Code == scopeMissing {
			h.Set(echo.HeaderWWWAuthenticate, `Bearer realm="fringework", error="insufficient_scope"`)
		}
	case http.StatusTooManyRequests, http.StatusServiceUnavailable:
		seconds := retrySoon
		if de, ok := errors.AsType[*domain.Error](err); ok {
			seconds = max(1, de.RetryAfter)
		}
		h.Set(echo.HeaderRetryAfter, strconv.Itoa(seconds))
	}
	if domain.Failed(err) && p.Status >= http.StatusInternalServerError {
		s.log.LogAttrs(c.Request().Context(), slog.LevelError, "request failed",
			slog.String("request_id", p.RequestID), slog.String("route", c.Path()), slog.String("error", err.Error()))
	}
	s.tellRefused(p.Status, p.Code)
	h.Set(echo.HeaderContentType, problemType)
	h.Set(echo.HeaderCacheControl, "no-store")
	h.Del("ETag")
	if err := writeJSON(c, p.Status, p); err != nil {
		s.log.Warn("answer not sent", "request_id", p.RequestID, "error", err)
	}
}

// challenge is the WWW-Authenticate of RFC 6750 §3: an error code only when a
// token was sent.
func challenge(code string) string {
	switch code {
	case "token_refused", "token_expired":
		return `Bearer realm="fringework", error="invalid_token"`
	default:
		return `Bearer realm="fringework"`
	}
}
