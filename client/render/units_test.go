package render

import (
	"math"
	"testing"
	"time"

	"barrelbook/domain/quantity"
)

func TestColumnsNameTheirUnit(t *testing.T) {
	for _, c := range []struct {
		system    quantity.System
		head, key string
		cell      string
	}{
		{quantity.Metric, "diameter, mm", "diameter_mm", "738.412"},
		{quantity.ImperialShort, "diameter, in", "diameter_in", "29.07134"},
		{quantity.ImperialLong, "diameter, in", "diameter_in", "29.07134"},
	} {
		u := Units{c.system}
		if got := u.LengthColumn("diameter", "diameter"); got.Head != c.head || got.Key != c.key {
			t.Errorf("%v: column %+v, want %q %q", c.system, got, c.head, c.key)
		}
		if got := Bare(u.Length(738.412)); got != c.cell {
			t.Errorf("%v: 738.412 mm is %q, want %q", c.system, got, c.cell)
		}
	}
	if got := (Units{quantity.ImperialShort}).MassColumn("tonnage", "tonnage"); got.Head != "tonnage, short ton" || got.Key != "tonnage_short_ton" {
		t.Errorf("mass column %+v", got)
	}
	if got := (Units{}).SmallColumn("wear", "wear"); got.Head != "wear, µm" || got.Key != "wear_um" {
		t.Errorf("wear column %+v", got)
	}
}

func TestPercentNeverRoundsToCertainty(t *testing.T) {
	for p, want := range map[float64]string{
		0: "0 %", 0.004: "<1 %", 0.5: "50 %", 0.987: "99 %", 0.995: ">99 %", 0.999999: ">99 %", 1: ">99 %",
	} {
		if got := Percent(p); got != want {
			t.Errorf("Percent(%v) = %q, want %q", p, got, want)
		}
	}
}

func TestTimeIsUTC(t *testing.T) {
	at := time.Date(2026, 3, 4, 1, 5, 59, 0, time.FixedZone("", 2*3600))
	if got := Time(at); got != "2026-03-03 23:05Z" {
		t.Errorf("got %q", got)
	}
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v      float64
		digits int
		want   string
	}{
		{1234.567, 4, "1235"}, {123456.7, 3, "123457"}, {0.00123456, 3, "0.00123"}, {0, 3, "0"}, {-2.5, 4, "-2.5"},
	} {
		if got := Number(c.v, c.digits); got != c.want {
			t.Errorf("Number(%v, %d) = %q, want %q", c.v, c.digits, got, c.want)
		}
	}
}

func TestJoin(t *testing.T) {
	for _, c := range []struct {
		in   []string
		want string
	}{{nil, ""}, {[]string{"F1"}, "F1"}, {[]string{"F1", "F2"}, "F1 and F2"}, {[]string{"F1", "F2", "F3"}, "F1, F2 and F3"}} {
		if got := Join(c.in); got != c.want {
			t.Errorf("Join(%v) = %q", c.in, got)
		}
	}
}

func TestBarrelPlotKeepsOneSystem(t *testing.T) {
	for _, c := range []struct {
		system       quantity.System
		x, y         float64
		xUnit, yUnit string
	}{
		{quantity.Metric, 1000, 254, "mm", "µm"},
		{quantity.ImperialShort, 1000 / 25.4, 0.01, "in", "in"},
	} {
		p := Units{c.system}.BarrelPlot([]float64{-1000, 1000}, []float64{0, 254})
		if math.Abs(p.X[1]/c.x-1) > 1e-3 || math.Abs(p.Y[1]/c.y-1) > 1e-3 || p.X[0] != -p.X[1] || p.XUnit != c.xUnit || p.YUnit != c.yUnit {
			t.Errorf("%v: %+v, want %v %s and %v %s", c.system, p, c.x, c.xUnit, c.y, c.yUnit)
		}
	}
}
