package render

import (
	"strings"
	"testing"
)

func table() *Table {
	t := &Table{Columns: []Column{
		{Head: "roll", Key: "roll"},
		{Head: "diameter, mm", Key: "diameter_mm", Right: true},
		{Head: "wear, µm", Key: "wear_um", Right: true},
		{Head: "why", Key: "why"},
	}}
	t.Add("R1", "738.412", "46", "a reason that is longer than any screen is wide and is not cut, because what is cut here is lost to whoever reads a log of it")
	t.Add("R1234", "1390.012", "1046", "")
	return t
}

func TestTableAlignsAndCutsNothing(t *testing.T) {
	var b strings.Builder
	if err := table().Write(&b); err != nil {
		t.Fatal(err)
	}
	want := `roll   diameter, mm  wear, µm  why
R1          738.412        46  a reason that is longer than any screen is wide and is not cut, because what is cut here is lost to whoever reads a log of it
R1234      1390.012      1046
`
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}

func TestTableWithoutRowsPrintsNothing(t *testing.T) {
	var b strings.Builder
	if err := (&Table{Columns: []Column{{Head: "roll"}}}).Write(&b); err != nil || b.Len() != 0 {
		t.Errorf("got %q, %v", b.String(), err)
	}
}

func TestCSVHasKeysAndQuotes(t *testing.T) {
	tab := &Table{Columns: []Column{{Head: "roll", Key: "roll"}, {Head: "why", Key: "why"}}}
	tab.Add("R1", `worn, "deep"`)
	var b strings.Builder
	if err := tab.CSV(&b); err != nil {
		t.Fatal(err)
	}
	if want := "roll,why\nR1,\"worn, \"\"deep\"\"\"\n"; b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
}
