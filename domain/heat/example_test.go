package heat_test

import (
	"fmt"

	"barrelbook/domain/heat"
)

// A work roll comes out at 65 °C into a shop at 20 °C. How long in still air
// until it may be ground, and what does a measurement on the way mean?
func ExampleMinutesUntil() {
	roll := heat.Cylinder{DiameterMM: 700, ConductivityWPerMK: 30, DensityKgPerM3: 7600, SpecificHeatJPerKgK: 500,
		SurfaceCoefficientWPerM2K: 20, ExpansionPerK: 12e-6, StartC: 65, AmbientC: 20}
	minutes, err := heat.MinutesUntil(roll, heat.Mean, 5)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("within 5 K after %.1f hours\n", minutes/60)
	cold, err := heat.ColdDiameter(700_378, 12e-6, 65, 20)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("700.378 mm at 65 °C is", cold, "at 20 °C")
	// Output:
	// within 5 K after 21.5 hours
	// 700.378 mm at 65 °C is 700.000 mm at 20 °C
}
