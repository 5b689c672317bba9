package conn

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"strconv"
	"strings"
	"time"

	"barrelbook/client/oapi"
)

// attempts is how often a call is made before the client gives up; waiting
// starts at firstWait and doubles, and a service that asks for longer than
// longestWait is not waited for.
const (
	attempts    = 4
	firstWait   = 200 * time.Millisecond
	longestWait = 10 * time.Second
)

// retrier makes a call again when it failed in passing, but only where a
// second call cannot do harm.
type retrier struct {
	next  oapi.HttpRequestDoer
	limit time.Duration
	sleep func(context.Context, time.Duration) error
	trace func(string)
}

// streaming marks a call whose answer is a stream of unknown length.
type streaming struct{}

// Streaming frees a call of the time limit and of being made again.
func Streaming(ctx context.Context) context.Context {
	return context.WithValue(ctx, streaming{}, true)
}

// CutOff is a recording that was given up before its answer came: whether it was
// kept is not known.
type CutOff struct{ Err error }

func (e *CutOff) Error() string { return "whether it was recorded is not known: " + e.Err.Error() }
func (e *CutOff) Unwrap() error { return e.Err }

// records says whether a request may leave something behind. What only computes is
// POST because its input does not fit a URL.
func records(req *http.Request) bool {
	switch path := req.URL.Path; {
	case req.Method == http.MethodGet, req.Method == http.MethodHead, req.URL.Query().Get("dry_run") == "true":
		return false
	default:
		return !strings.Contains(path, "/v1/calculations/") && !strings.HasSuffix(path, "/v1/change-plans") &&
			!strings.HasSuffix(path, "/finish-checks") && !strings.HasSuffix(path, "/regrind-advice")
	}
}

// repeatable is true for calls that have the same effect when made twice:
// readings, recordings that carry a key, and computations, which the contract
// makes POST only because their input does not fit a URL.
func repeatable(req *http.Request) bool {
	if req.Context().Value(streaming{}) != nil || (req.Body != nil && req.Body != http.NoBody && req.GetBody == nil) {
		return false
	}
	return !records(req) || req.Method == http.MethodPost && req.Header.Get("Idempotency-Key") != ""
}

func (r *retrier) Do(req *http.Request) (*http.Response, error) {
	wait := firstWait
	for n := 1; ; n++ {
		resp, err := r.once(req)
		if n == attempts || !repeatable(req) || !passing(resp, err) || req.Context().Err() != nil {
			return resp, err
		}
		pause := wait + rand.N(wait)
		if asked, ok := retryAfter(resp); ok {
			if asked > longestWait {
				return resp, err
			}
			pause = max(pause, asked)
		}
		if resp != nil {
			io.Copy(io.Discard, io.LimitReader(resp.Body, 1<<16))
			resp.Body.Close()
		}
		if err := r.sleep(req.Context(), pause); err != nil {
			return nil, err
		}
		wait *= 2
		if req.GetBody != nil {
			if req.Body, err = req.GetBody(); err != nil {
				return nil, err
			}
		}
	}
}

func (r *retrier) once(req *http.Request) (*http.Response, error) {
	ctx, cancel := req.Context(), context.CancelFunc(func() {})
	if ctx.Value(streaming{}) == nil {
		ctx, cancel = context.WithTimeout(ctx, r.limit)
	} else if req.Body != nil {
		req.Body = untilDone(ctx, req.Body)
	}
	start := time.Now()
	resp, err := r.next.Do(req.WithContext(ctx))
	if r.trace != nil {
		outcome := "no answer"
		if err == nil {
			outcome = resp.Status
		}
		r.trace(fmt.Sprintf("%s %s: %s in %s", req.Method, req.URL.RequestURI(), outcome, time.Since(start).Round(time.Millisecond)))
	}
	if err != nil {
		cancel()
		if cause := req.Context().Err(); cause != nil {
			if records(req) {
				cause = &CutOff{cause}
			}
			return nil, cause
		}
		return nil, &Unreachable{Err: err}
	}
	resp.Body = &cancelOnClose{ReadCloser: resp.Body, cancel: cancel}
	return resp, nil
}

// passing is true for failures that may be gone the next moment.
func passing(resp *http.Response, err error) bool {
	if err != nil {
		var u *Unreachable
		return errors.As(err, &u) && !errors.Is(err, context.DeadlineExceeded)
	}
	switch resp.StatusCode {
	case http.StatusTooManyRequests, http.StatusBadGateway, http.StatusServiceUnavailable, http.StatusGatewayTimeout:
		return true
	}
	return false
}

func retryAfter(resp *http.Response) (time.Duration, bool) {
	if resp == nil {
		return 0, false
	}
	seconds, err := strconv.Atoi(resp.Header.Get("Retry-After"))
	if err != nil || seconds < 0 {
		return 0, false
	}
	return time.Duration(seconds) * time.Second, true
}

// untilDone is a body that ends with the context, even while a read of it
// waits, for a terminal or another program: the transport would wait with it,
// and an interrupt would seem to do nothing.
func untilDone(ctx context.Context, body io.ReadCloser) io.ReadCloser {
	read, write := io.Pipe()
	go func() {
		_, err := io.Copy(write, body)
		write.CloseWithError(err)
	}()
	stop := context.AfterFunc(ctx, func() { read.CloseWithError(context.Cause(ctx)) })
	return &closedWith{read, func() error { stop(); return body.Close() }}
}

// closedWith closes what it reads from too.
type closedWith struct {
	*io.PipeReader
	source func() error
}

func (c *closedWith) Close() error { return errors.Join(c.PipeReader.Close(), c.source()) }

// cancelOnClose keeps an attempt's clock running until its answer is read.
type cancelOnClose struct {
	io.ReadCloser
	cancel context.CancelFunc
}

func (b *cancelOnClose) Close() error {
	defer b.cancel()
	return b.ReadCloser.Close()
}
