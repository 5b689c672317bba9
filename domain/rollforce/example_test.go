package rollforce_test

import (
	"fmt"

	"barrelbook/domain/rollforce"
)

// A hot strip pass every rolling engineer has met: 20 to 14 mm on 800 mm
// rolls.
func ExamplePredict() {
	r, err := rollforce.Predict(rollforce.Input{
		Method:           rollforce.Sims,
		EntryThicknessMM: 20, ExitThicknessMM: 14,
		DiameterMM: 800, WidthMM: 1250,
		MeanFlowStressMPa: 130,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f MN over %.1f mm of contact, force factor %.3f\n", r.ForceN/1e6, r.ContactLengthMM, r.ForceFactor)
	// Output: 13.67 MN over 49.0 mm of contact, force factor 1.487
}
