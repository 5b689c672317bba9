package fatigue_test

import (
	"math"
	"testing"

	"barrelbook/domain/fatigue"
)

func benchLoad(t testing.TB) (*fatigue.Kernel, *fatigue.Field, []float64, []float64) {
	t.Helper()
	p0, b := make([]float64, 41), make([]float64, 41)
	for i := range p0 {
		x := float64(i-20) / 20
		p0[i], b[i] = 1264*(1.05-0.1*x*x), 5.33*(1.05-0.1*x*x)
	}
	return kernel(t, 20.0/3, fatigue.PrincipalShear), newField(t, 41, fatigue.DefaultLayers, fatigue.LayerFor(5.33)), p0, b
}

func BenchmarkAdd(bench *testing.B) {
	k, f, p0, b := benchLoad(bench)
	bench.ReportAllocs()
	for bench.Loop() {
		if err := f.Add(k, 800, p0, b); err != nil {
			bench.Fatal(err)
		}
	}
}

// The baseline: the power of the shear evaluated in the middle of each layer.
func BenchmarkAddBaselinePower(bench *testing.B) {
	k, f, p0, b := benchLoad(bench)
	p := k.Policy()
	for bench.Loop() {
		for i := range p0 {
			share := 800 * math.Pow(p0[i]/p.ReferencePressureMPa, p.Exponent) / p.ReferenceRevolutions
			for j := range f.Layers {
				z := (float64(j) + 0.5) * f.LayerMM / b[i]
				f.Damage[i*f.Layers+j] += share * math.Pow((z-z*z/math.Sqrt(1+z*z))/0.300283, p.Exponent)
			}
		}
	}
}

func BenchmarkGrind(bench *testing.B) {
	_, f, _, _ := benchLoad(bench)
	for bench.Loop() {
		if err := f.Grind(0.25); err != nil {
			bench.Fatal(err)
		}
	}
}

func BenchmarkWorst(bench *testing.B) {
	k, f, p0, b := benchLoad(bench)
	if err := f.Add(k, 800, p0, b); err != nil {
		bench.Fatal(err)
	}
	for bench.Loop() {
		if f.Worst().Damage == 0 {
			bench.Fatal("nothing")
		}
	}
}

func BenchmarkNewKernel(bench *testing.B) {
	for bench.Loop() {
		if _, err := fatigue.NewKernel(fatigue.DefaultPolicy()); err != nil {
			bench.Fatal(err)
		}
	}
}
