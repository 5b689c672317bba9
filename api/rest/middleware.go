package rest

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"regexp"
	"runtime/debug"
	"time"

	"github.com/labstack/echo/v4"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
)

const requestIDHeader = "X-Request-Id"

// requestIDForm is what a request id from outside may look like: it is written
// to logs and answers.
var requestIDForm = regexp.MustCompile(`^[A-Za-z0-9._:-]{1,80}$`)

// identify gives the request an id, or takes the caller's, and sets what every
// answer carries.
func (s *Server) identify(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		id := c.Request().Header.Get(requestIDHeader)
		if !requestIDForm.MatchString(id) {
			id = rand.Text()
		}
		header := c.Response().Header()
		header.Set(requestIDHeader, id)
		header.Set("Cache-Control", "no-store")
		header.Set("Vary", "Accept, Accept-Encoding, Authorization")
		header.Set("X-Content-Type-Options", "nosniff")
		a := &asked{requestID: id}
		if c.Request().Method != http.MethodHead { // which no stream answers
			a.accept = c.Request().Header.Get(echo.HeaderAccept)
		}
		c.SetRequest(c.Request().WithContext(withAsked(c.Request().Context(), a)))
		return next(c)
	}
}

// observe counts and times requests, and logs them where that is asked for. It
// writes the error's answer itself, so that the status it sees is the one sent.
func (s *Server) observe(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		begun := time.Now()
		if err := next(c); err != nil {
			c.Error(err)
		}
		took := time.Since(begun)
		a := askedOf(c.Request().Context())
		s.metrics.request(a.operation, c.Response().Status, took)
		if s.options.Requests {
			s.options.Log.Info("request", "id", a.requestID, "method", c.Request().Method, "path", c.Request().URL.Path,
				"status", c.Response().Status, "by", a.caller.Name, "ms", took.Milliseconds())
		}
		return nil
	}
}

// recoverPanics turns a panic, which is our own fault, into a 500 and a log
// line with its stack. The answer tells nothing of it but the request id.
func (s *Server) recoverPanics(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) (err error) {
		defer func() {
			r := recover()
			if r == http.ErrAbortHandler {
				panic(r)
			}
			if r != nil {
				s.options.Log.Error("panic", "id", askedOf(c.Request().Context()).requestID, "panic", r, "stack", string(debug.Stack()))
				err = refuse(internal, "The service failed; give the request id to whoever runs it.")
			}
		}()
		return next(c)
	}
}

// inTime bounds a request by a context. Echo's own Timeout middleware is not
// used: it answers from another goroutine while the handler still runs.
func (s *Server) inTime(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		op, err := s.operationOf(c)
		if err != nil {
			return err
		}
		if s.options.Timeout <= 0 || op == nil || op.media == linesMedia || op.waits {
			return next(c)
		}
		before := c.Request()
		ctx, cancel := context.WithTimeout(before.Context(), s.options.Timeout)
		defer cancel()
		c.SetRequest(before.WithContext(ctx))
		// What answers an error looks at whether the caller has left, not at this
		// context, which ends here in any case.
		defer c.SetRequest(before)
		err = next(c)
		if err != nil && errors.Is(ctx.Err(), context.DeadlineExceeded) && !decided(err) {
			return refuse(tookTooLong, "the service is busy or the request too large")
		}
		return err
	}
}

// decided says whether an error is the service's decision on the request: then
// the request was worked on to its end, and nothing of it was stored.
func decided(err error) bool {
	var edge *requestError
	var use *port.Error
	return errors.As(err, &edge) || errors.As(err, &use) && use.Kind != port.Unavailable
}

// again says what to do after a failure whose outcome is not known.
func (a *asked) again() string {
	switch {
	case !a.stores:
		return "Wait a little and send it again."
	case a.operation == "importPieces":
		return "It is not known whether it was stored: send it again; a piece that is kept already is not kept twice."
	case a.key:
		return "It is not known whether it was stored: send it again with the same Idempotency-Key, and it is stored once."
	}
	return "It is not known whether it was stored: look before you send it again, and send an Idempotency-Key with what records."
}

// fail writes the problem document of an error. Echo calls it for its own
// errors too. An answer that has begun is left as it is.
func (s *Server) fail(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	ctx := c.Request().Context()
	if errors.Is(ctx.Err(), context.Canceled) {
		return // the caller has left; there is nobody to answer
	}
	p := s.problem(ctx, err)
	instance := c.Request().URL.Path
	p.Instance = &instance
	if header := c.Response().Header(); header.Get("Retry-After") == "" && (p.Status == http.StatusServiceUnavailable || p.Status == http.StatusTooManyRequests) {
		c.Response().Header().Set("Retry-After", "5")
	}
	text, err := json.Marshal(p)
	if err != nil {
		text = []byte(`{"type":"/problems/internal","title":"Something went wrong in the service","status":500}`)
		p.Status = http.StatusInternalServerError
	}
	_ = c.Blob(int(p.Status), "application/problem+json", text)
}

// problem is the document of an error, with the request's id. What is the
// service's own fault is logged and told only as that.
func (s *Server) problem(ctx context.Context, err error) oapi.Problem {
	a := askedOf(ctx)
	p, expected := problemOf(err)
	if p.Status == http.StatusInternalServerError || p.Type == typeOf(port.Unavailable) || p.Type == typeOf(tookTooLong) {
		p.Detail = optional(closed(given(p.Detail)) + a.again())
	}
	if !expected {
		s.options.Log.LogAttrs(ctx, slog.LevelError, "request failed", slog.String("id", a.requestID), slog.String("operation", a.operation), slog.String("error", causeOf(err)))
	}
	p.RequestId = optional(a.requestID)
	return p
}
