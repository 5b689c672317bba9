package record

import (
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
)

// remembered are the answers kept for idempotency keys, by the type's name in
// this package.
var remembered = map[string]any{
	"RegrindAnswer": RegrindAnswer{}, "ChangeView": ChangeView{}, "ChockView": ChockView{}, "IncidentView": IncidentView{},
	"PastStaysAnswer": PastStaysAnswer{}, "OrderView": OrderView{}, "ClaimView": ClaimView{},
	"RollView": RollView{}, "CorrectionView": CorrectionView{}, "port.SignOff": port.SignOff{}, "gather.SetView": gather.SetView{}, "port.ProgrammeSummary": port.ProgrammeSummary{}, "port.Grade": port.Grade{}, "port.TokenRow": port.TokenRow{},
	"mill.Mill": mill.Mill{}, "mill.Stand": mill.Stand{}, "practice.Practice": practice.Practice{}, "struct{}": struct{}{},
}

// TestEveryAnswerIsPinned finds the answers in the code: what record is called
// with is what is kept.
func TestEveryAnswerIsPinned(t *testing.T) {
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	kept := map[string]bool{}
	for _, name := range names {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) == 0 {
				return true
			}
			if f, ok := call.Fun.(*ast.Ident); !ok || f.Name != "record" {
				return true
			}
			do := call.Args[len(call.Args)-1].(*ast.FuncLit)
			kept[types.ExprString(do.Type.Results.List[0].Type)] = true
			return true
		})
	}
	for name := range kept {
		if _, ok := remembered[name]; !ok {
			t.Errorf("%s is kept for idempotency keys and not pinned: add it to remembered", name)
		}
	}
	for name := range remembered {
		if !kept[name] {
			t.Errorf("%s is pinned and kept by nothing", name)
		}
	}
}

var update = flag.Bool("update", false, "write the names of the fields of remembered answers anew")

// TestNamesOfRememberedAnswers pins the names under which answers are stored.
// A name that goes makes a retry across the upgrade a refusal instead of the
// answer: give the field its old name in a json tag, or take that with open
// eyes and run this test with -update.
func TestNamesOfRememberedAnswers(t *testing.T) {
	var lines []string
	for name, v := range remembered {
		lines = append(lines, storedNames(reflect.TypeOf(v), name, nil)...)
	}
	slices.Sort(lines)
	got := strings.Join(slices.Compact(lines), "\n") + "\n"
	const path = "testdata/answers.txt"
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	now, before := strings.Split(got, "\n"), strings.Split(string(want), "\n")
	for _, line := range before {
		if !slices.Contains(now, line) {
			t.Errorf("%s is stored no more", line)
		}
	}
	for _, line := range now {
		if !slices.Contains(before, line) {
			t.Errorf("%s is new: run this test with -update", line)
		}
	}
}

// storedNames are the paths under which encoding/json keeps the fields of a
// type, each type once.
func storedNames(of reflect.Type, path string, above []reflect.Type) (lines []string) {
	for of.Kind() == reflect.Pointer || of.Kind() == reflect.Slice || of.Kind() == reflect.Array || of.Kind() == reflect.Map {
		of = of.Elem()
	}
	if of.Kind() != reflect.Struct || of == reflect.TypeFor[time.Time]() || slices.Contains(above, of) {
		return []string{path}
	}
	above = append(above, of)
	for i := range of.NumField() {
		f := of.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case name == "-" || !f.IsExported():
		case f.Anonymous && name == "":
			lines = append(lines, storedNames(f.Type, path, above)...)
		case name == "":
			lines = append(lines, storedNames(f.Type, path+"."+f.Name, above)...)
		default:
			lines = append(lines, storedNames(f.Type, path+"."+name, above)...)
		}
	}
	return lines
}

// TestARenamedFieldDoesNotEmptyAReplay: what another version wrote is refused
// and not half read, and nothing is written in its place.
func TestARenamedFieldDoesNotEmptyAReplay(t *testing.T) {
	text, err := json.Marshal(RegrindAnswer{Roll: "R1", Entry: 7, Version: 7})
	if err != nil {
		t.Fatal(err)
	}
	var back RegrindAnswer
	if err := readAnswer(text, &back); err != nil || back.Entry != 7 {
		t.Fatalf("%s came back as %+v, %v", text, back, err)
	}
	renamed := strings.Replace(string(text), `"Entry":`, `"Number":`, 1)
	if err := readAnswer([]byte(renamed), &back); err == nil {
		t.Error("an answer with a field that is gone was read")
	}
	if fmt.Sprint(storedNames(reflect.TypeFor[struct {
		A int `json:"old"`
		B []struct{ C *int }
	}](), "T", nil)) != "[T.old T.B.C]" {
		t.Error("the names under which a struct is stored are not found")
	}
}
