package rest

import (
	"context"
	"errors"

	"barrelbook/api/oapi"
	"barrelbook/domain/gap"
	"barrelbook/domain/refusal"
	"barrelbook/domain/rollload"
)

const gapProfileModel = "gap-profile 1: worn and grown contours under the strip, axes by the load solver with and without them"

// CalculateGapProfile finds how the gap between two work rolls has changed.
func (s *Server) CalculateGapProfile(_ context.Context, r oapi.CalculateGapProfileRequestObject) (oapi.CalculateGapProfileResponseObject, error) {
	b := r.Body
	shift := given(b.WorkRollShiftMm)
	top, shape := b.Work, calcShapeFromWire(b.Work)
	bottom, bottomShape := top, shape.Turned()
	if b.BottomWork != nil {
		bottom, bottomShape = *b.BottomWork, calcShapeFromWire(*b.BottomWork)
	}
	if top.AxialOffsetMm != nil || bottom.AxialOffsetMm != nil {
		return nil, refusal.One("work/axial_offset_mm", "", "is set by work_roll_shift_mm here", "leave it out of both work rolls")
	}
	g := gap.Gap{Top: gapRoll(top, shape, -shift), Bottom: gapRoll(bottom, bottomShape, shift), WidthMM: b.WidthMm, OffsetMM: given(b.LateralOffsetMm), EdgeMM: gap.DefaultEdgeMM,
		Cross: gap.Cross{AngleDeg: given(b.PairCrossDeg), DiameterMM: top.DiameterMm}}
	if b.EdgeMm != nil {
		g.EdgeMM = *b.EdgeMm
	}
	if err := g.Check(); err != nil {
		return nil, err
	}
	var warnings []string
	half := gapHalf{stack: rollload.Stack{ApproachConstant: approachConstant(b.ApproachConstant)}, shift: shift, innerShift: given(b.IntermediateRollShiftMm)}
	half.load = rollload.Load{BendingForceN: given(b.BendingForceN), IntermediateBendingForceN: given(b.IntermediateBendingForceN)}
	switch {
	case b.ForceN == nil:
		warnings = append(warnings, "no force was given: the bending of the axes is left out")
	case b.Backup == nil:
		return nil, refusal.One("backup", "", "is needed with force_n", "give the backup roll, or leave the force out")
	default:
		p := *b.ForceN / g.WidthMM
		half.load.Strip = rollload.Points{XMM: []float64{g.OffsetMM - g.WidthMM/2, g.OffsetMM + g.WidthMM/2}, Value: []float64{p, p}}
		half.stack.Backup, half.load.Backup = calcRollFromWire(*b.Backup), calcShapeFromWire(*b.Backup)
		err := errors.Join(noIntermediate("intermediate_bending_force_n", b.IntermediateBendingForceN), noIntermediate("intermediate_roll_shift_mm", b.IntermediateRollShiftMm))
		if b.Intermediate == nil && err != nil {
			return nil, err
		}
		if b.Intermediate != nil {
			half.stack.Intermediate, half.load.Intermediate = calcRollFromWire(*b.Intermediate), calcShapeFromWire(*b.Intermediate)
		}
		if g.Top.AxisUM, err = half.axis(top, shape, -1); err != nil {
			return nil, err
		}
		if g.Bottom.AxisUM, err = half.axis(bottom, bottomShape, 1); err != nil {
			return nil, err
		}
	}
	w := gapToWire(g.Across(gap.DefaultPlaces))
	return oapi.CalculateGapProfile200JSONResponse{Model: gapProfileModel, EdgeMm: w.EdgeMm, CentreToEdgeUm: w.CentreToEdgeUm, QuarterUm: w.QuarterUm, WedgeUm: w.WedgeUm, EdgeStepUm: w.EdgeStepUm,
		Parts: w.Parts, Stations: w.Stations, Warnings: some(warnings)}, nil
}

func gapRoll(w oapi.CalcRoll, shape rollload.Profile, offset float64) gap.Roll {
	return gap.Roll{BarrelMM: w.BarrelLengthMm, OffsetMM: offset, Ground: shape.AsGround(), WearUM: shape.WearUM, HeatUM: shape.GrowthUM}
}

// gapHalf is one half of the stand but for its work roll: the top one, of which
// the bottom one is the same turned end for end.
type gapHalf struct {
	stack             rollload.Stack
	load              rollload.Load
	shift, innerShift float64
}

// axis is the bending of the axis of a work roll; side is −1 for the top half,
// whose shifted rolls lie at −s.
func (h gapHalf) axis(work oapi.CalcRoll, shape rollload.Profile, side float64) (rollload.Points, error) {
	h.stack.Work, h.load.Work = calcRollFromWire(work), shape
	h.stack.Work.AxialOffsetMM = side * h.shift
	if h.stack.SixHigh() {
		h.stack.Intermediate.AxialOffsetMM = side * h.innerShift
	}
	if side > 0 {
		h.load.Intermediate = h.load.Intermediate.Turned()
	}
	return gap.AxisUnder(h.stack, h.load)
}
