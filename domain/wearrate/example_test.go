package wearrate_test

import (
	"fmt"

	"barrelbook/domain/wearrate"
)

// Two rolls of a stand. The third regrind of the first took out a bruise of a
// millimetre; its rate stays what the other campaigns say.
func Example() {
	at := wearrate.Cell{Grade: "high speed steel", Stand: "F2"}
	past := []wearrate.Run{
		{Roll: "R-101", Cell: at, RolledKM: 62, SpecificForceKNPerMM: 11, WearUM: 205},
		{Roll: "R-101", Cell: at, RolledKM: 75, SpecificForceKNPerMM: 10, WearUM: 228},
		{Roll: "R-101", Cell: at, RolledKM: 58, SpecificForceKNPerMM: 11, WearUM: 1190},
		{Roll: "R-101", Cell: at, RolledKM: 70, SpecificForceKNPerMM: 12, WearUM: 249},
		{Roll: "R-102", Cell: at, RolledKM: 62, SpecificForceKNPerMM: 11, WearUM: 236},
		{Roll: "R-102", Cell: at, RolledKM: 75, SpecificForceKNPerMM: 10, WearUM: 254},
	}
	rates, err := wearrate.Learn(past, wearrate.StandardDefaults(), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range rates.Rolls {
		fmt.Printf("%s %.2f ± %.2f µm/km at 10 kN/mm\n", r.Roll, r.RateUMPerKM, r.RateSD)
	}
	next, err := rates.Predict(wearrate.Next{Roll: "R-101", Cell: at, RolledKM: 80, SpecificForceKNPerMM: 11})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("next: %.0f µm, %.0f to %.0f, from the %s\n", next.WearUM, next.Low90UM, next.High90UM, next.Source)
	// Output:
	// R-101 3.02 ± 0.06 µm/km at 10 kN/mm
	// R-102 3.39 ± 0.08 µm/km at 10 kN/mm
	// next: 265 µm, 249 to 282, from the roll
}
