package standgeometry_test

import (
	"fmt"

	"barrelbook/domain/standgeometry"
)

// The same 3000 t are 102 km at the last stand: what a roll feels is turns,
// not tonnes.
func ExampleRolledLengthM() {
	length, err := standgeometry.RolledLengthM(3000, 7850, 1250, 3)
	if err != nil {
		fmt.Println(err)
		return
	}
	turns, err := standgeometry.Revolutions(length, 700)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f km, %.0f turns of a 700 mm roll\n", length/1000, turns)
	grinds, err := standgeometry.RegrindsLeft(712_400, 680_000, 450)
	fmt.Println(grinds, "grinds left,", err)
	// Output:
	// 101.9 km, 46342 turns of a 700 mm roll
	// 72 grinds left, <nil>
}
