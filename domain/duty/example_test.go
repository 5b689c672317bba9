package duty

import (
	"fmt"

	"barrelbook/domain/mill"
)

// What spreadsheets get wrong: 1000 t of 1250 mm strip is eight times as long at
// 3 mm as at 25 mm, and so are the turns of the backup rolls.
func ExampleStand_Take() {
	for _, thickness := range []float64{25, 3} {
		s, err := NewStand(finishing(), 7850, fourHigh())
		if err != nil {
			fmt.Println(err)
			return
		}
		load, err := s.Take(mill.Piece{ID: "C-1", MassT: 1000, Passes: []mill.Pass{
			{Stand: "F6", EntryThicknessMM: thickness * 1.2, ExitThicknessMM: thickness, WidthMM: 1250, ForceKN: 12500}}}, 0)
		if err != nil {
			fmt.Println(err)
			return
		}
		backup := load.Rolls[0]
		fmt.Printf("%2.0f mm: %.1f km, %.0f turns of the backup roll, %.0f MPa\n", thickness, backup.RolledKM, backup.Revolutions, backup.MaxPeakPressureMPa)
	}
	// Output:
	// 25 mm: 4.1 km, 877 turns of the backup roll, 1022 MPa
	//  3 mm: 34.0 km, 7306 turns of the backup roll, 1022 MPa
}
