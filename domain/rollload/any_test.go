package rollload

import (
	"errors"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/contact"
	"barrelbook/domain/refusal"
)

// Numbers nobody would mean: every one gives finite results or an error that
// says so, in bounded time.
func TestAnyNumbersGiveFiniteResultsOrAnError(t *testing.T) {
	number := func(usual float64) *rapid.Generator[float64] {
		return rapid.OneOf(
			rapid.Just(usual), rapid.Float64Range(0.5*usual, 2*usual), rapid.Just(usual),
			rapid.SampledFrom([]float64{usual * 1e9, usual * 1e-9, usual * 1e-3, usual * 1e3, 1e300, 1e-300, 1e-5}), rapid.Float64())
	}
	rapid.Check(t, func(t *rapid.T) {
		roll := func(d float64) Roll {
			return Roll{
				Body: contact.Body{
					DiameterMM:        number(d).Draw(t, "D"),
					ElasticModulusMPa: number(206e3).Draw(t, "E"), PoissonRatio: 0.3},
				BarrelLengthMM: 1700, BearingSpanMM: number(2700).Draw(t, "span"),
				NeckDiameterMM: number(d/2).Draw(t, "neck"), ShearCoefficient: 0.9,
			}
		}
		c, err := NewCoefficients(Stack{Work: roll(700), Backup: roll(1500), ApproachConstant: contact.Foeppl}, Options{Slices: 20})
		if err != nil {
			if refusal.FieldsOf(err) == nil {
				t.Fatalf("names no field: %v", err)
			}
			return
		}
		l := &Load{Strip: evenly(number(18e6).Draw(t, "force"), 1250, 0),
			BendingForceN: number(5e5).Draw(t, "bending"), Whole: rapid.Bool().Draw(t, "whole")}
		l.Work.CrownUM, l.Backup.PolynomialUM[3] = number(100).Draw(t, "crown"), number(100).Draw(t, "cubic")
		r, err := NewSolver(c).Solve(l)
		if err != nil {
			if refusal.FieldsOf(err) == nil && !errors.Is(err, ErrNotConverged) {
				t.Fatalf("neither a refusal nor the known failure: %v", err)
			}
			return
		}
		for _, v := range []float64{r.MeanLineLoadNPerMM, r.MaxLineLoadNPerMM, r.MaxLineLoadXMM, r.PeakPressureMPa,
			r.ContactLengthMM, r.FlatteningCentreUM, r.WorkAxisCentreMinusStripEdgeUM, r.TiltUM} {
			if !finite(v) {
				t.Fatalf("%+v", r)
			}
		}
		for i, q := range r.StationLineLoadNPerMM {
			if !(finite(q) && finite(r.StationGapUM[i]) && finite(r.StationPeakPressureMPa[i])) {
				t.Fatalf("station %d: %+v", i, r)
			}
		}
	})
}
