// Package api is the service over HTTP: routes, requests and responses,
// problem documents and middleware. A handler binds, makes one call to a
// service of the domain, and encodes what came back.
package api

import (
	"context"
	"crypto/rand"
	"log/slog"
	"net/http"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"fringework/auth"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
)

// Config is what a Server is made of.
type Config struct {
	Auth       *auth.Service
	Curriculum curriculum.Service
	Academy    academy.Service
	Read       academy.ReadService
	Practice   practice.Service
	Events     academy.EventService
	Live       academy.LiveService
	// Acknowledge is the coach's word that a reason is seen.
	Acknowledge academy.AcknowledgeService

	Log *slog.Logger
	// Ready says whether the store answers and has the schema it needs.
	Ready func(context.Context) error
	// Now is the clock, for what is not the domain's to time.
	Now func() time.Time
	// Version of the program, shown in /healthz.
	Version string
	// TrustedProxies is how many proxies in front add to X-Forwarded-For; 0
	// ignores the header.
	TrustedProxies int
	// PublicURL is where the service is reached from outside, for links in
	// answers. Without it the issuer of access tokens is, if that is an HTTP
	// address, or else the request's own host.
	PublicURL string
	// Origins are the web origins that may call the API from a browser.
	Origins []string
	// BodyLimit bounds a request body in bytes.
	BodyLimit int64
	// Description is the OpenAPI document, as JSON.
	Description []byte
	// ProgrammeSchema is the JSON Schema of a programme document.
	ProgrammeSchema []byte
}

// Server answers the API.
type Server struct {
	Config
	log    *slog.Logger
	router *echo.Echo
	// draining is closed when the service is about to stop.
	draining chan struct{}
	drain    sync.Once
	// release tells builds apart, which may encode the same state differently.
	release string
}

// release names the build: its revision, or this very process when that does
// not tell.
func release(version string) string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return version + rand.Text()
	}
	revision, modified := "", ""
	for _, setting := range info.Settings {
		switch setting.Key {
		case "vcs.revision":
			revision = setting.Value
		case "vcs.modified":
			modified = setting.Value
		}
	}
	if revision == "" || modified != "false" {
		return version + rand.Text()
	}
	return version + revision
}

// defaultBodyLimit takes a session of two thousand balls with every detail.
const defaultBodyLimit = 1 << 20

// New makes a Server.
//
//	@title						Fringework
//	@version					1.0
//	@description				Short-game programmes for coaches and their students: author, assign, log, judge, measure.
//	@description
//	@description				Requests hold no members that are not described here; they are refused. Answers may gain members, and words (of an enum, a kind of event, an error's code) may gain others: be ready for both.
//	@description
//	@description				Errors are problem documents (RFC 9457): go by `code`, show `detail`, and point at what `errors` names. Lengths are in metres, durations in seconds, instants in RFC 3339; numbers say their unit in the name. A list is walked by `links.next` until it is absent. `ETag` names a representation: send it as `If-None-Match` to save the transfer, or as `If-Match` to change only what you have read. What an asker may not see answers 404, as what does not exist.
//	@BasePath					/
//	@tag.name					Access
//	@tag.description			Signing up, signing in, tokens.
//	@tag.name					Me
//	@tag.description			Who asks.
//	@tag.name					Academy
//	@tag.description			The tenant.
//	@tag.name					Invitations
//	@tag.description			How people join an academy.
//	@tag.name					Members
//	@tag.description			People in the academy, each with a role.
//	@tag.name					Students
//	@tag.description			Who works with a student, a guardian's consent, what a student does now.
//	@tag.name					Groups
//	@tag.description			Students under a name.
//	@tag.name					Keys
//	@tag.description			Application keys for third-party software.
//	@tag.name					Skills
//	@tag.description			What is trained, with the ladder that proves it.
//	@tag.name					Programmes
//	@tag.description			Weeks of session plans: drafts, published versions, documents.
//	@tag.name					Assignments
//	@tag.description			A published version given to a student from a date.
//	@tag.name					Sessions
//	@tag.description			What a student did, ball by ball or from a paper card.
//	@tag.name					Progress
//	@tag.description			What follows from it: rates, milestones, stalls, the dashboard.
//	@tag.name					Calculations
//	@tag.description			The numbers of the trade, without anybody's data.
//	@tag.name					Events
//	@tag.description			The academy's ordered log.
//	@tag.name					System
//	@tag.description			The service itself.
//	@securityDefinitions.basic	Basic
//	@securityDefinitions.apikey	Bearer
//	@in							header
//	@name						Authorization
func New(c Config) *Server {
	if c.BodyLimit == 0 {
		c.BodyLimit = defaultBodyLimit
	}
	if c.PublicURL == "" && c.Auth != nil && strings.HasPrefix(c.Auth.Issuer, "http") {
		c.PublicURL = c.Auth.Issuer
	}
	s := &Server{Config: c, log: c.Log, router: echo.New(), draining: make(chan struct{}), release: release(c.Version)}
	e := s.router
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = s.handleError
	e.IPExtractor = ipExtractor(c.TrustedProxies)
	e.Pre(s.identify, s.logRequest, allowHead)
	e.Use(middleware.RecoverWithConfig(middleware.RecoverConfig{DisableStackAll: true, LogErrorFunc: s.logPanic}))
	e.Use(secureHeaders, middleware.GzipWithConfig(middleware.GzipConfig{Skipper: isStream}), wholeSegments, plainQuery, s.limitBody)
	if len(c.Origins) > 0 {
		e.Use(middleware.CORSWithConfig(corsConfig(c.Origins)))
	}
	for _, r := range s.routes() {
		handler := r.handler
		if !r.public {
			handler = s.authorise(r.action, handler)
		}
		e.Add(r.method, r.path, handler)
	}
	return s
}

// ServeHTTP implements http.Handler. HEAD is answered wherever GET is: net/http
// leaves out the body, since it still sees the method that was sent.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodHead {
		r = r.Clone(context.WithValue(r.Context(), headKey{}, true))
		r.Method = http.MethodGet
	}
	s.router.ServeHTTP(w, r)
}

// headKey marks the context of a request that was sent as HEAD.
type headKey struct{}

// Drain makes the service say that it is not ready and ends its streams, so that
// it can stop once the requests under way are answered.
func (s *Server) Drain() { s.drain.Do(func() { close(s.draining) }) }

// isStream tells a stream, which compression would hold back.
func isStream(c echo.Context) bool { return c.Path() == livePath }

// ipExtractor reads the client's address, trusting as many hops of
// X-Forwarded-For as there are proxies of our own.
func ipExtractor(proxies int) echo.IPExtractor {
	if proxies == 0 {
		return echo.ExtractIPDirect()
	}
	return forwardedFor(proxies)
}

func corsConfig(origins []string) middleware.CORSConfig {
	return middleware.CORSConfig{
		AllowOrigins:  origins,
		AllowMethods:  []string{http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete},
		AllowHeaders:  []string{echo.HeaderAuthorization, echo.HeaderContentType, "If-Match", "If-None-Match", echo.HeaderXRequestID},
		ExposeHeaders: []string{"ETag", echo.HeaderLocation, echo.HeaderXRequestID, echo.HeaderRetryAfter},
		MaxAge:        3600,
	}
}
