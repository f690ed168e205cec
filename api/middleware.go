package api

import (
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// Keys of what middleware leaves in a request's context.
const (
	requestIDKey = "request_id"
	identityKey  = "identity"
)

// identify gives each request an ID: the client's own X-Request-Id if it is
// harmless, a fresh one otherwise.
func (s *Server) identify(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		id := c.Request().Header.Get(echo.HeaderXRequestID)
		if !harmless(id) {
			id = uuid.NewString()
		}
		c.Set(requestIDKey, id)
		c.Response().Header().Set(echo.HeaderXRequestID, id)
		return next(c)
	}
}

func requestID(c echo.Context) string {
	id, _ := c.Get(requestIDKey).(string)
	return id
}

// harmless accepts what cannot break a log line or a header.
func harmless(id string) bool {
	if len(id) < 8 || len(id) > 64 {
		return false
	}
	for _, r := range id {
		if !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '_') {
			return false
		}
	}
	return true
}

// logRequest writes one line a request: who in the sense of an identity, what
// and how it ended, never bodies, queries or tokens.
func (s *Server) logRequest(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		start := s.Now()
		if err := next(c); err != nil {
			c.Error(err)
		}
		level := slog.LevelInfo
		if c.Response().Status >= 500 {
			level = slog.LevelError
		}
		attrs := []slog.Attr{
			slog.String("request_id", requestID(c)),
			slog.String("method", sentMethod(c.Request())), slog.String("route", c.Path()),
			slog.Int("status", c.Response().Status), slog.Int64("bytes", c.Response().Size),
			slog.Duration("took", s.Now().Sub(start)),
		}
		if id, ok := c.Get(identityKey).(auth.Identity); ok {
			attrs = append(attrs, slog.String("academy", string(id.Academy)), slog.String("member", string(id.Member)), slog.String("key", string(id.Key)), slog.String("app", string(id.App)))
		}
		if trace := s.trace(c.Request()); trace != "" {
			attrs = append(attrs, slog.String("trace", trace))
		}
		s.log.LogAttrs(c.Request().Context(), level, "request", attrs...)
		return nil
	}
}

// sentMethod is the method as the client sent it.
func sentMethod(r *http.Request) string {
	if r.Context().Value(headKey{}) != nil {
		return http.MethodHead
	}
	return r.Method
}

// traceOf takes the trace ID out of a W3C traceparent header.
func traceOf(header string) string {
	parts := strings.Split(header, "-")
	if len(parts) != 4 || len(parts[1]) != 32 || !harmless(parts[1]) {
		return ""
	}
	return parts[1]
}

func (s *Server) logPanic(c echo.Context, err error, stack []byte) error {
	s.log.Error("panic", "request_id", requestID(c), "route", c.Path(), "error", err, "stack", string(stack))
	return fmt.Errorf("panic: %w", err)
}

// wholeSegments refuses a path parameter that took in a slash: the router gives
// the last one all that remains.
func wholeSegments(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		for _, value := range c.ParamValues() {
			if strings.Contains(value, "/") {
				return echo.ErrNotFound
			}
		}
		return next(c)
	}
}

// plainQuery refuses a query that cannot be read, and any query at all on what
// is not a GET: no change takes parameters there but the deletion of a session or a
// round, which names its revision, an import, whose body is a table, and a photo or clip.
func plainQuery(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		r := c.Request()
		if _, err := url.ParseQuery(r.URL.RawQuery); err != nil {
			return malformed("query_malformed", "The query string is malformed; check its percent-encoding and separate parameters with &.")
		}
		deletion := r.Method == http.MethodDelete && (c.Path() == sessionPath || c.Path() == roundPath)
		if r.Method != http.MethodGet && r.Method != http.MethodOptions && !deletion && c.Path() != importPath && c.Path() != mediaPath {
			if err := refuseQuery(c); err != nil {
				return err
			}
		}
		return next(c)
	}
}

// allowHead adds HEAD to an Allow header that has GET, since ServeHTTP answers
// both.
func allowHead(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		c.Response().Before(func() {
			h := c.Response().Header()
			if allow := h.Get(echo.HeaderAllow); strings.Contains(allow, http.MethodGet) {
				h.Set(echo.HeaderAllow, allow+", "+http.MethodHead)
			}
		})
		return next(c)
	}
}

// secureHeaders sets what every answer carries: no sniffing, no framing, no
// referrer, and nothing kept by shared caches.
func secureHeaders(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		h := c.Response().Header()
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
		h.Set(echo.HeaderCacheControl, "private, no-cache")
		if c.IsTLS() || c.Request().Header.Get(echo.HeaderXForwardedProto) == "https" {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		return next(c)
	}
}

// limitBody stops reading a body past the limit.
func (s *Server) limitBody(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		r, limit := c.Request(), s.BodyLimit
		switch c.Path() {
		case importPath:
			limit = max(limit, importLimit)
		case mediaPath:
			limit = max(limit, mediaLimit)
		}
		if r.ContentLength > limit {
			return &requestError{status: http.StatusRequestEntityTooLarge, code: "body_too_large",
				detail: fmt.Sprintf("The request body is too large; send at most %d bytes.", limit)}
		}
		r.Body = http.MaxBytesReader(c.Response(), r.Body, limit)
		return next(c)
	}
}

// authorise finds out who asks, and lets through whose role or scopes the
// table allows the action.
func (s *Server) authorise(action auth.Action, next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		id, err := s.authenticate(c)
		if err != nil {
			return err
		}
		if err := s.meter(c, id); err != nil {
			return err
		}
		if !id.May(action) {
			return refused(id, action)
		}
		return next(c)
	}
}

// authenticate finds out who asks, by the bearer token of the request.
func (s *Server) authenticate(c echo.Context) (auth.Identity, error) {
	scheme, token, _ := strings.Cut(c.Request().Header.Get(echo.HeaderAuthorization), " ")
	if !strings.EqualFold(scheme, "Bearer") || token == "" {
		return auth.Identity{}, domain.Errorf(domain.Unauthenticated, "token_missing", "Send an access token in the header: Authorization: Bearer …")
	}
	id, err := s.Auth.Authenticate(c.Request().Context(), token)
	if err == nil {
		c.Set(identityKey, id)
	}
	return id, err
}

const scopeMissing = "scope_missing"

// refused says why an identity may not try an action.
func refused(id auth.Identity, action auth.Action) error {
	switch {
	case id.Software() || id.App != "" && !auth.May("", id.Scopes, action):
		scope := auth.PermissionOf(action).Scope
		if scope == "" {
			return domain.Errorf(domain.Forbidden, "members_only", "Application keys and apps cannot do this; sign in as a member.")
		}
		return domain.Errorf(domain.Forbidden, scopeMissing, "This needs the scope %s; use a token that has it.", scope)
	case id.Role == "":
		return domain.Errorf(domain.Forbidden, "academy_missing", "You are not signed in to an academy; refresh the token with an academy_id.")
	default:
		return domain.Errorf(domain.Forbidden, "role_refused", "A %s may not do this. A coach or an owner of the academy can say who may.", id.Role)
	}
}

// identity is who asks; routes that authorise have always set it.
func identity(c echo.Context) auth.Identity {
	id, _ := c.Get(identityKey).(auth.Identity)
	return id
}

// actor is who asks, as the domain sees it.
func actor(c echo.Context) domain.Actor { return identity(c).Actor }

// forwardedFor takes the address that the outermost of our own proxies saw.
func forwardedFor(proxies int) echo.IPExtractor {
	direct := echo.ExtractIPDirect()
	return func(r *http.Request) string {
		hops := strings.Split(strings.Join(r.Header.Values(echo.HeaderXForwardedFor), ","), ",")
		if at := len(hops) - proxies; at >= 0 {
			if ip := net.ParseIP(strings.TrimSpace(hops[at])); ip != nil {
				return ip.String()
			}
		}
		return direct(r)
	}
}
