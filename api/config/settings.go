// Package config holds the settings of the daemon: one struct, each with its
// default, each to be given by a flag, else by the environment.
package config

import (
	"errors"
	"flag"
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"strings"
	"time"
)

// Settings are all settings of the daemon.
type Settings struct {
	// Database is a data file, or the URL of a PostgreSQL database
	// (postgres://…). Defaults to barrelbook.db in the current folder.
	Database string
	// DatabaseConns is the size of the pool of connections. Defaults to 0: 4
	// readers on a data file, 16 on PostgreSQL.
	DatabaseConns int
	// Migrate brings the schema up to date at the start; daemons that start
	// together do it once. Defaults to true. Without it the daemon starts and
	// /readyz says that the schema is behind.
	Migrate bool
	// Volatile gives up that what was acknowledged survives a loss of power.
	// Defaults to false.
	Volatile bool

	// Listen is the address to serve on. Defaults to 127.0.0.1:8642. An address
	// that others can reach needs TLSCert and TLSKey, or BehindProxy.
	Listen string
	// TLSCert and TLSKey are files in PEM form. Both or neither. Default to
	// none.
	TLSCert, TLSKey string
	// BehindProxy says that a proxy in front of the daemon speaks TLS with the
	// callers and tells their addresses in X-Forwarded-For. Defaults to false.
	BehindProxy bool

	// BoardOpen are networks, parted by commas, whose people may look at the board
	// without a token: 10.20.0.0/16. Defaults to none.
	BoardOpen string

	// RequestsPerSecond and Burst bound the requests of one token. Default to
	// 50 and 200. 0 requests per second means no bound.
	RequestsPerSecond float64
	Burst             int
	// RequestTimeout bounds the work on one request, streams aside. Defaults to
	// 60s.
	RequestTimeout time.Duration
	// KeepAnswers is how long the answer to a request with an idempotency key is
	// kept, so that the same request sent again is recorded once. Defaults to 168h.
	KeepAnswers time.Duration
	// KeepEvents is how long events are kept for those who follow them. Defaults to
	// 720h.
	KeepEvents time.Duration
	// EventSource is the source that every event names: a URI reference that tells
	// this works from others. Defaults to /barrelbook.
	EventSource string
	// TokenLongest is the longest life that a token may be given. Defaults to 17568h,
	// two years.
	TokenLongest time.Duration
	// Webhooks lets admins have events sent to addresses of their choice. Defaults to
	// false.
	Webhooks bool
	// WebhookNetworks are networks, parted by commas, that may be sent to though they
	// are not public: 10.20.0.0/16. Defaults to none.
	WebhookNetworks string
	// StreamIdle is how long a stream of pieces may stand still before it is cut.
	// Defaults to 2m.
	StreamIdle time.Duration
	// Places is how many calculations and heavy answers are worked on at a time;
	// others wait. Defaults to 0: one for each processor, at least two.
	Places int
	// MemoryMB is what the daemon tries to keep its memory below, in MiB, by
	// collecting garbage sooner. Defaults to 512. GOMEMLIMIT in the environment
	// goes before it.
	MemoryMB int
	// DrainDelay is how long the daemon goes on serving after /readyz has begun
	// to answer 503, so that a balancer can send new work elsewhere. Defaults to
	// 0s.
	DrainDelay time.Duration
	// ShutdownTimeout bounds how long requests under way may take to end.
	// Defaults to 20s.
	ShutdownTimeout time.Duration

	// LogFormat is text or json. Defaults to text.
	LogFormat string
	// LogRequests logs every request. Defaults to false.
	LogRequests bool
}

// Default gives the settings where nothing else is said.
func Default() Settings {
	return Settings{Database: "barrelbook.db", Migrate: true, Listen: "127.0.0.1:8642", RequestsPerSecond: 50, Burst: 200,
		RequestTimeout: time.Minute, KeepAnswers: 7 * 24 * time.Hour, KeepEvents: 30 * 24 * time.Hour, EventSource: "/barrelbook", TokenLongest: 2 * 366 * 24 * time.Hour, StreamIdle: 2 * time.Minute, MemoryMB: 512, ShutdownTimeout: 20 * time.Second, LogFormat: "text"}
}

// DatabaseFlags are those of the settings that every command needs.
func (s *Settings) DatabaseFlags() *flag.FlagSet {
	f := flag.NewFlagSet("", flag.ContinueOnError)
	f.StringVar(&s.Database, "database", s.Database, "data `file`, or postgres:// URL")
	f.IntVar(&s.DatabaseConns, "database-conns", s.DatabaseConns, "size of the connection pool; 0 for 4 readers on a data file, 16 on PostgreSQL")
	f.BoolVar(&s.Migrate, "migrate", s.Migrate, "bring the schema up to date at the start, once however many daemons start together")
	return f
}

// Flags are all settings as flags; their present values are the defaults.
func (s *Settings) Flags() *flag.FlagSet {
	f := s.DatabaseFlags()
	f.BoolVar(&s.Volatile, "volatile", s.Volatile, "give up that what was acknowledged survives a loss of power")
	f.StringVar(&s.Listen, "listen", s.Listen, "`address` to serve on; one that others can reach needs --tls-cert and --tls-key, or --behind-proxy")
	f.StringVar(&s.TLSCert, "tls-cert", s.TLSCert, "certificate `file`, PEM")
	f.StringVar(&s.TLSKey, "tls-key", s.TLSKey, "key `file`, PEM")
	f.BoolVar(&s.BehindProxy, "behind-proxy", s.BehindProxy, "a proxy in front speaks TLS and tells callers' addresses in X-Forwarded-For")
	f.StringVar(&s.BoardOpen, "board-open", s.BoardOpen, "`networks`, parted by commas, that may look at the board without a token, as 10.20.0.0/16")
	f.Float64Var(&s.RequestsPerSecond, "requests-per-second", s.RequestsPerSecond, "of one token; 0 for no bound")
	f.IntVar(&s.Burst, "burst", s.Burst, "requests that one token may send at once")
	f.DurationVar(&s.RequestTimeout, "request-timeout", s.RequestTimeout, "for the work on one request, streams aside; 0 for none")
	f.DurationVar(&s.KeepAnswers, "keep-answers", s.KeepAnswers, "how long a request that is sent again with its key is known; at least 1h")
	f.DurationVar(&s.KeepEvents, "keep-events", s.KeepEvents, "how long events are kept for those who follow them; at least 1h")
	f.StringVar(&s.EventSource, "event-source", s.EventSource, "the source that every event names, a `URI` or the path of one")
	f.DurationVar(&s.TokenLongest, "token-longest", s.TokenLongest, "the longest life that a token may be given")
	f.BoolVar(&s.Webhooks, "webhooks", s.Webhooks, "let admins have events sent to addresses of their choice")
	f.StringVar(&s.WebhookNetworks, "webhook-networks", s.WebhookNetworks, "`networks`, parted by commas, that may be sent to though they are not public, as 10.20.0.0/16")
	f.DurationVar(&s.StreamIdle, "stream-idle", s.StreamIdle, "how long a stream of pieces may stand still before it is cut; 0 for ever")
	f.IntVar(&s.Places, "places", s.Places, "calculations and heavy answers worked on at a time; 0 for one for each processor, at least two")
	f.IntVar(&s.MemoryMB, "memory-mb", s.MemoryMB, "what to keep the memory below by collecting garbage sooner, MiB; GOMEMLIMIT goes before it")
	f.DurationVar(&s.DrainDelay, "drain-delay", s.DrainDelay, "how long to go on serving after /readyz has begun to answer 503")
	f.DurationVar(&s.ShutdownTimeout, "shutdown-timeout", s.ShutdownTimeout, "for requests under way to end")
	f.StringVar(&s.LogFormat, "log-format", s.LogFormat, "text or json")
	f.BoolVar(&s.LogRequests, "log-requests", s.LogRequests, "log every request")
	return f
}

// Check refuses settings that cannot be served with.
func (s *Settings) Check() error {
	switch {
	case s.Database == "":
		return errors.New("database is empty; give a data file or a postgres:// URL")
	case s.LogFormat != "text" && s.LogFormat != "json":
		return fmt.Errorf("log-format %q is neither text nor json", s.LogFormat)
	case (s.TLSCert == "") != (s.TLSKey == ""):
		return errors.New("tls-cert and tls-key belong together; give both or neither")
	case s.RequestsPerSecond < 0 || s.RequestsPerSecond > 0 && s.Burst < 1:
		return errors.New("requests-per-second must not be below 0, and burst must be at least 1 with it")
	case s.KeepAnswers < time.Hour:
		return fmt.Errorf("keep-answers %s is too short for clients that try again; give at least 1h", s.KeepAnswers)
	case s.KeepEvents < time.Hour:
		return fmt.Errorf("keep-events %s is too short for those who follow; give at least 1h", s.KeepEvents)
	case !isReference(s.EventSource):
		return fmt.Errorf("event-source %q is not a URI reference, such as /works/north or urn:works:north", s.EventSource)
	case s.TokenLongest < time.Hour:
		return fmt.Errorf("token-longest %s is too short to work with; give at least 1h", s.TokenLongest)
	case s.Places < 0:
		return fmt.Errorf("places %d must not be below 0", s.Places)
	case s.MemoryMB < 64:
		return fmt.Errorf("memory-mb %d is too little to work with; give at least 64", s.MemoryMB)
	case s.RequestTimeout < 0 || s.StreamIdle < 0 || s.DrainDelay < 0 || s.ShutdownTimeout <= 0:
		return errors.New("request-timeout, stream-idle and drain-delay must not be below 0, and shutdown-timeout must be above it")
	}
	if _, err := s.OpenNetworks(); err != nil {
		return err
	}
	if _, err := s.SentNetworks(); err != nil {
		return err
	}
	host, _, err := net.SplitHostPort(s.Listen)
	if err != nil {
		return fmt.Errorf("listen %q is not host:port, such as 127.0.0.1:8642", s.Listen)
	}
	if !loopback(host) && s.TLSCert == "" && !s.BehindProxy {
		return fmt.Errorf("%s can be reached by others, and tokens would cross the network in the clear: give tls-cert and tls-key, or behind-proxy when a proxy in front speaks TLS", s.Listen)
	}
	return nil
}

// OpenNetworks reads BoardOpen.
func (s *Settings) OpenNetworks() ([]netip.Prefix, error) {
	return networks("board-open", s.BoardOpen)
}

// SentNetworks reads WebhookNetworks.
func (s *Settings) SentNetworks() ([]netip.Prefix, error) {
	return networks("webhook-networks", s.WebhookNetworks)
}

func networks(setting, texts string) (list []netip.Prefix, err error) {
	for _, text := range strings.FieldsFunc(texts, func(r rune) bool { return r == ',' || r == ' ' }) {
		network, err := netip.ParsePrefix(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %q is not a network; give an address and the length of its common part, such as 10.20.0.0/16", setting, text)
		}
		list = append(list, network.Masked())
	}
	return list, nil
}

// isReference says whether a text may be the source of events (RFC 3986).
func isReference(text string) bool {
	_, err := url.Parse(text)
	return err == nil && text != "" && !strings.ContainsAny(text, " <>\"{}|\\^`")
}

// loopback says whether only this machine can reach the host. Names other than
// localhost are not looked up: what they stand for may change.
func loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	address, err := netip.ParseAddr(host)
	return err == nil && address.Unmap().IsLoopback()
}

// Shown is a setting's value as it may be printed: without a password.
func Shown(name, value string) string {
	if name != "database" || !strings.Contains(value, "://") {
		return value
	}
	if u, err := url.Parse(value); err == nil {
		return u.Redacted()
	}
	return "(a URL that cannot be read)"
}
