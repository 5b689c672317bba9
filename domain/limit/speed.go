package limit

import (
	"math"

	"barrelbook/domain/standing"
)

// speedHigh and speedLow are how fast the drive may and must turn the work rolls.
var (
	speedHigh = Kind{Criterion: "speed_high", Unit: "rpm", Words: "roll speed", Noun: "roll-speed",
		Fixed: func(a *Ahead) []Fixed { return speeds(a, a.Stand.MaxRPM, a.Fastest, false) }}
	speedLow = Kind{Criterion: "speed_low", Unit: "rpm", Words: "roll speed", Noun: "roll-speed", Falls: true,
		Fixed: func(a *Ahead) []Fixed { return speeds(a, a.Stand.MinRPM, a.Slowest, true) }}
)

func speeds(a *Ahead, limit float64, rpm []float64, large bool) []Fixed {
	if limit <= 0 || len(a.Stand.Work.Rolls) == 0 || greatest(rpm) == 0 {
		return nil
	}
	which := &a.Stand.Work.Rolls[0] // the smallest turns fastest
	for i := range a.Stand.Work.Rolls {
		if r := &a.Stand.Work.Rolls[i]; (r.DiameterMM > which.DiameterMM) == large && r.DiameterMM != which.DiameterMM {
			which = r
		}
	}
	per := make([]float64, len(rpm))
	for i, v := range rpm {
		if per[i] = v; v == 0 {
			per[i] = math.NaN()
		}
	}
	return []Fixed{{Roll: which.Number, Limit: limit, PerPiece: per, Source: "limit: stand " + a.Stand.Name +
		"; use: speeds of the programme, by mass flow where a pass has none, at the diameter as ground; forward slip left out"}}
}

// Diameters are the smallest and the largest of a set's rolls, 1 where there are
// none.
func Diameters(s *standing.Set) (small, large float64) {
	if len(s.Rolls) == 0 {
		return 1, 1
	}
	small, large = math.Inf(1), 0
	for i := range s.Rolls {
		small, large = min(small, s.Rolls[i].DiameterMM), max(large, s.Rolls[i].DiameterMM)
	}
	return small, large
}
