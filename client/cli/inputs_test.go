package cli

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// notTyped are members of inputs that no command fills, for a reason.
var notTyped = map[string][]string{}

// TestEveryInputCanBeTyped wants every member of every body that the contract
// takes filled somewhere in the commands, by the name of its field. What is read
// from a file as it stands, such as a calculation or a programme, is passed over.
func TestEveryInputCanBeTyped(t *testing.T) {
	types := map[string]*ast.StructType{}
	var bodies []string
	for _, file := range parse(t, "../oapi") {
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.TypeSpec)
			if !ok {
				return true
			}
			if s, ok := spec.Type.(*ast.StructType); ok {
				types[spec.Name.Name] = s
			}
			if id, ok := spec.Type.(*ast.Ident); ok && strings.HasSuffix(spec.Name.Name, "JSONRequestBody") && !strings.HasPrefix(spec.Name.Name, "Calculate") {
				bodies = append(bodies, id.Name)
			}
			return true
		})
	}
	filled := map[string]bool{} // by type and field, and by field alone where it is assigned
	for _, file := range parse(t, ".") {
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CompositeLit:
				if of, ok := n.Type.(*ast.SelectorExpr); ok {
					for _, e := range n.Elts {
						if pair, ok := e.(*ast.KeyValueExpr); ok {
							filled[of.Sel.Name+"."+pair.Key.(*ast.Ident).Name] = true
						}
					}
				}
			case *ast.AssignStmt:
				for _, to := range n.Lhs {
					if s, ok := to.(*ast.SelectorExpr); ok {
						filled[s.Sel.Name] = true
					}
				}
			}
			return true
		})
	}
	for _, body := range slices.Compact(slices.Sorted(slices.Values(bodies))) {
		if body == "CampaignInput" || body == "Practice" { // read from a file, and set by the names of settings
			continue
		}
		for _, f := range types[body].Fields.List {
			name := f.Names[0].Name
			if !filled[body+"."+name] && !filled[name] && !slices.Contains(notTyped[body], name) {
				t.Errorf("%s.%s is in the contract and cannot be typed", body, name)
			}
		}
	}
	if len(bodies) < 20 {
		t.Errorf("found only %d bodies", len(bodies))
	}
}

// parse reads the hand-written or generated code under a folder, tests aside.
func parse(t *testing.T, root string) (files []*ast.File) {
	t.Helper()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		files = append(files, file)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}
