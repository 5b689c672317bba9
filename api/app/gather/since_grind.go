package gather

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/roll"
	"barrelbook/domain/standing"
)

// wornBooked is the wear of a roll as booked, of this stay and of those before
// it since the last grind: where the models take up its contour. Of a stay before
// the last grind it is that stay's own.
func wornBooked(r port.Reader, state roll.State, m port.Stay) ([]float64, error) {
	list := []standing.Stay{{Usage: m.Usage, Times: 1}}
	if !m.MountedAt.Before(state.GroundAt) && state.CampaignsSinceGrind > 0 {
		stays, err := StaysSinceGrind(r, state)
		if err != nil {
			return nil, err
		}
		for _, before := range stays {
			if before.ID != m.ID && !before.WithdrawnAt.IsZero() && before.MountedAt.Before(m.MountedAt) {
				list = append(list, standing.Stay{Usage: before.Usage, Times: 1})
			}
		}
	}
	return standing.SinceGrind(list).WearUM, nil
}

// StaysSinceGrind gives the roll's stays in stands from its last grind
// to the moment the state is of, newest first. Where the practice allows more
// than one campaign between grinds, all of them wore it.
func StaysSinceGrind(r port.Reader, s roll.State) ([]port.Stay, error) {
	var stays []port.Stay
	page := port.Page{Limit: s.CampaignsSinceGrind + 1} // those, and the one that ends them
	for {
		rows, next, err := r.Mountings(s.Roll.Number, page)
		if err != nil {
			return nil, err
		}
		for _, m := range rows {
			if m.MountedAt.Before(s.GroundAt) {
				return stays, nil // the rest is older still
			}
			if !m.MountedAt.After(s.MountedAt) {
				stays = append(stays, m)
			}
		}
		if page.After = next; next == "" {
			return stays, nil
		}
	}
}

// FireCrackPieces counts the pieces that fire cracks grew with since the last
// grind: those of stays that began after a test measured the cracks, where one
// did.
func FireCrackPieces(s roll.State, sinceGrind []port.Stay) int64 {
	var pieces int64
	for _, m := range sinceGrind {
		if !m.MountedAt.Before(s.FireCracks.MeasuredAt) {
			pieces += m.Usage.Pieces
		}
	}
	return pieces
}
