package roll

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"barrelbook/client/cli/kit"
	"barrelbook/client/oapi"
)

// readingFile is a file of readings: what can be recorded, and what cannot.
type readingFile struct {
	good []readingLine
	bad  []badLine
	// short are the tests that lost a line, all where the line did not say which.
	short map[string]bool
	all   bool
}

type readingLine struct {
	line    int
	test    oapi.TestKind
	reading oapi.Reading
}

type badLine struct {
	line int
	why  string
}

// columns are the headings of a file of readings and what a cell of each fills.
var columns = map[string]func(*readingLine, string) error{
	"test": func(l *readingLine, cell string) (err error) { l.test, err = kit.TestKindOf(cell); return err },
	"indication": func(l *readingLine, cell string) error {
		i := oapi.Indication(strings.ToLower(cell))
		if l.reading.Indication = &i; !i.Valid() {
			return fmt.Errorf("%q is none of crack, bruise, reflector, bond and hardness", cell)
		}
		return nil
	},
	"file":       func(l *readingLine, cell string) error { l.reading.File = &cell; return nil },
	"at_mm":      numbers(func(l *readingLine, v float64) { l.reading.AtMm = v }),
	"at_in":      numbers(func(l *readingLine, v float64) { l.reading.AtMm = v * 25.4 }),
	"around_deg": numbers(func(l *readingLine, v float64) { l.reading.AroundDeg = &v }),
	"value":      numbers(func(l *readingLine, v float64) { l.reading.Value = &v }),
	"threshold":  numbers(func(l *readingLine, v float64) { l.reading.Threshold = &v }),
	"depth_um":   numbers(func(l *readingLine, v float64) { l.reading.DepthUm = &v }),
	"depth_mm":   numbers(func(l *readingLine, v float64) { v *= 1000; l.reading.DepthUm = &v }),
	"depth_in":   numbers(func(l *readingLine, v float64) { v *= 25400; l.reading.DepthUm = &v }),
}

func numbers(set func(*readingLine, float64)) func(*readingLine, string) error {
	return func(l *readingLine, cell string) error {
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%q is no number; write a decimal point and nothing between thousands", cell)
		}
		set(l, v)
		return nil
	}
}

// readingsFromCSV reads the lines. It fails where the headings cannot be used;
// a bad line is kept as such.
func readingsFromCSV(text []byte) (*readingFile, error) {
	text = bytes.TrimPrefix(text, []byte("\ufeff")) // some spreadsheets begin with it
	if !utf8.Valid(text) || bytes.IndexByte(text, 0) >= 0 {
		return nil, errors.New("the file is not UTF-8 text; save it as CSV in UTF-8")
	}
	in := csv.NewReader(bytes.NewReader(text))
	in.TrimLeadingSpace = true
	in.FieldsPerRecord = -1
	headings, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, errors.New("the file is empty; its first line names the columns, test,at_mm,value at least")
	}
	if err != nil {
		return nil, err
	}
	if err := checkHeadings(headings); err != nil {
		return nil, err
	}
	file := &readingFile{short: map[string]bool{}}
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return file, nil
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			file.refuse(broken.StartLine, "", broken.Err.Error())
			continue
		}
		if err != nil {
			return nil, err
		}
		if strings.TrimSpace(strings.Join(row, "")) == "" {
			continue // spreadsheets leave such rows at the end
		}
		line, _ := in.FieldPos(0)
		file.take(headings, row, line)
	}
}

func checkHeadings(headings []string) error {
	for i := range headings {
		headings[i] = strings.TrimSpace(headings[i])
	}
	if len(headings) == 1 && strings.ContainsAny(headings[0], ";\t") {
		return errors.New("the columns are not separated by commas; save it with commas between them and decimal points")
	}
	for i, h := range headings {
		if columns[h] == nil {
			return fmt.Errorf("there is no column %q here; a column is named with its unit, such as at_mm or depth_um", h)
		}
		if slices.Contains(headings[:i], h) {
			return fmt.Errorf("the column %s is there twice", h)
		}
	}
	one := func(what string, names ...string) error {
		n := 0
		for _, name := range names {
			if slices.Contains(headings, name) {
				n++
			}
		}
		switch {
		case n == 0:
			return fmt.Errorf("there is no column %s", strings.Join(names, " or "))
		case n > 1 && what != "":
			return fmt.Errorf("%s is there in two units; leave one out", what)
		}
		return nil
	}
	return errors.Join(one("", "test"), one("the place", "at_mm", "at_in"), one("", "value", "depth_um", "depth_mm", "depth_in"), checkDepths(headings))
}

func checkDepths(headings []string) error {
	n := 0
	for _, h := range headings {
		if strings.HasPrefix(h, "depth_") {
			n++
		}
	}
	if n > 1 {
		return errors.New("the depth is there in two units; leave one out")
	}
	return nil
}

// take reads one row.
func (f *readingFile) take(headings, row []string, line int) {
	l := readingLine{line: line}
	if len(row) != len(headings) {
		f.refuse(line, "", fmt.Sprintf("has %d cells where the headings are %d; a decimal comma is taken for the next cell, write a point", len(row), len(headings)))
		return
	}
	placed := false
	for i, h := range headings {
		cell := strings.TrimSpace(row[i])
		if cell == "" {
			continue
		}
		placed = placed || strings.HasPrefix(h, "at_")
		if err := columns[h](&l, cell); err != nil {
			f.refuse(line, row[slices.Index(headings, "test")], h+": "+err.Error())
			return
		}
	}
	switch {
	case l.test == "":
		f.refuse(line, "", "does not say which test")
	case !placed:
		f.refuse(line, string(l.test), "does not say where along the barrel")
	case l.reading.Value == nil && l.reading.DepthUm == nil:
		f.refuse(line, string(l.test), "has neither a value nor a depth")
	default:
		f.good = append(f.good, l)
	}
}

// refuse keeps a bad line, and which test it leaves short.
func (f *readingFile) refuse(line int, test, why string) {
	f.bad = append(f.bad, badLine{line, why})
	if kind, err := kit.TestKindOf(test); err == nil {
		f.short[string(kind)] = true
	} else {
		f.all = true
	}
}

// tests are the good lines by test, and the line of each reading. A test that
// lost a line is not decided by those that are left: unknown never passes.
func (f *readingFile) tests() (tests []oapi.TestResult, lines [][]int) {
	for _, l := range f.good {
		tests = kit.AddReading(tests, l.test, l.reading)
		i := slices.IndexFunc(tests, func(t oapi.TestResult) bool { return t.Test == l.test })
		if i == len(lines) {
			lines = append(lines, nil)
		}
		lines[i] = append(lines[i], l.line)
	}
	for i := range tests {
		if unknown := oapi.TestResultOutcomeUnknown; f.all || f.short[string(tests[i].Test)] {
			tests[i].Outcome = &unknown
		}
	}
	return tests, lines
}
