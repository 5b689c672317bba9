package wearrate_test

import (
	"testing"

	"gonum.org/v1/gonum/stat"

	"barrelbook/domain/wearrate"
)

// 25 200 campaigns of 2 520 rolls in six cells, ten years of a large works.
func BenchmarkLearn(b *testing.B) {
	f := hotStrip
	f.rolls, f.campaigns = 420, 10
	past, _ := f.simulate(1)
	b.Run("all 25200", func(b *testing.B) {
		for b.Loop() {
			learn(b, past)
		}
	})
	// The baseline that knows no rolls, noise or incidents: one line per cell.
	b.Run("plain regression of 25200", func(b *testing.B) {
		for b.Loop() {
			byCell := map[wearrate.Cell][2][]float64{}
			for _, c := range past {
				xy := byCell[c.Cell]
				xy[0], xy[1] = append(xy[0], c.RolledKM*c.SpecificForceKNPerMM/10), append(xy[1], c.WearUM)
				byCell[c.Cell] = xy
			}
			for _, xy := range byCell {
				stat.LinearRegression(xy[0], xy[1], nil, true)
			}
		}
	})
}
