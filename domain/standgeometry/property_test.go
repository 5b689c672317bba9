package standgeometry_test

import (
	"math"
	"testing"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/standgeometry"

	"pgregory.net/rapid"
)

func drawTrain(t *rapid.T) []standgeometry.Stand {
	var train []standgeometry.Stand
	h := rapid.Float64Range(20, 60).Draw(t, "entry")
	for i := range rapid.IntRange(1, 18).Draw(t, "stands") {
		h *= rapid.Float64Range(0.6, 0.95).Draw(t, "share")
		low := rapid.Float64Range(0, 100).Draw(t, "min")
		train = append(train, standgeometry.Stand{Name: string(rune('A' + i)), ExitThicknessMM: h,
			DiameterMM:  rapid.Float64Range(300, 1200).Draw(t, "diameter"),
			ForwardSlip: rapid.Float64Range(0, 0.1).Draw(t, "slip"),
			MinRPM:      low, MaxRPM: low + rapid.Float64Range(1, 500).Draw(t, "range")})
	}
	return train
}

// Mass flow is the same after every stand, and the strip leaves faster than
// the rolls run by the slip.
func TestMassFlowIsConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train := drawTrain(t)
		final := rapid.Float64Range(0.1, 25).Draw(t, "final")
		got, err := standgeometry.Speeds(train, final)
		if err != nil {
			t.Fatal(err)
		}
		flow := final * train[len(train)-1].ExitThicknessMM
		for i, s := range got.Stands {
			if math.Abs(s.StripMPerS*train[i].ExitThicknessMM-flow) > 1e-12*flow {
				t.Fatalf("%+v: mass flow after %s is not that of the last", train, s.Name)
			}
			surface := s.RPM / 60 * math.Pi * train[i].DiameterMM / 1000
			if math.Abs(surface*(1+train[i].ForwardSlip)-s.StripMPerS) > 1e-12*s.StripMPerS {
				t.Fatalf("%+v: slip of %s is lost", train, s.Name)
			}
		}
	})
}

// The limiting stands are the ones that reach their own bound exactly at the
// train's bound, and no other passes it there.
func TestLimitingStandsAreTheFirstToReachTheirBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		train := drawTrain(t)
		got, err := standgeometry.Speeds(train, 1)
		if err != nil {
			t.Fatal(err)
		}
		at := func(final float64) standgeometry.TrainSpeed {
			v, err := standgeometry.Speeds(train, final)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		for i, s := range at(got.FinalMaxMPerS).Stands {
			over := s.RPM / train[i].MaxRPM
			if over > 1+1e-12 || (s.Name == got.FastLimit && over < 1-1e-12) {
				t.Fatalf("%+v: at the greatest speed %s runs at %g of its MaxRPM; limit is %s", train, s.Name, over, got.FastLimit)
			}
		}
		if middle := (got.FinalMinMPerS + got.FinalMaxMPerS) / 2; got.Possible != at(middle).Within {
			t.Fatalf("%+v: possible %v, but within at the middle %v", train, got.Possible, !got.Possible)
		}
		if above := at(got.FinalMaxMPerS * 1.001); above.Within {
			t.Fatalf("%+v: still within above the greatest speed", train)
		}
		if got.FinalMinMPerS > 0 && at(got.FinalMinMPerS*0.999).Within {
			t.Fatalf("%+v: still within below the least speed", train)
		}
	})
}

// A worn train needs more turns for the same strip.
func TestSmallerRollsTurnFaster(t *testing.T) {
	train := sevenStands()
	a, err := standgeometry.Speeds(train, 9)
	if err != nil {
		t.Fatal(err)
	}
	if !a.Within || a.FastLimit != "F7" {
		t.Errorf("new rolls at 9 m/s: within %v, limit %s", a.Within, a.FastLimit)
	}
	train[3].DiameterMM = 400
	train[6].DiameterMM = 560
	b, err := standgeometry.Speeds(train, 9)
	if err != nil {
		t.Fatal(err)
	}
	if b.Within || !b.Stands[6].TooFast || b.Stands[3].TooFast || b.FastLimit != "F7" {
		t.Errorf("worn rolls at 9 m/s: %+v", b)
	}
	near(t, "greatest speed on 560 mm at 300 rpm", b.FinalMaxMPerS, math.Pi*0.56*5, 1e-12)
}

// Grinding in two goes takes off what one does.
func TestRemovedMassAdds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := func(name string) quantity.Micrometre {
			return quantity.Micrometre(rapid.Int64Range(300_000, 1_600_000).Draw(t, name))
		}
		a, b, c := d("a"), d("b"), d("c")
		high, low := max(a, b, c), min(a, b, c)
		middle := a + b + c - high - low
		mass := func(from, to quantity.Micrometre) float64 {
			kg, err := standgeometry.RemovedMassKG(from, to, 2_000_000, 7800)
			if err != nil {
				t.Fatal(err)
			}
			return kg
		}
		if whole, parts := mass(high, low), mass(high, middle)+mass(middle, low); math.Abs(whole-parts) > 1e-9*whole+1e-9 {
			t.Fatalf("%v to %v: %g in one, %g in two", high, low, whole, parts)
		}
	})
}

// n grinds leave the roll at or above scrap, and one more does not.
func TestRegrindsLeftIsTheLargestThatFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scrap := quantity.Micrometre(rapid.Int64Range(1, 1_500_000).Draw(t, "scrap"))
		now := quantity.Micrometre(rapid.Int64Range(1, 1_600_000).Draw(t, "now"))
		stock := quantity.Micrometre(rapid.Int64Range(1, 5_000).Draw(t, "stock"))
		n, err := standgeometry.RegrindsLeft(now, scrap, stock)
		if err != nil {
			t.Fatal(err)
		}
		left := now - quantity.Micrometre(n)*stock
		if n < 0 || (n > 0 && left < scrap) || left-stock >= scrap {
			t.Fatalf("%v to %v by %v: %d grinds", now, scrap, stock, n)
		}
	})
}

// The shim makes up for every loss: the top of the bottom work roll is where
// it was.
func TestShimRestoresThePassLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := func(name string, low, high int64) quantity.Micrometre {
			return quantity.Micrometre(rapid.Int64Range(low, high).Draw(t, name))
		}
		br, b, wr, w := d("br", 1_300_000, 1_600_000), d("b", 1_300_000, 1_600_000), d("wr", 600_000, 800_000), d("w", 600_000, 800_000)
		s, err := standgeometry.PassLineShimMM(br, b, wr, w)
		if err != nil {
			t.Fatal(err)
		}
		if before, after := br.MM()/2+wr.MM(), b.MM()/2+w.MM()+s; math.Abs(before-after) > 1e-9 {
			t.Fatalf("pass line %g, was %g", after, before)
		}
	})
}

func TestStackInItsWindow(t *testing.T) {
	rolls := []quantity.Micrometre{1_480_000, 690_000, 690_500, 1_490_000}
	for _, row := range []struct {
		name            string
		least, greatest quantity.Micrometre
		want            standgeometry.Stack
	}{
		{"fits, both ends included", 4_350_500, 4_350_500, standgeometry.Stack{Height: 4_350_500, Fits: true}},
		{"too low", 4_351_000, 4_400_000, standgeometry.Stack{Height: 4_350_500, Short: 500}},
		{"too high", 4_200_000, 4_350_000, standgeometry.Stack{Height: 4_350_500, Over: 500}},
	} {
		t.Run(row.name, func(t *testing.T) {
			got, err := standgeometry.StackHeight(rolls, row.least, row.greatest)
			if err != nil || got != row.want {
				t.Errorf("got %+v (%v), want %+v", got, err, row.want)
			}
		})
	}
}

func TestSingleDriveNamesThePairThatStrays(t *testing.T) {
	design := []quantity.Micrometre{340_000, 330_000, 320_000, 310_000}
	// All worn by the same share: the ratios hold.
	worn := []quantity.Micrometre{323_000, 313_500, 304_000, 294_500}
	pairs, _, err := standgeometry.SingleDrive(worn, design, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range pairs {
		if !p.Within {
			t.Errorf("equal wear must keep the ratios: %+v", p)
		}
	}
	worn[2] = 310_000 // a newer roll in the third stand
	pairs, worst, err := standgeometry.SingleDrive(worn, design, 0.02)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "deviation into the third stand", pairs[1].Deviation, 310.0/304-1, 1e-9)
	if worst != 1 && worst != 2 {
		t.Errorf("worst pair %d, want one of the third stand's", worst)
	}
	if !pairs[0].Within || !pairs[1].Within || !pairs[2].Within {
		t.Errorf("2 %% is within 2 %%: %+v", pairs)
	}
	if pairs, _, _ = standgeometry.SingleDrive(worn, design, 0.015); pairs[1].Within || pairs[2].Within {
		t.Errorf("2 %% is not within 1.5 %%: %+v", pairs)
	}
}

func TestNonsenseIsRefusedByName(t *testing.T) {
	um := func(v ...quantity.Micrometre) []quantity.Micrometre { return v }
	spoilt := func(spoil func([]standgeometry.Stand)) error {
		train := sevenStands()
		spoil(train)
		_, err := standgeometry.Speeds(train, 10)
		return err
	}
	first := func(_ any, err error) error { return err }
	for _, row := range []struct {
		path string
		err  error
	}{
		{"stands", first(standgeometry.Speeds(nil, 10))},
		{"final_speed_m_per_s", first(standgeometry.Speeds(sevenStands(), 0))},
		{"final_speed_m_per_s", first(standgeometry.Speeds(sevenStands(), math.NaN()))},
		{"stands/2/exit_thickness_mm", spoilt(func(s []standgeometry.Stand) { s[2].ExitThicknessMM = 19 })},
		{"stands/3/diameter_mm", spoilt(func(s []standgeometry.Stand) { s[3].DiameterMM = 0 })},
		{"stands/3/max_rpm", spoilt(func(s []standgeometry.Stand) { s[3].MaxRPM = 10 })},
		{"stands/0/forward_slip", spoilt(func(s []standgeometry.Stand) { s[0].ForwardSlip = -0.1 })},
		{"work_diameter_mm", first(standgeometry.PassLineShimMM(1, 1, 1, 0))},
		{"diameters", first(standgeometry.StackHeight(um(1), 1, 2))},
		{"window", first(standgeometry.StackHeight(um(1, 1), 3, 2))},
		{"stock_mm", first(standgeometry.RegrindsLeft(700_000, 680_000, 0))},
		{"diameter_after_mm", first(standgeometry.RemovedMassKG(1, 2, 1, 7800))},
		{"density_kg_per_m3", first(standgeometry.BarrelMassKG(1, 1, 7.8))},
		{"mass_t", first(standgeometry.RolledLengthM(-1, 7850, 1250, 3))},
		{"thickness_mm", first(standgeometry.RolledLengthM(1, 7850, 1250, 0))},
		{"diameter_mm", first(standgeometry.Revolutions(1, 0))},
		{"length_m", first(standgeometry.Revolutions(math.Inf(1), 700))},
		{"length_m", first(standgeometry.Revolutions(math.MaxFloat64, 1))},
		{"tonnage_t", first(standgeometry.Consume([]float64{1}, um(1), 0))},
		{"removed_kg/0", first(standgeometry.Consume([]float64{math.NaN()}, um(1), 1))},
		{"lost_mm/0", first(standgeometry.Consume([]float64{1}, um(-1), 1))},
	} {
		if f := refusal.FieldsOf(row.err); len(f) != 1 || f[0].Path != row.path {
			t.Errorf("want one refusal of %s, got %v", row.path, row.err)
		}
	}
	if _, _, err := standgeometry.SingleDrive(um(1), um(1, 2), 2); len(refusal.FieldsOf(err)) != 3 {
		t.Errorf("single drive: want three refusals, got %v", err)
	}
}
