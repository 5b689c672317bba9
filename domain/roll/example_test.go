package roll_test

import (
	"fmt"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// A finishing roll comes back from a campaign with a cobble, is ground, and
// may not go out before its eddy current test has been passed.
func Example() {
	var state roll.State
	var entries []roll.Entry
	write := func(days int, body roll.Body) {
		e := roll.Entry{Roll: "W-7", Number: state.Entries + 1, At: time.Date(2026, 3, 2+days, 6, 0, 0, 0, time.UTC), Body: body}
		after, err := roll.Append(state, e, func() ([]roll.Entry, error) { return entries, nil })
		if err != nil {
			fmt.Println(err)
			return
		}
		state, entries = after, append(entries, e)
	}
	write(0, roll.Received{Mill: "strip", Diameter: 712_400, Ground: true,
		Roll: roll.Roll{Number: "W-7", Role: mill.Work, Scrap: roll.ScrapLimits{Nominal: 680_000}}})
	write(1, roll.Paired{Set: "S3", Partner: "W-8", Top: true})
	in := roll.Mounted{Stand: "F4", Position: mill.TopWork, Set: "S3", Cooling: 12 * time.Hour, CampaignsBetweenGrinds: 1}
	write(2, in)
	write(2, roll.Incident{Name: "i-1", What: roll.Cobble, Stand: "F4"})
	write(3, roll.Withdrawn{Stand: "F4", Position: mill.TopWork, Set: "S3", Why: roll.Mishap})
	write(4, roll.Reground{Found: 712_310, FoundAsRead: 712_310, Ground: 711_950, GaugeUncertainty: 20, MaxPlausible: 8_000, For: roll.ForWear})
	write(5, in)
	fmt.Println(state.Diameter, state.StockLeft(), state.StockRemoved)
	write(5, roll.Inspected{Tests: []roll.Test{{Kind: roll.EddyCurrent, Outcome: roll.Passed}}})
	write(5, in)
	fmt.Println(state.Stage, state.Stand)
	// Output:
	// roll W-7: the eddy current test is owed since the cobble of 2026-03-04 06:00Z (entry 4); make the eddy current test and record its result
	// 711.950 mm 31.950 mm 0.450 mm
	// mounted F4
}
