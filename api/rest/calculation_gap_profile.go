package rest

import (
	"context"

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
	switch {
	case b.ForceN == nil:
		warnings = append(warnings, "no force was given: the bending of the axes is left out")
	case b.Backup == nil:
		return nil, refusal.One("backup", "", "is needed with force_n", "give the backup roll, or leave the force out")
	default:
		var err error
		if g.Top.AxisUM, err = gapAxis(b, top, shape, -1); err != nil {
			return nil, err
		}
		if g.Bottom.AxisUM, err = gapAxis(b, bottom, bottomShape, 1); err != nil {
			return nil, err
		}
	}
	w := gapToWire(&g)
	return oapi.CalculateGapProfile200JSONResponse{Model: gapProfileModel, EdgeMm: w.EdgeMm, CentreToEdgeUm: w.CentreToEdgeUm, QuarterUm: w.QuarterUm, WedgeUm: w.WedgeUm, EdgeStepUm: w.EdgeStepUm,
		Parts: w.Parts, Stations: w.Stations, Warnings: some(warnings)}, nil
}

func gapRoll(w oapi.CalcRoll, shape rollload.Profile, offset float64) gap.Roll {
	return gap.Roll{BarrelMM: w.BarrelLengthMm, OffsetMM: offset, Ground: shape.AsGround(), WearUM: shape.WearUM, HeatUM: shape.GrowthUM}
}

// gapAxis is the bending of the axis of one work roll; side is −1 for the top
// half of the stand, whose shifted rolls lie at −s.
func gapAxis(b *oapi.GapProfileCalculationInput, work oapi.CalcRoll, shape rollload.Profile, side float64) (rollload.Points, error) {
	stack := rollload.Stack{Work: calcRollFromWire(work), Backup: calcRollFromWire(*b.Backup), ApproachConstant: approachConstant(b.ApproachConstant)}
	stack.Work.AxialOffsetMM = side * given(b.WorkRollShiftMm)
	offset, p := given(b.LateralOffsetMm), *b.ForceN/b.WidthMm
	load := rollload.Load{Strip: rollload.Points{XMM: []float64{offset - b.WidthMm/2, offset + b.WidthMm/2}, Value: []float64{p, p}},
		BendingForceN: given(b.BendingForceN), Work: shape, Backup: calcShapeFromWire(*b.Backup)}
	if b.Intermediate != nil {
		stack.Intermediate, load.Intermediate = calcRollFromWire(*b.Intermediate), calcShapeFromWire(*b.Intermediate)
		if side > 0 {
			load.Intermediate = load.Intermediate.Turned()
		}
		stack.Intermediate.AxialOffsetMM = side * given(b.IntermediateRollShiftMm)
		load.IntermediateBendingForceN = given(b.IntermediateBendingForceN)
	}
	return gap.AxisUnder(stack, load)
}
