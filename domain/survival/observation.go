// Package survival reads lives of rolls of which many are not over yet: rolls
// still in use, rolls scrapped for another reason than the one studied, changes
// that were planned. Such a life is right-censored: it lasted at least so long.
// Leaving them out makes rolls look worse than they are.
package survival

import (
	"fmt"
	"slices"

	"barrelbook/domain/refusal"
)

// Observation is one roll's life, in any unit that grows with use: campaigns,
// tonnes, kilometres, millimetres of stock, months.
type Observation struct {
	// Value is the age at failure, or the age reached so far.
	Value float64
	// Failed is false for a right-censored life.
	Failed bool
}

// check refuses observations that are not ages. The Weibull density of an age
// of 0 is 0 or infinite, so 0 is refused there and taken by KaplanMeier.
func check(observations []Observation, zeroAllowed bool) error {
	var c refusal.Check
	if len(observations) == 0 {
		c.Add("observations", "", "must hold at least one life", "")
	}
	for i, o := range observations {
		path := fmt.Sprintf("observations/%d/value", i)
		if zeroAllowed {
			c.NotNegative(path, o.Value)
		} else {
			c.Positive(path, o.Value)
		}
	}
	return c.Err()
}

// byAge gives the observations in order of age, failures before censored lives
// of the same age: a roll censored at t was still at risk at t, the usual
// convention (Kaplan and Meier 1958, section 2).
func byAge(observations []Observation) []Observation {
	sorted := slices.Clone(observations)
	slices.SortStableFunc(sorted, func(a, b Observation) int {
		switch {
		case a.Value < b.Value:
			return -1
		case a.Value > b.Value:
			return 1
		case a.Failed == b.Failed:
			return 0
		case a.Failed:
			return -1
		}
		return 1
	})
	return sorted
}
