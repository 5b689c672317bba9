package score

import (
	"fmt"
	"math"

	"barrelbook/domain/refusal"
)

// Chance is one probability that was given and whether it came true.
type Chance struct {
	Probability float64
	Happened    bool
}

// ChanceScore is how well probabilities did.
type ChanceScore struct {
	Count int
	// Brier is the mean of (probability − outcome)², 0 at best; always answering
	// one half gives 0.25. BaseRate is how often it happened; BrierOfBaseRate
	// what answering that every time would have scored.
	Brier, BaseRate, BrierOfBaseRate float64
	// ECE is how far what was said lies off what came, over the tenths: the mean of
	// |said − came| weighted by their counts. Slope is that of the log odds of what came
	// on those said: below 1 where answers are too sure; 1 with nothing to tell it by.
	ECE, Slope float64
	Tenths     [10]Tenth
}

// Tenth is the forecasts that lay in one tenth of the scale: from included, to
// left out, except 1 itself, which is in the last.
type Tenth struct {
	From, To        float64
	Count, Happened int
	MeanProbability float64 // 0 where there is none
	// Low and High are the 95 % limits of how often it happens: forecasts are
	// reliable as far as MeanProbability lies between them.
	Low, High float64
}

// Chances scores probabilities.
//
//	Brier = mean((p − o)²),  o 1 where it happened and 0 where not
//
// Probabilities lie in 0 … 1; n may be 0. Brier, Monthly Weather Review 78
// (1950), here for one event and so half of the original's; reliability by tenths
// as in Murphy and Winkler, Applied Statistics 26 (1977), both quoted from memory.
func Chances(list []Chance) (ChanceScore, error) {
	s := ChanceScore{Count: len(list)}
	for i := range s.Tenths {
		s.Tenths[i] = Tenth{From: float64(i) / 10, To: float64(i+1) / 10}
	}
	var c refusal.Check
	for i, f := range list {
		if !c.Within(fmt.Sprintf("forecasts/%d/probability", i), f.Probability, 0, 1) {
			continue
		}
		t := &s.Tenths[min(9, int(f.Probability*10))]
		outcome := 0.0
		if f.Happened {
			outcome = 1
			t.Happened++
		}
		t.Count++
		t.MeanProbability += f.Probability
		s.Brier += (f.Probability - outcome) * (f.Probability - outcome)
		s.BaseRate += outcome
	}
	if err := c.Err(); err != nil {
		return s, err
	}
	s.Slope = Recalibrate(list).Slope
	for i := range s.Tenths {
		t := &s.Tenths[i]
		s.ECE += math.Abs(t.MeanProbability-float64(t.Happened)) / max(1, float64(len(list)))
		if t.Count > 0 {
			t.MeanProbability /= float64(t.Count)
		}
		t.Low, t.High = Binomial(t.Happened, t.Count)
	}
	if n := float64(len(list)); n > 0 {
		s.Brier, s.BaseRate = s.Brier/n, s.BaseRate/n
		s.BrierOfBaseRate = s.BaseRate * (1 - s.BaseRate)
	}
	return s, nil
}
