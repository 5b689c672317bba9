package survival_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/refusal"
	"barrelbook/domain/survival"
)

func TestKaplanMeierAgainstPublishedCurves(t *testing.T) {
	for _, c := range []struct {
		name     string
		sample   []survival.Observation
		ages     []float64
		survival []float64
	}{
		// Bewick, Cheek and Ball, Critical Care 8 (2004) 389, "Statistics
		// review 12" (published, seen); three decimals.
		{"eight patients", append(failed(1, 1, 4, 5, 9, 22), alive(6, 9)...),
			[]float64{1, 4, 5, 9, 22}, []float64{0.750, 0.625, 0.500, 0.333, 0}},
		// Freireich et al., Blood 21 (1963) 699, remission in weeks on 6-MP, the
		// sample of every textbook on survival (quoted from memory); three decimals.
		{"twenty-one patients", append(failed(6, 6, 6, 7, 10, 13, 16, 22, 23),
			alive(6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)...),
			[]float64{6, 7, 10, 13, 16, 22, 23}, []float64{0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448}},
		// Embury et al., West. J. Med. 126 (1977) 265, weeks in remission of the
		// maintained arm (quoted from memory); five decimals.
		{"eleven patients", append(failed(9, 13, 18, 23, 31, 34, 48), alive(13, 28, 45, 161)...),
			[]float64{9, 13, 18, 23, 31, 34, 48}, []float64{.90909, .81818, .71591, .61364, .49091, .36818, .18409}},
	} {
		t.Run(c.name, func(t *testing.T) {
			steps, err := survival.KaplanMeier(c.sample)
			if err != nil {
				t.Fatal(err)
			}
			if len(steps) != len(c.ages) {
				t.Fatalf("got %d steps %+v, want %d", len(steps), steps, len(c.ages))
			}
			for i, s := range steps {
				if s.Age != c.ages[i] {
					t.Errorf("step %d at age %v, want %v", i, s.Age, c.ages[i])
				}
				within(t, "survival", s.Survival, c.survival[i], 0.0005)
			}
		})
	}
}

func TestKaplanMeierWithoutCensoringIsTheShareLeft(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ages := rapid.SliceOfN(rapid.IntRange(0, 20), 1, 60).Draw(t, "ages")
		var sample []survival.Observation
		for _, a := range ages {
			sample = append(sample, survival.Observation{Value: float64(a), Failed: true})
		}
		steps, err := survival.KaplanMeier(sample)
		if err != nil {
			t.Fatal(err)
		}
		n := float64(len(ages))
		for _, s := range steps {
			left := 0.0
			for _, a := range ages {
				if float64(a) > s.Age {
					left++
				}
			}
			share := left / n
			// Greenwood's variance is the binomial one when nothing is censored.
			if math.Abs(s.Survival-share) > 1e-12 || math.Abs(s.StandardError-math.Sqrt(share*(1-share)/n)) > 1e-12 {
				t.Fatalf("at %v: %+v, want survival %v; ages %v", s.Age, s, share, ages)
			}
		}
	})
}

func TestKaplanMeierEdges(t *testing.T) {
	steps, err := survival.KaplanMeier(alive(3, 4))
	if err != nil || len(steps) != 0 {
		t.Errorf("without a failure: %v, %v; want no step", steps, err)
	}
	steps, err = survival.KaplanMeier(failed(0, 5))
	if err != nil || len(steps) != 2 || steps[0].Survival != 0.5 {
		t.Errorf("failed on arrival: %+v, %v", steps, err)
	}
	if _, err = survival.KaplanMeier(nil); refusal.FieldsOf(err) == nil {
		t.Errorf("no lives: %v", err)
	}
	if _, err = survival.KaplanMeier(failed(-1)); refusal.FieldsOf(err) == nil {
		t.Errorf("negative age: %v", err)
	}
}
