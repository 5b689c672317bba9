package wear_test

import (
	"fmt"

	"barrelbook/domain/wear"
)

// A campaign of 3000 t of 1250 x 3.0 mm strip at 15 MN, on a work roll that
// wears 2.5 µm per km at 10 kN/mm: about 0.3 mm on diameter, deeper at the
// strip edges, none at the barrel ends.
func Example() {
	grid, _ := wear.NewGrid(1780, wear.DefaultStations)
	depth := grid.New()
	km, _ := wear.RolledKM(3000, 1250, 3.0, 7850)
	pass := wear.Pass{StripWidthMM: 1250, RolledKM: km, ForceKN: 15000}
	if err := grid.Lay(depth, pass, wear.Rate{UmPerKmAt10: 2.5, Shape: wear.HotStripShape()}); err != nil {
		fmt.Println(err)
		return
	}
	deepest, _ := wear.Deepest(depth)
	fmt.Printf("rolled %.1f km: middle %.0f µm, deepest %.0f µm, barrel end %.0f µm\n", km, depth[20], deepest, depth[0])
	// Output:
	// rolled 101.9 km: middle 306 µm, deepest 323 µm, barrel end 0 µm
}
