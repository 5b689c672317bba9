package survival_test

import (
	"fmt"

	"barrelbook/domain/survival"
)

// Six rolls of a grade were scrapped at the limit after so many campaigns; four
// are still in use and count as "at least so long".
func Example() {
	lives := []survival.Observation{
		{Value: 61, Failed: true}, {Value: 74, Failed: true}, {Value: 78, Failed: true},
		{Value: 83, Failed: true}, {Value: 90, Failed: true}, {Value: 97, Failed: true},
		{Value: 40}, {Value: 66}, {Value: 85}, {Value: 92},
	}
	fit, err := survival.FitWeibull(lives, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	more, err := fit.Survival(66, 10)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("shape %.2f, scale %.1f campaigns\n", fit.Shape, fit.Scale)
	fmt.Printf("a roll with 66 behind it lasts 10 more: %.0f %%\n", 100*more)
	// Output:
	// shape 8.48, scale 89.7 campaigns
	// a roll with 66 behind it lasts 10 more: 84 %
}
