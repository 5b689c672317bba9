package wearrate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"

	"barrelbook/domain/stop"
)

// start sets the effects in common from medians of wear over exposure, which no
// single incident moves far, and weighs every campaign for the first time.
func (m *Model) start() {
	byCell, byGrade := make([][]weighted, len(m.cells)), make([][]weighted, len(m.grades))
	count := make([]int, len(m.cells))
	for _, c := range m.clusters {
		for _, o := range c.observations {
			w := weighted{o.y / o.x, o.x}
			byCell[o.cell] = append(byCell[o.cell], w)
			byGrade[m.cells[o.cell].grade] = append(byGrade[m.cells[o.cell].grade], w)
			count[o.cell]++
		}
	}
	base := math.Log(m.defaults.RateUMPerKM)
	known := make([]bool, len(m.cells))
	for g := range m.grades {
		level := base
		if k := weightedMedian(byGrade[g]); len(byGrade[g]) >= enough && k > least*m.defaults.RateUMPerKM {
			level = math.Log(k)
		}
		m.mean[m.at(effect{kind: ofGrade, of: g})] = level
		for i := range m.cells {
			if m.cells[i].grade != g {
				continue
			}
			at := m.at(effect{kind: ofCell, of: i})
			if k := weightedMedian(byCell[i]); count[i] >= enough && k > least*m.defaults.RateUMPerKM {
				m.mean[at], known[i] = math.Log(k)-level, true
			}
		}
	}
	_, grade := m.prior(effect{kind: ofGrade})
	for _, c := range m.clusters {
		c.weigh(m, func(o *observation, _ int) float64 {
			u := m.parts.RollSD * m.parts.RollSD
			if !known[o.cell] {
				u += grade + m.parts.CellSD*m.parts.CellSD
			}
			return u
		})
		c.gather(m)
	}
	m.solve()
}

// fit repeats weights, sums and components to a standstill.
func (m *Model) fit(watch *stop.Watch) error {
	for round := range 4 {
		if err := m.settle(watch, 3); err != nil {
			return err
		}
		if round < 2 {
			if err := m.components(watch); err != nil {
				return err
			}
		}
		if !m.findJumps() && round > 0 {
			break
		}
	}
	m.seen = m.campaigns()
	return m.settle(watch, 12)
}

// settle repeats weights and sums.
func (m *Model) settle(watch *stop.Watch, times int) error {
	for range times {
		before := slices.Clone(m.mean)
		incidents, all := 0.0, 0.0
		for _, c := range m.clusters {
			if watch.Ended() {
				return watch.Err()
			}
			c.weigh(m, nil)
			c.gather(m)
			for i := range c.observations {
				incidents += c.observations[i].incident
				all++
			}
		}
		m.parts.IncidentShare = (20*m.defaults.IncidentShare + incidents) / (20 + all)
		m.solve()
		moved := 0.0
		for i := range before {
			moved = math.Max(moved, math.Abs(m.mean[i]-before[i]))
		}
		if moved < 1e-8 {
			break
		}
	}
	return nil
}

func (m *Model) campaigns() int {
	n := 0
	for _, c := range m.clusters {
		n += len(c.observations)
	}
	return n
}

// The components are those most likely, each shrunk to nothing by an exponential
// prior of the scale here (Simpson et al., Statistical Science 32 (2017), from
// memory), the gauge's by a log-normal one about the mill's figure.
const (
	rollScale     = 0.1
	campaignScale = 0.05
	ownScale      = 0.05
	cellScale     = 0.3
	gaugeLogSD    = 0.4
	// learnFrom is how many campaigns are enough for the components: whole clusters
	// up to so many.
	learnFrom = 1200
)

// components finds the spreads by the marginal likelihood of the campaigns, their
// weights as they are.
func (m *Model) components(watch *stop.Watch) error {
	part := &Model{defaults: m.defaults, grades: m.grades, cells: m.cells, stands: slices.Clone(m.stands), effects: slices.Clone(m.effects), index: m.index, mean: slices.Clone(m.mean)}
	taken := 0
	step := max(1, m.campaigns()/learnFrom)
	shared := false
	for i := 0; i < len(m.clusters); i += step {
		c := m.clusters[i]
		part.clusters = append(part.clusters, &cluster{rolls: c.rolls, observations: slices.Clone(c.observations)})
		taken += len(c.observations)
		c.sets(func(one []observation) { shared = shared || len(one) > 1 })
	}
	if taken < enough {
		return nil
	}
	weight := make([][]float64, len(part.clusters))
	for i, c := range part.clusters {
		for _, o := range c.observations {
			w := o.precision * o.own
			if w > 0.3 {
				w = 1 // as it was seen, not as it was bounded: else the scatter is found too small
			}
			weight[i] = append(weight[i], w)
		}
	}
	value := func(x []float64) float64 {
		if watch.Ended() {
			return math.Inf(1)
		}
		p := m.parts
		p.RollSD, p.OwnSD, p.CellSD, p.GaugeUM, p.CampaignSD = math.Exp(x[0]), math.Exp(x[1]), math.Exp(x[2]), math.Exp(x[3]), 0
		if shared {
			p.CampaignSD = math.Exp(x[4])
		}
		penalty := p.RollSD/rollScale + p.OwnSD/ownScale + p.CellSD/cellScale + p.CampaignSD/campaignScale
		gauge := math.Log(p.GaugeUM/m.defaults.NoiseUM) / gaugeLogSD
		for _, v := range x {
			if v < -6 {
				penalty += (v + 6) * (v + 6) // flat there: all of it is nothing
			}
		}
		part.parts = p
		for i, c := range part.clusters {
			for j := range c.observations {
				o := &c.observations[j]
				g := p.GaugeUM / o.yhat()
				o.own = p.OwnSD*p.OwnSD + g*g
				o.precision = 0
				if weight[i][j] > 1e-3 {
					o.precision = weight[i][j] / o.own
				}
			}
			c.gather(part)
		}
		part.solve()
		return -part.likelihood + penalty + gauge*gauge/2
	}
	start := []float64{math.Log(m.parts.RollSD), math.Log(m.parts.OwnSD), math.Log(m.parts.CellSD), math.Log(m.parts.GaugeUM)}
	if shared {
		start = append(start, math.Log(max(m.parts.CampaignSD, 0.01)))
	} else {
		m.parts.CampaignSD = 0
	}
	got, err := optimize.Minimize(optimize.Problem{Func: value}, start, &optimize.Settings{FuncEvaluations: 80, Converger: &optimize.FunctionConverge{Absolute: 0.02, Iterations: 12}},
		&optimize.NelderMead{SimplexSize: 0.4})
	if watch.Err() != nil {
		return watch.Err()
	}
	if got == nil || (err != nil && got.X == nil) {
		return nil
	}
	x := got.X
	m.parts.RollSD, m.parts.OwnSD, m.parts.CellSD, m.parts.GaugeUM = math.Exp(x[0]), math.Exp(x[1]), math.Exp(x[2]), math.Exp(x[3])
	if shared {
		m.parts.CampaignSD = math.Exp(x[4])
	}
	return nil
}
