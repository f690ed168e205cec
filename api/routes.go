package api

import (
	"net/http"
	"regexp"
	"slices"

	"github.com/labstack/echo/v4"

	"fringework/auth"
)

// route is one line of the one table of what is served.
type route struct {
	method string
	path   string
	// action is what the asker must be allowed; a public route has none.
	action  auth.Action
	handler echo.HandlerFunc
	public  bool
	// matched says that If-Match makes the change conditional.
	matched bool
	// deprecation is nil but for a route that is not to be used any more.
	deprecation *Deprecation
}

func open(method, path string, h echo.HandlerFunc) route {
	return route{method: method, path: path, handler: h, public: true}
}

func guarded(method, path string, action auth.Action, h echo.HandlerFunc) route {
	return route{method: method, path: path, action: action, handler: h}
}

const get, post, put, patch, del = http.MethodGet, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete

// routes is every route there is. What is not open needs a token whose role or
// scopes the table in auth allows the action.
func (s *Server) routes() []route {
	return slices.Concat(s.systemRoutes(), s.accessRoutes(), s.accountRoutes(), s.peopleRoutes(), s.curriculumRoutes(), s.practiceRoutes(), s.deskRoutes(), s.talkRoutes(), s.moveRoutes(), s.appRoutes())
}

// Route is a line of the table, for tests that walk it.
type Route struct {
	// Method and Path, with parameters in braces as OpenAPI writes them.
	Method, Path string
	// Action is what the asker must be allowed; empty for a public route.
	Action auth.Action
	Public bool
	// Deprecation is nil but for a route that is not to be used any more.
	Deprecation *Deprecation
}

// Permission is who may try it: the action's row in the table of auth.
func (r Route) Permission() auth.Permission { return auth.PermissionOf(r.Action) }

// Routes lists every route there is.
func (s *Server) Routes() []Route {
	braces := regexp.MustCompile(`:(\w+)`)
	return each(s.table, func(r route) Route {
		return Route{Method: r.method, Path: braces.ReplaceAllString(r.path, "{$1}"), Action: r.action, Public: r.public, Deprecation: r.deprecation}
	})
}

func (s *Server) systemRoutes() []route {
	return []route{
		open(get, "/healthz", s.health),
		open(get, "/readyz", s.ready),
		open(get, "/openapi.json", s.description),
		open(get, "/programme.schema.json", s.programmeSchema),
	}
}

// deskRoutes are what the coach's desk needs beside the rest.
func (s *Server) deskRoutes() []route {
	return []route{
		guarded(get, livePath, auth.ProgressSee, s.live),
		guarded(get, "/v1/students/:student_id/adjustments", auth.AdjustmentRead, s.listAdjustments),
		guarded(post, "/v1/adjustments", auth.AdjustmentWrite, s.createAdjustments),
		guarded(post, "/v1/adjustments/:adjustment_id/end", auth.AdjustmentWrite, s.endAdjustment),
		guarded(get, "/v1/proposals", auth.DashboardRead, s.getProposals),
		guarded(post, "/v1/proposals/refusals", auth.AdjustmentWrite, s.refuseProposals),
		guarded(put, "/v1/students/:student_id/acknowledgements", auth.ReasonAcknowledge, s.acknowledge),
		guarded(post, "/v1/acknowledgements", auth.ReasonAcknowledge, s.acknowledgeAll),
		guarded(get, "/v1/students/:student_id/skills/:skill_id/history", auth.ProgressSee, s.getHistory),
	}
}
