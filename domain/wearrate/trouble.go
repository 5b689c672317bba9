package wearrate

import (
	"fmt"
	"math"
)

// Says tells what a stand's trouble is and what to do about it.
func (t *Trouble) Says(stand string) string {
	percent := func(f float64) float64 { return math.Abs(100 * (f - 1)) }
	campaigns := fmt.Sprintf("%d campaigns", t.Campaigns)
	if t.Campaigns == 1 {
		campaigns = "1 campaign"
	}
	if t.Factor < 1 {
		return fmt.Sprintf("%s has worn %.0f %% less for %s (90 %% sure of %.0f to %.0f %%): see what has changed, and keep it", stand, percent(t.Factor), campaigns, percent(t.High), percent(t.Low))
	}
	return fmt.Sprintf("%s has worn %.0f %% more for %s (90 %% sure of %.0f to %.0f %%): look at its cooling", stand, percent(t.Factor), campaigns, percent(t.Low), percent(t.High))
}

// TroubleAt is that of a stand, nil where there is none: the same for all grades.
func (r Rates) TroubleAt(stand string) *Trouble {
	for i := range r.Cells {
		if c := &r.Cells[i]; c.Stand == stand && c.Trouble != nil {
			return c.Trouble
		}
	}
	return nil
}
