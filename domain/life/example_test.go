package life_test

import (
	"fmt"

	"barrelbook/domain/life"
)

// A finishing work roll at 712.4 mm. The stack of its stand is what limits it,
// not the nominal scrap diameter of its type.
func Example() {
	limit, err := life.ScrapLimit([]life.Limit{
		{Name: life.NominalScrap, Diameter: 675_000},
		{Name: life.ShellDepth, Diameter: 662_000},
		{Name: life.StackHeight, Diameter: 680_000},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := life.Remaining(life.Input{
		StockMM:          712.4 - limit.Diameter.MM(),
		Wear:             life.Spread{Mean: 0.25, CV: 0.3},
		FixedAllowanceMM: 0.1,
		Incident:         life.Incident{Probability: 0.04, MinimumMM: 0.5, MeanExcessMM: 1.2},
		Tonnes:           life.Spread{Mean: 3000, CV: 0.2},
	}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("limited by %s at %s\n", limit.Name, limit.Diameter)
	fmt.Printf("campaigns %.0f to %.0f, likely %.0f\n", r.Campaigns.P10, r.Campaigns.P90, r.Campaigns.P50)
	// Output:
	// limited by stack height at 680.000 mm
	// campaigns 67 to 89, likely 79
}
