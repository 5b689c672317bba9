package limit

import (
	"fmt"
	"math"

	"barrelbook/domain/duty"
	"barrelbook/domain/practice"
)

// grooveTonnage is what may go through one groove between two turnings, for each
// groove that the programme uses. Masses are taken as exact.
var grooveTonnage = Kind{
	Criterion: GrooveTonnage, Key: practice.MaxGrooveT, Unit: "t", Words: "tonnes of the groove", Noun: "groove", Short: "groove tonnes", Unforced: true,
	Ends: func(roll, limit string, groove int) string {
		return fmt.Sprintf("groove %d of %s reaches its %s", groove, roll, limit)
	},
	Watch: func(a *Ahead, j int) (list []Watch) {
		r := a.Rolls[j]
		for n := 1; n <= len(r.GrooveDepthMM); n++ {
			w, ok := of(r, practice.MaxGrooveT)
			if !ok {
				return nil
			}
			g := Adding{r.GrooveT(n), a.Sum(j, throughGroove(n)), 1}
			if len(a.Pieces) > 0 && g.Sums[len(g.Sums)-1] == 0 {
				continue
			}
			w.Groove, w.Growth = n, g
			w.Source = fmt.Sprintf("groove %d; %s; use: pieces rolled since the grooves were turned and masses of the programme, taken as exact", n, w.Source)
			list = append(list, w)
		}
		return list
	},
	Plan: allGrooves,
}

// allGrooves is the tonnes that all grooves of a roll take one after the other,
// without a roll change. A piece cannot be split between two grooves, so each
// groove counts for as many of the heaviest pieces as it takes whole.
func allGrooves(a *Ahead, j int) []Watch {
	r := a.Rolls[j]
	w, ok := of(r, practice.MaxGrooveT)
	per := a.Each(j, throughGrooves)
	heaviest := greatest(per)
	if !ok || len(r.GrooveDepthMM) == 0 || heaviest == 0 {
		return nil
	}
	takes := func(left float64) float64 { return math.Floor(max(0, left)/heaviest+1e-9) * heaviest }
	fresh, left := 0.0, 0.0
	for n := 1; n <= len(r.GrooveDepthMM); n++ {
		fresh += takes(w.Limit)
		left += takes(w.Limit - r.GrooveT(n))
	}
	w.Bound, w.Growth = fresh, Adding{fresh - left, a.Sum(j, throughGrooves), 1}
	return []Watch{w}
}

func throughGrooves(u *duty.Usage) (t float64) {
	for _, g := range u.Grooves {
		t += g.TonnageT
	}
	return t
}

// GrooveTonnage is asked for by name: a spare groove is a way out of it.
const GrooveTonnage Criterion = "groove_tonnage"

func throughGroove(n int) func(*duty.Usage) float64 {
	return func(u *duty.Usage) float64 {
		for _, g := range u.Grooves {
			if g.Number == n {
				return g.TonnageT
			}
		}
		return 0
	}
}
