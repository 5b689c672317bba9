package rest

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"barrelbook/api/app/port"
)

// authenticate finds the caller. One text for every failure, so that nothing
// about tokens that exist is told.
func (s *Server) authenticate(c echo.Context) (Caller, error) {
	if s.options.Local != nil {
		return *s.options.Local, nil
	}
	scheme, secret, _ := strings.Cut(c.Request().Header.Get(echo.HeaderAuthorization), " ")
	if !strings.EqualFold(scheme, "Bearer") || secret == "" {
		return Caller{}, unauthorised(c, "you are not signed in: set a token, sent as Authorization: Bearer …")
	}
	token, err := s.app.Authenticate(c.Request().Context(), strings.TrimSpace(secret))
	if port.IsKind(err, port.Unauthorised) {
		return Caller{}, unauthorised(c, err.Error())
	}
	return Caller{Name: token.Name, Role: token.Role, Mills: token.Mills}, err
}

func unauthorised(c echo.Context, detail string) error {
	c.Response().Header().Set(echo.HeaderWWWAuthenticate, `Bearer realm="barrelbook"`)
	return refuse(port.Unauthorised, "%s", detail)
}

// allow asks whether the caller may do the operation, and whether they come
// too often. Failed tokens count against the place they come from, so that
// tokens cannot be guessed at speed.
func (s *Server) allow(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		op, err := s.operationOf(c)
		if err != nil {
			return err
		}
		if op == nil {
			return next(c)
		}
		caller, err := s.authenticate(c)
		if err != nil {
			if wait, ok := s.limit.take("from " + c.RealIP()); !ok {
				return tooMany(c, wait)
			}
			return err
		}
		if wait, ok := s.limit.take("as " + caller.Name); !ok {
			return tooMany(c, wait)
		}
		if !op.lets(caller.Role) {
			return refuse(port.Forbidden, "this needs the role %s, and %s has the role %s; ask somebody who has it, or an admin", op.role, caller.Name, caller.Role)
		}
		a := askedOf(c.Request().Context())
		a.caller, a.operation = caller, op.id
		a.stores = op.method != http.MethodGet && op.role != port.Viewer
		a.key = c.Request().Header.Get("Idempotency-Key") != ""
		c.SetRequest(c.Request().WithContext(port.WithMills(c.Request().Context(), caller.Mills)))
		return next(c)
	}
}
