package survival

import "math"

// Step is one fall of the Kaplan–Meier curve.
type Step struct {
	// Age at which at least one roll failed.
	Age float64
	// AtRisk rolls had reached this age unfailed, those censored at it among them.
	AtRisk int
	// Failed rolls at this age.
	Failed int
	// Survival from this age on, up to the next step.
	Survival float64
	// StandardError of Survival by Greenwood's formula; 0 once no roll is left.
	StandardError float64
}

// KaplanMeier computes the product-limit estimate of the survival S(t) of a
// population, without any assumption on the shape of its life distribution:
//
//	S(t) = Π over failure ages aᵢ ≤ t of (1 − dᵢ/nᵢ)
//	se²  = S² · Σ dᵢ / (nᵢ (nᵢ − dᵢ))
//
// with dᵢ failures among nᵢ rolls at risk. Ages are finite and at least 0; any
// unit. Before the first step S is 1; without a failure there is no step, and
// past the greatest age the curve says nothing. A censored life counts as at
// risk at its own age.
//
// Kaplan and Meier, J. Amer. Statist. Assoc. 53 (1958), eq. 2b; Greenwood 1926
// as given there in eq. 2f. Checked against the published curves of two
// textbook samples in kaplanmeier_test.go.
func KaplanMeier(observations []Observation) ([]Step, error) {
	if err := check(observations, true); err != nil {
		return nil, err
	}
	sorted := byAge(observations)
	var steps []Step
	survival, greenwood := 1.0, 0.0
	for i := 0; i < len(sorted); {
		age, atRisk, failed := sorted[i].Value, len(sorted)-i, 0
		for ; i < len(sorted) && sorted[i].Value == age; i++ {
			if sorted[i].Failed {
				failed++
			}
		}
		if failed == 0 {
			continue
		}
		step := Step{Age: age, AtRisk: atRisk, Failed: failed}
		if failed < atRisk {
			survival *= 1 - float64(failed)/float64(atRisk)
			greenwood += float64(failed) / (float64(atRisk) * float64(atRisk-failed))
			step.Survival, step.StandardError = survival, survival*math.Sqrt(greenwood)
		}
		steps = append(steps, step)
	}
	return steps, nil
}
