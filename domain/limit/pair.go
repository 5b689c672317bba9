package limit

import (
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
)

// pairMismatch is how far the diameters of a set are apart.
var pairMismatch = Kind{
	Criterion: "pair_mismatch", Key: practice.PairToleranceUM, Unit: "µm", Words: "difference to its partner", Noun: "pair",
	Fixed: func(a *Ahead) (list []Fixed) {
		for _, set := range []*standing.Set{&a.Stand.Work, &a.Stand.Intermediate, &a.Stand.Backup} {
			if len(set.Rolls) != 2 {
				continue
			}
			if tolerance := set.Rolls[0].Limit(practice.PairToleranceUM); tolerance.Set {
				list = append(list, Fixed{Roll: set.Rolls[0].Number, Limit: tolerance.Number, Now: set.MismatchUM,
					Source: "limit: " + tolerance.Source + "; diameters: last entries of both books"})
			}
		}
		return list
	},
}
