package rest

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"barrelbook/api/oapi"
)

// TestEveryMappingIsHeldToIt wants every function between the wire and the
// inside in the list of mappings, or called by one that is in it.
func TestEveryMappingIsHeldToIt(t *testing.T) {
	functions := functionsOf(t, ".")
	held := map[string]bool{}
	var hold func(string)
	hold = func(name string) {
		f := functions[name]
		if f == nil || held[name] {
			return
		}
		held[name] = true
		ast.Inspect(f.Body, func(n ast.Node) bool {
			if id, ok := n.(*ast.Ident); ok {
				hold(id.Name)
			}
			return true
		})
	}
	for _, m := range mappings() {
		hold(strings.Fields(m.name)[0])
	}
	// Of the calculations, whose bodies their handlers read: see below.
	for _, name := range []string{"bodyFromWire", "calcRollFromWire", "calcShapeFromWire", "quantilesToWire", "ratesToWire"} {
		hold(name)
	}
	hold("nextToWire")       // its link is tried on its own
	hold("correctionToWire") // of rollToWire and rollStandingToWire, which are held; what it says itself is in correct_test.go
	seen := 0
	for name := range functions {
		if strings.HasSuffix(name, "FromWire") || strings.HasSuffix(name, "ToWire") {
			if seen++; !held[name] {
				t.Errorf("%s is not in the list of mappings: a field that it forgets would be lost", name)
			}
		}
	}
	if seen < 50 {
		t.Errorf("found only %d mappings", seen)
	}
}

// TestHandlersReadWhatTheContractTakes wants every parameter and every member
// of a body named by the handler of its operation, or the body handed to a
// mapping that is held to it.
func TestHandlersReadWhatTheContractTakes(t *testing.T) {
	mapped := map[reflect.Type]bool{}
	for _, m := range mappings() {
		mapped[m.source] = true
	}
	functions := functionsOf(t, ".")
	operations := reflect.TypeFor[oapi.StrictServerInterface]()
	for i := range operations.NumMethod() {
		method := operations.Method(i)
		handler := functions[method.Name]
		if handler == nil {
			t.Errorf("no handler %s was found", method.Name)
			continue
		}
		named, whole := mentions(handler)
		request := method.Type.In(1)
		if body, ok := request.FieldByName("Body"); ok && body.Type.Kind() == reflect.Pointer {
			for _, f := range functions { // those it hands its body to
				if takesA(f, body.Type.Elem().Name()) && named["()"+f.Name.Name] {
					more, _ := mentions(f)
					maps.Copy(named, more)
				}
			}
		}
		for j := range request.NumField() {
			f := request.Field(j)
			parts := f.Type
			if parts.Kind() == reflect.Pointer {
				parts = parts.Elem()
			}
			if parts.Kind() != reflect.Struct || f.Name == "Body" && (f.Type.Kind() == reflect.Interface || whole) {
				if whole && f.Name == "Body" && !mapped[parts] {
					t.Errorf("%s hands on its body, a %s, which no mapping in the list takes", method.Name, parts)
				}
				if !named[f.Name] {
					t.Errorf("%s does not look at %s", method.Name, f.Name)
				}
				continue
			}
			for k := range parts.NumField() {
				if name := parts.Field(k).Name; !named[name] && name != "Fields" { // read for every answer in shape.go
					t.Errorf("%s does not look at %s.%s: what is sent there is lost", method.Name, f.Name, name)
				}
			}
		}
	}
}

// unfilled are members of answers that nothing fills, for a reason.
var unfilled = map[string]bool{
	"CalculateRollLoad200JSONResponse.Warnings": true, // the model refuses where it could warn
}

// TestHandlersFillWhatTheContractAnswers wants every field of an answer that a
// handler makes itself named there.
func TestHandlersFillWhatTheContractAnswers(t *testing.T) {
	fields, made := fieldsOfTheContract(t), 0
	for name, f := range functionsOf(t, ".") {
		if strings.HasSuffix(name, "ToWire") { // held by the mappings
			continue
		}
		assigned, _ := mentions(f)
		ast.Inspect(f.Body, func(n ast.Node) bool {
			lit, ok := n.(*ast.CompositeLit)
			if !ok || len(lit.Elts) == 0 {
				return true
			}
			selector, ok := lit.Type.(*ast.SelectorExpr)
			if !ok || !strings.HasSuffix(selector.Sel.Name, "JSONResponse") {
				return true
			}
			made++
			given := map[string]bool{}
			for _, e := range lit.Elts {
				pair, ok := e.(*ast.KeyValueExpr)
				if !ok {
					t.Errorf("%s fills oapi.%s without the names of its fields", name, selector.Sel.Name)
					return true
				}
				given[pair.Key.(*ast.Ident).Name] = true
			}
			for _, field := range fields(selector.Sel.Name) {
				if !given[field] && !assigned[field] && !unfilled[selector.Sel.Name+"."+field] {
					t.Errorf("%s leaves %s.%s empty", name, selector.Sel.Name, field)
				}
			}
			return true
		})
	}
	if made < 40 {
		t.Errorf("found only %d answers", made)
	}
}

// takesA says whether a function has a parameter of a type of the contract.
func takesA(f *ast.FuncDecl, name string) bool {
	for _, p := range f.Type.Params.List {
		of := p.Type
		if star, ok := of.(*ast.StarExpr); ok {
			of = star.X
		}
		if s, ok := of.(*ast.SelectorExpr); ok && s.Sel.Name == name {
			return true
		}
	}
	return false
}

// mentions are the names that a function selects, those it calls after "()",
// and whether it hands its body on as a whole.
func mentions(f *ast.FuncDecl) (named map[string]bool, whole bool) {
	named = map[string]bool{}
	ast.Inspect(f.Body, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.SelectorExpr:
			named[n.Sel.Name] = true
		case *ast.CallExpr:
			if f, ok := n.Fun.(*ast.Ident); ok {
				named["()"+f.Name] = true
			}
		case *ast.StarExpr:
			if s, ok := n.X.(*ast.SelectorExpr); ok && s.Sel.Name == "Body" {
				whole = true
			}
		}
		return true
	})
	return named, whole
}

// functionsOf are the functions and methods of a package by name, tests aside.
func functionsOf(t *testing.T, dir string) map[string]*ast.FuncDecl {
	t.Helper()
	found := map[string]*ast.FuncDecl{}
	for _, file := range parsed(t, dir) {
		for _, d := range file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && f.Body != nil {
				found[f.Name.Name] = f
			}
		}
	}
	return found
}

func parsed(t *testing.T, dir string) (files []*ast.File) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, file)
	}
	return files
}

// fieldsOfTheContract gives the fields of a generated type by its name.
func fieldsOfTheContract(t *testing.T) func(string) []string {
	types := map[string]ast.Expr{}
	for _, file := range parsed(t, "../oapi") {
		ast.Inspect(file, func(n ast.Node) bool {
			if spec, ok := n.(*ast.TypeSpec); ok {
				types[spec.Name.Name] = spec.Type
			}
			return true
		})
	}
	return func(name string) (fields []string) {
		for {
			switch of := types[name].(type) {
			case *ast.Ident:
				name = of.Name
			case *ast.StructType:
				for _, f := range of.Fields.List {
					for _, n := range f.Names {
						fields = append(fields, n.Name)
					}
				}
				return fields
			default:
				return nil
			}
		}
	}
}
