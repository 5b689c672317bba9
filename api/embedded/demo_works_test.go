package embedded_test

import (
	"context"
	"net/http/httptest"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"bytes"

	"barrelbook/api/embedded"
	"barrelbook/testdata/demo"
)

// loaded is a demo mill that was loaded once for all tests of the package: they
// work on copies.
type loaded struct {
	file  []byte
	ahead demo.Ahead
	takes takes  // what its shop was advised and took while it was loaded
	tired *slips // what a tired hand tried meanwhile
	err   error
}

var (
	demosLock sync.Mutex
	demos     = map[string]*loaded{}
)

func loadOnce(t *testing.T, mill string) *loaded {
	t.Helper()
	demosLock.Lock()
	defer demosLock.Unlock()
	if demos[mill] == nil {
		demos[mill] = &loaded{takes: takes{}, tired: slipsOf(t, mill)}
		demos[mill].load(mill)
	}
	return demos[mill]
}

func (l *loaded) load(mill string) {
	dir, err := os.MkdirTemp("", "demo")
	if err != nil {
		l.err = err
		return
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "demo.db")
	s, err := embedded.Open(context.Background(), embedded.Options{Path: path, Volatile: true})
	if err != nil {
		l.err = err
		return
	}
	l.ahead, l.err = demo.Load(context.Background(), l.takes.watch(l.tired.watch(func(_ context.Context, r demo.Request) (int, string, []byte, error) {
		req := httptest.NewRequest(r.Method, r.Path, bytes.NewReader(r.Body))
		if r.ContentType != "" {
			req.Header.Set("Content-Type", r.ContentType)
		}
		if r.IfMatch != "" {
			req.Header.Set("If-Match", r.IfMatch)
		}
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, req)
		return w.Code, w.Header().Get("ETag"), w.Body.Bytes(), nil
	})), demo.Options{Mill: mill, Now: time.Now()})
	if err := s.Close(); l.err == nil {
		l.err = err
	}
	if l.err == nil {
		l.file, l.err = os.ReadFile(path)
	}
}

// demoWorks opens a copy of a demo mill.
func demoWorks(t *testing.T, mill string) (client, *embedded.Service, *loaded) {
	t.Helper()
	l := loadOnce(t, mill)
	if l.err != nil {
		t.Fatal(l.err)
	}
	path := filepath.Join(t.TempDir(), "demo.db")
	if err := os.WriteFile(path, l.file, 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := embedded.Open(t.Context(), embedded.Options{Path: path, Volatile: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return client{t, s.Handler()}, s, l
}
