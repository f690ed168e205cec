// Package api is the service over HTTP: routes, requests and responses,
// problem documents and middleware. A handler binds, makes one call to a
// service of the domain, and encodes what came back.
package api

import (
	"context"
	"crypto/rand"
	"io"
	"log/slog"
	"net/http"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/webhook"
)

// Config is what a Server is made of.
type Config struct {
	Auth       *auth.Service
	Curriculum curriculum.Service
	Academy    academy.Service
	Read       academy.ReadService
	Practice   practice.Service
	Matches    practice.MatchService
	Events     academy.EventService
	Live       academy.LiveService
	Webhooks   webhook.Service
	// Adjust changes what one student works by.
	Adjust academy.AdjustService
	// Acknowledge is the coach's word that a reason is seen.
	Acknowledge academy.AcknowledgeService
	Messages    academy.MessageService
	Reports     academy.ReportService
	Rounds      academy.RoundService
	Bags        academy.BagService
	Quiet       academy.QuietService
	Seasons     academy.SeasonService
	Lessons     academy.LessonService
	LessonMedia academy.MediaService
	Rights      academy.RightsService
	Guardians   academy.GuardianService
	Calendars   academy.CalendarService
	Digests     academy.DigestService
	Insights    academy.InsightService
	Cohorts     academy.CohortService
	// Propose is next week, proposed for each student.
	Propose academy.ProposalService

	// Repeats carries out once what is sent again with an Idempotency-Key; without it
	// the header is ignored.
	Repeats Repeats

	// Dossier gives all that an academy keeps about a member, and SignIns the sign-ins
	// of an account, for whoever was found to be them.
	Dossier func(ctx context.Context, academy, member domain.ID) (practice.Dossier, error)
	SignIns func(ctx context.Context, account domain.ID) ([]map[string]any, error)

	// Archive writes an academy's archive, without secrets.
	Archive func(ctx context.Context, academy domain.ID, to io.Writer) error

	// Quota limits requests; nil does not.
	Quota *auth.Quota

	// Observer is told how requests go; nil is not.
	Observer Observer

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
	// table is every route that is served.
	table []route
	// draining is closed when the service is about to stop.
	draining chan struct{}
	drain    sync.Once
	// streams and calculations bound what is under way at once.
	streams      slots
	calculations *work
	balls        meter
	// exports are those under way.
	exports places
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
//	@description				Short-game programmes for golf coaches and their students: write and assign programmes, log practice ball by ball, and follow progress.
//	@description
//	@description				Requests with members that are not described here are refused. Answers may gain members, and lists of values (enums, kinds of event, error codes) may grow: your client should accept both.
//	@description
//	@description				Errors are problem documents (RFC 9457): use `code` in software, show `detail` to people, and mark the fields in `errors`. Lengths are in metres, durations in seconds and times in RFC 3339; the names of numbers end in their unit. To read a whole list, follow `links.next` until it is absent. Send an `ETag` as `If-None-Match` to save a transfer, or as `If-Match` to change something only if it has not changed since you read it: 412 if it has, and 400 where a change cannot be made conditional. Without `If-Match` the latest change stands. What you may not see answers 404, like what does not exist.
//	@description
//	@description				A request that changes something, and whose answer may be lost, can be sent again safely with an `Idempotency-Key`: a text of your own of 16 to 255 characters, such as a UUID, new for each request. For 24 hours the same request with the same key is answered as the first was, with `Idempotency-Replayed: true`, and not carried out again; another request with it is refused (422 `idempotency_key_reused`), and so is one while the first is under way (409 `idempotency_in_progress`). Only successes are kept. Sessions and rounds need no key, since you make their IDs; sign-in and invitations take none.
//	@description
//	@description				Requests are limited per member, per application key and per app. `RateLimit-Policy` gives the limit: q requests in w seconds. `RateLimit` gives what is left of it: r requests now, and t seconds until all q may be sent again. A request too many is answered by 429; `Retry-After` says in how many seconds to send it again.
//	@description
//	@description				What is deprecated is marked so here and goes on as before for twelve months at least. Answers of a deprecated operation say since when it is (`Deprecation`, RFC 9745), until when it is served at least (`Sunset`, RFC 8594), and what to use instead (`Link` with the relations `deprecation` and `sunset`); look for these headers in your tests. A deprecated field says so in its description alone. Only after that is an operation or a field removed or renamed, a value or a request refused that was taken, something new required, or a type, a unit or a meaning changed. Anything else may come at any time: your client should accept operations, fields of answers, values, codes and headers that it does not know, any order of members, other words in texts for people, and IDs, tokens and links of any form. What would harm people or their data is changed at once, and the release's notes say so.
//	@description
//	@description				Words: a skill has a ladder of tiers. A tier is one step of the ladder: `run` balls in a row inside a circle of `radius_m` metres, with at least `holed` of them holed. A ball is `out`, `in` (at rest inside the circle) or `holed`; its leave (`leave_m`) is the distance left to the hole. A milestone is a tier that a student has passed.
//	@BasePath					/
//	@tag.name					Access
//	@tag.description			Creating an academy, signing in, tokens.
//	@tag.name					Me
//	@tag.description			The person who is signed in.
//	@tag.name					Academy
//	@tag.description			The academy and its time zone.
//	@tag.name					Invitations
//	@tag.description			How people join an academy.
//	@tag.name					Members
//	@tag.description			The people of the academy, each with a role.
//	@tag.name					Students
//	@tag.description			A student's coaches, a guardian's consent, and what to do today.
//	@tag.name					Groups
//	@tag.description			Named groups of students.
//	@tag.name					Keys
//	@tag.description			Application keys for other software.
//	@tag.name					Apps
//	@tag.description			Apps of others that members connect to their account by OAuth 2.0.
//	@tag.name					Skills
//	@tag.description			What students train, each skill with its ladder of tiers.
//	@tag.name					Programmes
//	@tag.description			Weeks of session plans: drafts, published versions, documents.
//	@tag.name					Adjustments
//	@tag.description			A coach's changes for one student on top of a published version
//	@tag.name					Assignments
//	@tag.description			A published version given to a student from a date.
//	@tag.name					Sessions
//	@tag.description			Practice as it was done, ball by ball or from a paper card.
//	@tag.name					Rounds
//	@tag.description			Shots around the green on the course, and what they tell.
//	@tag.name					Progress
//	@tag.description			Rates, milestones, reasons for attention, and the dashboard.
//	@tag.name					Lessons
//	@tag.description			A coach's time with a student: the cue, what to practise, photos and clips.
//	@tag.name					Messages
//	@tag.description			Words between a student and the coaches that are about no session.
//	@tag.name					Reports
//	@tag.description			Links that show a student's report to whoever has them.
//	@tag.name					Exports
//	@tag.description			All of a kind at once, as lines of JSON or as a table; and sessions from a table.
//	@tag.name					Calculations
//	@tag.description			Odds, rates and more for numbers that you send.
//	@tag.name					Events
//	@tag.description			The academy's log of changes.
//	@tag.name					Webhooks
//	@tag.description			Addresses of other software that is told of events, for owners
//	@tag.name					System
//	@tag.description			The service itself.
//	@securityDefinitions.basic	Basic
//	@securityDefinitions.apikey	Bearer
//	@in							header
//	@name						Authorization
func New(c Config) *Server {
	return newServer(c, func(table []route) []route { return table })
}

// newServer makes a Server whose table of routes tests may change.
func newServer(c Config, change func([]route) []route) *Server {
	if c.BodyLimit == 0 {
		c.BodyLimit = defaultBodyLimit
	}
	if c.PublicURL == "" && c.Auth != nil && strings.HasPrefix(c.Auth.Issuer, "http") {
		c.PublicURL = c.Auth.Issuer
	}
	s := &Server{Config: c, log: c.Log, router: echo.New(), draining: make(chan struct{}), release: release(c.Version),
		streams: slots{each: liveEach, all: liveAll, what: "live streams"}, calculations: newWork(), balls: meter{aDay: ballsADay}}
	s.table = change(s.routes())
	e := s.router
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = s.handleError
	e.IPExtractor = ipExtractor(c.TrustedProxies)
	e.Pre(s.identify, s.logRequest, allowHead)
	e.Use(middleware.RecoverWithConfig(middleware.RecoverConfig{DisableStackAll: true, LogErrorFunc: s.logPanic}))
	if c.Observer != nil {
		e.Use(s.tellRoute)
	}
	e.Use(tellDeprecated(s.table), secureHeaders, middleware.GzipWithConfig(middleware.GzipConfig{Skipper: isStream}), wholeSegments, plainQuery, s.limitBody)
	if len(c.Origins) > 0 {
		e.Use(middleware.CORSWithConfig(corsConfig(c.Origins)))
	}
	for _, r := range s.table {
		handler := r.handler
		if !r.matched {
			handler = unconditional(handler)
		}
		if !r.public {
			handler = s.authorise(r.action, s.once(handler))
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

// isStream tells what is not to be compressed: a stream, which that would hold
// back, and an archive, a photo or a clip, which it would not make smaller.
func isStream(c echo.Context) bool {
	return c.Path() == livePath || c.Path() == archivePath || c.Path() == mediaPath+"/:media_id"
}

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
		AllowHeaders:  []string{echo.HeaderAuthorization, echo.HeaderContentType, "If-Match", "If-None-Match", idempotencyKey, echo.HeaderXRequestID},
		ExposeHeaders: []string{"ETag", idempotencyReplayed, echo.HeaderLocation, echo.HeaderXRequestID, echo.HeaderRetryAfter, "RateLimit", "RateLimit-Policy", "Deprecation", "Sunset", "Link"},
		MaxAge:        3600,
	}
}
