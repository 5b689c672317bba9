package fatigue_test

import (
	"math"
	"testing"

	"barrelbook/domain/fatigue"
)

// ISO 281, line contact (from memory): L10 = (C/P)^(10/3), at C/P = 5 213.747.
// Peak pressure goes with the root of load, so with the default exponent a
// fifth of the load lives 213.747 times as long.
func TestLifeGoesAsISO281(t *testing.T) {
	p := fatigue.DefaultPolicy()
	got, err := p.Damage(p.ReferenceRevolutions, p.ReferencePressureMPa/math.Sqrt(5))
	if err != nil || math.Abs(1/got-213.747) > 0.0005 {
		t.Errorf("life ratio %v, %v, want 213.747", 1/got, err)
	}
}

// Miner's sum, derived by hand: 2e5/1e6 + 3e5/2e6 + 1e5/4e5 = 0.60. The lives
// are those of pressures chosen to have them.
func TestMinerSum(t *testing.T) {
	p := fatigue.DefaultPolicy()
	sum := 0.0
	for _, block := range []struct{ n, life float64 }{{2e5, 1e6}, {3e5, 2e6}, {1e5, 4e5}} {
		p0 := p.ReferencePressureMPa * math.Pow(p.ReferenceRevolutions/block.life, 1/p.Exponent)
		d, err := p.Damage(block.n, p0)
		if err != nil {
			t.Fatal(err)
		}
		sum += d
	}
	if math.Abs(sum-0.60) > 1e-12 {
		t.Errorf("Miner sum %v, want 0.60", sum)
	}
}

func TestDamageRefuses(t *testing.T) {
	p := fatigue.DefaultPolicy()
	for _, bad := range [][2]float64{{-1, 1000}, {1, -1000}, {math.NaN(), 1}, {1, math.Inf(1)}, {1e16, 1}, {1, 1e6}} {
		if d, err := p.Damage(bad[0], bad[1]); err == nil || d != 0 {
			t.Errorf("Damage(%v) = %v, %v", bad, d, err)
		}
	}
	if _, err := (fatigue.Policy{}).Damage(1, 1); err == nil {
		t.Error("the zero policy was taken")
	}
}

func TestHardness(t *testing.T) {
	p := fatigue.DefaultPolicy()
	for _, row := range []struct {
		readings []float64
		want     fatigue.Hardness
	}{
		{[]float64{68, 68, 68}, fatigue.Hardness{Within: true}},
		{[]float64{67, 65, 68}, fatigue.Hardness{WorstLossShoreC: 3, Reading: 1, SpreadShoreC: 3, Within: true}},
		{[]float64{67, 68, 64.5}, fatigue.Hardness{WorstLossShoreC: 3.5, Reading: 2, SpreadShoreC: 3.5}},
		{[]float64{72, 66}, fatigue.Hardness{WorstLossShoreC: -4, Reading: 0, SpreadShoreC: 6}}, // work-hardened
	} {
		if got, err := p.Hardness(68, row.readings); err != nil || got != row.want {
			t.Errorf("%v against 68: %+v, %v, want %+v", row.readings, got, err, row.want)
		}
	}
	for _, bad := range [][]float64{nil, {0}, {math.NaN()}, {680}} {
		if _, err := p.Hardness(68, bad); err == nil {
			t.Errorf("readings %v were taken", bad)
		}
	}
	if _, err := p.Hardness(math.NaN(), []float64{68}); err == nil {
		t.Error("no new hardness was taken")
	}
}
