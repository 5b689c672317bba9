package quantity_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// The count of grinds left between a diameter and the scrap limit, which
// float64 gets wrong by one.
func Example() {
	mustRead := func(text string) quantity.Micrometre {
		um, err := quantity.ParseLength(text, quantity.Millimetres)
		if err != nil {
			panic(err)
		}
		return um
	}
	diameter, scrap, perGrind := mustRead("712.4"), mustRead("680.0 mm"), mustRead("450 µm")
	fmt.Println(int64((diameter-scrap)/perGrind), "grinds left at", diameter)

	inFloat := 712.4
	fmt.Println(int((inFloat-680.0)/0.45), "by binary floats")

	_, err := quantity.Force.Parse("1000 tonf", quantity.Metric)
	fmt.Println(err)
	force, err := quantity.Force.Parse("1000 long tonf", quantity.Metric)
	fmt.Printf("%.2f %s %v\n", force.Value, quantity.Force.Base(), err)
	// Output:
	// 72 grinds left at 712.400 mm
	// 71 by binary floats
	// "1000 tonf" does not say which unit is meant by "tonf"; say 'long tonf' (2240 lbf), 'short tonf' (2000 lbf) or 'tf' (1000 kgf)
	// 9964.02 kN <nil>
}

// Expected values are decimal arithmetic by hand with 1 in = 25.4 mm exactly
// (1959 agreement).
func TestParseLengthReads(t *testing.T) {
	for _, c := range []struct {
		text string
		def  quantity.LengthUnit
		want quantity.Micrometre
	}{
		{"738.412", quantity.Millimetres, 738_412},
		{"738.412 mm", quantity.Inches, 738_412},
		{"  738.41MM ", quantity.Millimetres, 738_410},
		{"738.412000", quantity.Millimetres, 738_412},
		{"0738", quantity.Millimetres, 738_000},
		{".5", quantity.Millimetres, 500},
		{"0", quantity.Millimetres, 0},
		{"412um", quantity.Millimetres, 412},
		{"412 µm", quantity.Millimetres, 412}, // micro sign
		{"412 μm", quantity.Millimetres, 412}, // Greek mu
		{"412", quantity.Micrometres, 412},
		{"73.8412cm", quantity.Millimetres, 738_412},
		{"1.75 m", quantity.Millimetres, 1_750_000},
		{"1 in", quantity.Millimetres, 25_400},
		{"9in", quantity.Millimetres, 228_600},
		{"26", quantity.Inches, 660_400},
		{"29.07in", quantity.Millimetres, 738_378},
		{`29.07"`, quantity.Millimetres, 738_378},
		{"29.07″", quantity.Millimetres, 738_378},
		{"29 1/16in", quantity.Millimetres, 738_188}, // 738.1875 mm
		{"29-1/16 in", quantity.Millimetres, 738_188},
		{"010/16 in", quantity.Millimetres, 15_875}, // ten sixteenths, not octal
		{"1/2", quantity.Inches, 12_700},
		{"0.0005in", quantity.Millimetres, 13},         // 12.7 µm
		{"0.0000196850393in", quantity.Millimetres, 0}, // a hair under half a micrometre
		{"0.0000196850394in", quantity.Millimetres, 1}, // a hair over
		{"0.0125in", quantity.Millimetres, 318},        // 317.5 µm: half goes up
		{"5 thou", quantity.Millimetres, 127},
		{"2ft", quantity.Millimetres, 609_600},
		{"2'", quantity.Millimetres, 609_600},
		{"10000", quantity.Millimetres, quantity.MaxLength},
	} {
		got, err := quantity.ParseLength(c.text, c.def)
		if err != nil || got != c.want {
			t.Errorf("ParseLength(%q, %s) = %d µm, %v; want %d µm", c.text, c.def, got, err, c.want)
		}
	}
}

func TestParseLengthRefuses(t *testing.T) {
	const (
		plain = `"%s" is not one plain number; write it like 1234.5, without gaps, signs or a second point`
		none  = `"%s" does not begin with a number; give a number and its unit, as in 12.5 mm`
		comma = `"%s" has a comma; use a point for decimals, and nothing between thousands`
		fine  = `"%s" is finer than a micrometre, the finest the book holds; give mm with at most three decimals`
		large = `"%s" is more than 10 m, the most a length of record may be; check the unit and the decimal point`
		sign  = `"%s" has a sign; a length is written without one`
		nan   = `"%s" is not a finite number; give the figure, or leave the field out if it is not known`
		exp   = `"%s" has an exponent; write the number out in full`
		unit  = `"%s" has "%s", which is no unit of length here; use mm, µm, cm, m, in, thou or ft`
	)
	for _, c := range []struct{ text, unit, want string }{
		{"738,412", "", comma},
		{"1,738.412 mm", "", comma},
		{"", "", `"%s" is empty; give a number and its unit`},
		{"   ", "", `"%s" is empty; give a number and its unit`},
		{"mm", "", none},
		{"about 738", "", none},
		{"NaN", "", nan},
		{"-inf", "", nan},
		{"Infinity mm", "", nan},
		{"1e400", "", exp},
		{"7.4E2 mm", "", exp},
		{"-738.412", "", sign},
		{"+738.412", "", sign},
		{"−738.412 mm", "", sign},
		{"1 738 mm", "", plain},
		{"738..4", "", plain},
		{"738.", "", plain},
		{"738.4-", "", plain},
		{"1/2/4 in", "", plain},
		{"738.4125", "", fine},
		{"0.5um", "", fine},
		{"10000.001", "", large},
		{"10000.0004", "", fine},
		{"738412", "", large}, // micrometres typed into a field of mm
		{"33ft", "", large},
		{"738.4 furlong", "furlong", unit},
		{"2ft 5in", "ft 5in", unit},
		{"0x1p-2", "x1p-2", unit},
		{"1/2 mm", "", `"%s" has a fraction, which is read only with inches and the like; write it as a decimal`},
		{"1/0 in", "", `"%s" has a fraction with 0 below the line; check the fraction`},
		{"5 mil", "mil", `"%s" does not say which unit is meant by "%s"; say 'thou' for a thousandth of an inch, or 'mm'`},
	} {
		want := fmt.Sprintf(c.want, c.text)
		if c.unit != "" {
			want = fmt.Sprintf(c.want, c.text, c.unit)
		}
		um, err := quantity.ParseLength(c.text, quantity.Millimetres)
		if err == nil || err.Error() != want || um != 0 {
			t.Errorf("ParseLength(%q) = %d, %v\nwant %s", c.text, um, err, want)
		}
	}
}

func TestMicrometrePrints(t *testing.T) {
	for um, want := range map[quantity.Micrometre]string{
		738_412: "738.412 mm", 738_400: "738.400 mm", 7: "0.007 mm", 0: "0.000 mm", -45: "-0.045 mm",
		math.MinInt64: "-9223372036854775.808 mm", math.MaxInt64: "9223372036854775.807 mm",
	} {
		if got := um.String(); got != want {
			t.Errorf("%d µm prints as %q, want %q", int64(um), got, want)
		}
	}
	for um, want := range map[quantity.Micrometre]string{
		25_400: "1.00000 in", 738_378: "29.07000 in", 1: "0.00004 in", -25_400: "-1.00000 in",
	} {
		if got := um.InchString(); got != want {
			t.Errorf("%d µm prints as %q, want %q", int64(um), got, want)
		}
	}
}

func TestRoundTripsLoseNothingAtTheMicrometre(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		um := quantity.Micrometre(rapid.Int64Range(0, int64(quantity.MaxLength)).Draw(t, "um"))
		for _, sys := range []quantity.System{quantity.Metric, quantity.ImperialShort, quantity.ImperialLong} {
			text := sys.ShowLength(um)
			// The default is the wrong unit on purpose: the text names its own.
			if back, err := quantity.ParseLength(text, quantity.Micrometres); err != nil || back != um {
				t.Fatalf("%d µm printed as %q came back as %d, %v", um, text, back, err)
			}
		}
		if back, err := quantity.FromMM(um.MM()); err != nil || back != um {
			t.Fatalf("%d µm as %v mm came back as %d, %v", um, um.MM(), back, err)
		}
		if back, err := quantity.FromMM((-um).MM()); err != nil || back != -um {
			t.Fatalf("%d µm as %v mm came back as %d, %v", -um, (-um).MM(), back, err)
		}
		if back, err := quantity.RecordMM(um.MM()); err != nil || back != um {
			t.Fatalf("%d µm as %v mm came back as %d, %v", um, um.MM(), back, err)
		}
	})
}

// A caller that subtracts in binary still hits the micrometre it means.
func TestRecordMMForgivesBinaryDust(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := quantity.Micrometre(rapid.Int64Range(0, int64(quantity.MaxLength)).Draw(t, "a"))
		b := quantity.Micrometre(rapid.Int64Range(0, int64(a)).Draw(t, "b"))
		if got, err := quantity.RecordMM(a.MM() - b.MM()); err != nil || got != a-b {
			t.Fatalf("%v mm − %v mm gave %d µm, %v; want %d", a.MM(), b.MM(), got, err, a-b)
		}
	})
}

func TestBinaryMillimetresRefused(t *testing.T) {
	for _, c := range []struct {
		v                float64
		fromMM, recordMM bool // refused by
	}{
		{738.412, false, false},
		{738.4125, false, true},
		{0.0004, false, true},
		{-0.045, false, true},
		{10_000, false, false},
		{10_000.001, true, true},
		{-10_000.001, true, true},
		{1e300, true, true},
		{math.NaN(), true, true},
		{math.Inf(1), true, true},
		{math.Inf(-1), true, true},
	} {
		_, err := quantity.FromMM(c.v)
		if refused := len(refusal.FieldsOf(err)) > 0; refused != c.fromMM {
			t.Errorf("FromMM(%v): %v, want refused %v", c.v, err, c.fromMM)
		}
		_, err = quantity.RecordMM(c.v)
		if refused := len(refusal.FieldsOf(err)) > 0; refused != c.recordMM {
			t.Errorf("RecordMM(%v): %v, want refused %v", c.v, err, c.recordMM)
		}
	}
	if got, err := quantity.FromMM(0.0625); err != nil || got != 63 { // 62.5 µm is a binary tie
		t.Errorf("FromMM(0.0625) = %d, %v; want 63: halves away from zero", got, err)
	}
	if got, err := quantity.FromMM(-0.0625); err != nil || got != -63 {
		t.Errorf("FromMM(-0.0625) = %d, %v; want -63: halves away from zero", got, err)
	}
}
