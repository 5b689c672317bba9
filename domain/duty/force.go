package duty

import (
	"fmt"
	"strings"

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

// By how much a predicted force may be out, inside the range of its expressions
// and outside it, as a part of itself: common practice, no source. Two published
// flow stresses differ by 3 % where both were measured and by 18 % in the first
// hot passes (rollforce.HotFlowStress).
const (
	predictedDoubt = 0.10
	outsideDoubt   = 0.25
)

// Material is what is known of the rolled metal, by the name on the piece.
type Material struct {
	// CarbonPct, ManganesePct and ChromiumPct are its analysis in weight per
	// cent; used where Analysed.
	CarbonPct, ManganesePct, ChromiumPct float64
	Analysed                             bool
	// FlowFactor is what its flow stress is times that of the expression, for
	// metals it was not made for; 0 for 1.
	FlowFactor float64
	// ColdFlowStressMPa is its mean flow stress in a cold mill; 0 for a usual one.
	ColdFlowStressMPa float64
}

// forced is the separating force of a pass and how it is known.
type forced struct {
	kn        float64 // 0 where neither measured nor predicted
	predicted bool
	torqueNM  float64 // on one roll, where predicted with the force; else 0
	doubt     float64 // by how much it may be out, part of itself; 0 where measured
	said      []string
	doubts    []string // what the force model says of the pass
}

// force is that of pass k: measured, or predicted by the method that suits the
// mill. What is said tells what a prediction hangs on, and why there is none.
func (s *Stand) force(piece mill.Piece, k int) forced {
	p := piece.Passes[k]
	if p.ForceKN > 0 || s.mech == nil || s.work == nil || p.ExitThicknessMM >= p.EntryThicknessMM {
		return forced{kn: p.ForceKN} // a pass without a draft asks for no force
	}
	none := func(err error) forced {
		return forced{said: []string{fmt.Sprintf("%s: no force was given and none can be predicted (%v), so no wear and no pressure are computed for this pass", p.Stand, err)}}
	}
	x, err := s.expect(p, piece.Material, s.workingDiameter(p.Groove))
	if err != nil {
		return none(err)
	}
	pass, err := x.predict(x.in)
	if err != nil {
		return none(err)
	}
	f := forced{kn: pass.ForceN / 1000, predicted: true, torqueNM: pass.TorqueNM, doubt: predictedDoubt}
	for _, w := range append(pass.Warnings, x.warnings()...) {
		f.doubt = outsideDoubt
		f.doubts = append(f.doubts, p.Stand+": "+w)
	}
	f.said = append([]string{fmt.Sprintf("%s: no force was given; %.0f kN are predicted by %s%s, give or take %.0f %%", p.Stand, f.kn, x.in.Method, x.taken(), 100*f.doubt)}, f.doubts...)
	return f
}

func (s *Stand) workingDiameter(groove int) float64 { return s.work.WorkingDiameterMM(groove) }

// expectation is a pass as the method of the mill takes it.
type expectation struct {
	in      rollforce.Input
	hot     bool    // sims with the hot flow stress
	factor  float64 // of the material on the flow stress
	assumed []string
}

func (x *expectation) assume(format string, args ...any) {
	x.assumed = append(x.assumed, fmt.Sprintf(format, args...))
}

func (x *expectation) taken() string {
	if len(x.assumed) == 0 {
		return ""
	}
	return " with " + strings.Join(x.assumed, ", ")
}

// expect states the pass for the method of the mill: Ekelund for cogging,
// billet and bar mills, Sims with a hot flow stress for plate and hot strip,
// Bland and Ford for cold mills. It fails for a mill of any other kind.
func (s *Stand) expect(p mill.Pass, material string, diameterMM float64) (*expectation, error) {
	var m Material
	if s.mech.m.Material != nil {
		m = s.mech.m.Material(material)
	}
	x := &expectation{factor: 1, in: rollforce.Input{EntryThicknessMM: p.EntryThicknessMM, ExitThicknessMM: p.ExitThicknessMM, WidthMM: p.WidthMM, DiameterMM: diameterMM,
		SpeedMPerS: p.SpeedMPerS, TemperatureC: p.TemperatureC, CarbonPct: m.CarbonPct, ManganesePct: m.ManganesePct, ChromiumPct: m.ChromiumPct, RollSurface: rollforce.SteelSurface}}
	if m.FlowFactor > 0 {
		x.factor = m.FlowFactor
	}
	switch kind := s.mech.m.Kind; kind {
	case mill.Cogging, mill.Billet, mill.Bar:
		x.in.Method = rollforce.Ekelund
		x.assumeHot(kind, m, material)
	case mill.Plate, mill.HotStrip:
		x.in.Method, x.hot = rollforce.Sims, true
		x.assumeHot(kind, m, material)
	case mill.ColdTandem, mill.Temper:
		x.in.Method, x.in.Friction = rollforce.BlandFord, coldFriction
		x.in.Flatten, x.in.RollModulusMPa, x.in.RollPoissonRatio = true, s.work.ElasticModulusMPa, s.work.PoissonRatio
		if x.in.MeanFlowStressMPa = m.ColdFlowStressMPa; x.in.MeanFlowStressMPa == 0 {
			x.in.MeanFlowStressMPa = coldFlowStressMPa * x.factor
			x.assume("a flow stress of %.0f MPa", x.in.MeanFlowStressMPa)
		}
		x.assume("a friction of %g and no tension assumed", coldFriction)
	default:
		return nil, fmt.Errorf("no force model is known for a mill of kind %q", kind)
	}
	return x, nil
}

// assumeHot fills what a hot pass needs and the piece does not say.
func (x *expectation) assumeHot(kind mill.Kind, m Material, name string) {
	in := &x.in
	if in.TemperatureC == 0 {
		in.TemperatureC = hotStartC
		if kind == mill.HotStrip {
			in.TemperatureC = hotStripC
		}
		x.assume("%g °C assumed", in.TemperatureC)
	}
	if in.SpeedMPerS == 0 {
		in.SpeedMPerS = defaultSpeedMPerS
		x.assume("%g m/s assumed", in.SpeedMPerS)
	}
	if !m.Analysed {
		in.CarbonPct, in.ManganesePct = defaultCarbonPct, defaultManganesePct
		of := ""
		if name != "" && x.factor == 1 {
			of = ", as no practice knows the material " + name
		}
		x.assume("carbon %g %% assumed%s", in.CarbonPct, of)
	}
}

// predict is the pass as expected, or with another temperature in it.
func (x *expectation) predict(in rollforce.Input) (rollforce.Result, error) {
	if x.hot {
		flow, _ := rollforce.HotFlowStress(in.CarbonPct, in.TemperatureC, in.Strain(), in.MeanStrainRatePerS())
		in.MeanFlowStressMPa = x.factor * flow
	}
	pass, err := rollforce.Predict(in)
	if in.Method == rollforce.Ekelund { // its resistance is worked out inside
		pass.ForceN *= x.factor
		pass.TorqueNM *= x.factor
	}
	return pass, err
}

// warnings say where the flow stress lies outside what it was made for.
func (x *expectation) warnings() (list []string) {
	if !x.hot {
		return nil
	}
	if x.factor == 1 { // a factor of the practice is there for just that
		list = x.in.HotFlowWarnings()
	}
	if over := x.overstated(x.in.TemperatureC); over != "" {
		list = append(list, over)
	}
	return list
}

// overstated says how much too high the estimate is at a temperature below the
// transformation of the steel, nothing above it.
func (x *expectation) overstated(temperatureC float64) string {
	if !x.hot {
		return ""
	}
	_, times := rollforce.HotFlowStress(x.in.CarbonPct, temperatureC, x.in.Strain(), x.in.MeanStrainRatePerS())
	if times < 1.01 {
		return ""
	}
	return fmt.Sprintf("below %.0f °C the steel is no longer all austenite and turns softer: at %.0f °C the estimate is about %.2g times too high",
		rollforce.TransformationC(x.in.CarbonPct), temperatureC, times)
}
