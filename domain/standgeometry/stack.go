package standgeometry

import (
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// PassLineShimMM is the shim under the bottom backup chocks that brings the
// top of the bottom work roll back to the pass line the reference diameters
// give,
//
//	S = (D_b,ref − D_b)/2 + (D_w,ref − D_w)
//
// in mm: half the backup's loss, as its centre stays where it is, and the
// work roll's whole diameter, as it lies on top. Negative means a shim thinner
// than the reference one. An odd micrometre halves to 0.0005 mm, hence float64.
// For a two-high stand give its bottom roll as the backup roll and any one
// diameter twice for the work roll: its centre lies in its chocks too.
// Diameters above 0 and at most the longest length of record.
func PassLineShimMM(backupReference, backup, workReference, work quantity.Micrometre) (float64, error) {
	var c refusal.Check
	diameter(&c, "backup_reference_mm", backupReference)
	diameter(&c, "backup_diameter_mm", backup)
	diameter(&c, "work_reference_mm", workReference)
	diameter(&c, "work_diameter_mm", work)
	if err := c.Err(); err != nil {
		return 0, err
	}
	return float64((backupReference-backup)+2*(workReference-work)) / 2000, nil
}

// Stack is how the rolls of a stand, one on the other, fill its window.
type Stack struct {
	Height quantity.Micrometre
	// Short is how much is missing to the least height, Over how much is too
	// much for the greatest; both 0 when Fits.
	Short, Over quantity.Micrometre
	Fits        bool
}

// StackHeight adds the diameters of all rolls in the stand, two or four (or
// more in a cluster), and compares with the window's least and greatest
// height, both ends included. 0 < least ≤ greatest.
func StackHeight(diameters []quantity.Micrometre, least, greatest quantity.Micrometre) (Stack, error) {
	var c refusal.Check
	if len(diameters) < 2 {
		c.Add("diameters", "", "must hold at least two rolls", "")
	}
	var s Stack
	for i, d := range diameters {
		diameter(&c, indexed("diameters", i), d)
		s.Height += d
	}
	if least <= 0 || least > greatest {
		c.Add("window", least.String()+" to "+greatest.String(), "must run from above 0 upwards", "")
	}
	if err := c.Err(); err != nil {
		return Stack{}, err
	}
	s.Short, s.Over = max(0, least-s.Height), max(0, s.Height-greatest)
	s.Fits = s.Short == 0 && s.Over == 0
	return s, nil
}
