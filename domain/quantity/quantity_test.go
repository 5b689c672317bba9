package quantity_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/quantity"
)

var dimensions = []*quantity.Dimension{
	quantity.Length, quantity.Crown, quantity.RolledLength, quantity.Mass, quantity.Speed,
	quantity.Temperature, quantity.Time, quantity.Force, quantity.LineLoad, quantity.Stress,
}

var systems = []quantity.System{quantity.Metric, quantity.ImperialShort, quantity.ImperialLong}

// Every unit of every table, once. Sources: D, decimal arithmetic by hand from
// the definitions in the package comment; N, the seven-figure conversion
// factors of NIST SP 811 appendix B.8, quoted from memory; C, common practice.
func TestParseReadsEveryUnit(t *testing.T) {
	for _, c := range []struct {
		d       *quantity.Dimension
		text    string
		want    float64
		relTol  float64
		side    quantity.Side
		comment string
	}{
		{quantity.Length, "9in", 228.6, 0, quantity.ImperialSide, "D"},
		{quantity.Length, "26 in", 660.4, 0, quantity.ImperialSide, "D"},
		{quantity.Length, "1 in", 25.4, 0, quantity.ImperialSide, "D"},
		{quantity.Length, "40 ft", 12192, 0, quantity.ImperialSide, "D"},
		{quantity.Length, "1 thou", 0.0254, 0, quantity.ImperialSide, "D"},
		{quantity.Length, "2.0005 mm", 2.0005, 0, quantity.MetricSide, "D: finer than a micrometre is a thickness, not a record"},
		{quantity.Length, "25 µm", 0.025, 0, quantity.MetricSide, "D"},
		{quantity.Length, "1.5 cm", 15, 0, quantity.MetricSide, "D"},
		{quantity.Length, "9 m", 9000, 0, quantity.MetricSide, "D"},
		{quantity.Crown, "-50", -50, 0, quantity.MetricSide, "D"},
		{quantity.Crown, "-0.05mm", -50, 0, quantity.MetricSide, "D"},
		{quantity.Crown, "+2 thou", 50.8, 0, quantity.ImperialSide, "D"},
		{quantity.Crown, "0.002in", 50.8, 0, quantity.ImperialSide, "D"},
		{quantity.RolledLength, "1 mi", 1.609344, 0, quantity.ImperialSide, "N, exact"},
		{quantity.RolledLength, "1000 ft", 0.3048, 0, quantity.ImperialSide, "N, exact"},
		{quantity.RolledLength, "850 m", 0.85, 0, quantity.MetricSide, "D"},
		{quantity.RolledLength, "112.5", 112.5, 0, quantity.MetricSide, "D"},
		{quantity.Mass, "1 lb", 0.00045359237, 0, quantity.ImperialSide, "N, exact"},
		{quantity.Mass, "1 short ton", 0.90718474, 0, quantity.ImperialSide, "N: 907.1847 kg"},
		{quantity.Mass, "1 long ton", 1.0160469088, 0, quantity.ImperialSide, "N: 1016.047 kg"},
		{quantity.Mass, "22400 kg", 22.4, 0, quantity.MetricSide, "D"},
		{quantity.Mass, "22.4 tonnes", 22.4, 0, quantity.MetricSide, "D"},
		{quantity.Speed, "40 mph", 17.8816, 0, quantity.ImperialSide, "D and C: exit of a bar mill's last stand"},
		{quantity.Speed, "3520 ft/min", 17.8816, 0, quantity.ImperialSide, "D: 40 mph"},
		{quantity.Speed, "3520 fpm", 17.8816, 0, quantity.ImperialSide, "D"},
		{quantity.Speed, "90 m/min", 1.5, 0, quantity.MetricSide, "D"},
		{quantity.Speed, "1.5 m/s", 1.5, 0, quantity.MetricSide, "D"},
		{quantity.Temperature, "212 F", 100, 0, quantity.ImperialSide, "D"},
		{quantity.Temperature, "-40 °F", -40, 0, quantity.ImperialSide, "D: where the scales meet"},
		{quantity.Temperature, "293.15 K", 20, 0, quantity.MetricSide, "D"},
		{quantity.Temperature, "1050 deg C", 1050, 0, quantity.MetricSide, "D"},
		{quantity.Time, "1.5 h", 90, 0, quantity.NeitherSide, "D"},
		{quantity.Time, "90 s", 1.5, 0, quantity.NeitherSide, "D"},
		{quantity.Time, "2 d", 2880, 0, quantity.NeitherSide, "D"},
		{quantity.Time, "7 min", 7, 0, quantity.NeitherSide, "D"},
		{quantity.Force, "1000 long tonf", 9964.01641818352, 0, quantity.ImperialSide, "D: 2240 × 0.45359237 × 9.80665"},
		{quantity.Force, "1000 short tonf", 8896.443230521, 0, quantity.ImperialSide, "D: 2000 × 0.45359237 × 9.80665; N 8.896443 kN"},
		{quantity.Force, "1000 tf", 9806.65, 0, quantity.MetricSide, "N, exact"},
		{quantity.Force, "1 lbf", 0.004448222, 5e-7, quantity.ImperialSide, "N"},
		{quantity.Force, "1 kip", 4.448222, 5e-7, quantity.ImperialSide, "N"},
		{quantity.Force, "1 kgf", 0.00980665, 0, quantity.MetricSide, "N, exact"},
		{quantity.Force, "12 MN", 12000, 0, quantity.MetricSide, "D"},
		{quantity.Force, "12000 KN", 12000, 0, quantity.MetricSide, "D: capitals"},
		{quantity.Force, "500 N", 0.5, 0, quantity.MetricSide, "D"},
		{quantity.LineLoad, "1 lbf/in", 0.1751268, 5e-7, quantity.ImperialSide, "N: 175.1268 N/m"},
		{quantity.LineLoad, "1 short tonf/in", 350.2537, 5e-7, quantity.ImperialSide, "N: 2000 lbf/in"},
		{quantity.LineLoad, "1 long tonf/in", 392.2841, 5e-7, quantity.ImperialSide, "N: 2240 lbf/in"},
		{quantity.LineLoad, "8.5 kN/mm", 8500, 0, quantity.MetricSide, "D"},
		{quantity.LineLoad, "8500 kN/m", 8500, 0, quantity.MetricSide, "D"},
		{quantity.LineLoad, "8500 N/mm", 8500, 0, quantity.MetricSide, "D"},
		{quantity.Stress, "1 psi", 0.006894757, 5e-7, quantity.ImperialSide, "N"},
		{quantity.Stress, "1 ksi", 6.894757, 5e-7, quantity.ImperialSide, "N"},
		{quantity.Stress, "15 kgf/mm2", 147.09975, 0, quantity.MetricSide, "D"},
		{quantity.Stress, "206 GPa", 206000, 0, quantity.MetricSide, "D"},
		{quantity.Stress, "900 N/mm²", 900, 0, quantity.MetricSide, "D"},
		{quantity.Stress, "900 MPa", 900, 0, quantity.MetricSide, "D"},
	} {
		got, err := c.d.Parse(c.text, quantity.Metric)
		// A tolerance of 0 asks for the float64 nearest to the decimal itself;
		// 5e-7 is at worst half a unit in the seventh figure of the source.
		if err != nil || math.Abs(got.Value-c.want) > c.relTol*c.want || got.Side != c.side {
			t.Errorf("%q = %v, %v; want %v %s within %g (%s)", c.text, got, err, c.want, c.d.Base(), c.relTol, c.comment)
		}
	}
}

// The largest and the smallest table errors would show as a power of ten or a
// swapped ton: the same weight in every unit is the same force.
func TestOneWeightInEveryUnitOfForce(t *testing.T) {
	want := 9964.01641818352
	for _, text := range []string{
		"1000 long tonf", "1120 short tonf", "2240 kip", "2240000 lbf",
		"1016.0469088 tf", "1016046.9088 kgf", "9964.01641818352", "9.96401641818352 MN", "9964016.41818352 N",
	} {
		got, err := quantity.Force.Parse(text, quantity.Metric)
		if err != nil || got.Value != want {
			t.Errorf("%q = %v kN, %v; want %v", text, got.Value, err, want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		d    *quantity.Dimension
		text string
		want string // of the message
	}{
		{quantity.Force, "1000 tonf", "say 'long tonf' (2240 lbf), 'short tonf' (2000 lbf) or 'tf' (1000 kgf)"},
		{quantity.Force, "1000 Ton", "say 'long tonf'"},
		{quantity.Force, "1000 t", "a t is a mass: say 'tf'"},
		{quantity.Force, "1000 lb", "a lb is a mass: say 'lbf'"},
		{quantity.Force, "1000 long tons", "a long ton is a mass: say 'long tonf'"},
		{quantity.Force, "5 mN", `has "mN", which is no unit of force here; use N, kN, MN`}, // a millinewton is not a meganewton
		{quantity.Force, "5 mn", `has "mn", which is no unit`},
		{quantity.Force, "1e400 kN", "has an exponent"},
		{quantity.Force, "NaN kN", "is not a finite number"},
		{quantity.Force, "-5 kN", "has a sign; a force is written without one"},
		{quantity.Force, "12000000 kN", "must lie between 0 and 1000000 kN"},
		{quantity.Force, strings.Repeat("9", 401), "is too long to be a figure"},
		{quantity.Mass, "20 ton", "say 't' for 1000 kg, 'short ton' for 2000 lb or 'long ton' for 2240 lb"},
		{quantity.Mass, "20 TONS", "say 't' for 1000 kg"},
		{quantity.LineLoad, "3 tonf/in", "say 'long tonf/in' or 'short tonf/in'"},
		{quantity.Stress, "900 mPa", `has "mPa", which is no unit of stress here`},
		{quantity.Temperature, "0 K", "must lie between -273 and 5000 °C"},
		{quantity.Speed, "40 kn", "use m/s, m/min, mph or ft/min"},
		{quantity.RolledLength, "", "is empty"},
	} {
		got, err := c.d.Parse(c.text, quantity.Metric)
		if err == nil || !strings.Contains(err.Error(), c.want) || got != (quantity.Reading{}) {
			t.Errorf("%s %q = %v, %v\nwant a refusal with %q", c.d.Base(), c.text, got, err, c.want)
		}
	}
}

// A bare number is in the unit its system reports in, tons included.
func TestBareNumbersFollowTheSystem(t *testing.T) {
	for _, c := range []struct {
		sys  quantity.System
		d    *quantity.Dimension
		want string
	}{
		{quantity.Metric, quantity.Force, "kN"},
		{quantity.ImperialShort, quantity.Force, "short tonf"},
		{quantity.ImperialLong, quantity.Force, "long tonf"},
		{quantity.ImperialLong, quantity.Mass, "long ton"},
		{quantity.ImperialShort, quantity.Temperature, "°F"},
		{quantity.ImperialShort, quantity.Time, "min"},
	} {
		got, err := c.d.Parse("12", c.sys)
		if err != nil || got.Unit != c.want || !got.Bare {
			t.Errorf("bare 12 of %s in %s: %+v, %v; want %s", c.d.Base(), c.sys, got, err, c.want)
		}
	}
	if um, err := quantity.ParseLength("29.07", quantity.ImperialLong.LengthUnit()); err != nil || um != 738_378 {
		t.Errorf("bare 29.07 in inches: %d, %v", um, err)
	}
}

// The digits that Exact prints are enough to give the same float64 back.
func TestExactRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(dimensions).Draw(t, "dimension")
		v := rapid.Float64Range(0, 1000).Draw(t, "v")
		got, err := d.Parse(d.Exact(v), quantity.ImperialLong)
		if err != nil || got.Value != v {
			t.Fatalf("%s %v printed as %q came back as %v, %v", d.Base(), v, d.Exact(v), got.Value, err)
		}
	})
}

// A long text is cut where the refusal quotes it, between characters.
func TestRefusalCutsALongText(t *testing.T) {
	_, err := quantity.Force.Parse("5 "+strings.Repeat("°", 300), quantity.Metric)
	want := `"5 ` + strings.Repeat("°", 38) + `"… is too long to be a figure; give one number and its unit`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}
