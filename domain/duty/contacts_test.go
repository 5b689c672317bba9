package duty

import (
	"math"
	"testing"

	"barrelbook/domain/wear"
)

// TestContactsBalance: what lies along either barrel adds up to the force of the
// pass (statics), the greatest of it makes the pressure booked on the rolls, and
// rolls not known as beams are said to be taken as evenly loaded.
func TestContactsBalance(t *testing.T) {
	s := full(t)
	if c := s.Contacts(); c != nil {
		t.Fatalf("contacts %+v before any pass", c)
	}
	load := take(t, s, coil(1250, 15000))
	contacts := s.Contacts()
	if len(contacts) != 2 {
		t.Fatalf("%d contacts, want top and bottom", len(contacts))
	}
	for _, c := range contacts {
		for _, along := range [][2][]float64{{c.FrontXMM, c.FrontNPerMM}, {c.BehindXMM, c.BehindNPerMM}} {
			sum := 0.0
			for i := 1; i < len(along[0]); i++ {
				sum += (along[1][i] + along[1][i-1]) / 2 * (along[0][i] - along[0][i-1])
			}
			if math.Abs(sum/15e6-1) > 0.01 {
				t.Errorf("%.4g N lie along the barrel, want the 15000 kN of the pass to 1 %%", sum)
			}
		}
		if c.Even || !(c.GreatestNPerMM > 1.05*c.MeanNPerMM) {
			t.Errorf("greatest %.0f N/mm, mean %.0f, even %v: strip narrower than the barrel does not load it evenly", c.GreatestNPerMM, c.MeanNPerMM, c.Even)
		}
		if want := load.Rolls[c.Front].MaxPeakPressureMPa; c.PeakPressureMPa != want {
			t.Errorf("peak pressure %g MPa, booked %g", c.PeakPressureMPa, want)
		}
	}
	even, err := NewStand(finishing(), 7850, fourHigh())
	if err != nil {
		t.Fatal(err)
	}
	take(t, even, coil(1250, 15000))
	for _, c := range even.Contacts() {
		if !c.Even || c.GreatestNPerMM != c.MeanNPerMM || len(c.FrontNPerMM) != wear.DefaultStations {
			t.Errorf("without models %+v, want an even load said to be one", c)
		}
	}
}
