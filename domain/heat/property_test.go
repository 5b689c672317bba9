package heat

import (
	"fmt"
	"math"
	"testing"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"

	"pgregory.net/rapid"
)

func logUniform(t *rapid.T, name string, low, high float64) float64 {
	return low * math.Pow(high/low, rapid.Float64Range(0, 1).Draw(t, name))
}

// Each root is within 1e-10 of where z·J₁ − Bi·J₀ changes its sign, and it is
// the n-th: it lies between the zeros of J₁ and J₀ of its number.
func TestRootsAreGoodTo1e10(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bi := logUniform(t, "biot", leastBiot, mostBiot)
		n := rapid.IntRange(1, 2000).Draw(t, "n")
		z := root(n, bi)
		f := func(z float64) float64 { return z*math.J1(z) - bi*math.J0(z) }
		below, above := f(z*(1-1e-10)), f(z*(1+1e-10))
		if below*above >= 0 {
			t.Fatalf("Bi %g, n %d: no change of sign around %.15g", bi, n, z)
		}
		if z <= (float64(n)-17.0/16)*math.Pi || z >= (float64(n)-1.0/8)*math.Pi {
			t.Fatalf("Bi %g: root %d at %g is of another number", bi, n, z)
		}
	})
}

// At time 0 the series sums to 1: the coefficients are right, all of them.
// With 3,000 terms the mean's tail is below 4Bi²/(3π·z³) for z above Bi.
func TestCoefficientsSumToOneAtTheStart(t *testing.T) {
	for _, bi := range []float64{1e-6, 0.01, 1, 30, 1000} {
		var sum float64
		for n := 1; n <= 3000; n++ {
			c, _, ratio := coefficient(root(n, bi), bi)
			sum += c * ratio
		}
		near(t, fmt.Sprintf("Bi %g", bi), sum, 1, 4*bi*bi/(3*math.Pi*math.Pow(3000*math.Pi, 3))+1e-9)
	}
}

// The short-time form and the series meet where one takes over from the
// other, and well above.
func TestShortTimeFormMeetsTheSeries(t *testing.T) {
	for _, bi := range []float64{1e-6, 0.3, 0.5, 1, 30, 499.9, 500.6, 1e4} {
		for _, fourier := range []float64{1e-6, 3e-6} {
			s := series{bi: bi}
			long, short := s.at(fourier), shortTime(bi, fourier)
			name := fmt.Sprintf("Bi %g, Fo %g", bi, fourier)
			near(t, name+" mean", short.mean, long.mean, 1e-8)
			near(t, name+" centre", short.centre, long.centre, 1e-10)
			near(t, name+" surface", short.surface, long.surface, 1e-6)
		}
	}
}

// Small Biot numbers leave no gradient: the cylinder cools as one lump.
func TestSmallBiotIsALump(t *testing.T) {
	const bi = 1e-5
	for _, fourier := range []float64{10, 1e4, 1e5} {
		s := series{bi: bi}
		near(t, fmt.Sprintf("Fo %g", fourier), s.at(fourier).mean, math.Exp(-2*bi*fourier), 1e-5)
	}
}

// The heat that leaves the surface is the heat the mean loses:
// dθ_mean/dFo = −2Bi·θ_surface, by a central difference.
func TestHeatBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := series{bi: logUniform(t, "biot", 1e-3, 1e3)}
		fourier := logUniform(t, "fourier", 1e-4, 2)
		d := fourier * 1e-4
		slope := (s.at(fourier+d).mean - s.at(fourier-d).mean) / (2 * d)
		p := s.at(fourier)
		want := -2 * s.bi * p.surface
		if math.Abs(slope-want) > 1e-5*math.Abs(want)+1e-9/fourier {
			t.Fatalf("Bi %g, Fo %g: slope %g, want %g", s.bi, fourier, slope, want)
		}
	})
}

func drawCylinder(t *rapid.T) Cylinder {
	c := Cylinder{
		DiameterMM:         logUniform(t, "diameter", 50, 2000),
		ConductivityWPerMK: logUniform(t, "conductivity", 5, 100),
		DensityKgPerM3:     7600, SpecificHeatJPerKgK: 500, ExpansionPerK: 12e-6,
		StartC:   rapid.Float64Range(-50, 1200).Draw(t, "start"),
		AmbientC: rapid.Float64Range(-50, 60).Draw(t, "ambient"),
	}
	c.SurfaceCoefficientWPerM2K = logUniform(t, "biot", leastBiot*1.001, mostBiot/1.001) * c.ConductivityWPerMK / c.radiusM()
	return c
}

// Temperatures lie between start and ambient, fall (or rise) without turning
// back, and the centre lags the mean, the mean the surface.
func TestTemperaturesGoFromStartToAmbient(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCylinder(t)
		minutes := []float64{0}
		for m := logUniform(t, "first", 1e-6, 10); len(minutes) < 12; m *= 4 {
			minutes = append(minutes, m)
		}
		got, err := Cool(c, minutes)
		if err != nil {
			t.Fatalf("%+v: %v", c, err)
		}
		sign, span := 1.0, c.StartC-c.AmbientC
		if span < 0 {
			sign, span = -1, -span
		}
		slack := 1e-9 * span
		for i := range minutes {
			mean, centre, surface := sign*(got.MeanC[i]-c.AmbientC), sign*(got.CentreC[i]-c.AmbientC), sign*(got.SurfaceC[i]-c.AmbientC)
			if surface < 0 || centre > span || surface > mean+slack || mean > centre+slack {
				t.Fatalf("%+v at %g min: surface %g, mean %g, centre %g of %g", c, minutes[i], surface, mean, centre, span)
			}
			if i > 0 && (mean > sign*(got.MeanC[i-1]-c.AmbientC)+slack || surface > sign*(got.SurfaceC[i-1]-c.AmbientC)+slack ||
				centre > sign*(got.CentreC[i-1]-c.AmbientC)+slack) {
				t.Fatalf("%+v: turned back at %g min", c, minutes[i])
			}
		}
		if got.MeanC[0] != c.StartC || got.CentreC[0] != c.StartC || got.SurfaceC[0] != c.StartC {
			t.Fatalf("%+v: not at the start at 0 min", c)
		}
	})
}

// At the answer the temperature is the limit; a little before it is not.
func TestMinutesUntilIsTheFirstMoment(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCylinder(t)
		c.StartC = c.AmbientC + rapid.SampledFrom([]float64{-40, 20, 60, 500}).Draw(t, "excess")
		within := rapid.Float64Range(0.1, 15).Draw(t, "within")
		place := rapid.SampledFrom([]Place{Mean, Surface, Centre}).Draw(t, "place")
		minutes, err := MinutesUntil(c, place, within)
		if err != nil {
			t.Fatalf("%+v: %v", c, err)
		}
		got, err := Cool(c, []float64{minutes, minutes * (1 - 1e-4)})
		if err != nil {
			t.Fatal(err)
		}
		of := map[Place][]float64{Mean: got.MeanC, Surface: got.SurfaceC, Centre: got.CentreC}[place]
		if left := math.Abs(of[0] - c.AmbientC); left > within*(1+1e-9) {
			t.Fatalf("%+v: %g K left at %g min, want %g", c, left, minutes, within)
		}
		if before := math.Abs(of[1] - c.AmbientC); before <= within {
			t.Fatalf("%+v: already within %g K before %g min", c, within, minutes)
		}
	})
}

func TestMinutesUntilIsZeroWhenAlreadyThere(t *testing.T) {
	c := workRoll()
	c.StartC = c.AmbientC + 5
	if m, err := MinutesUntil(c, Surface, 5); err != nil || m != 0 {
		t.Errorf("got %g (%v)", m, err)
	}
}

// Measuring warm and correcting gives the cold diameter back to the
// micrometre.
func TestColdDiameterUndoesExpansion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cold := rapid.Int64Range(100_000, 2_000_000).Draw(t, "cold")
		meanC := rapid.Float64Range(-20, 150).Draw(t, "mean")
		warm := math.Round(float64(cold) * (1 + 12e-6*(meanC-20)))
		got, err := ColdDiameter(quantity.Micrometre(warm), 12e-6, meanC, 20)
		if err != nil {
			t.Fatal(err)
		}
		if d := int64(got) - cold; d < -1 || d > 1 {
			t.Fatalf("%d at %g °C: got %d back", cold, meanC, got)
		}
	})
}

func TestNonsenseIsRefusedByName(t *testing.T) {
	for _, row := range []struct {
		path  string
		spoil func(*Cylinder)
	}{
		{"diameter_mm", func(c *Cylinder) { c.DiameterMM = 0 }},
		{"conductivity_w_per_mk", func(c *Cylinder) { c.ConductivityWPerMK = math.NaN() }},
		{"density_kg_per_m3", func(c *Cylinder) { c.DensityKgPerM3 = 7.6 }},
		{"specific_heat_j_per_kgk", func(c *Cylinder) { c.SpecificHeatJPerKgK = -500 }},
		{"surface_coefficient_w_per_m2k", func(c *Cylinder) { c.SurfaceCoefficientWPerM2K = 0 }},
		{"surface_coefficient_w_per_m2k", func(c *Cylinder) { c.SurfaceCoefficientWPerM2K = 1e9 }},
		{"expansion_per_k", func(c *Cylinder) { c.ExpansionPerK = 12 }},
		{"start_c", func(c *Cylinder) { c.StartC = -300 }},
		{"ambient_c", func(c *Cylinder) { c.AmbientC = math.Inf(1) }},
	} {
		c := workRoll()
		row.spoil(&c)
		_, err := Cool(c, []float64{1})
		if f := refusal.FieldsOf(err); len(f) != 1 || f[0].Path != row.path {
			t.Errorf("Cool: want a refusal of %s, got %v", row.path, err)
		}
		_, err = MinutesUntil(c, Mean, 5)
		if f := refusal.FieldsOf(err); len(f) != 1 || f[0].Path != row.path {
			t.Errorf("MinutesUntil: want a refusal of %s, got %v", row.path, err)
		}
	}
	_, err := Cool(workRoll(), []float64{0, -1})
	if f := refusal.FieldsOf(err); len(f) != 1 || f[0].Path != "minutes/1" {
		t.Errorf("negative minutes: %v", err)
	}
	_, err = MinutesUntil(workRoll(), "skin", 0)
	if f := refusal.FieldsOf(err); len(f) != 2 {
		t.Errorf("unknown place within 0 K: %v", err)
	}
	for path, refused := range map[string]func() error{
		"rolling_time_constant_min": func() error {
			_, err := CrownModel{SteadyUM: 100, RollingTauMin: 0, IdleTauMin: 30}.Roll(Growth{}, 1700, Strip{-500, 500}, 1)
			return err
		},
		"barrel_length_mm": func() error { _, err := workCrown().Rest(Growth{}, 0, 1); return err },
		"minutes":          func() error { _, err := workCrown().Rest(Growth{}, 1700, math.Inf(1)); return err },
		"to_mm":            func() error { _, err := workCrown().Roll(Growth{}, 1700, Strip{500, -500}, 1); return err },
	} {
		if f := refusal.FieldsOf(refused()); len(f) != 1 || f[0].Path != path {
			t.Errorf("want a refusal of %s, got %v", path, refused())
		}
	}
	if _, err = ColdDiameter(0, 12e-6, 30, 20); refusal.FieldsOf(err) == nil {
		t.Error("a diameter of 0 was taken")
	}
	if _, err = ColdDiameter(700_000, 1e-3, -273.15, 2000); refusal.FieldsOf(err) == nil {
		t.Error("a roll shrunk to nothing was taken")
	}
}
