package duty

import (
	"fmt"
	"math"

	"barrelbook/domain/mill"
	"barrelbook/domain/rollforce"
)

// What a pass is taken to be where the piece does not say: common practice, no
// source. A force that hangs on them is told with a warning.
const (
	defaultCarbonPct    = 0.15
	defaultManganesePct = 0.6
	hotStartC           = 1150 // a piece at its first passes
	hotStripC           = 950
	defaultSpeedMPerS   = 2
	coldFlowStressMPa   = 600
	coldFriction        = 0.07
)

// force is the separating force of pass k, kN: measured, or predicted by the
// method that suits the mill. said tells what a prediction hangs on, and why
// there is none, as 0.
func (s *Stand) force(piece mill.Piece, k int) (kn float64, said string) {
	p := piece.Passes[k]
	if p.ForceKN > 0 || s.mech == nil || s.work == nil {
		return p.ForceKN, ""
	}
	if p.ExitThicknessMM >= p.EntryThicknessMM {
		return 0, "" // a pass without a draft asks for no force
	}
	in, taken := s.passInput(p, s.workingDiameter(p.Groove))
	pass, err := rollforce.Predict(in)
	if err != nil {
		return 0, fmt.Sprintf("%s: no force was given and none can be predicted (%v), so no wear and no pressure are computed for this pass", p.Stand, err)
	}
	return pass.ForceN / 1000, fmt.Sprintf("%s: no force was given; %.0f kN are predicted by %s%s", p.Stand, pass.ForceN/1000, in.Method, taken)
}

func (s *Stand) workingDiameter(groove int) float64 { return s.work.WorkingDiameterMM(groove) }

// passInput states the pass for the method of the mill: Ekelund for cogging,
// billet and bar mills, Sims with a hot flow stress for plate and hot strip,
// Bland and Ford for cold mills. taken says what had to be assumed.
func (s *Stand) passInput(p mill.Pass, diameterMM float64) (in rollforce.Input, taken string) {
	in = rollforce.Input{EntryThicknessMM: p.EntryThicknessMM, ExitThicknessMM: p.ExitThicknessMM, WidthMM: p.WidthMM, DiameterMM: diameterMM,
		SpeedMPerS: p.SpeedMPerS, TemperatureC: p.TemperatureC, CarbonPct: defaultCarbonPct, ManganesePct: defaultManganesePct, RollSurface: rollforce.SteelSurface}
	assume := func(format string, args ...any) {
		if taken == "" {
			taken = " with "
		} else {
			taken += ", "
		}
		taken += fmt.Sprintf(format, args...)
	}
	cold := s.mech.m.Kind == mill.ColdTandem || s.mech.m.Kind == mill.Temper
	if !cold {
		if in.TemperatureC == 0 {
			in.TemperatureC = hotStartC
			if s.mech.m.Kind == mill.HotStrip {
				in.TemperatureC = hotStripC
			}
			assume("%g °C assumed", in.TemperatureC)
		}
		if in.SpeedMPerS == 0 {
			in.SpeedMPerS = defaultSpeedMPerS
			assume("%g m/s assumed", in.SpeedMPerS)
		}
		assume("carbon %g %% assumed", in.CarbonPct)
	}
	switch s.mech.m.Kind {
	case mill.Cogging, mill.Billet, mill.Bar:
		in.Method = rollforce.Ekelund
	case mill.ColdTandem, mill.Temper:
		in.Method, in.MeanFlowStressMPa, in.Friction = rollforce.BlandFord, coldFlowStressMPa, coldFriction
		in.Flatten, in.RollModulusMPa, in.RollPoissonRatio = true, s.work.ElasticModulusMPa, s.work.PoissonRatio
		assume("a flow stress of %d MPa, a friction of %g and no tension assumed", coldFlowStressMPa, coldFriction)
	default:
		in.Method = rollforce.Sims
		in.MeanFlowStressMPa = hotFlowStressMPa(in)
	}
	return in, taken
}

// hotFlowStressMPa is the mean flow stress of plain carbon steel in a hot pass,
// after S. Shida (Hitachi Review 18, 1969), in kgf/mm² with T in thousands of
// kelvin above the transformation, ε = ln(h₁/h₂) and its mean rate
// v·ε/√(RΔh):
//
//	σ = 0.28·exp(5/T − 0.01/(C+0.05))·f·(ε̇/10)ᵐ,  f = 1.3(5ε)ⁿ/(1+n) − 0.75ε
//	n = 0.41 − 0.07C,  m = (−0.019C + 0.126)T + 0.075C − 0.05
//
// f is the mean over the strain of 1.3(5ε)ⁿ − 1.5ε. Coefficients quoted from
// memory. Made for 700 to 1200 °C, strains to 0.7 and rates to 100 1/s; held at
// those ends outside them. Below the transformation, near 800 °C, where steel
// turns softer again, the law above it goes on.
func hotFlowStressMPa(in rollforce.Input) float64 {
	const kgf = 9.80665
	c := in.CarbonPct
	t := (min(max(in.TemperatureC, 700), 1200) + 273.15) / 1000
	strain := math.Log(in.EntryThicknessMM / in.ExitThicknessMM)
	draft := in.EntryThicknessMM - in.ExitThicknessMM
	rate := 1000 * in.SpeedMPerS * strain / math.Sqrt(in.DiameterMM/2*draft)
	rate, strain = min(max(rate, 0.1), 100), min(strain, 0.7)
	n, m := 0.41-0.07*c, (-0.019*c+0.126)*t+0.075*c-0.05
	f := 1.3*math.Pow(5*strain, n)/(1+n) - 0.75*strain
	return kgf * 0.28 * math.Exp(5/t-0.01/(c+0.05)) * f * math.Pow(rate/10, m)
}
