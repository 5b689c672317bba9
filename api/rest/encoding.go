package rest

import (
	"errors"
	"io"
	"net/http"
	"runtime"
	"strings"
	"sync"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"github.com/labstack/echo/v4"
	"golang.org/x/sync/semaphore"
)

const (
	// smallAnswer is sent as it is: packing it would save nothing.
	smallAnswer = 1 << 10
	// zstdWindow bounds what a sender can make a decoder hold, and what an encoder
	// holds.
	zstdWindow = 8 << 20
)

// packers bounds how many answers are packed at a time, as each holds memory: when
// all are busy an answer goes out as it is.
var packers = semaphore.NewWeighted(int64(4 * runtime.GOMAXPROCS(0)))

var (
	gzipPackers = sync.Pool{New: func() any {
		w, err := gzip.NewWriterLevel(io.Discard, 4)
		if err != nil {
			panic(err)
		}
		return w
	}}
	zstdPackers = sync.Pool{New: func() any {
		w, err := zstd.NewWriter(io.Discard, zstd.WithEncoderConcurrency(1), zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithWindowSize(1<<20), zstd.WithLowerEncoderMem(true))
		if err != nil {
			panic(err)
		}
		return w
	}}
)

// packer is an encoder that can be used again.
type packer interface {
	io.WriteCloser
	Reset(io.Writer)
	Flush() error
}

// packed sends answers in a coding that the caller takes, and none to a HEAD.
func (s *Server) packed(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		w := c.Response().Writer
		if c.Request().Method == http.MethodHead {
			c.Response().Writer = headWriter{w}
			return next(c)
		}
		coding := ""
		if accept := c.Request().Header.Get("Accept-Encoding"); accept != "" {
			coding = preferred(accept, "zstd", "gzip")
			if coding != "" && quality(accept, coding) < quality(accept, "identity") {
				coding = ""
			}
		}
		if coding == "" {
			return next(c)
		}
		out := &packingWriter{ResponseWriter: w, coding: coding}
		c.Response().Writer = out
		err := next(c)
		return errors.Join(err, out.close())
	}
}

// packingWriter packs an answer from the first part of it that is worth it.
type packingWriter struct {
	http.ResponseWriter
	coding  string
	status  int
	held    []byte // of the answer, until it is known whether it is small
	begun   bool   // the headers are sent
	packer  packer // nil where it goes out as it is
	release func()
}

// Unwrap is for http.ResponseController.
func (w *packingWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (w *packingWriter) WriteHeader(status int) {
	if w.status == 0 {
		w.status = status
	}
	if status < 200 || status == http.StatusNoContent || status == http.StatusNotModified {
		w.begin(false)
	}
}

func (w *packingWriter) Write(p []byte) (int, error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	if !w.begun {
		if w.held = append(w.held, p...); len(w.held) < smallAnswer {
			return len(p), nil
		}
		w.begin(true)
		_, err := w.send(w.held)
		w.held = nil
		return len(p), err
	}
	return w.send(p)
}

func (w *packingWriter) send(p []byte) (int, error) {
	if w.packer != nil {
		return w.packer.Write(p)
	}
	return w.ResponseWriter.Write(p)
}

// begin sends the headers, and decides.
func (w *packingWriter) begin(large bool) {
	if w.begun {
		return
	}
	w.begun = true
	h := w.Header()
	if large && packable(h) && packers.TryAcquire(1) {
		pool := &gzipPackers
		if w.coding == "zstd" {
			pool = &zstdPackers
		}
		w.packer = pool.Get().(packer)
		w.packer.Reset(w.ResponseWriter)
		w.release = func() { pool.Put(w.packer); packers.Release(1) }
		h.Set("Content-Encoding", w.coding)
		h.Del("Content-Length")
		if tag := h.Get("ETag"); strings.HasSuffix(tag, `"`) {
			h.Set("ETag", strings.TrimSuffix(tag, `"`)+"-"+w.coding+`"`) // other bytes, another tag
		}
	}
	w.ResponseWriter.WriteHeader(w.status)
}

// packable leaves alone what is packed and what streams.
func packable(h http.Header) bool {
	kind, _, _ := strings.Cut(h.Get("Content-Type"), ";")
	return h.Get("Content-Encoding") == "" && kind != linesMedia && kind != eventStreamMedia && (strings.HasPrefix(kind, "text/") || strings.HasSuffix(kind, "json") || strings.HasSuffix(kind, "yaml"))
}

// Flush sends what there is: of a stream, which is never packed.
func (w *packingWriter) Flush() {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	w.begin(false)
	if len(w.held) > 0 {
		_, _ = w.send(w.held)
		w.held = nil
	}
	if w.packer != nil {
		_ = w.packer.Flush()
	}
	_ = http.NewResponseController(w.ResponseWriter).Flush()
}

func (w *packingWriter) close() error {
	if w.status == 0 {
		return nil // nothing was answered
	}
	w.begin(false)
	var err error
	if len(w.held) > 0 {
		_, err = w.send(w.held)
	}
	if w.packer != nil {
		err = errors.Join(err, w.packer.Close())
		w.packer.Reset(io.Discard)
		w.release()
	}
	return err
}

// headWriter answers a HEAD: the headers of the GET and no body.
type headWriter struct{ http.ResponseWriter }

func (w headWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }
func (w headWriter) Write(p []byte) (int, error) { return len(p), nil }
func (w headWriter) Flush()                      {}

// untagged takes the coding off a tag.
func untagged(tag string) string {
	for _, coding := range []string{`-gzip"`, `-zstd"`} {
		if plain, had := strings.CutSuffix(tag, coding); had {
			return plain + `"`
		}
	}
	return tag
}

// unpacked gives the body of a request as it was before it was packed. What it may
// grow to is bounded where it is read.
func unpacked(r *http.Request) error {
	coding := strings.ToLower(strings.TrimSpace(r.Header.Get(echo.HeaderContentEncoding)))
	switch coding {
	case "", "identity":
		return nil
	case "gzip", "zstd":
		r.Body = &unpacking{from: r.Body, coding: coding}
		r.ContentLength = -1
		return nil
	}
	return refuse(wrongMedia, "send the body in the coding gzip or zstd, or as it is")
}

// unpacking reads a packed body. It begins at the first read: a stream may have
// sent nothing yet.
type unpacking struct {
	from   io.ReadCloser
	coding string
	to     io.Reader
	close  func()
}

func (u *unpacking) Read(p []byte) (int, error) {
	if u.to == nil {
		if err := u.open(); err != nil {
			return 0, u.inWords(err)
		}
	}
	n, err := u.to.Read(p)
	return n, u.inWords(err)
}

func (u *unpacking) open() error {
	if u.coding == "gzip" {
		z, err := gzip.NewReader(u.from)
		u.to = z
		if err != nil {
			u.to = nil
		}
		return err
	}
	z, err := zstd.NewReader(u.from, zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true), zstd.WithDecoderMaxWindow(zstdWindow))
	if err == nil {
		u.to, u.close = z, z.Close
	}
	return err
}

// inWords says what is wrong with the packing; what is wrong with the connection
// is left as it is.
func (u *unpacking) inWords(err error) error {
	var size *http.MaxBytesError
	switch {
	case err == nil, err == io.EOF, errors.As(err, &size):
		return err
	case errors.Is(err, gzip.ErrHeader), errors.Is(err, gzip.ErrChecksum), errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, zstd.ErrMagicMismatch), errors.Is(err, zstd.ErrCRCMismatch),
		errors.Is(err, zstd.ErrWindowSizeExceeded), errors.Is(err, zstd.ErrDecoderSizeExceeded), strings.Contains(err.Error(), "flate: corrupt"), errors.Is(err, zstd.ErrReservedBlockType):
		return malformed("the body cannot be unpacked as %s, which its Content-Encoding says it is", u.coding)
	}
	return err
}

func (u *unpacking) Close() error {
	if u.close != nil {
		u.close()
	}
	return u.from.Close()
}
