package rollforce_test

import (
	"math"
	"testing"

	"barrelbook/domain/rollforce"
)

// longTonN is a long ton-force, 2240 lbf, in newtons.
const longTonN = 2240 * 0.45359237 * 9.80665

// A two-high cogging mill of common practice, no source: rolls of 1000 mm on
// bearings 3.3 m apart with necks of 680 mm, of cast steel allowed 110 MPa.
var (
	bloomingRoll  = rollforce.Body{BarrelDiameterMM: 1000, BarrelLengthMM: 2600, NeckDiameterMM: 680, BearingSpanMM: 3300, FilletBendingFactor: 1.6, FilletTorsionFactor: 1.3}
	bloomingAllow = rollforce.Allowable{BarrelMPa: 110, NeckMPa: 110}
)

// Common practice, no source: a cogging pass may reach 1,000 tons and 2 in of
// draft. On an ingot 26 in wide that is inside the roll's own margin:
//
//	barrel  M = 9 964 016·(3300/4 − 660.4/8) = 7.3978e9 N·mm,  σ = 32M/(π·1000³) = 75.35 MPa of 110
//	neck    M = 9 964 016/2·350 = 1.7437e9 N·mm,  σ = 1.6·32M/(π·680³) = 90.38 MPa of 110
//
// The same pass in a piece gone cold asks for a force the roll does not bear.
func TestCoggingPassHotAndCold(t *testing.T) {
	if math.Abs(1000*longTonN-9964016.4) > 0.1 {
		t.Fatalf("1,000 long tons-force are %.1f N", 1000*longTonN)
	}
	strength := func(r rollforce.Result) (rollforce.Strength, error) {
		return rollforce.TwoHighStrength(bloomingRoll, rollforce.Load{ForceN: r.ForceN, WidthMM: 660.4}, bloomingAllow)
	}
	hot, err := strength(rollforce.Result{ForceN: 1000 * longTonN})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(hot.BarrelBendingMPa-75.35) > 0.01 || math.Abs(hot.NeckEquivalentMPa-90.38) > 0.01 || math.Abs(hot.Margin-0.1784) > 1e-4 || hot.Governs != "neck" {
		t.Errorf("hot: %+v, want 75.35 MPa at the barrel, 90.38 MPa at the neck, and a margin of 0.1784", hot)
	}
	// 2 in off 24 in at 2 m/s, scaled so that the pass takes 1,000 tons at 1150 °C.
	law := rollforce.EkelundLaw(rollforce.Input{EntryThicknessMM: 24 * 25.4, ExitThicknessMM: 22 * 25.4, WidthMM: 660.4, DiameterMM: 1000,
		SpeedMPerS: 2, CarbonPct: 0.2, ManganesePct: 0.6, RollSurface: rollforce.SteelSurface})
	base, err := law(1150)
	if err != nil {
		t.Fatal(err)
	}
	if base.ForceN < 0.3*1000*longTonN || base.ForceN > 1000*longTonN {
		t.Errorf("Ekelund gives %.0f kN at 1150 °C; a pass of 2 in is of the order of 1,000 tons and not above", base.ForceN/1000)
	}
	scaled := func(c float64) (rollforce.Result, error) {
		r, err := law(c)
		r.ForceN *= 1000 * longTonN / base.ForceN
		return r, err
	}
	limit, err := rollforce.TemperatureAtZeroMargin(scaled, strength, 1150, 700)
	if err != nil {
		t.Fatal(err)
	}
	if !limit.Reached || limit.TemperatureC > 1100 || limit.TemperatureC < 900 {
		t.Fatalf("the margin is gone at %+v, want between 900 and 1100 °C", limit)
	}
	for c, within := range map[float64]bool{1150: true, limit.TemperatureC + 5: true, limit.TemperatureC - 5: false, 800: false} {
		r, err := scaled(c)
		if err != nil {
			t.Fatal(err)
		}
		s, err := strength(r)
		if err != nil {
			t.Fatal(err)
		}
		if (s.Margin > 0) != within {
			t.Errorf("at %.0f °C margin %.3f under %.0f kN, want within %v", c, s.Margin, r.ForceN/1000, within)
		}
	}
}
