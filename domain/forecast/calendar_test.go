package forecast_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/forecast"
)

func TestCalendar(t *testing.T) {
	day := func(d float64) time.Time { return simStart.Add(time.Duration(d * 24 * float64(time.Hour))) }
	c := forecast.NewCalendar([]forecast.Period{{From: day(10), Until: day(24), Pace: 0}, {From: day(30), Until: day(40), Pace: 0.5}, {From: day(50), Until: day(60), Pace: 1.25}})
	for _, one := range []struct{ real, worked float64 }{{5, 5}, {10, 10}, {17, 10}, {24, 10}, {30, 16}, {34, 18}, {40, 21}, {50, 31}, {54, 36}, {60, 43.5}, {70, 53.5}} {
		if got := c.Worked(day(one.real)); !got.Equal(day(one.worked)) {
			t.Errorf("day %g is day %g of the works, not %g", one.real, got.Sub(simStart).Hours()/24, one.worked)
		}
		want := one.real
		if want == 10 || want == 17 {
			want = 24 // what falls into a shut-down comes after it
		}
		if got := c.Real(day(one.worked)); !got.Equal(day(want)) {
			t.Errorf("day %g of the works is day %g, not %g", one.worked, got.Sub(simStart).Hours()/24, want)
		}
	}
}

// TestCalendarOverlaps: a shut-down within a slack month holds while it lasts.
func TestCalendarOverlaps(t *testing.T) {
	day := func(d int) time.Time { return simStart.AddDate(0, 0, d) }
	c := forecast.NewCalendar([]forecast.Period{{From: day(10), Until: day(15), Pace: 0}, {From: day(0), Until: day(30), Pace: 0.5}})
	if got := c.Worked(day(30)); !got.Equal(simStart.Add(300 * time.Hour)) {
		t.Errorf("thirty days are %s", got.Sub(simStart))
	}
}

func TestCalendarIsTurnedBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []forecast.Period
		for range rapid.IntRange(0, 6).Draw(t, "periods") {
			from := simStart.Add(time.Duration(rapid.IntRange(0, 1000).Draw(t, "from")) * time.Hour)
			list = append(list, forecast.Period{From: from, Until: from.Add(time.Duration(rapid.IntRange(1, 300).Draw(t, "hours")) * time.Hour), Pace: rapid.Float64Range(0.1, 2).Draw(t, "pace")})
		}
		c := forecast.NewCalendar(list)
		at := simStart.Add(time.Duration(rapid.IntRange(-100, 2000).Draw(t, "at")) * time.Hour)
		if back := c.Real(c.Worked(at)); back.Sub(at).Abs() > time.Millisecond {
			t.Fatalf("%s comes back as %s", at, back)
		}
	})
}
