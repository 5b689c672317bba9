package roll

import (
	"fmt"
	"strings"
	"testing"

	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// TestReadingsFromCSV: columns in any order, each with its unit; a bad line is
// named and the others are kept.
func TestReadingsFromCSV(t *testing.T) {
	for _, c := range []struct {
		name, text string
		good       string // line test at around value depth, one after the other
		bad        string
	}{
		{"metric", "test,indication,at_mm,around_deg,value,depth_mm\neddy_current,bruise,812,140,1.4,0.3\n", "2 eddy_current 812 140 1.4 300", ""},
		{"imperial, in another order, with a mark at the front", "\ufeffdepth_in,at_in,test\n0.01,10,ultrasonic\n", "2 ultrasonic 254 - - 254", ""},
		{"an empty cell is none", "test,at_mm,around_deg,value\nhardness,100,,74\n", "2 hardness 100 - 74 -", ""},
		{"an empty row is nothing", "test,at_mm,value\n,,\nhardness,100,74\n", "3 hardness 100 - 74 -", ""},
		{"bad lines among good ones", "test,at_mm,value\nsniff,1,1\nhardness,,74\nhardness,100,\nhardness,100,7,4\nhardness,nan,74\nhardness,100,74\n", "7 hardness 100 - 74 -",
			`2 test: "sniff" is not a known test|3 does not say where|4 has neither a value nor a depth|5 has 4 cells where the headings are 3|6 at_mm: "nan" is no number`},
		{"a quote that is not closed", "test,at_mm,value\nhardness,100,74\nhardness,\"100,75\n", "2 hardness 100 - 74 -", `3 extraneous or missing`},
	} {
		file, err := readingsFromCSV([]byte(c.text))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var good []string
		for _, g := range file.good {
			good = append(good, fmt.Sprint(g.line, " ", g.test, " ", g.reading.AtMm, " ", shownNumber(g.reading.AroundDeg), " ", shownNumber(g.reading.Value), " ", shownNumber(g.reading.DepthUm)))
		}
		if got := strings.Join(good, "|"); got != c.good {
			t.Errorf("%s: %q, want %q", c.name, got, c.good)
		}
		want := strings.Split(c.bad, "|")
		if c.bad == "" {
			want = nil
		}
		if len(file.bad) != len(want) {
			t.Errorf("%s: %d bad lines %v, want %d", c.name, len(file.bad), file.bad, len(want))
			continue
		}
		for i, b := range file.bad {
			if got := fmt.Sprint(b.line, " ", b.why); !strings.HasPrefix(got, want[i]) {
				t.Errorf("%s: %q, want %q", c.name, got, want[i])
			}
		}
	}
}

func shownNumber(v *float64) string {
	if v == nil {
		return "-"
	}
	return fmt.Sprintf("%.6g", *v)
}

// TestHeadingsOfReadings: a file whose columns cannot be told is not read.
func TestHeadingsOfReadings(t *testing.T) {
	for text, want := range map[string]string{
		"":                                     "the file is empty",
		"test;at_mm;value\n":                   "not separated by commas",
		"test,at,value\n":                      `no column "at" here; a column is named with its unit`,
		"test,at_mm,at_mm,value\n":             "at_mm is there twice",
		"test,at_mm,at_in,value\n":             "the place is there in two units",
		"test,at_mm,depth_mm,depth_um\n":       "the depth is there in two units",
		"at_mm,value\n":                        "no column test",
		"test,value\n":                         "no column at_mm or at_in",
		"test,at_mm,around_deg\n":              "no column value or depth_um",
		"test,at_mm,value\nvisual,1,\xff\xfe2": "not UTF-8",
	} {
		if _, err := readingsFromCSV([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// TestATestThatLostALine is unknown, and those beside it are decided by their
// readings; a line that does not say its test may be of any.
func TestATestThatLostALine(t *testing.T) {
	const head = "test,at_mm,value\nhardness,100,74\neddy_current,200,1\n"
	for text, want := range map[string]string{
		head:                              "hardness - 1, eddy_current - 1",
		head + "hardness,300,soft\n":      "hardness unknown 1, eddy_current - 1",
		head + "smell,300,1\n":            "hardness unknown 1, eddy_current unknown 1",
		head + "eddy_current,10000.5,1\n": "hardness - 1, eddy_current unknown 1", // refused by the service
	} {
		file, err := readingsFromCSV([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(text, "10000.5") {
			_, lines := file.tests()
			problem := &conn.Problem{Problem: oapi.Problem{Errors: &[]oapi.FieldProblem{{Pointer: "#/tests/1/readings/1/at_mm", Detail: "too far"}}}}
			if !file.drop(problem, lines) || len(file.bad) != 1 || file.bad[0] != (badLine{4, "at_mm: too far"}) {
				t.Fatalf("%+v", file.bad)
			}
		}
		tests, _ := file.tests()
		var got []string
		for _, x := range tests {
			outcome := "-"
			if x.Outcome != nil {
				outcome = string(*x.Outcome)
			}
			got = append(got, fmt.Sprint(x.Test, " ", outcome, " ", len(*x.Readings)))
		}
		if s := strings.Join(got, ", "); s != want {
			t.Errorf("%q: %s, want %s", text, s, want)
		}
	}
}

// TestAMapOfManyPlaces fits a terminal of 80 columns, whatever lies on it.
func TestAMapOfManyPlaces(t *testing.T) {
	m := oapi.RollMap{BarrelLengthMm: 2000}
	for i := range 80 {
		around := float64(i * 9 % 361)
		m.Places = append(m.Places, oapi.MapPlace{AtMm: float64(i) * 26, AroundDeg: &around})
	}
	lines := barrelMap(m)
	if len(lines) != mapRows {
		t.Fatalf("%d rows", len(lines))
	}
	signs := 0
	for _, line := range lines {
		if n := len([]rune(line)); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
		_, cells, _ := strings.Cut(line, "  ")
		signs += len(strings.Trim(cells, " ")) - strings.Count(cells, ".")
	}
	if signs < 40 {
		t.Errorf("%d signs for 80 places:\n%s", signs, strings.Join(lines, "\n"))
	}
}
