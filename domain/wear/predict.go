package wear

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"barrelbook/domain/refusal"
)

// Belief is what is known of the wear rate of a roll at a stand.
type Belief struct {
	// RateUmPerKm is the mean of κ, µm on diameter per km at 10 kN/mm.
	RateUmPerKm float64
	// RateSD is the standard deviation of κ: how well this roll is known.
	RateSD float64
	// NoiseUM is the standard deviation σ of one campaign's measured wear
	// about κ·x: two diameter readings, and what the model leaves out.
	NoiseUM float64
}

// Prediction is a wear with the interval in which it is expected.
type Prediction struct{ WearUM, LowUM, HighUM float64 }

// Predict is the wear that will be found after an exposure x, with the central
// interval of the given coverage (0.90 is usual):
//
//	κ·x ± z·√(σ² + x²·var κ),   z the normal quantile (1.6449 at 0.90)
//
// The uncertainty of κ is one for all pieces of a campaign, so it grows with x
// and does not average out over pieces. The low end stops at 0: wear adds no
// metal. Coverage must lie in [0.01, 0.999999].
func (b Belief) Predict(exposureKM, coverage float64) (Prediction, error) {
	var c refusal.Check
	c.NotNegative("rate_um_per_km", b.RateUmPerKm)
	c.NotNegative("rate_sd", b.RateSD)
	c.NotNegative("noise_um", b.NoiseUM)
	c.NotNegative("exposure_km", exposureKM)
	c.Within("coverage", coverage, 0.01, 0.999999)
	if err := c.Err(); err != nil {
		return Prediction{}, err
	}
	mean := b.RateUmPerKm * exposureKM
	half := distuv.UnitNormal.Quantile((1+coverage)/2) * math.Hypot(b.NoiseUM, exposureKM*b.RateSD)
	high, err := finite("exposure_km", exposureKM, mean+half)
	if err != nil {
		return Prediction{}, err
	}
	return Prediction{WearUM: mean, LowUM: max(0, mean-half), HighUM: high}, nil
}
