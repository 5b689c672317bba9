package rest

import (
	"barrelbook/api/app/gather"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
)

func standFromWire(w oapi.Stand) (mill.Stand, error) {
	var l lengths
	stand := mill.Stand{
		Name: w.Name, Mill: w.Mill, Order: int(w.Order), Arrangement: mill.Arrangement(w.Arrangement),
		Vertical: given(w.Orientation) == oapi.StandOrientationVertical, Reversing: given(w.Reversing),
		MaxForceKN: given(w.MaxForceKn), MaxTorqueKNM: given(w.MaxTorqueKnm), MinRPM: given(w.MinRpm), MaxRPM: given(w.MaxRpm),
		MinStack: l.mmOr("min_stack_mm", w.MinStackMm), MaxStack: l.mmOr("max_stack_mm", w.MaxStackMm), MaxShim: l.mmOr("max_shim_mm", w.MaxShimMm),
		ReferenceWork:   l.mmOr("reference_work_diameter_mm", w.ReferenceWorkDiameterMm),
		ReferenceBackup: l.mmOr("reference_backup_diameter_mm", w.ReferenceBackupDiameterMm),
		BendingForceKN:  given(w.BendingForceKn),
		DriveBlock:      given(w.DriveBlock),
	}
	return stand, l.err()
}

func standToWire(s mill.Stand) oapi.Stand {
	orientation := oapi.StandOrientationHorizontal
	if s.Vertical {
		orientation = oapi.StandOrientationVertical
	}
	return oapi.Stand{
		Name: s.Name, Mill: s.Mill, Order: int64(s.Order), Arrangement: oapi.StandArrangement(s.Arrangement), Orientation: &orientation, Reversing: &s.Reversing,
		MaxForceKn: optional(s.MaxForceKN), MaxTorqueKnm: optional(s.MaxTorqueKNM), MinRpm: optional(s.MinRPM), MaxRpm: optional(s.MaxRPM),
		MinStackMm: mmOrNone(s.MinStack), MaxStackMm: mmOrNone(s.MaxStack), MaxShimMm: mmOrNone(s.MaxShim),
		ReferenceWorkDiameterMm: mmOrNone(s.ReferenceWork), ReferenceBackupDiameterMm: mmOrNone(s.ReferenceBackup),
		BendingForceKn: optional(s.BendingForceKN), DriveBlock: optional(s.DriveBlock), Version: optional(s.Version),
	}
}

func standViewToWire(v plan.StandView) oapi.StandView {
	return oapi.StandView{Stand: standToWire(v.Stand), StackMm: mmOrNone(v.Stack), Load: standLoadToWire(v.Load), Trouble: troubleToWire(v.Trouble, v.Stand.Name), Cautions: some(v.Cautions),
		Positions: each(v.Positions, func(p plan.StandPosition) oapi.StandPosition {
			if p.Mounting == nil {
				return oapi.StandPosition{Position: oapi.Position(p.Position)}
			}
			w := positionToWire(*p.Mounting, p.Barrel)
			w.SinceGrind = borneToWire(p.Now, p.Barrel)
			return w
		})}
}

// borneToWire shows what a roll has borne since its grind.
func borneToWire(b *gather.Borne, barrel quantity.Micrometre) *oapi.SinceGrind {
	if b == nil {
		return nil
	}
	return &oapi.SinceGrind{TonnageT: b.TonnageT, RolledKm: b.RolledKM, WearUm: b.WearUM, WearProfile: profileToWire(b.Along, barrel), WearLimitUm: optional(b.WearLimitUM), RateUmPerKm: b.UMPerKM, RateSource: b.RateSource, PastLimits: list(b.Past)}
}

// positionToWire shows a mounting as a place in a stand.
func positionToWire(m port.Stay, barrel quantity.Micrometre) oapi.StandPosition {
	usage := usageToWire(m.Usage, barrel)
	return oapi.StandPosition{Position: oapi.Position(m.Position), Roll: optional(m.Roll), Set: optional(m.Set), DiameterMm: mmOrNone(m.Diameter),
		MountedAt: when(m.MountedAt), Usage: &usage}
}

// positionAlone is for where the length of the barrel is not known.
func positionAlone(m port.Stay) oapi.StandPosition { return positionToWire(m, 0) }

func standLoadToWire(l *plan.StandLoad) *oapi.StandLoad {
	if l == nil {
		return nil
	}
	w := &oapi.StandLoad{Piece: l.Piece, RolledAt: when(l.RolledAt), Campaign: optional(l.Campaign), WidthMm: l.WidthMM, ForceKn: l.ForceKN, ForcePredicted: l.Predicted, Notes: some(l.Notes),
		Pairs: each(l.Pairs, func(p plan.PairLoad) oapi.PairLoad {
			return oapi.PairLoad{Work: p.Work, Backup: p.Backup, XMm: p.XMM, LoadNPerMm: p.NPerMM, MeanNPerMm: p.Mean, PeakNPerMm: p.Peak, PeakOverMean: p.Peak / p.Mean,
				PeakPressureMpa: p.PeakPressureMPa, TakenAsEven: p.TakenAsEven}
		})}
	if l.Gap != nil {
		g := gapToWire(*l.Gap)
		w.Gap = &g
	}
	return w
}
