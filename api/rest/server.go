// Package rest is the HTTP edge: it holds every request against the contract,
// asks who the caller is, hands the use case its input and writes its answer or
// a problem document. It and package oapi alone know of Echo.
package rest

import (
	"database/sql"
	"log/slog"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/labstack/echo/v4"

	"barrelbook/api/app"
	"barrelbook/api/oapi"
)

// Options is what the edge needs beside the use cases.
type Options struct {
	// Local is the one caller of an embedded service, who needs no token. Nil
	// asks every request for one.
	Local *Caller
	// Database is told in the works: "embedded" or "postgresql".
	Database string
	Version  string
	// Log takes failures of the service and, with Requests, every request.
	// Defaults to slog.Default().
	Log      *slog.Logger
	Requests bool
	// Now defaults to time.Now.
	Now func() time.Time
	// PerSecond and Burst bound the requests of one caller. 0 means no bound.
	PerSecond float64
	Burst     int
	// Timeout bounds one request, streams aside. 0 means no bound.
	Timeout time.Duration
	// StreamIdle is how long a stream of lines may stand still before it is cut.
	// 0 means no bound.
	StreamIdle time.Duration
	// Places is how many calculations and heavy answers are worked on at a time.
	// Defaults to one for each processor, at least two.
	Places int
	// Pools gives the counts of the database's pools to the metrics.
	Pools func() map[string]sql.DBStats
	// EventSource is the source of all events, a URI reference that tells the works
	// from others. Defaults to /barrelbook.
	EventSource string
	// LongestWait bounds how long a follower is kept waiting. Defaults to a minute.
	LongestWait time.Duration
	// BehindProxy takes the caller's address from X-Forwarded-For.
	BehindProxy bool
}

// Server answers the contract.
type Server struct {
	app      *app.App
	options  Options
	contract *contract
	limit    *limiter
	metrics  *metrics
	bounds   bounds
	draining atomic.Bool
	named    sync.Map // names that were found in the books as they are written
	rolls    keptRolls
	drained  chan struct{} // closed when draining begins
	echo     *echo.Echo
}

var _ oapi.StrictServerInterface = (*Server)(nil)

// New wires the edge.
func New(a *app.App, options Options) (*Server, error) {
	if options.Log == nil {
		options.Log = slog.Default()
	}
	if options.Now == nil {
		options.Now = time.Now
	}
	if options.EventSource == "" {
		options.EventSource = "/barrelbook"
	}
	if options.LongestWait <= 0 {
		options.LongestWait = time.Minute
	}
	c, err := readContract()
	if err != nil {
		return nil, err
	}
	s := &Server{app: a, options: options, contract: c, metrics: newMetrics(options.Pools), echo: echo.New(), bounds: newBounds(options.Places), drained: make(chan struct{}),
		limit: newLimiter(options.PerSecond, options.Burst, options.Now)}
	if options.Local != nil {
		s.bounds.ofOne()
	}
	s.echo.HTTPErrorHandler = s.fail
	s.echo.Binder = binder{}
	s.echo.IPExtractor = echo.ExtractIPDirect()
	if options.BehindProxy {
		s.echo.IPExtractor = echo.ExtractIPFromXFFHeader()
	}
	// All of them run after routing, in this order.
	s.echo.Use(s.identify, s.packed, s.observe, s.recoverPanics, s.inTime, s.allow, s.roomy, s.validate, s.shaped)
	s.registerOptions()
	oapi.RegisterHandlers(withHead{s.echo}, oapi.NewStrictHandler(s, []oapi.StrictMiddlewareFunc{s.inPlace, s.spelled}))
	s.registerProbes()
	return s, s.registerDocs()
}

// ServeHTTP implements http.Handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.echo.ServeHTTP(w, r) }

// Drain makes /readyz answer 503, so that no new work is sent here while what
// is in flight is finished. Who waits for events is answered.
func (s *Server) Drain() {
	if !s.draining.Swap(true) {
		close(s.drained)
	}
}

// maxBody and maxTableBody bound a JSON body: of a record, and of a request
// that brings a programme, a table of observations or the cards of a shop.
const (
	maxBody      = 1 << 20
	maxTableBody = 32 << 20
)

func (s *Server) bodyLimit(op *operation) int64 {
	switch op.id {
	case "loadCampaign", "recordPastStays", "calculateWeibull", "calculateWearRate", "calculateChangePlan":
		return maxTableBody
	default:
		return maxBody
	}
}
