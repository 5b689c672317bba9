// Package conn is the client's one way to the service: the same requests go
// over the network to a daemon or straight into a handler in this process.
package conn

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"barrelbook/client/oapi"
)

// Options say where the service is and how to speak to it.
type Options struct {
	// Server is the daemon's address. Ignored when Handler is set.
	Server string
	// Handler answers in-process.
	Handler http.Handler
	// Token goes with every request to a daemon. Defaults to none.
	Token string
	// Agent names the client in requests. Defaults to "barrelbook".
	Agent string
	// Timeout is the longest one attempt may take, the reading of the answer
	// included; streams are free of it. Defaults to two minutes.
	Timeout time.Duration
	// Trace, when set, is told of each attempt, without tokens and bodies.
	Trace func(line string)
	// Sleep waits between attempts. Defaults to waiting on the clock.
	Sleep func(ctx context.Context, d time.Duration) error
}

// Conn is a connection to one service.
type Conn struct {
	// API has a method for each operation of the contract.
	API *oapi.Client
	// Address is how to speak of the service in a message.
	Address string

	doer   oapi.HttpRequestDoer
	server string
	local  *handlerTransport // nil over the network
}

// inProcess is the address that requests to a handler carry; the name is
// reserved and cannot be reached by mistake (RFC 2606).
const inProcess = "http://in-process.invalid"

// New makes a connection. Nothing is sent yet.
func New(o Options) (*Conn, error) {
	if o.Timeout <= 0 {
		o.Timeout = 2 * time.Minute
	}
	if o.Sleep == nil {
		o.Sleep = sleep
	}
	if o.Agent == "" {
		o.Agent = "barrelbook"
	}
	local := &handlerTransport{handler: o.Handler}
	var transport http.RoundTripper = local
	server, address := inProcess, "the data file"
	if o.Handler == nil {
		if o.Server == "" {
			return nil, fmt.Errorf("there is neither a server nor a data file to speak to")
		}
		local = nil
		transport, server, address = networkTransport(), o.Server, o.Server
	}
	d := &retrier{
		next:  &http.Client{Transport: transport, CheckRedirect: noRedirect},
		limit: o.Timeout, sleep: o.Sleep, trace: o.Trace,
	}
	api, err := oapi.NewClient(server, oapi.WithHTTPClient(d), oapi.WithRequestEditorFn(
		func(_ context.Context, req *http.Request) error {
			req.Header.Set("User-Agent", o.Agent)
			if req.Header.Get("Accept") == "" {
				req.Header.Set("Accept", "application/json, application/problem+json")
			}
			if o.Token != "" {
				req.Header.Set("Authorization", "Bearer "+o.Token)
			}
			return nil
		}))
	if err != nil {
		return nil, fmt.Errorf("server %s: %w", server, err)
	}
	return &Conn{API: api, Address: address, doer: d, server: api.Server, local: local}, nil
}

// Close waits until nothing is under way in this process, so that a data file
// is not closed under a request whose caller was interrupted.
func (c *Conn) Close() error {
	if c.local == nil {
		return nil
	}
	return c.local.wait(10 * time.Second)
}

// noRedirect hands a redirect back as the answer: following one could carry
// the token and a recording elsewhere.
func noRedirect(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }

func networkTransport() http.RoundTripper {
	t := http.DefaultTransport.(*http.Transport).Clone()
	t.MaxIdleConnsPerHost = 4
	return t
}

// Get reads a path that no operation of the contract has.
func (c *Conn) Get(ctx context.Context, path string) (*http.Response, error) {
	return c.Send(ctx, Request{Method: http.MethodGet, Path: path})
}

// Request is a request that is put together by hand.
type Request struct {
	Method, Path string // the path begins with a slash
	ContentType  string
	IfMatch      string // empty when none is needed
	Body         io.Reader
}

// Send sends a request that is put together by hand. A POST gets a key of its
// own, so that it can be tried again.
func (c *Conn) Send(ctx context.Context, r Request) (*http.Response, error) {
	req, err := http.NewRequestWithContext(ctx, r.Method, strings.TrimSuffix(c.server, "/")+r.Path, r.Body)
	if err != nil {
		return nil, err
	}
	if r.ContentType != "" {
		req.Header.Set("Content-Type", r.ContentType)
	}
	if r.IfMatch != "" {
		req.Header.Set("If-Match", r.IfMatch)
	}
	if r.Method == http.MethodPost {
		req.Header.Set("Idempotency-Key", NewKey())
	}
	for _, edit := range c.API.RequestEditors {
		if err := edit(ctx, req); err != nil {
			return nil, err
		}
	}
	return c.doer.Do(req)
}

// NewKey is a fresh Idempotency-Key: a recording sent again with the same key,
// because the answer was lost, is not recorded twice.
func NewKey() string {
	var b [16]byte
	rand.Read(b[:]) // never fails since Go 1.24
	return hex.EncodeToString(b[:])
}

func sleep(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}
