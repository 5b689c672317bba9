package embedded_test

import (
	"context"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barrelbook/api/embedded"
)

func open(t *testing.T, path string) *embedded.Service {
	t.Helper()
	s, err := embedded.Open(context.Background(), embedded.Options{Path: path, Volatile: true, Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestOnePersonNeedsNoToken: the user of the operating system may do all, and
// signs what is done; the data outlives the service.
func TestOnePersonNeedsNoToken(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s := open(t, path)
	send := func(method, target, body string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, target, strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, r)
		return w
	}
	if w := send("POST", "/v1/mills", `{"name":"hot","kind":"plate"}`); w.Code != 201 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, path)
	defer s.Close()
	if w := send("GET", "/v1/works", ""); w.Code != 200 || !strings.Contains(w.Body.String(), `"mills":["hot"]`) || !strings.Contains(w.Body.String(), `"role":"admin"`) || !strings.Contains(w.Body.String(), `"database":"embedded"`) {
		t.Errorf("the works: %d %s", w.Code, w.Body)
	}
	if w := send("GET", "/v1/audit", ""); !strings.Contains(w.Body.String(), `"by":"`+embedded.UserName()+`"`) {
		t.Errorf("the audit does not name %s: %s", embedded.UserName(), w.Body)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the data file: %v %v", info.Mode(), err)
	}
}

func TestAFolderIsNoDataFile(t *testing.T) {
	if s, err := embedded.Open(context.Background(), embedded.Options{Path: t.TempDir()}); err == nil {
		_ = s.Close()
		t.Error("a folder was opened as a data file")
	}
}
