package rollforce_test

import (
	"math"
	"testing"

	"barrelbook/domain/rollforce"
)

func BenchmarkPredict(b *testing.B) {
	for _, method := range []rollforce.Method{rollforce.Sims, rollforce.Ekelund, rollforce.BlandFord} {
		for _, flatten := range []bool{false, true} {
			name := string(method) + "/rigid"
			if flatten {
				name = string(method) + "/flattened"
			}
			b.Run(name, func(b *testing.B) {
				in := pass(2, 1.4, 250, 1250)
				in.Method, in.Flatten, in.MeanFlowStressMPa, in.Friction = method, flatten, 300, 0.08
				in.TemperatureC, in.SpeedMPerS, in.RollSurface = 950, 5, rollforce.IronSurface
				for b.Loop() {
					if _, err := rollforce.Predict(in); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
	// The bare formula, as a baseline for what the checks and the result cost.
	b.Run("baseline/sims formula only", func(b *testing.B) {
		h2, r, radius, sum := 1.4, 0.3, 250.0, 0.0
		for b.Loop() {
			t := math.Tan((math.Atan(math.Sqrt(r/(1-r))) + math.Pi/4*math.Sqrt(h2/radius)*math.Log(1-r)) / 2)
			sum += math.Pi/2*math.Sqrt((1-r)/r)*math.Atan(math.Sqrt(r/(1-r))) - math.Pi/4 -
				math.Sqrt((1-r)/r)*math.Sqrt(radius/h2)*(math.Log(1+t*t)-0.5*math.Log(1/(1-r)))
		}
		_ = sum
	})
}

func BenchmarkNoFlattenedRadius(b *testing.B) {
	in := pass(0.08, 0.05, 300, 1000)
	in.Method, in.MeanFlowStressMPa, in.Friction, in.Flatten = rollforce.BlandFord, 900, 0.1, true
	for b.Loop() {
		if _, err := rollforce.Predict(in); err == nil {
			b.Fatal("want no flattened radius")
		}
	}
}
