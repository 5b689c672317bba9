package api_test

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
)

// TestRuleOfKeyedFields: a struct with two fields of one type is filled by
// name, so that a field put between them, or two that change places, cannot
// send a value to its neighbour. A table whose columns stand beside it, a struct
// without a name, is not held to it; what comes of other packages vet looks at.
func TestRuleOfKeyedFields(t *testing.T) {
	folders := map[string]bool{}
	for _, root := range []string{".", "../client"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err == nil && strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, ".gen.go") && !strings.Contains(path, "storetest") {
				folders[filepath.Dir(path)] = true
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if len(folders) < 30 {
		t.Fatalf("only %d packages were found", len(folders))
	}
	for dir := range folders {
		for _, found := range unkeyed(t, dir) {
			t.Error(found)
		}
	}
}

// unkeyed finds the literals of a package that fill fields of one type by their
// order alone. Imports are not followed: a type of another package is unknown
// here, and equal where it is written alike.
func unkeyed(t *testing.T, dir string) (found []string) {
	files := token.NewFileSet()
	paths, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	var parsed []*ast.File
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") || strings.HasSuffix(path, ".gen.go") {
			continue
		}
		file, err := parser.ParseFile(files, path, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		parsed = append(parsed, file)
	}
	info := types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
	config := types.Config{Importer: noImports{}, Error: func(error) {}, FakeImportC: true}
	config.Check(dir, files, parsed, &info) // incomplete on purpose
	for _, file := range parsed {
		ast.Inspect(file, func(n ast.Node) bool {
			lit, ok := n.(*ast.CompositeLit)
			if !ok || len(lit.Elts) < 2 {
				return true
			}
			if _, keyed := lit.Elts[0].(*ast.KeyValueExpr); keyed {
				return true
			}
			of := info.Types[lit].Type
			if of == nil {
				return true
			}
			if p, ok := of.Underlying().(*types.Pointer); ok {
				of = p.Elem()
			}
			_, named := of.(*types.Named)
			if s, ok := of.Underlying().(*types.Struct); ok && named && alikeFields(s) {
				found = append(found, files.Position(lit.Pos()).String()+" fills "+of.(*types.Named).Obj().Name()+" by order; name its fields")
			}
			return true
		})
	}
	return found
}

// alikeFields says whether two fields of a struct have one type.
func alikeFields(s *types.Struct) bool {
	for i := range s.NumFields() {
		for j := range i {
			if types.Identical(s.Field(i).Type(), s.Field(j).Type()) {
				return true
			}
		}
	}
	return false
}

type noImports struct{}

func (noImports) Import(string) (*types.Package, error) { return nil, errors.New("not followed") }
