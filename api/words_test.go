package api_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// command is what only the client's user can type.
var command = regexp.MustCompile(`\bbarrelbook [a-z]|(^|[\s"'(])--[a-z]`)

// TestRuleOfNoCommandsInMessages: what the service says is read by programs and
// by people at other screens. A way on is a step beside the message (domain/next),
// which the client makes a command of and the edge a link.
func TestRuleOfNoCommandsInMessages(t *testing.T) {
	seen := 0
	for _, tree := range []string{"../domain", "app", "store", "rest"} {
		texts(t, tree, func(at token.Position, text string) {
			seen++
			if command.MatchString(text) {
				t.Errorf("%s: %q speaks the client's commands; say what is to be done and put a step beside it", at, text)
			}
		})
	}
	if seen < 1000 {
		t.Fatalf("only %d texts were looked at", seen)
	}
	for text, want := range map[string]bool{"see: barrelbook roll list": true, "say why with --confirm": true, `"--off" takes it off`: true, "barrelbook keeps": true, "a -- b": false, "barrelbook": false} {
		if command.MatchString(text) != want {
			t.Errorf("%q is taken for a command: %v", text, !want)
		}
	}
}

// texts visits every string of the hand-written code under a folder, tests and
// import paths aside.
func texts(t *testing.T, root string, visit func(token.Position, string)) {
	files := token.NewFileSet()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if d != nil && d.Name() == "pgtest" {
			return fs.SkipDir // starts programs of PostgreSQL
		}
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(files, path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if _, ok := n.(*ast.ImportSpec); ok {
				return false
			}
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
				if text, err := strconv.Unquote(lit.Value); err == nil {
					visit(files.Position(lit.Pos()), text)
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
