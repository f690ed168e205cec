package api

import (
	"net/http"
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
	return slices.Concat(s.systemRoutes(), s.accessRoutes(), s.peopleRoutes(), s.curriculumRoutes(), s.practiceRoutes())
}

func (s *Server) systemRoutes() []route {
	return []route{
		open(get, "/healthz", s.health),
		open(get, "/readyz", s.ready),
		open(get, "/openapi.json", s.description),
		open(get, "/programme.schema.json", s.programmeSchema),
	}
}
