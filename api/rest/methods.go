package rest

import (
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"
)

// withHead answers HEAD wherever GET is, by the same way.
type withHead struct{ *echo.Echo }

// GET implements oapi.EchoRouter.
func (r withHead) GET(path string, h echo.HandlerFunc, m ...echo.MiddlewareFunc) *echo.Route {
	r.Echo.HEAD(path, h, m...)
	return r.Echo.GET(path, h, m...)
}

// registerOptions says which methods each path of the contract takes. Nobody is
// asked for a token: it stands in the contract.
func (s *Server) registerOptions() {
	byPath := map[string][]string{}
	for _, op := range s.contract.operations {
		path := echoPath(op.path)
		byPath[path] = append(byPath[path], op.method)
		if op.method == http.MethodGet {
			byPath[path] = append(byPath[path], http.MethodHead)
		}
	}
	for path, methods := range byPath {
		methods = append(methods, http.MethodOptions)
		slices.Sort(methods)
		allow := strings.Join(methods, ", ")
		s.echo.OPTIONS(path, func(c echo.Context) error {
			c.Response().Header().Set(echo.HeaderAllow, allow)
			return c.NoContent(http.StatusNoContent)
		})
	}
}
