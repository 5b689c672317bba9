package rest

import (
	"barrelbook/api/oapi"
	"barrelbook/domain/duty"
	"barrelbook/domain/quantity"
)

// usageToWire shows what a roll has borne. The wear along the barrel is given
// where the length of the barrel is known to the caller.
func usageToWire(u duty.Usage, barrel quantity.Micrometre) oapi.Usage {
	w := oapi.Usage{
		PieceCount: u.Pieces, TonnageT: u.TonnageT, RolledKm: u.RolledKM, Revolutions: u.Revolutions,
		ExposureKm: optional(u.ExposureKM), MaxForceKn: optional(u.MaxForceKN), MaxPeakPressureMpa: optional(u.MaxPeakPressureMPa),
		Stated: optional(u.Stated),
	}
	w.Grooves = some(each(u.Grooves, func(g duty.GrooveUse) oapi.GrooveUsage {
		return oapi.GrooveUsage{Number: int64(g.Number), TonnageT: g.TonnageT, WornUm: optional(g.WornUM)}
	}))
	w.Widths = some(each(u.Widths, func(of duty.WidthUse) oapi.WidthUsage {
		return oapi.WidthUsage{WidthMm: float64(of.WidthMM), RolledKm: of.RolledKM}
	}))
	if len(u.WearUM) == 0 {
		return w
	}
	deepest := u.DeepestWearUM()
	w.WearUm = &deepest
	w.WearProfile = profileToWire(u.WearUM, barrel)
	return w
}

// profileToWire shows wear at evenly spaced stations along a barrel, nil where
// its length is not at hand.
func profileToWire(um []float64, barrel quantity.Micrometre) *oapi.BarrelProfile {
	n := len(um)
	if barrel <= 0 || n < 2 {
		return nil
	}
	x := make([]float64, n)
	for i := range x {
		x[i] = barrel.MM() * (float64(i)/float64(n-1) - 0.5)
	}
	return &oapi.BarrelProfile{XMm: x, Um: um}
}
