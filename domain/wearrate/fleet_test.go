package wearrate_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"barrelbook/domain/wearrate"
)

// fleet is a simulated works whose rates are known.
type fleet struct {
	grades, stands, rolls int
	campaigns             int // per roll
	rateCV                float64
	gaugeSD               float64 // of one measurement; a campaign has two
	scatter               float64 // relative, of a campaign's wear besides
	incidents             float64 // share
	shortest, longest     float64 // km
}

var hotStrip = fleet{
	grades: 2, stands: 3, rolls: 14, campaigns: 3,
	rateCV: 0.15, gaugeSD: 7.5, incidents: 0.06, shortest: 30, longest: 100,
}

// next is a campaign that was not learned from, free of incident.
type next struct {
	wearrate.Run
	rate float64 // the hidden truth
}

// simulate gives the campaigns to learn from and one more of every roll.
func (f fleet) simulate(seed uint64) (past []wearrate.Run, future []next) {
	r := rand.New(rand.NewPCG(seed, 42))
	for g := range f.grades {
		for s := range f.stands {
			mean := 3.2 * math.Exp(0.5*r.NormFloat64())
			for n := range f.rolls {
				rate := mean * math.Exp(f.rateCV*r.NormFloat64())
				one := func() wearrate.Run {
					km := f.shortest + (f.longest-f.shortest)*r.Float64()
					force := 7 + 7*r.Float64()
					wear := rate * km * force / 10 * (1 + f.scatter*r.NormFloat64())
					return wearrate.Run{
						Roll: fmt.Sprintf("%d-%d-%02d", g, s, n), Cell: wearrate.Cell{Grade: fmt.Sprint("grade ", g), Stand: fmt.Sprint("F", s+1)},
						RolledKM: km, SpecificForceKNPerMM: force,
						WearUM: wear + f.gaugeSD*(r.NormFloat64()-r.NormFloat64()),
					}
				}
				for range f.campaigns {
					c := one()
					if r.Float64() < f.incidents {
						c.WearUM += 200 + 700*r.ExpFloat64()
					}
					past = append(past, c)
				}
				future = append(future, next{one(), rate})
			}
		}
	}
	return past, future
}
