package conn

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"sync"
	"time"
)

// handlerTransport carries requests into a handler of this process. The
// answer streams as it is written, as it would over a socket.
type handlerTransport struct {
	handler http.Handler
	running sync.WaitGroup
}

// wait lets handlers end whose caller has gone, but not for ever.
func (t *handlerTransport) wait(limit time.Duration) error {
	ended := make(chan struct{})
	go func() { t.running.Wait(); close(ended) }()
	select {
	case <-ended:
		return nil
	case <-time.After(limit):
		return errors.New("a request was still under way when the data file was closed")
	}
}

func (t *handlerTransport) RoundTrip(req *http.Request) (*http.Response, error) {
	in := req.Clone(req.Context())
	in.RequestURI = req.URL.RequestURI()
	in.RemoteAddr = "127.0.0.1:0"
	in.Host = req.URL.Host
	if in.Body == nil {
		in.Body = http.NoBody
	}
	body, pipe := io.Pipe()
	w := &pipeWriter{header: http.Header{}, pipe: pipe, started: make(chan struct{})}
	t.running.Go(func() { w.serve(t.handler, in) })
	select {
	case <-w.started:
	case <-req.Context().Done():
		body.CloseWithError(req.Context().Err())
		return nil, req.Context().Err()
	}
	if w.broken != nil {
		return nil, w.broken
	}
	return &http.Response{
		Status: fmt.Sprintf("%d %s", w.status, http.StatusText(w.status)), StatusCode: w.status,
		Proto: "HTTP/1.1", ProtoMajor: 1, ProtoMinor: 1,
		Header: w.sent, Body: body, ContentLength: -1, Request: req,
	}, nil
}

// pipeWriter is the handler's side of an answer.
type pipeWriter struct {
	header http.Header // the handler's to change
	sent   http.Header // as it was when the status was written
	status int
	broken error // why there is no answer at all
	pipe   *io.PipeWriter

	once    sync.Once
	started chan struct{}
}

func (w *pipeWriter) serve(h http.Handler, req *http.Request) {
	var failed error
	defer func() {
		if p := recover(); p != nil {
			failed = fmt.Errorf("the service failed: %v", p)
			if p == any(http.ErrAbortHandler) {
				failed = errors.New("the service broke the answer off")
			}
			w.once.Do(func() { w.broken = failed; close(w.started) })
		}
		w.WriteHeader(http.StatusOK) // a handler that wrote nothing
		w.pipe.CloseWithError(failed)
		req.Body.Close()
	}()
	h.ServeHTTP(w, req)
}

func (w *pipeWriter) Header() http.Header { return w.header }

func (w *pipeWriter) WriteHeader(status int) {
	if status >= 100 && status < 200 {
		return // informational: the answer is still to come
	}
	w.once.Do(func() {
		w.status, w.sent = status, w.header.Clone()
		close(w.started)
	})
}

func (w *pipeWriter) Write(p []byte) (int, error) {
	w.WriteHeader(http.StatusOK)
	return w.pipe.Write(p)
}

// The rest is what http.ResponseController asks of a server's writer. A pipe
// holds nothing back, has no deadline, and reads while it writes.

func (w *pipeWriter) Flush()                           { w.WriteHeader(http.StatusOK) }
func (w *pipeWriter) SetReadDeadline(time.Time) error  { return nil }
func (w *pipeWriter) SetWriteDeadline(time.Time) error { return nil }
func (w *pipeWriter) EnableFullDuplex() error          { return nil }

func (w *pipeWriter) Hijack() (net.Conn, *bufio.ReadWriter, error) {
	return nil, nil, http.ErrNotSupported
}
