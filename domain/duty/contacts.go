package duty

// Contact is how the load of the last pass lay between a work roll and its
// backup roll: along both barrels at the stations of their wear grids, mm from
// the middle and N/mm, and the greatest Hertz pressure it made, MPa.
type Contact struct {
	Work, Backup            int // in the order given to NewStand
	WorkXMM, WorkNPerMM     []float64
	BackupXMM, BackupNPerMM []float64
	MeanNPerMM              float64 // along the common barrel
	GreatestNPerMM          float64
	PeakPressureMPa         float64
	// Even is true where the load was taken as even, as the rolls are not known
	// as beams or the solver refused.
	Even bool
}

// Contacts are those of the last pass, top first; none where nothing pressed.
func (s *Stand) Contacts() (list []Contact) {
	for k := range s.pairs {
		pr := &s.pairs[k]
		if !(pr.mean > 0) {
			continue
		}
		c := Contact{Work: pr.work, Backup: pr.backup, WorkXMM: s.gridX[pr.work], WorkNPerMM: s.grids[pr.work].New(),
			BackupXMM: s.gridX[pr.backup], BackupNPerMM: s.grids[pr.backup].New(),
			MeanNPerMM: pr.mean, GreatestNPerMM: pr.mean * pr.peak, PeakPressureMPa: pr.law.PeakPressure(pr.mean * pr.peak), Even: pr.flat}
		s.along(pr, pr.work, pr.mean, c.WorkNPerMM)
		s.along(pr, pr.backup, pr.mean, c.BackupNPerMM)
		list = append(list, c)
	}
	return list
}
