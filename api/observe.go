package api

import (
	"context"
	"net/http"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// Observer is told how requests go, for metrics and traces. Many goroutines call it,
// and it must be quick.
type Observer interface {
	// Trace is the ID of the trace that a context belongs to; empty where there is none.
	Trace(ctx context.Context) string
	// Routed tells which route answers the request of a context, by its pattern, such
	// as /v1/skills/:id; it is empty where none does.
	Routed(ctx context.Context, pattern string)
	// Refused tells of a request that was not served for the moment, 429 or 503, with
	// the problem's code.
	Refused(status int, code string)
	// SignedIn tells of a try to sign in.
	SignedIn(way SignInWay, result SignInResult)
}

// SignInWay is what somebody signs in with.
type SignInWay string

// The ways to sign in; a code is the second step after a password.
const (
	ByPassword SignInWay = "password"
	ByCode     SignInWay = "code"
	ByPasskey  SignInWay = "passkey"
)

// WaysToSignIn lists them.
func WaysToSignIn() []SignInWay { return []SignInWay{ByPassword, ByCode, ByPasskey} }

// SignInResult is what came of trying to sign in.
type SignInResult string

// Whoever tried is signed in, has a second step to do, was refused, has to wait after
// wrong tries, or met a failure of the service.
const (
	SignInDone    SignInResult = "done"
	SignInHalf    SignInResult = "second_step"
	SignInRefused SignInResult = "refused"
	SignInLimited SignInResult = "limited"
	SignInFailed  SignInResult = "failed"
)

// SignInResults lists them.
func SignInResults() []SignInResult {
	return []SignInResult{SignInDone, SignInHalf, SignInRefused, SignInLimited, SignInFailed}
}

func signInResult(in auth.SignedIn, err error) SignInResult {
	switch {
	case err == nil && in.Second != nil:
		return SignInHalf
	case err == nil:
		return SignInDone
	case domain.KindOf(err) == domain.TooMany:
		return SignInLimited
	case domain.Failed(err):
		return SignInFailed
	}
	return SignInRefused
}

// trace is the ID of the trace that a request belongs to, empty if there is none.
func (s *Server) trace(r *http.Request) string {
	if s.Observer != nil {
		if id := s.Observer.Trace(r.Context()); id != "" {
			return id
		}
	}
	return traceOf(r.Header.Get("traceparent"))
}

// tellRoute tells which route answers, once the router has found it.
func (s *Server) tellRoute(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		s.Observer.Routed(c.Request().Context(), c.Path())
		return next(c)
	}
}

// tellRefused tells of an answer that asks to come again later.
func (s *Server) tellRefused(status int, code string) {
	if s.Observer != nil && (status == http.StatusTooManyRequests || status == http.StatusServiceUnavailable) {
		s.Observer.Refused(status, code)
	}
}

// answerSignIn is answerSignedIn for somebody who signs in, which is told of.
func (s *Server) answerSignIn(c echo.Context, way SignInWay, in auth.SignedIn, keep string, err error) error {
	if s.Observer != nil {
		s.Observer.SignedIn(way, signInResult(in, err))
	}
	return s.answerSignedIn(c, in, keep, err)
}

// Streams is how many live streams are open.
func (s *Server) Streams() int {
	s.streams.mu.Lock()
	defer s.streams.mu.Unlock()
	return s.streams.total
}
