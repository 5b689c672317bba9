package fatigue_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/fatigue"
)

func newField(t interface {
	Helper()
	Fatal(...any)
}, stations, layers int, layerMM float64) *fatigue.Field {
	t.Helper()
	f, err := fatigue.NewField(stations, layers, layerMM)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// campaigns runs like campaigns, a unit of damage each at the depth of the
// greatest shear, with a grind between, and gives the worst damage.
func campaigns(t interface {
	Helper()
	Fatal(...any)
}, k *fatigue.Kernel, f *fatigue.Field, n int, halfWidth, stock float64) float64 {
	t.Helper()
	p := k.Policy()
	p0, b := []float64{p.ReferencePressureMPa}, []float64{halfWidth}
	for i := range n {
		if i > 0 {
			if err := f.Grind(stock); err != nil {
				t.Fatal(err)
			}
		}
		if err := f.Add(k, p.ReferenceRevolutions, p0, b); err != nil {
			t.Fatal(err)
		}
	}
	return f.Worst().Damage
}

// The field comes by itself to the moving-layer figures derived by an
// independent program: m 9, b 5.33135 mm, campaigns 16.51, 8.26, 4.13.
func TestMovingLayer(t *testing.T) {
	k := kernel(t, 9, fatigue.PrincipalShear)
	for _, row := range []struct{ stock, want float64 }{{0.25, 16.51}, {0.5, 8.26}, {1.0, 4.13}} {
		f := newField(t, 1, fatigue.DefaultLayers, fatigue.LayerFor(5.33135))
		got := campaigns(t, k, f, int(40/row.stock), 5.33135, row.stock)
		if math.Abs(got-row.want) > 0.005 {
			t.Errorf("stock %v: worst layer %v campaigns, want %v", row.stock, got, row.want)
		}
	}
}

// Half the stock, twice the damage, whatever the exponent, shear and sizes; and
// both are what SteadyCampaigns says.
func TestHalvingTheStockDoublesTheDamage(t *testing.T) {
	kernels := []*fatigue.Kernel{
		kernel(t, 9, fatigue.PrincipalShear), kernel(t, 20.0/3, fatigue.PrincipalShear), kernel(t, 20.0/3, fatigue.OrthogonalShear),
	}
	rapid.Check(t, func(t *rapid.T) {
		k := kernels[rapid.IntRange(0, len(kernels)-1).Draw(t, "kernel")]
		b := rapid.Float64Range(0.5, 8).Draw(t, "b")
		stock := b * rapid.Float64Range(0.05, 0.2).Draw(t, "stock/b")
		layer := b / rapid.Float64Range(6, 10).Draw(t, "layers per b")
		worst := func(stock float64) float64 {
			f := newField(t, 1, 60, layer)
			return campaigns(t, k, f, int(14*b/stock), b, stock)
		}
		whole, half := worst(stock), worst(stock/2)
		steady, err := k.SteadyCampaigns(b, stock)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(half/whole-2) > 0.01 || math.Abs(whole/steady-1) > 0.003 || math.Abs(half/steady/2-1) > 0.003 {
			t.Fatalf("b %v, stock %v, layer %v: %v and at half %v, steady %v", b, stock, layer, whole, half, steady)
		}
	})
}

// The peaks in LayerFor's comment, and where the first campaign's worst lies.
func TestFirstCampaign(t *testing.T) {
	for _, row := range []struct{ m, low float64 }{{20.0 / 3, 0.99}, {9, 0.98}} {
		k := kernel(t, row.m, fatigue.PrincipalShear)
		f := newField(t, 1, fatigue.DefaultLayers, fatigue.LayerFor(5))
		got := campaigns(t, k, f, 1, 5, 0)
		w := f.Worst()
		if got < row.low || got > 1 || math.Abs(w.DepthMM-0.78615*5) > 5.0/16 {
			t.Errorf("m %v: worst %+v, want %v to 1 near %v mm", row.m, w, row.low, 0.78615*5)
		}
	}
}

type ops struct {
	k        *fatigue.Kernel
	stations int
	halfMax  float64
}

func (o ops) load(t *rapid.T) (revs float64, p0, b []float64) {
	revs = rapid.Float64Range(0, 1e6).Draw(t, "revolutions")
	p0, b = make([]float64, o.stations), make([]float64, o.stations)
	for i := range p0 {
		if rapid.IntRange(0, 4).Draw(t, "parted") == 0 {
			continue
		}
		p0[i] = rapid.Float64Range(1, 3000).Draw(t, "p0")
		b[i] = rapid.Float64Range(0.05, o.halfMax).Draw(t, "b")
	}
	return revs, p0, b
}

// Over any history: damage is never negative nor lost but by grinding, more
// revolutions never lower it, a grind never raises the worst, and two halves of
// a load are the whole.
func TestHistories(t *testing.T) {
	k := kernel(t, 20.0/3, fatigue.PrincipalShear)
	rapid.Check(t, func(t *rapid.T) {
		o := ops{k: k, stations: 3, halfMax: 8}
		f := newField(t, 3, 40, rapid.Float64Range(0.4, 1).Draw(t, "layer"))
		for range rapid.IntRange(1, 12).Draw(t, "events") {
			before := f.Clone()
			if rapid.Bool().Draw(t, "grind") {
				stock := rapid.Float64Range(0, 50).Draw(t, "stock")
				if rapid.Bool().Draw(t, "small") {
					stock /= 100
				}
				if err := f.Grind(stock); err != nil {
					t.Fatal(err)
				}
				if got, had := f.Worst().Damage, before.Worst().Damage; got > had {
					t.Fatalf("grind %v raised the worst from %v to %v", stock, had, got)
				}
			} else {
				revs, p0, b := o.load(t)
				halves := f.Clone()
				for _, err := range []error{f.Add(k, revs, p0, b), halves.Add(k, revs/2, p0, b), halves.Add(k, revs/2, p0, b)} {
					if err != nil {
						t.Fatal(err)
					}
				}
				for i, d := range f.Damage {
					if d < before.Damage[i] {
						t.Fatalf("revolutions lowered %d from %v to %v", i, before.Damage[i], d)
					}
					if math.Abs(d-halves.Damage[i]) > 1e-12*d+1e-300 { // below that, floats run out of digits
						t.Fatalf("place %d: whole %v, halves %v", i, d, halves.Damage[i])
					}
				}
			}
			if err := f.Check(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// A grind leaves the same in every layer whether it was made at once or in
// parts: nothing is smeared, and 0.3 mm is three layers of 0.1 mm although in
// floats 0.3/0.1 falls short of 3.
func TestGrindsAdd(t *testing.T) {
	k := kernel(t, 9, fatigue.PrincipalShear)
	once, parts := newField(t, 1, 60, 0.1), newField(t, 1, 60, 0.1)
	campaigns(t, k, once, 3, 1, 0.1)
	campaigns(t, k, parts, 3, 1, 0.1)
	if err := once.Grind(0.3); err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if err := parts.Grind(0.1); err != nil {
			t.Fatal(err)
		}
	}
	if math.Abs(once.OffMM-parts.OffMM) > 1e-9 {
		t.Fatalf("surfaces at %v and %v", once.OffMM, parts.OffMM)
	}
	// The last three layers were filled from below the field, in other steps.
	for i := range 57 {
		if once.Damage[i] != parts.Damage[i] {
			t.Errorf("layer %d: %v at once, %v in parts", i, once.Damage[i], parts.Damage[i])
		}
	}
}

// What a shallow field makes up below its lowest layer, against a field deep
// enough to have kept it: never below the truth, and 0.2 % of the worst above.
func TestBelowTheField(t *testing.T) {
	k := kernel(t, 20.0/3, fatigue.PrincipalShear)
	shallow, deep := newField(t, 1, fatigue.DefaultLayers, 0.625), newField(t, 1, 400, 0.625)
	worst := campaigns(t, k, shallow, 150, 5, 0.5)
	campaigns(t, k, deep, 150, 5, 0.5)
	for j := range fatigue.DefaultLayers {
		excess := (shallow.Damage[j] - deep.Damage[j]) / worst
		if excess < -1e-9 || excess > 0.002 {
			t.Errorf("layer %d: %v in the shallow field, %v in the deep one, worst %v", j, shallow.Damage[j], deep.Damage[j], worst)
		}
	}
}

// The stock advised is enough, and a layer less is not.
func TestStockToRemove(t *testing.T) {
	k := kernel(t, 9, fatigue.PrincipalShear)
	rapid.Check(t, func(t *rapid.T) {
		o := ops{k: k, stations: 3, halfMax: 5}
		f := newField(t, 3, 40, 0.5)
		for range rapid.IntRange(1, 4).Draw(t, "loads") {
			revs, p0, b := o.load(t)
			if err := f.Add(k, revs, p0, b); err != nil {
				t.Fatal(err)
			}
			if err := f.Grind(rapid.Float64Range(0, 1).Draw(t, "stock")); err != nil {
				t.Fatal(err)
			}
		}
		worst := f.Worst().Damage
		if worst == 0 {
			return
		}
		limit := worst * rapid.Float64Range(0.01, 1.5).Draw(t, "limit")
		stock, err := f.StockToRemove(limit)
		if err != nil {
			t.Fatal(err)
		}
		if (stock.RadialMM == 0) != (worst <= limit) {
			t.Fatalf("stock %+v for worst %v, limit %v", stock, worst, limit)
		}
		if stock.RadialMM == 0 || stock.Beyond {
			return
		}
		less := f.Clone()
		for _, err := range []error{f.Grind(stock.RadialMM), less.Grind(stock.RadialMM * (1 - 1e-6))} {
			if err != nil {
				t.Fatal(err)
			}
		}
		if f.Worst().Damage > limit || less.Worst().Damage <= limit {
			t.Fatalf("stock %+v leaves %v, a hair less %v, limit %v", stock, f.Worst().Damage, less.Worst().Damage, limit)
		}
	})
	deep := newField(t, 1, 10, 0.5)
	campaigns(t, k, deep, 1, 2.5, 0)
	if stock, err := deep.StockToRemove(1e-6); err != nil || !stock.Beyond || stock.RadialMM != 5 {
		t.Errorf("damage below the field: %+v, %v, want 5 mm and beyond", stock, err)
	}
}

// Damage is kept where it was made: the loaded station is the worst, the next
// one has none.
func TestAlongTheBarrel(t *testing.T) {
	k := kernel(t, 9, fatigue.PrincipalShear)
	f := newField(t, 41, 40, 0.5)
	p0, b := make([]float64, 41), make([]float64, 41)
	p0[33], b[33] = 1400, 4
	if err := f.Add(k, 1e6, p0, b); err != nil {
		t.Fatal(err)
	}
	if w := f.Worst(); w.Station != 33 || w != f.WorstAt(33) || f.WorstAt(32).Damage != 0 {
		t.Errorf("worst %+v, beside it %+v", w, f.WorstAt(32))
	}
	if w := newField(t, 5, 40, 0.5).Worst(); w != (fatigue.Layer{DepthMM: 0.25}) {
		t.Errorf("worst of a new roll %+v", w)
	}
}

func TestFieldRefuses(t *testing.T) {
	k := kernel(t, 9, fatigue.PrincipalShear)
	f := newField(t, 2, 40, 0.5)
	nan := math.NaN()
	p0, b := []float64{1000, 1000}, []float64{4, 4}
	for name, err := range map[string]error{
		"negative revolutions":      f.Add(k, -1, p0, b),
		"revolutions not a number":  f.Add(k, nan, p0, b),
		"another number of values":  f.Add(k, 1, p0[:1], b),
		"pressure not a number":     f.Add(k, 1, []float64{1000, nan}, b),
		"pressure without contact":  f.Add(k, 1, p0, []float64{4, 0}),
		"contact wider than field":  f.Add(k, 1, p0, []float64{4, 10.1}),
		"negative stock":            f.Grind(-0.1),
		"stock not a number":        f.Grind(nan),
		"no limit":                  third(f.StockToRemove(0)),
		"a field of nothing, load":  (&fatigue.Field{}).Add(k, 1, nil, nil),
		"a field of nothing, grind": (&fatigue.Field{}).Grind(1),
		"a field cut short":         (&fatigue.Field{Stations: 2, Layers: 4, LayerMM: 1, Damage: make([]float64, 7)}).Check(),
		"a negative damage":         (&fatigue.Field{Stations: 1, Layers: 4, LayerMM: 1, Damage: []float64{0, -1, 0, 0}}).Check(),
		"a surface off its layer":   (&fatigue.Field{Stations: 1, Layers: 4, LayerMM: 1, OffMM: 1, Damage: make([]float64, 4)}).Check(),
		"too few layers":            third(fatigue.NewField(41, 1, 0.5)),
		"no thickness":              third(fatigue.NewField(41, 40, 0)),
	} {
		if err == nil {
			t.Errorf("%s was taken", name)
		}
	}
	if slices.Max(f.Damage) != 0 || f.OffMM != 0 {
		t.Errorf("a refusal left something: %+v", f)
	}
}

func third[T any](_ T, err error) error { return err }

func TestAddAllocatesNothing(t *testing.T) {
	k, f, p0, b := benchLoad(t)
	if n := testing.AllocsPerRun(20, func() {
		if f.Add(k, 800, p0, b) != nil || f.Grind(0.001) != nil {
			t.Fatal("refused")
		}
	}); n != 0 {
		t.Errorf("%v allocations per piece and grind", n)
	}
}
