package fatigue_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"barrelbook/domain/contact"
	"barrelbook/domain/fatigue"
)

func kernel(t testing.TB, m float64, shear fatigue.Shear) *fatigue.Kernel {
	t.Helper()
	p := fatigue.DefaultPolicy()
	p.Exponent, p.Shear = m, shear
	k, err := fatigue.NewKernel(p)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// Source: derived from the same formulas by an independent program, three
// figures given.
func TestIntegralOfTheKernel(t *testing.T) {
	for _, row := range []struct {
		shear fatigue.Shear
		want  float64
	}{{fatigue.PrincipalShear, 0.774}, {fatigue.OrthogonalShear, 0.635}} {
		if got := kernel(t, 9, row.shear).Integral(); math.Abs(got-row.want) > 0.0005 {
			t.Errorf("I for m 9, shear %v: %v, want %v", row.shear, got, row.want)
		}
	}
}

// Same source: campaigns on the worst layer for radial stocks, m 9, b 5.33135.
func TestSteadyCampaigns(t *testing.T) {
	k := kernel(t, 9, fatigue.PrincipalShear)
	for _, row := range []struct{ stock, want float64 }{{0.25, 16.51}, {0.5, 8.26}, {1.0, 4.13}} {
		got, err := k.SteadyCampaigns(5.33135, row.stock)
		if err != nil || math.Abs(got-row.want) > 0.005 {
			t.Errorf("stock %v: %v campaigns, %v, want %v", row.stock, got, err, row.want)
		}
	}
}

// The closed forms against McEwen's field: the principal shear on the axis, the
// orthogonal one searched over x. And the textbook peaks, 1 at 0.78615 b and
// 0.5 b (Johnson, Contact Mechanics, from memory).
func TestRatiosAreTheField(t *testing.T) {
	principal, orthogonal := kernel(t, 3, fatigue.PrincipalShear), kernel(t, 3, fatigue.OrthogonalShear)
	at := func(k *fatigue.Kernel, z float64) float64 {
		v, err := k.At(z)
		if err != nil {
			t.Fatal(err)
		}
		return math.Cbrt(v)
	}
	for _, z := range []float64{0, 0.01, 0.1, 0.3, 0.5, 0.78615, 1, 2, 5, 20} {
		sx, sz, _ := contact.Field(0, z)
		if got, want := at(principal, z), math.Abs(sx-sz)/2/0.300283; math.Abs(got-want) > 2e-6 {
			t.Errorf("principal at %v b: %v of the greatest, the field has %v", z, got, want)
		}
		most := 0.0
		for i := range 40_001 {
			_, _, txz := contact.Field(float64(i)/40_000*(2+4*z), z)
			most = max(most, math.Abs(txz))
		}
		// At the surface the search lands beside the singular edge x = b.
		if got, want := at(orthogonal, z), most/0.25; math.Abs(got-want) > 1e-5 {
			t.Errorf("orthogonal at %v b: %v of the greatest, the field has %v", z, got, want)
		}
	}
	if p, o := at(principal, 0.78615), at(orthogonal, 0.5); math.Abs(p-1) > 1e-9 || math.Abs(o-1) > 1e-12 {
		t.Errorf("peaks %v and %v, want 1", p, o)
	}
}

// The table against quadrature of the kernel itself, through
// what a single campaign leaves in a field's layers.
func TestTableMeanOverALayer(t *testing.T) {
	for _, shear := range []fatigue.Shear{fatigue.PrincipalShear, fatigue.OrthogonalShear} {
		for _, m := range []float64{3, 20.0 / 3, 9, 20} {
			k := kernel(t, m, shear)
			f := newField(t, 1, 40, 1.0/8)
			if err := f.Add(k, 1e7, []float64{1500}, []float64{1}); err != nil {
				t.Fatal(err)
			}
			for j, got := range f.Damage {
				top := float64(j) / 8
				want := 8 * quad.Fixed(func(z float64) float64 {
					v, _ := k.At(z)
					return v
				}, top, top+1.0/8, 30, nil, 0)
				if math.Abs(got-want) > 1e-5 {
					t.Errorf("m %v, shear %v, layer %d: mean %v, want %v", m, shear, j, got, want)
				}
			}
		}
	}
}

func TestKernelLiesBetweenNoneAndAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, err := fatigue.NewKernel(fatigue.Policy{
			Exponent: rapid.Float64Range(3, 20).Draw(t, "m"), ReferencePressureMPa: 1500, ReferenceRevolutions: 1e7, DamageLimit: 1,
			Shear: fatigue.Shear(rapid.IntRange(0, 1).Draw(t, "shear")),
		})
		if err != nil {
			t.Fatal(err)
		}
		zeta := math.Pow(10, rapid.Float64Range(-300, 300).Draw(t, "log zeta"))
		if v, err := k.At(zeta); err != nil || !(v >= 0) || v > 1+1e-12 {
			t.Fatalf("K(%v) = %v, %v", zeta, v, err)
		}
	})
}

func TestKernelRefuses(t *testing.T) {
	good := fatigue.DefaultPolicy()
	for name, change := range map[string]func(*fatigue.Policy){
		"exponent":    func(p *fatigue.Policy) { p.Exponent = 1 },
		"pressure":    func(p *fatigue.Policy) { p.ReferencePressureMPa = math.NaN() },
		"revolutions": func(p *fatigue.Policy) { p.ReferenceRevolutions = 0 },
		"shear":       func(p *fatigue.Policy) { p.Shear = 7 },
		"limit":       func(p *fatigue.Policy) { p.DamageLimit = -1 },
		"hardness":    func(p *fatigue.Policy) { p.HardnessToleranceShoreC = -3 },
	} {
		p := good
		change(&p)
		if _, err := fatigue.NewKernel(p); err == nil {
			t.Errorf("%s: %+v was taken", name, p)
		}
	}
	k := kernel(t, 9, fatigue.PrincipalShear)
	for _, bad := range [][2]float64{{0, 1}, {1, 0}, {math.NaN(), 1}, {1e300, 1e-300}} {
		if n, err := k.SteadyCampaigns(bad[0], bad[1]); err == nil || n != 0 {
			t.Errorf("steady campaigns of %v: %v, %v", bad, n, err)
		}
	}
	if _, err := k.At(-1); err == nil {
		t.Error("a depth above the surface was taken")
	}
}
