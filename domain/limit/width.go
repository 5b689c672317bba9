package limit

import (
	"barrelbook/domain/duty"
	"barrelbook/domain/practice"
)

// sameWidth is the length rolled within 10 mm of one width since the last grind,
// of the width that has most: the strip's edge wears its step there.
var sameWidth = Kind{
	Criterion: "same_width_km", Key: practice.MaxSameWidthKM, Unit: "km", Decimals: 1, Words: "kilometres on one width", Noun: "same-width", Short: "km on one width", Unforced: true,
	Watch: func(a *Ahead, j int) []Watch {
		w, ok := of(a.Rolls[j], practice.MaxSameWidthKM)
		if !ok {
			return nil
		}
		w.Growth, w.Spread = a.widthsOf(j), Spread{Length: 1}
		w.Source += "; use: kilometres within 10 mm of one width since the last grind, and lengths of the programme" + a.lengthDoubt()
		return []Watch{w}
	},
}

// Widths grow by the length on each width, of which the one with most within
// reach counts.
type Widths []Adding

// Lines is one line for each width.
func (g Widths) Lines(into []Line, spans []Span) []Line {
	for _, one := range g {
		into = one.Lines(into, spans)
	}
	return into
}

// Now is what the width with most has.
func (g Widths) Now() float64 {
	most := 0.0
	for _, one := range g {
		most = max(most, one.Borne)
	}
	return most
}

// widthsOf has one line for each width rolled or to come.
func (a *Ahead) widthsOf(j int) Widths {
	seen := map[int]bool{}
	var list Widths
	add := func(uses []duty.WidthUse) {
		for _, u := range uses {
			if !seen[u.WidthMM] {
				seen[u.WidthMM] = true
				at := u.WidthMM
				list = append(list, Adding{duty.KMNear(a.Rolls[j].SinceGrind.Widths, at), a.Sum(j, func(u *duty.Usage) float64 { return duty.KMNear(u.Widths, at) }), 1})
			}
		}
	}
	add(a.Rolls[j].SinceGrind.Widths)
	for i := range a.Uses[j] {
		add(a.Uses[j][i].Widths)
	}
	return list
}
