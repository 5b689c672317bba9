package rest

import (
	"context"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"barrelbook/api/app/port"
)

// registerProbes adds what machines ask for, outside the contract's prefix and
// without a token: is it alive, may work be sent, figures, version.
func (s *Server) registerProbes() {
	s.echo.GET("/livez", func(c echo.Context) error { return c.String(http.StatusOK, "alive\n") })
	s.echo.GET("/readyz", s.readyz)
	s.echo.GET("/metrics", echo.WrapHandler(s.metrics.handler()))
	s.echo.GET("/version", func(c echo.Context) error {
		return c.JSON(http.StatusOK, map[string]string{"version": s.options.Version, "contract": s.contract.parts.Info.Version})
	})
}

// readyz answers 503 while draining, and when the database does not answer, is
// full or read-only, or has not the schema of this version.
func (s *Server) readyz(c echo.Context) error {
	if s.draining.Load() {
		return refuse(draining, "this instance finishes what it has begun; send new work to another")
	}
	ctx, cancel := context.WithTimeout(c.Request().Context(), 2*time.Second)
	defer cancel()
	if err := s.app.Ready(ctx); err != nil {
		s.options.Log.Error("not ready", "error", err)
		if port.IsKind(err, port.Unavailable) {
			return refuse(notReady, "%s", err)
		}
		return refuse(notReady, "the database does not answer, or its schema is not of this version")
	}
	return c.String(http.StatusOK, "ready\n")
}
