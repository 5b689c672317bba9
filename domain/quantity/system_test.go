package quantity_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/quantity"
)

func TestShow(t *testing.T) {
	const m, s, l = quantity.Metric, quantity.ImperialShort, quantity.ImperialLong
	// Decimal arithmetic by hand from the definitions in the package comment.
	for _, c := range []struct{ got, want string }{
		{m.ShowLength(738_412), "738.412 mm"},
		{s.ShowLength(738_412), "29.07134 in"},
		{m.ShowForce(9964.01641818352), "9964 kN"},
		{l.ShowForce(9964.01641818352), "1000 long tonf"},
		{s.ShowForce(9964.01641818352), "1120 short tonf"},
		{m.ShowMass(22.4), "22.40 t"},
		{m.ShowMass(123456.4), "123456 t"},
		{s.ShowMass(22.4), "24.69 short ton"},
		{l.ShowMass(22.4), "22.05 long ton"},
		{m.ShowRolledLength(112.5), "112.5 km"},
		{s.ShowRolledLength(0.3048), "1000 ft"},
		{m.ShowSpeed(17.8816), "17.88 m/s"},
		{s.ShowSpeed(17.8816), "40.00 mph"},
		{m.ShowTemperature(1050), "1050 °C"},
		{l.ShowTemperature(-40), "-40.00 °F"},
		{m.ShowDimension(2.5), "2.5000 mm"},
		{s.ShowDimension(228.6), "9.0000 in"},
		{m.ShowCrown(-50), "-50.0 µm"},
		{s.ShowCrown(50.8), "0.00200 in"},
		{m.ShowLineLoad(8500), "8500 N/mm"},
		{s.ShowLineLoad(8500), "48536 lbf/in"},
		{m.ShowStress(900), "900.0 MPa"},
		{s.ShowStress(900), "130.5 ksi"},
		{m.ShowMass(0), "0 t"},
		{m.ShowMass(1e-300), "0.00000000 t"},
		{m.ShowMass(math.NaN()), "NaN t"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// What a report shows reads back to within the last digit shown.
func TestShowReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sys := rapid.SampledFrom(systems).Draw(t, "system")
		v := rapid.Float64Range(1, 900).Draw(t, "v")
		for _, c := range []struct {
			d    *quantity.Dimension
			text string
			rel  float64 // half a unit of the last digit, at worst
		}{
			{quantity.Force, sys.ShowForce(v), 5e-4},
			{quantity.Mass, sys.ShowMass(v), 5e-4},
			{quantity.RolledLength, sys.ShowRolledLength(v), 5e-4},
			{quantity.Speed, sys.ShowSpeed(v), 5e-4},
			{quantity.Length, sys.ShowDimension(v), 5e-5},
			{quantity.Crown, sys.ShowCrown(v), 5e-3},
			{quantity.LineLoad, sys.ShowLineLoad(v), 5e-4},
			{quantity.Stress, sys.ShowStress(v), 5e-4},
		} {
			got, err := c.d.Parse(c.text, quantity.Metric)
			if err != nil || math.Abs(got.Value-v) > c.rel*v {
				t.Fatalf("%v %s shown as %q in %s reads %v, %v", v, c.d.Base(), c.text, sys, got.Value, err)
			}
		}
		// A scale with its own zero has an absolute last digit: 0.5 °F at most.
		got, err := quantity.Temperature.Parse(sys.ShowTemperature(v), quantity.Metric)
		if err != nil || math.Abs(got.Value-v) > 0.5 {
			t.Fatalf("%v °C shown as %q reads %v, %v", v, sys.ShowTemperature(v), got.Value, err)
		}
	})
}

func TestParseSystem(t *testing.T) {
	for _, sys := range systems {
		if got, err := quantity.ParseSystem(" " + strings.ToUpper(sys.String())); err != nil || got != sys {
			t.Errorf("%s: %v, %v", sys, got, err)
		}
	}
	for _, name := range []string{"imperial", "", "inch"} {
		_, err := quantity.ParseSystem(name)
		want := fmt.Sprintf("%q is no system of units here; say metric, imperial-short (a ton is 2000 lb) or imperial-long (a ton is 2240 lb)", name)
		if err == nil || err.Error() != want {
			t.Errorf("%q: %v", name, err)
		}
	}
}
