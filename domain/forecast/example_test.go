package forecast_test

import (
	"fmt"

	"barrelbook/domain/duty"
	"barrelbook/domain/forecast"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
)

// A work roll has rolled 1500 t; 4000 t and 400 µm of wear are allowed, and the
// shop changed such rolls after 2000 to 2600 t so far.
func ExampleNextChange() {
	allowed := standing.Given{practice.MaxCampaignT: {Number: 4000, Set: true}, practice.MaxWearUM: {Number: 400, Set: true}}
	so := duty.Usage{TonnageT: 1500, RolledKM: 45, WearUM: []float64{100}}
	roll := standing.Roll{Stay: so, SinceGrind: so, Limits: allowed}
	once := duty.Usage{TonnageT: 100, RolledKM: 3, WearUM: []float64{20}}
	c, _ := forecast.NextChange(forecast.ChangeInput{In: true, Now: june, UsedT: 1500, Limits: limit.Again(&roll, mill.Stand{}, once), OnceT: once.TonnageT, OnceKM: once.RolledKM,
		PastT: []float64{2000, 2200, 2400, 2600}, PerDay: forecast.Estimate{Mean: 3000}})
	fmt.Printf("%.0f t more (%.0f to %.0f), %.0f km, by %s, about %s\n", c.TonnageT.P50, c.TonnageT.P10, c.TonnageT.P90, c.RolledKM.P50, c.Limit, c.At.P50.Format("15:04"))
	// Output: 700 t more (500 to 1100), 21 km, by habit, about 11:36
}
