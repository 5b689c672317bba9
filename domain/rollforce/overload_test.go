package rollforce_test

import (
	"errors"
	"math"
	"testing"

	"barrelbook/domain/refusal"
	"barrelbook/domain/rollforce"

	"pgregory.net/rapid"
)

var (
	coggingRoll = rollforce.Body{BarrelDiameterMM: 1100, BarrelLengthMM: 2400, NeckDiameterMM: 620, BearingSpanMM: 3000,
		FilletBendingFactor: 1.5, FilletTorsionFactor: 1.3}
	castSteel = rollforce.Allowable{BarrelMPa: 100, NeckMPa: 100}
)

// The moments are worked by hand from the bearings inward, the stresses from
// the section moduli πD³/32 and πd³/16 (elementary beam and shaft formulas).
func TestTwoHighMomentsByHand(t *testing.T) {
	load := rollforce.Load{ForceN: 6e6, WidthMM: 660, TorqueNM: 400e3}
	s, err := rollforce.TwoHighStrength(coggingRoll, load, castSteel)
	if err != nil {
		t.Fatal(err)
	}
	barrel := 3e6*1500 - 3e6*165.0 // reaction × half span − half the load at its own centroid
	neck := 3e6 * 300.0            // reaction × (3000−2400)/2
	bending := 1.5 * neck / (math.Pi / 32 * 620 * 620 * 620)
	torsion := 1.3 * 400e6 / (math.Pi / 16 * 620 * 620 * 620)
	near(t, "barrel bending", s.BarrelBendingMPa, barrel/(math.Pi/32*1100*1100*1100), 1e-12)
	near(t, "neck bending", s.NeckBendingMPa, bending, 1e-12)
	near(t, "neck torsion", s.NeckTorsionMPa, torsion, 1e-12)
	near(t, "von Mises", s.NeckEquivalentMPa, math.Sqrt(bending*bending+3*torsion*torsion), 1e-12)
	if s.Governs != "neck" {
		t.Errorf("governs: %s", s.Governs)
	}
	near(t, "margin", s.Margin, 1-s.NeckEquivalentMPa/100, 1e-12)

	iron := castSteel
	iron.Brittle = true
	s, err = rollforce.TwoHighStrength(coggingRoll, load, iron)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "principal", s.NeckEquivalentMPa, bending/2+math.Sqrt(bending*bending/4+torsion*torsion), 1e-12)
}

// A work roll under a backup roll is bent by the difference of the two
// spreads only: F(L−B)/8 at the middle without bending force. The moment along
// the barrel is summed here slice by slice as a second opinion.
func TestFourHighWorkRollMoment(t *testing.T) {
	roll := rollforce.Body{BarrelDiameterMM: 700, BarrelLengthMM: 1700, NeckDiameterMM: 480, BearingSpanMM: 2700,
		FilletBendingFactor: 1.6, FilletTorsionFactor: 1.3}
	allow := rollforce.Allowable{BarrelMPa: 150, NeckMPa: 110}
	for _, bending := range []float64{0, 4e5, 1.2e6, -3e5} {
		load := rollforce.Load{ForceN: 18e6, WidthMM: 1250, BendingForceN: bending, TorqueNM: 200e3}
		s, err := rollforce.WorkRollStrength(roll, load, allow)
		if err != nil {
			t.Fatal(err)
		}
		const n = 17000
		var worst float64
		line, dx := (18e6+2*bending)/1700, 850.0/n
		shear, moment := 0.0, -bending*(1350-850)
		worst = math.Abs(moment)
		for i := range n {
			x := 850 - (float64(i)+0.5)*dx
			load := line
			if x < 625 {
				load -= 18e6 / 1250
			}
			shear += load * dx
			moment += (shear - load*dx/2 - bending) * dx
			worst = math.Max(worst, math.Abs(moment))
		}
		near(t, "barrel bending", s.BarrelBendingMPa, worst/(math.Pi/32*700*700*700), 1e-4)
		if bending == 0 {
			near(t, "F(L−B)/8", s.BarrelBendingMPa, 18e6*(1700-1250)/8/(math.Pi/32*700*700*700), 1e-12)
		}
		near(t, "neck bending", s.NeckBendingMPa+1, 1+1.6*math.Abs(bending)*500/(math.Pi/32*480*480*480), 1e-12)
	}
}

// With the resistance straight in T and friction straight in T, Ekelund's
// force is a quadratic in T; the limit found must be its root.
func TestColdBloomLosesItsMarginWhereTheQuadraticSays(t *testing.T) {
	in := pass(600, 550, 550, 660)
	in.SpeedMPerS, in.CarbonPct, in.ManganesePct, in.RollSurface = 1.5, 0.2, 0.6, rollforce.SteelSurface
	strength := func(r rollforce.Result) (rollforce.Strength, error) {
		return rollforce.TwoHighStrength(coggingRoll, rollforce.Load{ForceN: r.ForceN, WidthMM: 660}, castSteel)
	}
	found, err := rollforce.TemperatureAtZeroMargin(rollforce.EkelundLaw(in), strength, 1250, 20)
	if err != nil {
		t.Fatal(err)
	}
	if !found.Reached || found.MarginAtStart <= 0 {
		t.Fatalf("want a margin at 1250 °C that is gone later, got %+v", found)
	}
	perNewton := rollforce.Load{ForceN: 1e6, WidthMM: 660}
	one, err := rollforce.TwoHighStrength(coggingRoll, perNewton, castSteel)
	if err != nil {
		t.Fatal(err)
	}
	limit := 1e6 / (1 - one.Margin) // the force at which the margin is zero
	contact := math.Sqrt(550 * 50)
	scale := 9.80665 * 660 * contact * (1.4 + 0.8 + 0.01*2*1500*math.Sqrt(50.0/550)/1150)
	// limit = scale·(p − qT)(14 − 0.01T)
	p := 1 + (1.6*1.05*contact-60)/1150
	q := 1.6 * 0.0005 * contact / 1150
	a, b, c := 0.01*q, -(0.01*p + 14*q), 14*p-limit/scale
	want := (-b - math.Sqrt(b*b-4*a*c)) / (2 * a)
	if math.Abs(found.TemperatureC-want) > 1e-5 {
		t.Errorf("limit at %.6f °C, want %.6f", found.TemperatureC, want)
	}
	near(t, "force there", found.Pass.ForceN, limit, 1e-7)
}

func TestColdLimitAtBothEnds(t *testing.T) {
	in := pass(600, 550, 550, 660)
	in.SpeedMPerS, in.CarbonPct, in.RollSurface = 1.5, 0.2, rollforce.SteelSurface
	with := func(allowable float64) rollforce.ColdLimit {
		t.Helper()
		found, err := rollforce.TemperatureAtZeroMargin(rollforce.EkelundLaw(in), func(r rollforce.Result) (rollforce.Strength, error) {
			return rollforce.TwoHighStrength(coggingRoll, rollforce.Load{ForceN: r.ForceN, WidthMM: 660},
				rollforce.Allowable{BarrelMPa: allowable, NeckMPa: allowable})
		}, 1200, 900)
		if err != nil {
			t.Fatal(err)
		}
		return found
	}
	if f := with(1e-3); !f.Reached || f.TemperatureC != 1200 || f.MarginAtStart >= 0 {
		t.Errorf("gone at the start: %+v", f)
	}
	if f := with(1e6); f.Reached || f.TemperatureC != 900 || f.Strength.Margin <= 0 {
		t.Errorf("never gone: %+v", f)
	}
}

func TestColdLimitCarriesErrorsOut(t *testing.T) {
	broken := errors.New("no such law")
	_, err := rollforce.TemperatureAtZeroMargin(func(float64) (rollforce.Result, error) { return rollforce.Result{}, broken },
		func(rollforce.Result) (rollforce.Strength, error) { return rollforce.Strength{}, nil }, 1200, 900)
	if !errors.Is(err, broken) {
		t.Errorf("got %v", err)
	}
	_, err = rollforce.TemperatureAtZeroMargin(nil, nil, 900, 1200)
	if f := refusal.FieldsOf(err); len(f) != 1 || f[0].Path != "lowest_c" {
		t.Errorf("got %v", err)
	}
}

func TestStrengthProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		load := rollforce.Load{
			ForceN:   rapid.Float64Range(0, 3e7).Draw(t, "force"),
			WidthMM:  rapid.Float64Range(100, 2400).Draw(t, "width"),
			TorqueNM: rapid.Float64Range(0, 3e6).Draw(t, "torque"),
		}
		s, err := rollforce.TwoHighStrength(coggingRoll, load, castSteel)
		if err != nil {
			t.Fatal(err)
		}
		if s.Margin > 1 || s.NeckEquivalentMPa < s.NeckBendingMPa {
			t.Fatalf("%+v: %+v", load, s)
		}
		load.ForceN += 1e5
		more, err := rollforce.TwoHighStrength(coggingRoll, load, castSteel)
		if err != nil {
			t.Fatal(err)
		}
		if more.Margin >= s.Margin {
			t.Fatalf("%+v: margin %g rose to %g with force", load, s.Margin, more.Margin)
		}
		load.WidthMM /= 2
		narrow, err := rollforce.TwoHighStrength(coggingRoll, load, castSteel)
		if err != nil {
			t.Fatal(err)
		}
		if narrow.BarrelBendingMPa <= more.BarrelBendingMPa {
			t.Fatalf("%+v: the same force on half the width must bend the barrel more", load)
		}
	})
}

func TestImpossibleRollsAreRefused(t *testing.T) {
	for _, row := range []struct {
		name, path string
		spoil      func(*rollforce.Body, *rollforce.Load, *rollforce.Allowable)
	}{
		{"neck wider than barrel", "neck_diameter_mm", func(b *rollforce.Body, _ *rollforce.Load, _ *rollforce.Allowable) { b.NeckDiameterMM = 1101 }},
		{"span shorter than barrel", "bearing_span_mm", func(b *rollforce.Body, _ *rollforce.Load, _ *rollforce.Allowable) { b.BearingSpanMM = 2000 }},
		{"strip wider than barrel", "width_mm", func(_ *rollforce.Body, l *rollforce.Load, _ *rollforce.Allowable) { l.WidthMM = 2500 }},
		{"fillet below one", "fillet_bending_factor", func(b *rollforce.Body, _ *rollforce.Load, _ *rollforce.Allowable) { b.FilletBendingFactor = 0 }},
		{"no allowable", "allowable/neck_mpa", func(_ *rollforce.Body, _ *rollforce.Load, a *rollforce.Allowable) { a.NeckMPa = 0 }},
		{"NaN force", "force_n", func(_ *rollforce.Body, l *rollforce.Load, _ *rollforce.Allowable) { l.ForceN = math.NaN() }},
	} {
		t.Run(row.name, func(t *testing.T) {
			roll, load, allow := coggingRoll, rollforce.Load{ForceN: 1e6, WidthMM: 660}, castSteel
			row.spoil(&roll, &load, &allow)
			for _, of := range []func(rollforce.Body, rollforce.Load, rollforce.Allowable) (rollforce.Strength, error){
				rollforce.TwoHighStrength, rollforce.WorkRollStrength} {
				_, err := of(roll, load, allow)
				if f := refusal.FieldsOf(err); len(f) != 1 || f[0].Path != row.path {
					t.Errorf("want a refusal of %s, got %v", row.path, err)
				}
			}
		})
	}
}
