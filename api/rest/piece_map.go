package rest

import (
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
)

func pieceFromWire(w oapi.PieceInput) mill.Piece {
	return mill.Piece{Source: w.Source, ID: w.Id, Mill: w.Mill, RolledAt: w.RolledAt.UTC(), Material: given(w.Material), MassT: w.MassT, WidthMM: w.WidthMm,
		EntryThicknessMM: w.EntryThicknessMm, Passes: each(w.Passes, passFromWire)}
}

func pieceToWire(p mill.Piece) oapi.PieceInput {
	return oapi.PieceInput{Source: p.Source, Id: p.ID, Mill: p.Mill, RolledAt: p.RolledAt.UTC(), Material: optional(p.Material), MassT: p.MassT, WidthMm: p.WidthMM,
		EntryThicknessMm: p.EntryThicknessMM, Passes: each(p.Passes, passToWire)}
}

func passFromWire(w oapi.PassInput) mill.Pass {
	return mill.Pass{Stand: w.Stand, EntryThicknessMM: given(w.EntryThicknessMm), ExitThicknessMM: w.ExitThicknessMm, WidthMM: given(w.WidthMm), ForceKN: given(w.ForceKn),
		SpeedMPerS: given(w.SpeedMPerS), TimeS: given(w.TimeS), TemperatureC: given(w.TemperatureC), LateralOffsetMM: given(w.LateralOffsetMm),
		BendingForceKN: given(w.BendingForceKn), WorkRollShiftMM: given(w.WorkRollShiftMm), IntermediateRollShiftMM: given(w.IntermediateRollShiftMm),
		IntermediateBendingForceKN: given(w.IntermediateBendingForceKn), PairCrossDeg: given(w.PairCrossDeg), Groove: int(given(w.Groove)), Reverse: given(w.Reverse)}
}

func passToWire(p mill.Pass) oapi.PassInput {
	return oapi.PassInput{Stand: p.Stand, EntryThicknessMm: optional(p.EntryThicknessMM), ExitThicknessMm: p.ExitThicknessMM, WidthMm: optional(p.WidthMM), ForceKn: optional(p.ForceKN),
		SpeedMPerS: optional(p.SpeedMPerS), TimeS: optional(p.TimeS), TemperatureC: optional(p.TemperatureC), LateralOffsetMm: optional(p.LateralOffsetMM),
		BendingForceKn: optional(p.BendingForceKN), WorkRollShiftMm: optional(p.WorkRollShiftMM), IntermediateRollShiftMm: optional(p.IntermediateRollShiftMM),
		IntermediateBendingForceKn: optional(p.IntermediateBendingForceKN), PairCrossDeg: optional(p.PairCrossDeg), Groove: optional(int64(p.Groove)), Reverse: optional(p.Reverse)}
}
