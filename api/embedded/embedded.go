// Package embedded opens the whole service in-process: the database, the use
// cases and the HTTP edge as a handler. The command line uses it without a
// daemon; the daemon puts a network in front of it.
package embedded

import (
	"context"
	"crypto/rand"
	"net/http"
	"net/netip"
	"os/user"
	"strings"
	"time"

	"barrelbook/api/app"
	"barrelbook/api/app/port"
	"barrelbook/api/board"
	"barrelbook/api/rest"
	"barrelbook/api/store"
	"barrelbook/api/webhook"
)

// Options say what to open. Only Path must be given.
type Options struct {
	// Path is the data file, or the URL of a PostgreSQL database
	// (postgres://…).
	Path string
	// Volatile gives up that what was acknowledged survives a loss of power,
	// for data that can be made again. Defaults to false.
	Volatile bool
	// Now is the clock. Defaults to that of the database: of this machine on a
	// data file, of the server on PostgreSQL.
	Now func() time.Time
	// Machine is the clock of this machine, from which that of the database is
	// known to differ by some time. Defaults to time.Now.
	Machine func() time.Time
	// Keep is how long the answers to requests with an idempotency key are kept.
	// Defaults to record.DefaultKeepAnswers.
	Keep time.Duration
	// KeepEvents is how long events are kept for those who follow. Defaults to
	// record.DefaultKeepEvents.
	KeepEvents time.Duration
	// Version is told by the works and by /version.
	Version string

	// Tokens asks every request for a token, as a daemon does. Defaults to
	// false: the caller is the user of the operating system, with the role
	// admin.
	Tokens bool
	// KeepSchema leaves the schema of the database as it is. Defaults to false:
	// it is brought up to date, under a lock, while opening.
	KeepSchema bool
	// LongestToken bounds the life of a token. Defaults to
	// record.DefaultLongestToken.
	LongestToken time.Duration
	// Webhooks lets admins have events sent; Deliver sends them. Defaults to false.
	Webhooks bool
	// WebhookNetworks are the networks beside the public ones that may be sent to.
	// Defaults to none.
	WebhookNetworks []netip.Prefix
	// MaxConns is the size of the pool. Defaults to the store's.
	MaxConns int
	// Edge is passed to the HTTP edge; the fields that this package knows are
	// filled in by it.
	Edge rest.Options

	readOnly bool
}

// Service is an open service.
type Service struct {
	store *store.Store
	app   *app.App
	edge  *rest.Server
	// viewer answers those who look without a token, nil where nobody may.
	viewer *rest.Server
	// options are those of the edge, for a second one with other rights.
	options rest.Options
}

// Open opens the database and wires the service.
func Open(ctx context.Context, o Options) (*Service, error) {
	s, err := openStore(ctx, o)
	if err != nil {
		return nil, err
	}
	o.Now = s.Now
	service := &Service{store: s, app: app.New(s, databaseClock{s}, newNames(o.Now), o.Version)}
	if o.Keep > 0 {
		service.app.KeepAnswers = o.Keep
	}
	if o.LongestToken > 0 {
		service.app.LongestToken = o.LongestToken
	}
	if o.KeepEvents > 0 {
		service.app.KeepEvents = o.KeepEvents
	}
	if o.Webhooks {
		service.app.SetSender(webhook.New(o.WebhookNetworks), rand.Text())
	}
	edge := o.Edge
	edge.Version, edge.Now, edge.Database, edge.Pools = o.Version, o.Now, s.Kind(), s.Stats
	if !o.Tokens {
		edge.Local = &rest.Caller{Name: UserName(), Role: port.Admin}
	}
	service.options = edge
	if service.edge, err = rest.New(service.app, edge); err != nil {
		_ = s.Close()
		return nil, err
	}
	return service, nil
}

func openStore(ctx context.Context, o Options) (*store.Store, error) {
	settings := store.Options{Migrate: !o.KeepSchema, Volatile: o.Volatile, MaxConns: o.MaxConns, ReadOnly: o.readOnly, Machine: o.Machine, Now: o.Now}
	if IsURL(o.Path) {
		return store.OpenPostgres(ctx, o.Path, settings)
	}
	return store.OpenSQLite(ctx, o.Path, settings)
}

// IsURL says whether a database is named by a PostgreSQL URL and not by the
// path of a data file.
func IsURL(path string) bool {
	return strings.HasPrefix(path, "postgres://") || strings.HasPrefix(path, "postgresql://")
}

// Handler answers the contract.
func (s *Service) Handler() http.Handler { return s.edge }

// Board answers the contract with the board's pages in front of it. Those from
// an open network look at them with a viewer's rights.
func (s *Service) Board(open []netip.Prefix) (http.Handler, error) {
	o := board.Options{Open: open, BehindProxy: s.options.BehindProxy, Now: s.options.Now}
	if len(open) > 0 {
		look := s.options
		look.Local = &rest.Caller{Name: "board", Role: port.Viewer}
		viewer, err := rest.New(s.app, look)
		if err != nil {
			return nil, err
		}
		o.Viewer, s.viewer = viewer, viewer
	}
	return board.New(s.edge, o), nil
}

// App is the use cases, for what is done beside the contract, such as making
// the first token.
func (s *Service) App() *app.App { return s.app }

// Drain lets no new work be sent here; see rest.Server.
func (s *Service) Drain() {
	s.edge.Drain()
	if s.viewer != nil {
		s.viewer.Drain()
	}
}

// Deliver sends events to webhooks until ctx ends; fault is told of failures of our
// own.
func (s *Service) Deliver(ctx context.Context, fault func(error)) {
	s.app.Deliver(ctx, s.edge.EventJSON, fault)
}

// Verify reads every book and checks it against its hashes and its roll.
func (s *Service) Verify(ctx context.Context) error { return s.store.Verify(ctx) }

// Close gives the database back. Requests under way must have ended.
func (s *Service) Close() error {
	s.app.NoteUse()
	if s.app.Changed.Load() {
		// Of a process that answers one command and ends there is nobody else to do
		// it; what was recorded stands without it.
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		_, _ = s.app.KeepForecasts(ctx)
		_ = s.app.SignOffDaily(ctx)
	}
	return s.store.Close()
}

// UserName is the user of the operating system, who signs what is done without
// a token.
func UserName() string {
	if u, err := user.Current(); err == nil && u.Username != "" {
		return u.Username
	}
	return "local"
}

// databaseClock is the clock of the database.
type databaseClock struct{ *store.Store }

// In implements port.Clock.
func (databaseClock) In(w port.Writer) (time.Time, error) { return w.Now() }
