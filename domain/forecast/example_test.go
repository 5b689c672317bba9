package forecast_test

import (
	"fmt"

	"barrelbook/domain/forecast"
)

// A work roll has rolled 1500 t; 4000 t and 400 µm of wear are allowed, and the
// shop changed such rolls after 2000 to 2600 t so far.
func ExampleNextChange() {
	c, _ := forecast.NextChange(forecast.ChangeInput{In: true, Now: june, UsedT: 1500, WearUM: 100, MaxT: 4000, MaxWearUM: 400, KMPerT: 0.03, WearUMPerT: 0.2,
		PastT: []float64{2000, 2200, 2400, 2600}, PerDay: forecast.Estimate{Mean: 3000}})
	fmt.Printf("%.0f t more (%.0f to %.0f), %.0f km, by %s, about %s\n", c.TonnageT.P50, c.TonnageT.P10, c.TonnageT.P90, c.RolledKM.P50, c.Limit, c.At.P50.Format("15:04"))
	// Output: 700 t more (500 to 1100), 21 km, by habit, about 11:36
}
