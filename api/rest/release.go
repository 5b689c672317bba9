package rest

import (
	"context"
	"fmt"
	"slices"

	"barrelbook/api/app/gather"
	"barrelbook/api/oapi"
	"barrelbook/domain/quantity"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

// ConcedeRoll releases a roll of which something asked is missing.
func (s *Server) ConcedeRoll(ctx context.Context, r oapi.ConcedeRollRequestObject) (oapi.ConcedeRollResponseObject, error) {
	v, err := s.app.ConcedeRoll(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Roll, given(r.Body.At), r.Body.Reason)
	if err != nil {
		return nil, err
	}
	return oapi.ConcedeRoll201JSONResponse{Body: rollToWire(v), Headers: oapi.ConcedeRoll201ResponseHeaders{ETag: etag(v.Version())}}, nil
}

func fitnessToWire(v release.Verdict) oapi.Fitness {
	var words []string
	for _, step := range v.Next {
		if !slices.Contains(words, step.Do) {
			words = append(words, step.Do)
		}
	}
	return oapi.Fitness{Verdict: oapi.FitnessVerdict(v.Word), MayGoIn: v.MayGoIn(), Reasons: list(v.Reasons), Missing: some(v.Missing), Next: some(words), Steps: stepsOf(v.Next),
		Concessions: some(each(v.Concessions, func(c release.Conceded) oapi.Concession {
			return oapi.Concession{Roll: c.Roll, At: c.At.UTC(), By: c.By, Reason: c.Reason, Missing: list(c.Missing)}
		}))}
}

// asGroundBefore names the figures of a state that are older than its last grind.
func asGroundBefore(s roll.State) []oapi.RollStateAsGroundBefore {
	if s.LastRegrind == nil {
		return nil
	}
	var names []oapi.RollStateAsGroundBefore
	for _, m := range []roll.Measure{roll.MeasureCrown, roll.MeasureRoughness} {
		if !s.Measured.Has(m) {
			names = append(names, oapi.RollStateAsGroundBefore(m))
		}
	}
	return names
}

func testedToWire(s roll.State) []oapi.LastTest {
	return each(s.Tested, func(t roll.Tested) oapi.LastTest {
		return oapi.LastTest{Test: oapi.TestKind(t.Kind), Outcome: oapi.LastTestOutcome(t.Outcome), At: t.At.UTC(), GrindsSince: int64(s.Regrinds - t.Regrinds)}
	})
}

// fireCracksToWire is nil where no crack was ever counted or measured.
func fireCracksToWire(f roll.FireCracks) *oapi.FireCracks {
	if f == (roll.FireCracks{}) {
		return nil
	}
	return &oapi.FireCracks{BeforeUm: f.BeforeUM, GrownUm: f.GrownUM, RemovedUm: f.RemovedUM, LeftUm: f.LeftUM, MeasuredAt: when(f.MeasuredAt)}
}

func testsFromWire(w *[]oapi.TestResult) []roll.Test {
	if w == nil {
		return nil
	}
	return each(*w, func(t oapi.TestResult) roll.Test {
		return roll.Test{Kind: roll.TestKind(t.Test), Outcome: roll.Outcome(given(t.Outcome)), CrackDepthUM: given(t.CrackDepthUm), Hardness: given(t.HardnessShoreC),
			Readings: each(given(t.Readings), func(r oapi.Reading) roll.Reading {
				return roll.Reading{AtMM: r.AtMm, AroundDeg: r.AroundDeg, Value: given(r.Value), Threshold: given(r.Threshold), DepthUM: given(r.DepthUm), Indication: roll.Indication(given(r.Indication)), File: given(r.File)}
			}), Instrument: given(t.Instrument), CalibrationPiece: given(t.CalibrationPiece), CalibratedAt: given(t.CalibratedAt).UTC(), Operator: given(t.Operator), Note: given(t.Note)}
	})
}

func testsToWire(tests []roll.Test) []oapi.TestResult {
	return each(tests, func(t roll.Test) oapi.TestResult {
		return oapi.TestResult{Test: oapi.TestKind(t.Kind), Outcome: optional(oapi.TestResultOutcome(t.Outcome)), CrackDepthUm: optional(t.CrackDepthUM), HardnessShoreC: optional(t.Hardness),
			Readings: some(each(t.Readings, func(r roll.Reading) oapi.Reading {
				return oapi.Reading{AtMm: r.AtMM, AroundDeg: r.AroundDeg, Value: &r.Value, Threshold: optional(r.Threshold), DepthUm: optional(r.DepthUM), Indication: optional(oapi.Indication(r.Indication)), File: optional(r.File)}
			})), Instrument: optional(t.Instrument), CalibrationPiece: optional(t.CalibrationPiece), CalibratedAt: when(t.CalibratedAt), Operator: optional(t.Operator), Note: optional(t.Note)}
	})
}

func stationsFromWire(l *lengths, prefix, name string, w *[]oapi.Station) (stations []roll.Station) {
	for i, s := range given(w) {
		stations = append(stations, roll.Station{AtMM: s.AtMm, Diameter: l.mm(fmt.Sprintf("%s%s/%d/diameter_mm", prefix, name, i), s.DiameterMm)})
	}
	return stations
}

func stationsToWire(stations []roll.Station) *[]oapi.Station {
	return some(each(stations, func(s roll.Station) oapi.Station { return oapi.Station{AtMm: s.AtMM, DiameterMm: s.Diameter.MM()} }))
}

// contourToWire is nil where the contour was not measured.
func contourToWire(c *gather.ContourView, barrel quantity.Micrometre) *oapi.MeasuredContour {
	if c == nil {
		return nil
	}
	w := &oapi.MeasuredContour{Target: oapi.MeasuredContourTarget(c.Target), GreatestUm: c.GreatestUM, AtMm: c.AtMM + barrel.MM()/2, RmsUm: c.RMSUM, TaperUm: c.TaperUM,
		LevelMm: c.LevelUM / 1000, ToleranceUm: optional(c.ToleranceUM), TakenForLoad: &c.ForLoad}
	for i, s := range c.Stations {
		w.Stations = append(w.Stations, oapi.StationOff{AtMm: s.AtMM, DiameterMm: s.Diameter.MM(), OffUm: c.Left[i]})
	}
	return w
}
