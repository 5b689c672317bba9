package fatigue_test

import (
	"fmt"

	"barrelbook/domain/fatigue"
)

// A backup roll under 1264 MPa with a half-width of 5.33 mm for 850 000
// revolutions a campaign. Grinding half as deep ends at twice the damage.
func Example() {
	kernel, err := fatigue.NewKernel(fatigue.DefaultPolicy())
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, stock := range []float64{1.0, 0.5} {
		field, _ := fatigue.NewField(1, fatigue.DefaultLayers, fatigue.LayerFor(5.33))
		for range 60 {
			_ = field.Grind(stock)
			_ = field.Add(kernel, 850_000, []float64{1264}, []float64{5.33})
		}
		fmt.Printf("%.1f mm on radius a campaign: worst layer at %.3f of its life\n", stock, field.Worst().Damage)
	}
	// Output:
	// 1.0 mm on radius a campaign: worst layer at 0.135 of its life
	// 0.5 mm on radius a campaign: worst layer at 0.269 of its life
}
