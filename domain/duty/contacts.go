package duty

// Contact is how the load of the last pass lay between two rolls: along both
// barrels at the stations of their wear grids, mm from the middle and N/mm, and
// the greatest Hertz pressure it made, MPa.
type Contact struct {
	Front, Behind           int // in the order given to NewStand, from the strip up
	FrontXMM, FrontNPerMM   []float64
	BehindXMM, BehindNPerMM []float64
	MeanNPerMM              float64 // along the common barrel
	GreatestNPerMM          float64
	PeakPressureMPa         float64
	// Even is true where the load was taken as even, as the rolls are not known
	// as beams or the solver refused.
	Even bool
}

// Contacts are those of the last pass, top half first and from the strip up;
// none where nothing pressed.
func (s *Stand) Contacts() (list []Contact) {
	for k := range s.halves {
		h := &s.halves[k]
		for c := range h.laws {
			mean := h.means[c]
			if !(mean > 0) {
				continue
			}
			a, b := h.rolls[c], h.rolls[c+1]
			greatest := mean * h.lines[c].peak
			of := Contact{Front: a, Behind: b, FrontXMM: s.gridX[a], FrontNPerMM: s.grids[a].New(), BehindXMM: s.gridX[b], BehindNPerMM: s.grids[b].New(),
				MeanNPerMM: mean, GreatestNPerMM: greatest, PeakPressureMPa: h.laws[c].PeakPressure(greatest), Even: h.flat}
			s.along(h, c, a, of.FrontNPerMM)
			s.along(h, c, b, of.BehindNPerMM)
			list = append(list, of)
		}
	}
	return list
}

// contactsOf calls visit with every contact that roll i is part of.
func (s *Stand) contactsOf(i int, visit func(h *half, c int)) {
	for k := range s.halves {
		h := &s.halves[k]
		for c := range h.laws {
			if h.rolls[c] == i || h.rolls[c+1] == i {
				visit(h, c)
			}
		}
	}
}
