package next_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"testing"

	"barrelbook/domain/next"
)

// TestEveryStepIsTried holds Every to its name: a step that is not in it would
// be held against neither the contract nor the commands.
func TestEveryStepIsTried(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "next.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	made := map[string]bool{}
	for _, d := range file.Decls {
		f, ok := d.(*ast.FuncDecl)
		if !ok || f.Recv != nil || f.Type.Results == nil {
			continue
		}
		if result, ok := f.Type.Results.List[0].Type.(*ast.Ident); ok && result.Name == "Step" && f.Name.IsExported() {
			made[f.Name.Name] = false
		}
		if f.Name.Name == "Every" {
			ast.Inspect(f, func(n ast.Node) bool {
				if call, ok := n.(*ast.CallExpr); ok {
					made[call.Fun.(*ast.Ident).Name] = true
				}
				return true
			})
		}
	}
	for name, tried := range made {
		if !tried {
			t.Errorf("%s is not in Every", name)
		}
	}
	if len(made) < 20 {
		t.Errorf("found %d steps only: %v", len(made), made)
	}
}

func TestOf(t *testing.T) {
	if got := next.Of(fmt.Errorf("plain")); got != nil {
		t.Errorf("a plain error carries %v", got)
	}
	if got := next.RecordTest("W-1", "visual").String(); got != "recordInspection roll=W-1 tests.test=visual" {
		t.Errorf("a step reads %q", got)
	}
}
