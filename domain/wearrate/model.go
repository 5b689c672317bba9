package wearrate

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"barrelbook/domain/stop"
)

// Model is all that the campaigns of a role in a mill teach, joined in one
// linear Gaussian model of the logarithm of the rate:
//
//	y = x·exp(η + g + e) + ε
//	η = grade + cell (grade at a stand) + level of the stand at the time + roll
//	    + drift with diameter + force + freshness
//
// with g one for the rolls of a set in a campaign, e the roll's own, ε of the gauge.
// Each part is normal with mean 0 (the grade with the mill's default) and the
// spread of Components, so that what the data do not show shrinks to nothing.
// Crossed effects in this way: Henderson's mixed model equations, Biometrics 31
// (1975); robust weights by a mixture as in fit's EM; both from memory.
//
// Add takes one roll's campaigns in: only its cluster is summed anew, and one
// system in the few effects in common solved. model_test.go holds all of it against
// the dense solution.
type Model struct {
	defaults Defaults
	parts    Components

	names  []string // of rolls
	rolls  map[string]int
	grades []gradeData
	cells  []cellData
	stands []standData

	effects  []effect
	index    map[effect]int
	mean     []float64
	variance *mat.SymDense // of the effects

	clusters []*cluster
	of       []*cluster // by roll
	bySet    map[string]*cluster
	setAside int
	seen     int // campaigns at the last full learning

	likelihood float64
	scratch    scratch
}

// NewModel knows nothing yet but the defaults.
func NewModel(d Defaults) (*Model, error) {
	if err := check(nil, d); err != nil {
		return nil, err
	}
	m := &Model{defaults: d, rolls: map[string]int{}, index: map[effect]int{}, parts: d.components()}
	m.solve()
	return m, nil
}

// components before any campaign: each spread at the scale it is shrunk by.
func (d Defaults) components() Components {
	return Components{RollSD: d.RollCV, CampaignSD: 0.05, OwnSD: 0.05, CellSD: d.StandCV, GaugeUM: d.NoiseUM, IncidentShare: d.IncidentShare}
}

// LearnModel learns everything anew from all campaigns, in any order.
func LearnModel(all []Campaign, d Defaults, ask stop.Check) (*Model, error) {
	runs := make([]Run, len(all))
	for i := range all {
		runs[i] = all[i].Run
	}
	if err := check(runs, d); err != nil {
		return nil, err
	}
	m, err := NewModel(d)
	if err != nil {
		return nil, err
	}
	watch := &stop.Watch{Check: ask, Every: 64}
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b Campaign) int {
		return cmp.Or(a.compare(b.Cell), cmp.Compare(a.Roll, b.Roll), a.EndedAt.Compare(b.EndedAt), cmp.Compare(a.WearUM, b.WearUM), cmp.Compare(a.RolledKM, b.RolledKM))
	})
	if watch.Err() != nil || (ask != nil && ask() != nil) {
		return nil, ask()
	}
	m.place(sorted)
	m.start()
	if err := m.fit(watch); err != nil {
		return nil, err
	}
	return m, nil
}

// place puts campaigns into clusters.
func (m *Model) place(sorted []Campaign) {
	m.references(sorted)
	list := make([]observation, 0, len(sorted))
	for i := range sorted {
		if o, ok := m.observe(&sorted[i]); ok {
			list = append(list, o)
		} else {
			m.setAside++
		}
	}
	m.of = make([]*cluster, len(m.names))
	for _, o := range list {
		m.take(o)
	}
	for _, c := range m.clusters {
		c.sort()
	}
}

func (c *cluster) sort() {
	slices.SortStableFunc(c.observations, func(a, b observation) int {
		return cmp.Or(cmp.Compare(a.set, b.set), cmp.Compare(a.roll, b.roll), a.endedAt.Compare(b.endedAt))
	})
}

// largestCluster is how many rolls may be joined by campaigns they shared. Beyond
// it a campaign counts for each of its rolls alone: summing a cluster up takes time
// with the cube of its rolls.
const largestCluster = 160

// take adds an observation to the cluster of its roll, and joins that with those
// of the rolls that shared the campaign.
func (m *Model) take(o observation) {
	for o.roll >= len(m.of) {
		m.of = append(m.of, nil)
	}
	c := m.of[o.roll]
	if c == nil {
		c = &cluster{rolls: []int{o.roll}}
		m.clusters, m.of[o.roll] = append(m.clusters, c), c
	}
	if o.set != "" {
		if m.bySet == nil {
			m.bySet = map[string]*cluster{}
		}
		switch other := m.bySet[o.set]; {
		case other == nil:
			m.bySet[o.set] = c
		case other != c && len(other.rolls)+len(c.rolls) > largestCluster:
			o.set = ""
		case other != c:
			c = m.join(other, c)
			m.bySet[o.set] = c
		}
	}
	c.observations = append(c.observations, o)
	if !o.endedAt.IsZero() {
		m.stands[m.cells[o.cell].stand].ended(o.endedAt, o.roll)
	}
}

// join puts two clusters together.
func (m *Model) join(a, b *cluster) *cluster {
	if len(a.observations) < len(b.observations) {
		a, b = b, a
	}
	for _, roll := range b.rolls {
		m.of[roll] = a
	}
	for _, o := range b.observations {
		if o.set != "" {
			m.bySet[o.set] = a
		}
	}
	a.rolls = append(a.rolls, b.rolls...)
	slices.Sort(a.rolls)
	a.observations = append(a.observations, b.observations...)
	m.clusters = slices.DeleteFunc(m.clusters, func(c *cluster) bool { return c == b })
	return a
}

// references finds rolls, grades, cells and stands and what each grade's
// campaigns are held against.
func (m *Model) references(list []Campaign) {
	fresh := map[int]bool{}
	for i := range list {
		c := &list[i]
		x := m.defaults.exposure(c.RolledKM, c.SpecificForceKNPerMM)
		if x < leastExposure {
			continue
		}
		if _, known := m.rolls[c.Roll]; !known {
			m.rolls[c.Roll] = len(m.names)
			m.names = append(m.names, c.Roll)
		}
		g := m.grade(c.Grade)
		m.cell(c.Cell)
		d := &m.grades[g]
		if d.forces == 0 || fresh[g] {
			fresh[g] = true
			d.forces++
			d.force += (math.Log(c.SpecificForceKNPerMM) - d.force) / d.forces
			d.freshs++
			d.fresh += (freshness(c.RolledKM) - d.fresh) / d.freshs
		}
		if c.DiameterMM > 0 && (d.mms == 0 || fresh[g]) {
			fresh[g] = true
			d.mms++
			d.diameter += (c.DiameterMM - d.diameter) / d.mms
		}
	}
}

func (m *Model) grade(name string) int {
	i := slices.IndexFunc(m.grades, func(g gradeData) bool { return g.name == name })
	if i < 0 {
		i = len(m.grades)
		m.grades = append(m.grades, gradeData{name: name})
	}
	return i
}

func (m *Model) cell(at Cell) int {
	i := slices.IndexFunc(m.cells, func(c cellData) bool { return c.Cell == at })
	if i < 0 {
		stand := slices.IndexFunc(m.stands, func(s standData) bool { return s.name == at.Stand })
		if stand < 0 {
			stand = len(m.stands)
			m.stands = append(m.stands, standData{name: at.Stand})
		}
		i = len(m.cells)
		m.cells = append(m.cells, cellData{Cell: at, grade: m.grade(at.Grade), stand: stand, known: known{-1, -1, -1, -1, -1}})
	}
	return i
}

// leastExposure is a micrometre of rolling, km.
const leastExposure = 1e-9

// observe turns a campaign into an observation; false where it rolled nothing.
func (m *Model) observe(c *Campaign) (observation, bool) {
	x := m.defaults.exposure(c.RolledKM, c.SpecificForceKNPerMM)
	if x < leastExposure {
		return observation{}, false
	}
	o := observation{roll: m.rolls[c.Roll], cell: m.cell(c.Cell), endedAt: c.EndedAt, x: x, y: c.WearUM}
	if c.Set != "" {
		o.set = c.Stand + "\x00" + c.Set
	}
	g := &m.grades[m.cells[o.cell].grade]
	o.force = math.Log(c.SpecificForceKNPerMM) - g.force
	o.fresh = freshness(c.RolledKM) - g.fresh
	if c.DiameterMM > 0 && g.mms > 0 {
		o.diameter = (g.diameter - c.DiameterMM) / 10
	}
	o.jump = m.stands[m.cells[o.cell].stand].jumpAt(o.endedAt)
	return o, true
}
