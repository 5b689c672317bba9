package duty

import (
	"math"
	"testing"

	"barrelbook/domain/mill"
	"barrelbook/domain/rollload"
)

// TestMeasuredContourStandsForTheTarget: a measured contour takes the place of
// crown and polynomial, of either roll as it was measured, and two rolls measured
// alike are twins while others are not.
func TestMeasuredContourStandsForTheTarget(t *testing.T) {
	measured := rollload.Points{}
	for i := range 9 {
		x := 2000 * (float64(i)/8 - 0.5)
		u := x / 1000
		measured.XMM, measured.Value = append(measured.XMM, x), append(measured.Value, -80*u*u)
	}
	s := &Stand{rolls: make([]Roll, 2)}
	s.rolls[0].Position, s.rolls[1].Position = mill.TopWork, mill.BottomWork
	s.mech = &mechanics{rolls: []*Condition{{CrownUM: 400, Contour: rollload.Polynomial{3: 900}, Measured: measured}, {CrownUM: 80}}}
	ground := s.ground(0)
	for _, x := range []float64{-1000, -250, 0, 750} {
		if got, want := ground.AtUM(x, 2000), -80*(x/1000)*(x/1000); math.Abs(got-want) > 1e-9 {
			t.Errorf("%g µm at %g mm, measured %g", got, x, want)
		}
	}
	if sameGround(s.ground(0), s.ground(1)) {
		t.Error("a measured roll and one by its target are taken for one shape")
	}
	s.mech.rolls[1].Measured = measured
	if !sameGround(s.ground(0), s.ground(1)) {
		t.Error("two rolls measured alike are taken for two shapes")
	}
}
