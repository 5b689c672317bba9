package gather

import (
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/roll"
)

// WornSinceGrind is the computed wear of a roll since its last grind: of this
// stay and, where a roll goes back without a grind, of those before. Of a stay
// before the last grind it is that stay's own.
func WornSinceGrind(r port.Reader, state roll.State, m port.MountingRow, until time.Time) ([]float64, error) {
	var since duty.Usage
	since.Add(m.Usage)
	if state.CampaignsSinceGrind == 0 || m.MountedAt.Before(state.GroundAt) {
		return since.WearUM, nil
	}
	rows, _, err := r.Mountings(state.Roll.Number, port.Page{Limit: state.CampaignsSinceGrind + 1})
	if err != nil {
		return nil, err
	}
	for _, before := range rows {
		if before.ID != m.ID && !before.MountedAt.Before(state.GroundAt) && !before.WithdrawnAt.IsZero() && !before.WithdrawnAt.After(until) {
			since.Add(before.Usage)
		}
	}
	return since.WearUM, nil
}

// StretchesSinceGrind gives the roll's stretches in stands from its last grind
// to the moment the state is of, newest first. Where the practice allows more
// than one campaign between grinds, all of them wore it.
func StretchesSinceGrind(r port.Reader, s roll.State) ([]port.MountingRow, error) {
	var stretches []port.MountingRow
	page := port.Page{Limit: s.CampaignsSinceGrind + 1} // those, and the one that ends them
	for {
		rows, next, err := r.Mountings(s.Roll.Number, page)
		if err != nil {
			return nil, err
		}
		for _, m := range rows {
			if m.MountedAt.Before(s.GroundAt) {
				return stretches, nil // the rest is older still
			}
			if !m.MountedAt.After(s.MountedAt) {
				stretches = append(stretches, m)
			}
		}
		if page.After = next; next == "" {
			return stretches, nil
		}
	}
}

// FireCrackPieces counts the pieces that fire cracks grew with since the last
// grind: those of stays that began after a test measured the cracks, where one
// did.
func FireCrackPieces(s roll.State, sinceGrind []port.MountingRow) int64 {
	var pieces int64
	for _, m := range sinceGrind {
		if !m.MountedAt.Before(s.FireCracks.MeasuredAt) {
			pieces += m.Usage.Pieces
		}
	}
	return pieces
}
