package render

import (
	"strings"
	"testing"
	"time"

	"barrelbook/client/term"
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
	s, b, _ := term.Test("")
	if err := table().Write(s); err != nil {
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
	s, b, _ := term.Test("")
	if err := (&Table{Columns: []Column{{Head: "roll"}}}).Write(s); err != nil || b.Len() != 0 {
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

// narrow is what a screen of so many places shows of a table.
func narrow(t *testing.T, tab *Table, width int) string {
	t.Helper()
	s, b, _ := term.Test("")
	s.Wide = false
	s.SetWidth(width)
	if err := tab.Write(s); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestTableOnANarrowScreen(t *testing.T) {
	spare := table()
	spare.Columns[2].Spare = 1
	single := &Table{Columns: []Column{{Head: "roll"}, {Head: "an identifier"}, {Head: "another"}}}
	single.Add("R1", strings.Repeat("x", 30), strings.Repeat("y", 30))
	for _, c := range []struct {
		name  string
		table *Table
		width int
		want  string
	}{
		{"a text is wrapped between words", table(), 60, `roll   diameter, mm  wear, µm  why
R1          738.412        46  a reason that is longer than
                               any screen is wide and is not
                               cut, because what is cut here
                               is lost to whoever reads a
                               log of it
R1234      1390.012      1046
`},
		{"a column is spared before a text is hard to read", spare, 44, `roll   diameter, mm  why
R1          738.412  a reason that is longer
                     than any screen is wide
                     and is not cut, because
                     what is cut here is
                     lost to whoever reads a
                     log of it
R1234      1390.012
`},
		{"what cannot stand beside one another stands in lines", single, 50, `roll           R1
an identifier  xxxxxxxxxxxxxxxxxxxxxxxxxxxxxx
another        yyyyyyyyyyyyyyyyyyyyyyyyyyyyyy
`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := narrow(t, c.table, c.width); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}

// Moments are shown in the person's zone, which the heading names once, or each
// cell where the clocks changed between them.
func TestTableOfMoments(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		t.Fatal(err)
	}
	moments := func(cells ...string) string {
		tab := &Table{Columns: []Column{{Head: "at"}}}
		for _, cell := range cells {
			tab.Add(cell)
		}
		s, b, _ := term.Test("")
		s.Zone = zone
		if err := tab.Write(s); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	if got, want := moments("2026-03-04 14:05Z", "2026-03-05 23:30Z"), "at, CET\n2026-03-04 15:05\n2026-03-06 00:30\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := moments("2026-10-25 00:30Z", "2026-10-25 01:30Z"), "at\n2026-10-25 02:30 CEST\n2026-10-25 02:30 CET\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
