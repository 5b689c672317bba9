package port

// The defaults of a grade's properties: those of a steel roll, common
// practice, no source.
const (
	defaultModulusMPa   = 206000
	defaultPoisson      = 0.3
	defaultDensity      = 7850
	defaultExpansion    = 12e-6
	defaultConductivity = 30
	defaultSpecificHeat = 480
)

func or(v, otherwise float64) float64 {
	if v > 0 {
		return v
	}
	return otherwise
}

// Modulus is the elastic modulus, MPa.
func (g Grade) Modulus() float64 { return or(g.ElasticModulusMPa, defaultModulusMPa) }

// Poisson is Poisson's ratio.
func (g Grade) Poisson() float64 { return or(g.PoissonRatio, defaultPoisson) }

// Density is the density, kg/m³.
func (g Grade) Density() float64 { return or(g.DensityKGPerM3, defaultDensity) }

// Expansion is the linear expansion, 1/K.
func (g Grade) Expansion() float64 { return or(g.ExpansionPerK, defaultExpansion) }

// Conductivity is the heat conductivity, W/mK.
func (g Grade) Conductivity() float64 { return or(g.ConductivityWPerMK, defaultConductivity) }

// SpecificHeat is the specific heat, J/kgK.
func (g Grade) SpecificHeat() float64 { return or(g.SpecificHeatJPerKGK, defaultSpecificHeat) }

// Brittle says whether a grade breaks rather than yields: the irons.
func (g Grade) Brittle() bool {
	switch g.Family {
	case "nodular_iron", "high_chromium_iron", "indefinite_chill", "chilled_iron":
		return true
	}
	return false
}

// Grade is a roll material as the shop knows it, with its properties. Zero
// stands for the default of the property.
type Grade struct {
	Name                string
	Family              string
	Title               string
	ElasticModulusMPa   float64
	PoissonRatio        float64
	DensityKGPerM3      float64
	ExpansionPerK       float64
	ConductivityWPerMK  float64
	SpecificHeatJPerKGK float64
	AllowableStressMPa  float64
}
