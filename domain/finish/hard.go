package finish

import (
	"fmt"
	"math"
	"slices"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/standgeometry"
)

// bar is a hard limit that is passed, or another reason why the stand cannot
// run.
type bar struct {
	why string
	// piece is the first that cannot be rolled, counted from the first one asked
	// about from 1; 0 where none can.
	piece  int
	role   mill.Role
	byTest bool
	kind   Criterion
}

// hards holds what is known beforehand against its limits: margins, and what
// bars the way.
func (r *run) hards() (margins []Margin, bars []bar) {
	bars = append(bars, r.setBars()...)
	if m, ok := r.overload(); ok {
		margins = append(margins, m)
		bars = r.barAt(bars, m, mill.Work, "kN")
	}
	if m, ok := r.strength(); ok {
		margins = append(margins, m)
		bars = r.barAt(bars, m, roleOf(r, m.Roll), "%")
	}
	if m, ok := r.reductions(); ok {
		margins = append(margins, m)
		bars = r.barAt(bars, m, mill.Work, "%")
	}
	for _, m := range r.speeds() {
		margins = append(margins, m)
		bars = r.barAt(bars, m, mill.Work, "rpm")
	}
	for _, m := range append(r.geometry(), r.driveRatios()...) {
		margins = append(margins, m)
		if m.Probability == 0 {
			bars = append(bars, bar{why: fmt.Sprintf("%s: %s", m.Roll, m.passed()), role: roleOf(r, m.Roll), kind: m.Criterion})
		}
	}
	for _, roll := range r.rolls {
		if m, ok := nextGrind(roll); ok {
			margins = append(margins, m)
		}
	}
	for i, why := range r.misfit {
		if why != "" {
			bars = append(bars, bar{why: fmt.Sprintf("piece %d (%s): %s", r.in.FromPiece+i, r.pieces[i].ID, why), piece: i + 1, role: mill.Work})
			break
		}
	}
	if !r.in.Explain {
		for i := range margins {
			margins[i].Source = ""
		}
	}
	return margins, bars
}

// setBars are empty places and what the books hold against the sets.
func (r *run) setBars() (bars []bar) {
	for _, one := range []struct {
		set  *Set
		role mill.Role
	}{{r.work, mill.Work}, {r.backup, mill.Backup}} {
		if !r.in.Stand.Arrangement.Takes(one.role) {
			continue
		}
		if len(one.set.Rolls) < 2 {
			bars = append(bars, bar{why: fmt.Sprintf("%s has no %s set in it", r.in.Stand.Name, one.role), role: one.role})
		}
		for _, b := range one.set.Blocks {
			bars = append(bars, bar{why: b.Why, role: one.role, byTest: b.ByTest})
		}
	}
	return bars
}

// barAt adds the bar of a hard margin that some piece passes.
func (r *run) barAt(bars []bar, m Margin, role mill.Role, unit string) []bar {
	if m.Reached == nil {
		return bars
	}
	return append(bars, bar{why: fmt.Sprintf("piece %d (%s): %s %s %s, limit of %s %s %s", m.Reached.Piece, m.Reached.PieceID,
		m.Criterion.words(), grouped(m.AtEnd, 0), unit, r.in.Stand.Name, grouped(m.Limit, 0), unit), piece: m.Reached.pastStart, role: role, kind: m.Criterion})
}

func roleOf(r *run, number string) mill.Role {
	for _, roll := range r.backup.Rolls {
		if roll.Number == number {
			return mill.Backup
		}
	}
	return mill.Work
}

func (r *run) overload() (Margin, bool) {
	limit := r.in.Stand.MaxForceKN
	if limit == 0 || len(r.work.Rolls) == 0 {
		return Margin{}, false
	}
	m := Margin{Roll: r.work.Rolls[0].Number, Criterion: Force, Unit: "kN", Limit: limit, Hard: true,
		Source: "limit: stand " + r.in.Stand.Name + "; use: greatest force of the programme"}
	for _, roll := range r.work.Rolls {
		m.Now = max(m.Now, roll.Campaign.MaxForceKN)
	}
	return r.greatest(m, r.force, r.restrict), true
}

// greatest fills a hard margin from a figure per piece that must not pass the
// limit.
func (r *run) greatest(m Margin, perPiece []float64, scale float64) Margin {
	m.Probability = 1
	for i, v := range perPiece {
		v *= scale
		m.AtEnd = max(m.AtEnd, v)
		if v > m.Limit*(1+1e-12) && m.Reached == nil {
			m.Reached, m.Probability = r.reached(i+1), 0
		}
	}
	m.AtEndLow, m.AtEndHigh, m.ReachedP10 = m.AtEnd, m.AtEnd, m.Reached
	return m
}

func (r *run) speeds() (list []Margin) {
	stand := r.in.Stand
	if len(r.work.Rolls) == 0 {
		return nil
	}
	small, large := r.work.Rolls[0], r.work.Rolls[0] // the fastest and the slowest
	for _, roll := range r.work.Rolls {
		if roll.DiameterMM < small.DiameterMM {
			small = roll
		}
		if roll.DiameterMM > large.DiameterMM {
			large = roll
		}
	}
	source := "limit: stand " + stand.Name + "; use: speeds of the programme, by mass flow where a pass has none, at the diameter as ground; forward slip left out"
	if stand.MaxRPM > 0 && slices.Max(r.fastest) > 0 {
		m := Margin{Roll: small.Number, Criterion: SpeedHigh, Unit: "rpm", Limit: stand.MaxRPM, Hard: true, Source: source}
		list = append(list, r.greatest(m, r.fastest, 1))
	}
	if stand.MinRPM > 0 {
		m := Margin{Roll: large.Number, Criterion: SpeedLow, Unit: "rpm", Limit: stand.MinRPM, Hard: true, Probability: 1, AtEnd: math.Inf(1), Source: source}
		for i, v := range r.slowest {
			if v == 0 {
				continue
			}
			m.AtEnd = min(m.AtEnd, v)
			if v < m.Limit*(1-1e-12) && m.Reached == nil {
				m.Reached, m.Probability = r.reached(i+1), 0
			}
		}
		if !math.IsInf(m.AtEnd, 1) {
			m.AtEndLow, m.AtEndHigh, m.ReachedP10 = m.AtEnd, m.AtEnd, m.Reached
			list = append(list, m)
		}
	}
	return list
}

// geometry holds the diameters against pair tolerance, window and shim.
func (r *run) geometry() (list []Margin) {
	add := func(roll string, c Criterion, unit string, limit, value float64, within bool, source string) {
		list = append(list, Margin{Roll: roll, Criterion: c, Unit: unit, Limit: limit, Now: value, AtEnd: value, AtEndLow: value, AtEndHigh: value,
			Probability: certain(within), Hard: true, Source: source})
	}
	for _, set := range []*Set{r.work, r.backup} {
		if len(set.Rolls) == 2 && set.PairTolerance.Set {
			add(set.Rolls[0].Number, PairMismatch, "µm", set.PairTolerance.Number, set.MismatchUM, set.MismatchUM <= set.PairTolerance.Number,
				"limit: "+set.PairTolerance.Source+"; diameters: last entries of both books")
		}
	}
	stand := r.in.Stand
	if len(r.rolls) == 0 || len(r.rolls) != len(stand.Arrangement.Positions()) {
		return list
	}
	name, source := r.rolls[0].Number, "limit: stand "+stand.Name+"; diameters: last entries of the books"
	stack := 0.0
	for _, roll := range r.rolls {
		stack += roll.DiameterMM
	}
	if stand.MaxStack > 0 {
		add(name, StackHigh, "mm", stand.MaxStack.MM(), stack, stack <= stand.MaxStack.MM()+1e-9, source)
	}
	if stand.MinStack > 0 {
		add(name, StackLow, "mm", stand.MinStack.MM(), stack, stack >= stand.MinStack.MM()-1e-9, source)
	}
	if work, backup := bottom(r.work), bottom(r.backup); stand.MaxShim > 0 && stand.ReferenceWork > 0 && stand.ReferenceBackup > 0 && work != nil && backup != nil {
		shim, err := standgeometry.PassLineShimMM(stand.ReferenceBackup, um(backup.DiameterMM), stand.ReferenceWork, um(work.DiameterMM))
		if err == nil {
			add(work.Number, PassLineShim, "mm", stand.MaxShim.MM(), shim, shim <= stand.MaxShim.MM()+1e-9, source)
		}
	}
	return list
}

func um(mm float64) quantity.Micrometre { return quantity.Micrometre(math.Round(mm * 1000)) }

func bottom(s *Set) *Roll {
	for i := range s.Rolls {
		if p := s.Rolls[i].Position; p == mill.BottomWork || p == mill.BottomBackup {
			return &s.Rolls[i]
		}
	}
	return nil
}

// nextGrind holds the diameter after the next normal grind against the scrap
// limit. It does not bar the way: a roll may roll its last campaign.
func nextGrind(roll *Roll) (Margin, bool) {
	if roll.ScrapDiameterMM <= 0 || !roll.NormalStockMM.Set {
		return Margin{}, false
	}
	after := roll.DiameterMM - roll.NormalStockMM.Number
	return Margin{Roll: roll.Number, Criterion: NextGrind, Unit: "mm", Limit: roll.ScrapDiameterMM, Now: roll.DiameterMM, AtEnd: after, AtEndLow: after, AtEndHigh: after,
		Probability: certain(after >= roll.ScrapDiameterMM-1e-9),
		Source:      "limit: " + roll.ScrapLimit + " of the roll; normal stock: " + roll.NormalStockMM.Source}, true
}
