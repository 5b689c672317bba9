package learn

import (
	"encoding/json"
	"strings"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/offplan"
	"barrelbook/domain/roll"
)

// finishOutcome is whether a set finished its campaign, or would have: nil and "" as
// long as that is not known.
func finishOutcome(r port.Reader, f port.ForecastRow, now time.Time) (*float64, string, error) {
	var in FinishBasis
	if err := json.Unmarshal([]byte(f.Input), &in); err != nil {
		return nil, "", err
	}
	m, why, err := stayOf(r, f, in.MountedAt)
	switch {
	case err != nil:
		return nil, "", err
	case m == nil || !m.WithdrawnAt.IsZero() && m.WithdrawnAt.Before(f.AskedAt):
		return nil, toldLater, nil // one that came out at that very moment was changed for the answer, or as usual
	case m.Usage.TonnageT >= in.UsedT+0.995*in.NeedT: // the mill's weights differ a little from the programme's
		return new(1.0), "", nil
	case m.WithdrawnAt.IsZero():
		return nil, "", nil
	case why == roll.Wear || why == roll.Surface:
		return new(0.0), "", nil
	}
	void := "came out before the end for another reason: " + strings.ReplaceAll(string(why), "_", " ")
	if in.WearLimitUM == 0 || why == roll.Mishap || why == roll.Bearing {
		return nil, void, nil
	}
	return prevented(r, f, in, m, void, now)
}

// prevented is what would have become of a set that was changed before the end: its
// rolls' wear as it was found, taken on by what the rest of the campaign was at the
// stand.
func prevented(r port.Reader, f port.ForecastRow, in FinishBasis, m *port.Stay, void string, now time.Time) (*float64, string, error) {
	set, err := r.Set(in.Set)
	if err != nil {
		return nil, void, ignoreMissing(err)
	}
	rest, known, err := restOf(r, in.Campaign, f.Stand, m.WithdrawnAt, now)
	if err != nil || !known {
		return nil, "", err
	}
	for _, number := range []string{set.Top, set.Bottom} {
		deepest, out, err := deepestFound(r, number, m, rest)
		if err != nil || out == "" && deepest == 0 {
			return nil, "", err
		}
		if out != "" {
			return nil, out, nil
		}
		if deepest > in.WearLimitUM {
			return new(0.0), "", nil
		}
	}
	return new(1.0), "", nil
}

func ignoreMissing(err error) error {
	if port.IsKind(err, port.NotFound) {
		return nil
	}
	return err
}

// restOf is the exposure, km at 10 kN/mm, of what was rolled of a programme at a
// stand from a moment on; known once it is over.
func restOf(r port.Reader, campaign, stand string, from, now time.Time) (exposure float64, known bool, err error) {
	p, err := r.Campaign(campaign)
	if err != nil {
		return 0, true, err
	}
	ends := p.PieceTime(len(p.Pieces) + 1).Add(overAfter)
	if now.Before(ends) {
		return 0, false, nil
	}
	of, err := r.Mill(p.Mill)
	if err != nil {
		return 0, true, err
	}
	rolled, err := port.Drain(func(page port.Page) ([]mill.Piece, string, error) { return r.PiecesBetween(p.Mill, from, ends, page) })
	if err != nil {
		return 0, true, err
	}
	return offplan.ExposureKM(p.Programme, rolled, stand, of.Density()), true, nil
}

// deepestFound is the deepest wear of a roll by what the grind after its stay found,
// once it has taken so much more exposure; 0 as long as it is not ground, and why it
// never will be known.
func deepestFound(r port.Reader, number string, m *port.Stay, more float64) (um float64, void string, err error) {
	grinds, _, err := r.Grinds(port.GrindFilter{Roll: number, From: m.WithdrawnAt}, port.Page{Limit: 1})
	if err != nil || len(grinds) == 0 {
		return 0, "", err
	}
	g, exposure := grinds[0], 0.0
	for _, u := range g.Uses {
		exposure += u.ExposureKM
	}
	if !g.TeachesWear() || exposure == 0 || g.Wear() <= 0 {
		return 0, "the grind after it tells nothing of its wear", nil
	}
	return float64(g.Wear()) * edgeOf(m.Usage.WearUM) * (1 + more/exposure), "", nil
}

// edgeOf is the deepest wear along the barrel over that in its middle, where a
// diameter is measured.
func edgeOf(along []float64) float64 {
	deepest := 0.0
	for _, um := range along {
		deepest = max(deepest, um)
	}
	if len(along) == 0 || along[len(along)/2] <= 0 {
		return 1
	}
	return deepest / along[len(along)/2]
}
