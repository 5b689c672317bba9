package gather

import (
	"sync"

	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/heat"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/rollload"
)

// Models are the models of the stands. They keep what is dear to work out and
// the same for every request.
// What it holds is never changed.
type Models struct {
	mu           sync.Mutex
	kernels      map[fatigue.Policy]*fatigue.Kernel
	coefficients map[pairKey]*rollload.Coefficients
}

type pairKey struct {
	pair    rollload.Stack
	options rollload.Options
}

// mostPairs bounds the coefficients kept: some 100 kB each. A mill has tens of
// pairs at a time; the cache starts anew when it is full.
const mostPairs = 256

func (c *Models) kernel(p fatigue.Policy) (*fatigue.Kernel, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if k, ok := c.kernels[p]; ok {
		return k, nil
	}
	k, err := fatigue.NewKernel(p)
	if err != nil {
		return nil, err
	}
	if c.kernels == nil {
		c.kernels = map[fatigue.Policy]*fatigue.Kernel{}
	}
	c.kernels[p] = k
	return k, nil
}

func (c *Models) pair(p rollload.Stack, o rollload.Options) (*rollload.Coefficients, error) {
	key := pairKey{pair: p, options: o}
	c.mu.Lock()
	k, ok := c.coefficients[key]
	c.mu.Unlock()
	if ok {
		return k, nil
	}
	k, err := rollload.NewCoefficients(p, o)
	if err != nil {
		return nil, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.coefficients == nil || len(c.coefficients) >= mostPairs {
		c.coefficients = map[pairKey]*rollload.Coefficients{}
	}
	c.coefficients[key] = k
	return k, nil
}

// FatiguePolicy is that of the mill as a whole: damages counted by two policies
// do not add.
func FatiguePolicy(practices []practice.Practice, millName string) fatigue.Policy {
	p := practice.Resolve(practices, practice.Scope{Mill: millName})
	policy := fatigue.DefaultPolicy()
	policy.Exponent = p.Number(practice.FatigueExponent)
	policy.ReferencePressureMPa = p.Number(practice.FatigueReferenceMPa)
	policy.ReferenceRevolutions = p.Number(practice.FatigueReferenceTurns)
	return policy
}

// The thermal crown of endless rolling where no practice gives it, µm on
// diameter: common practice, no source.
const (
	hotCrownUM  = 200
	coldCrownUM = 50
)

// Of gives the models of a stand by the practices of its rolls.
func (c *Models) Of(m mill.Mill, stand mill.Stand, practices []practice.Practice) (duty.Models, error) {
	scope := practice.Scope{Mill: m.Name, Stand: stand.Name, Role: mill.Work}
	p := practice.Resolve(practices, scope)
	kernel, err := c.kernel(FatiguePolicy(practices, m.Name))
	if err != nil {
		return duty.Models{}, err
	}
	crown := crownOf(p)
	if !p.Value(practice.ThermalCrownUM).Set {
		crown.SteadyUM = hotCrownUM
		if m.Kind.Cold() {
			crown.SteadyUM = coldCrownUM
		}
	}
	behind := func(role mill.Role) heat.CrownModel {
		of := scope
		of.Role = role
		return crownOf(practice.Resolve(practices, of))
	}
	return duty.Models{Kind: m.Kind, Crown: crown, IntermediateCrown: behind(mill.Intermediate), BackupCrown: behind(mill.Backup), Kernel: kernel, Coefficients: c.pair,
		LeastMargin: p.Number(practice.OverloadMarginMin), Material: materials(practices, scope)}, nil
}

func crownOf(p practice.InForce) heat.CrownModel {
	tau := p.Number(practice.ThermalTauMin)
	return heat.CrownModel{SteadyUM: p.Number(practice.ThermalCrownUM), RollingTauMin: tau, IdleTauMin: tau}
}

// materials tells what the practices know of a rolled metal. It remembers, as the
// pieces of a programme are of few.
func materials(practices []practice.Practice, scope practice.Scope) func(string) duty.Material {
	known := map[string]duty.Material{}
	return func(name string) duty.Material {
		m, ok := known[name]
		if !ok {
			of := scope
			of.Material = name
			p := practice.Resolve(practices, of)
			m = duty.Material{CarbonPct: p.Number(practice.CarbonPct), ManganesePct: p.Number(practice.ManganesePct), ChromiumPct: p.Number(practice.ChromiumPct),
				Analysed: p.Value(practice.CarbonPct).Set, FlowFactor: p.Number(practice.FlowStressFactor), ColdFlowStressMPa: p.Number(practice.ColdFlowStressMPa)}
			known[name] = m
		}
		return m
	}
}
