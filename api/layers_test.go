// Package api_test holds the service's packages to the arrows of its design.
package api_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// ours says for each package, or each tree of packages ending in /, which of
// our own it may import. Everything points to domain.
var ours = []struct {
	of  string
	may []string
}{
	{"domain/", []string{"domain/"}},
	{"migrations", nil},
	// The rooms of the use cases, each in the order in which it may know the others.
	{"api/app/port", []string{"domain/"}},
	{"api/app/caution", []string{"domain/"}},
	{"api/app/gather", []string{"api/app/port", "domain/"}},
	{"api/app/learn", []string{"api/app/port", "api/app/gather", "domain/"}},
	{"api/app/plan", []string{"api/app/port", "api/app/caution", "api/app/gather", "api/app/learn", "domain/"}},
	{"api/app/record", []string{"api/app/port", "api/app/caution", "api/app/gather", "api/app/plan", "domain/"}},
	{"api/app/report", []string{"api/app/port", "api/app/gather", "api/app/learn", "api/app/plan", "domain/"}},
	{"api/app/tell", []string{"api/app/port", "domain/"}},
	{"api/app", []string{"api/app/", "domain/"}},
	{"api/store/filetest", []string{"api/store"}}, // tests only
	{"api/store/", []string{"api/app/port", "domain/", "migrations"}},
	{"api/store", []string{"api/app/port", "domain/", "migrations"}},
	{"api/webhook", []string{"api/app/port"}},
	{"api/oapi", nil},
	{"api/rest", []string{"api/app", "api/app/", "api/oapi", "domain/"}},
	{"api/board", []string{"api/oapi", "domain/drawing"}},
	{"api/trials", nil}, // tests only
	{"api/config", nil},
	{"api/embedded", []string{"api/board", "api/app", "api/app/port", "api/rest", "api/store", "api/webhook"}},
	{"api/cmd/", []string{"api/app/port", "api/app/record", "api/config", "api/embedded", "api/rest"}},
	{"client/oapi", nil},
	{"client/config", nil},
	{"client/term", nil},
	{"client/paper", []string{"domain/drawing"}},
	{"client/render", []string{"client/term", "domain/drawing", "domain/quantity", "domain/sheet"}},
	{"client/conn", []string{"client/oapi"}},
	{"client/cli", []string{"client/", "domain/", "testdata/demo"}},
	{"client/cli/", []string{"client/", "domain/", "testdata/demo"}},
	// The one place of the client that may open the service in its process.
	{"client/cmd/", []string{"client/", "api/embedded"}},
}

// theirs says which library may be imported by whom alone, so that it can be
// exchanged in one place.
var theirs = []struct {
	library string
	by      []string
}{
	{"github.com/labstack/echo", []string{"api/rest", "api/oapi"}},
	{"github.com/oapi-codegen/runtime", []string{"api/rest", "api/oapi", "client/oapi"}},
	{"github.com/getkin/kin-openapi", []string{"api/rest", "api/oapi"}},
	{"gorm.io/", []string{"api/store", "api/store/"}},
	{"github.com/jackc/pgx", []string{"api/store", "api/store/"}},
	{"modernc.org/sqlite", []string{"api/store", "api/store/"}},
	{"github.com/pressly/goose", []string{"migrations"}},
	{"github.com/spf13/cobra", []string{"client/", "api/cmd/"}},
	// Statistics and formulas are in the domain.
	{"gonum.org/v1/gonum", []string{"domain/"}},
	{"golang.org/x/image", []string{"client/render", "client/paper"}},
	{"codeberg.org/go-pdf", []string{"client/paper"}},
	{"github.com/boombuler", []string{"client/paper"}},
	{"github.com/xuri/excelize", []string{"client/cli/"}},
}

// impure are the parts of the standard library that reach out of a pure
// function: the domain has no clock, no files, no network, no log, no JSON.
var impure = []string{"os", "io", "net", "log", "context", "encoding/json", "encoding/csv", "encoding/gob", "encoding/xml", "database", "syscall", "unsafe", "embed", "bufio", "text/template", "html", "runtime", "sync", "testing", "flag", "plugin"}

type listed struct {
	ImportPath string
	Imports    []string
}

func TestArrowsPointToTheDomain(t *testing.T) {
	for _, p := range packages(t) {
		name := strings.TrimPrefix(p.ImportPath, "barrelbook/")
		if name == "api" || name == "deps" || strings.HasPrefix(name, "deps/") || strings.HasPrefix(name, "testdata/") {
			continue
		}
		may, known := allowed(name)
		if !known {
			t.Errorf("%s has no place in the design; give it one here", name)
		}
		for _, path := range p.Imports {
			if our, is := strings.CutPrefix(path, "barrelbook/"); is {
				if !matches(our, may) {
					t.Errorf("%s imports %s; it may import %v of ours", name, our, may)
				}
				continue
			}
			for _, rule := range theirs {
				if strings.HasPrefix(path, rule.library) && !matches(name, rule.by) {
					t.Errorf("%s imports %s, which only %v may", name, path, rule.by)
				}
			}
			if strings.HasPrefix(name, "domain/") && !pure(path) {
				t.Errorf("%s imports %s; the domain is pure", name, path)
			}
		}
	}
}

// TestARuleCanFail: the rules refuse what they are there to refuse.
func TestARuleCanFail(t *testing.T) {
	for _, one := range []struct{ of, path string }{{"api/app", "api/store"}, {"api/app/plan", "api/app/record"}, {"api/app/port", "api/app/gather"}, {"client/cli/roll", "api/app"}, {"domain/roll", "api/app"}, {"api/rest", "api/store"}} {
		if may, _ := allowed(one.of); matches(one.path, may) {
			t.Errorf("%s may import %s", one.of, one.path)
		}
	}
	for _, path := range []string{"os", "os/user", "net/http", "encoding/json", "log/slog", "context", "github.com/labstack/echo/v4"} {
		if pure(path) {
			t.Errorf("%s counts as pure", path)
		}
	}
}

func packages(t *testing.T) []listed {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "barrelbook/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	if len(all) < 10 {
		t.Fatalf("go list found %d packages only", len(all))
	}
	return all
}

func allowed(name string) (may []string, known bool) {
	for _, rule := range ours {
		if matches(name, []string{rule.of}) {
			return rule.may, true
		}
	}
	return nil, false
}

// matches says whether the name is one of the list, or within one of its trees.
func matches(name string, list []string) bool {
	for _, one := range list {
		if name == one || strings.HasSuffix(one, "/") && strings.HasPrefix(name, one) {
			return true
		}
	}
	return false
}

func pure(path string) bool {
	if strings.Contains(strings.SplitN(path, "/", 2)[0], ".") {
		return strings.HasPrefix(path, "gonum.org/v1/gonum/")
	}
	for _, bad := range impure {
		if path == bad || strings.HasPrefix(path, bad+"/") {
			return false
		}
	}
	return true
}
