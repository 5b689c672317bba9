package kit

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"

	"barrelbook/client/oapi"
)

// freshBooks answers where there is no data file yet. What is only asked is asked
// of an empty works that is thrown away; the file is made when something is to be
// kept, so that a mistyped path leaves no empty books behind.
type freshBooks struct {
	f     *Factory
	ctx   context.Context
	path  string
	kept  *Service
	empty *Service
	dir   string // of the empty works
}

// ServeHTTP implements http.Handler.
func (b *freshBooks) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	service, err := b.serviceFor(r)
	if err != nil {
		noBooks(w, err)
		return
	}
	service.Handler.ServeHTTP(w, r)
}

// noBooks answers as the service does where it cannot be had.
func noBooks(w http.ResponseWriter, err error) {
	detail := err.Error()
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(http.StatusInternalServerError)
	json.NewEncoder(w).Encode(oapi.Problem{Type: "/problems/no-books", Title: "The data file cannot be made", Status: http.StatusInternalServerError, Detail: &detail})
}

func (b *freshBooks) serviceFor(r *http.Request) (*Service, error) {
	if b.kept != nil {
		return b.kept, nil
	}
	if !keepsSomething(r) {
		return b.open(&b.empty, true)
	}
	// The books are the owner's business, and so is the folder they are in.
	if err := os.MkdirAll(filepath.Dir(b.path), 0o700); err != nil {
		return nil, fmt.Errorf("the folder of the data file %s cannot be made: %w; name another file with --data", b.path, err)
	}
	service, err := b.open(&b.kept, false)
	if err == nil {
		b.f.Term.Say("A new data file was made: %s", b.path)
	}
	return service, err
}

func (b *freshBooks) open(into **Service, volatile bool) (*Service, error) {
	if *into != nil {
		return *into, nil
	}
	path := b.path
	if volatile {
		var err error
		if b.dir, err = os.MkdirTemp("", "barrelbook-empty-"); err != nil {
			return nil, err
		}
		path = filepath.Join(b.dir, "empty.db")
	}
	service, err := b.f.Open(b.ctx, path, volatile)
	if err != nil {
		return nil, err
	}
	*into = &service
	return *into, nil
}

// keepsSomething says whether a request may leave something behind.
func keepsSomething(r *http.Request) bool {
	switch {
	case r.Method == http.MethodGet, r.Method == http.MethodHead, r.URL.Query().Get("dry_run") == "true":
		return false
	}
	return !strings.HasPrefix(r.URL.Path, "/v1/calculations/")
}

func (b *freshBooks) close() error {
	var errs []error
	for _, s := range []*Service{b.kept, b.empty} {
		if s != nil {
			errs = append(errs, s.Close())
		}
	}
	return errors.Join(append(errs, removeAll(b.dir))...)
}
