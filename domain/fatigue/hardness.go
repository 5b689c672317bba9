package fatigue

import (
	"fmt"
	"math"

	"barrelbook/domain/refusal"
)

// Hardness is what readings along a barrel say against the hardness when new.
type Hardness struct {
	// WorstLossShoreC is new less the reading that is farthest from new:
	// above 0 softened, below 0 work-hardened. Both are fatigued metal.
	WorstLossShoreC float64
	// Reading is the index of that reading.
	Reading int
	// SpreadShoreC is the highest less the lowest reading.
	SpreadShoreC float64
	// Within is true when no reading is farther from new than the policy's
	// tolerance. Otherwise grind further and read again: depth is not known
	// from a surface reading.
	Within bool
}

// Hardness judges Shore C readings of a ground barrel, each 1 to 120, against
// the hardness when new. Common practice, no source: a backup roll is ground
// until it is within 2 to 3 Shore C of new.
func (p Policy) Hardness(newShoreC float64, readingsShoreC []float64) (Hardness, error) {
	var c refusal.Check
	p.check(&c)
	c.Within("new_hardness_shore_c", newShoreC, 1, 120)
	if len(readingsShoreC) == 0 {
		c.Add("hardness_shore_c", "", "must have at least one reading", "")
	}
	var h Hardness
	low, high := math.Inf(1), math.Inf(-1)
	for i, r := range readingsShoreC {
		c.Within(fmt.Sprintf("hardness_shore_c/%d", i), r, 1, 120)
		if loss := newShoreC - r; math.Abs(loss) > math.Abs(h.WorstLossShoreC) {
			h.WorstLossShoreC, h.Reading = loss, i
		}
		low, high = min(low, r), max(high, r)
	}
	if err := c.Err(); err != nil {
		return Hardness{}, err
	}
	h.SpreadShoreC = high - low
	h.Within = math.Abs(h.WorstLossShoreC) <= p.HardnessToleranceShoreC
	return h, nil
}
