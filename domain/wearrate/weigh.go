package wearrate

import "math"

// wide is the part of campaigns whose scatter is three times that of the others,
// as for a roll that was measured warm: common practice, no source. It makes the
// tails as heavy as those of a shop.
const (
	wideShare = 0.06
	wideTimes = 3.0
)

// weigh makes the observations of a cluster linear about what is now believed,
// and gives each its precision by how likely it is what rolling alone did:
//
//	precision = (π₀N(ρ; V) + π₁N(ρ; 9V)/9) / (π₀N(ρ; V) + π₁N(ρ; 9V) + p·ŷ/span) / v
//
// with ρ what it lies off beside what the other rolls of its campaign say, V its
// variance with that of the belief and v its own.
func (c *cluster) weigh(m *Model, doubt func(o *observation, i int) float64) {
	shared := m.parts.CampaignSD * m.parts.CampaignSD
	own, room := make([]float64, len(c.rolls)), make([]float64, len(c.rolls))
	if c.b != nil {
		for i := range c.rolls {
			own[i], room[i] = c.own(i, m.mean), c.room[i]
		}
	}
	var terms []term
	c.sets(func(one []observation) {
		for i := range one {
			o := &one[i]
			terms = m.terms(o, terms)
			o.linear(m.sum(terms)+own[c.place(o.roll)], &m.parts)
		}
		for i := range one {
			o := &one[i]
			sum, off := 0.0, 0.0
			for j := range one {
				if j != i {
					sum += one[j].precision
					off += one[j].precision * (one[j].z - one[j].eta)
				}
			}
			rho := o.z - o.eta - shared*off/(1+shared*sum)
			u := room[c.place(o.roll)]
			if doubt != nil {
				u = doubt(o, c.place(o.roll))
			}
			v := o.own + shared/(1+shared*sum) + u
			n := func(times float64) float64 {
				return math.Exp(-rho*rho/(2*v*times*times)) / math.Sqrt(2*math.Pi*v) / times
			}
			p := m.parts.IncidentShare
			plain, broad := (1-p)*(1-wideShare)*n(1), (1-p)*wideShare*n(wideTimes)
			wild := p * o.yhat() / m.defaults.IncidentSpanUM
			all := plain + broad + wild
			o.precision, o.incident = 0, 1
			if all > 0 {
				o.precision, o.incident = (plain+broad/(wideTimes*wideTimes))/all/o.own, wild/all
			}
			if o.precision*o.own < 1e-9 {
				o.precision = 0
			}
		}
	})
}
