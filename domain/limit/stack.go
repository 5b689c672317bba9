package limit

import (
	"barrelbook/domain/mill"
	"math"

	"barrelbook/domain/quantity"
	"barrelbook/domain/standgeometry"
)

// The diameters in the stand against its window and the shims it has. They are
// looked at where every place has its roll.
var (
	stackHigh = Kind{Criterion: "stack_high", Unit: "mm", Decimals: 3, Words: "stack height", Noun: "stack",
		Fixed: func(a *Ahead) []Fixed { return stack(a, a.Stand.MaxStack) }}
	stackLow = Kind{Criterion: "stack_low", Unit: "mm", Decimals: 3, Words: "stack height", Noun: "stack", Falls: true,
		Fixed: func(a *Ahead) []Fixed { return stack(a, a.Stand.MinStack) }}
	passLineShim = Kind{Criterion: "pass_line_shim", Unit: "mm", Decimals: 3, Words: "shim to the pass line", Noun: "shim", Fixed: shim}
)

func stack(a *Ahead, limit quantity.Micrometre) []Fixed {
	if limit <= 0 || !full(a) {
		return nil
	}
	height := 0.0
	for _, r := range a.Rolls {
		height += r.DiameterMM
	}
	return []Fixed{{Roll: a.Rolls[0].Number, Limit: limit.MM(), Now: height, Source: ofStand(a)}}
}

func shim(a *Ahead) []Fixed {
	s := a.Stand
	if s.Arrangement == mill.SixHigh {
		return nil // no diameter of intermediate rolls is entered that needs no shim
	}
	if !full(a) || s.MaxShim <= 0 || s.ReferenceWork <= 0 || s.ReferenceBackup <= 0 {
		return nil
	}
	work, backup := s.Work.Bottom(), s.Backup.Bottom()
	if work == nil || backup == nil {
		return nil
	}
	mm, err := standgeometry.PassLineShimMM(s.ReferenceBackup, um(backup.DiameterMM), s.ReferenceWork, um(work.DiameterMM))
	if err != nil {
		return nil // diameters that the books would not hold
	}
	return []Fixed{{Roll: work.Number, Limit: s.MaxShim.MM(), Now: mm, Source: ofStand(a)}}
}

func full(a *Ahead) bool {
	return len(a.Rolls) > 0 && len(a.Rolls) == len(a.Stand.Arrangement.Positions())
}

func ofStand(a *Ahead) string {
	return "limit: stand " + a.Stand.Name + "; diameters: last entries of the books"
}

func um(mm float64) quantity.Micrometre { return quantity.Micrometre(math.Round(mm * 1000)) }
