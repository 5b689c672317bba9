package quantity

import (
	"math"
	"math/big"
	"strconv"
	"strings"

	"barrelbook/domain/refusal"
)

// System is the set of units that a report is printed in and that bare
// numbers are read in. There are two imperial ones because a ton is 2000 lb
// in one country and 2240 lb in another, an eighth apart: the person says
// which, and no figure is printed as a plain "ton".
type System int

// The systems.
const (
	Metric        System = iota // mm, kN, t, km
	ImperialShort               // in, short tonf, short ton, ft
	ImperialLong                // in, long tonf, long ton, ft
	systemCount   = 3
)

var systemNames = [systemCount]string{"metric", "imperial-short", "imperial-long"}

func (s System) String() string { return systemNames[s] }

// ParseSystem reads the name of a system of units. Plain "imperial" is
// refused, since it does not say which ton.
func ParseSystem(name string) (System, error) {
	for i, n := range systemNames {
		if strings.EqualFold(strings.TrimSpace(name), n) {
			return System(i), nil
		}
	}
	return 0, refusal.One("", quote(name), "is no system of units here",
		"say metric, imperial-short (a ton is 2000 lb) or imperial-long (a ton is 2240 lb)")
}

// LengthUnit is the unit of a bare length of record.
func (s System) LengthUnit() LengthUnit { return LengthUnit(Length.perSystem[s]) }

// ShowLength prints a length of record, without loss in either system.
func (s System) ShowLength(um Micrometre) string {
	if s == Metric {
		return um.String()
	}
	return um.InchString()
}

// ShowForce prints a force in kN, or tonf of the system's kind.
func (s System) ShowForce(kn float64) string { return Force.show(kn, s) }

// ShowMass prints a mass in t, or tons of the system's kind.
func (s System) ShowMass(t float64) string { return Mass.show(t, s) }

// ShowRolledLength prints a rolled length in km or ft.
func (s System) ShowRolledLength(km float64) string { return RolledLength.show(km, s) }

// ShowSpeed prints a speed in m/s or mph.
func (s System) ShowSpeed(mPerS float64) string { return Speed.show(mPerS, s) }

// ShowTemperature prints a temperature in °C or °F.
func (s System) ShowTemperature(c float64) string { return Temperature.show(c, s) }

// ShowDimension prints a thickness, a width or another length that is not of
// record, in mm or in.
func (s System) ShowDimension(mm float64) string { return Length.show(mm, s) }

// ShowCrown prints a crown or a depth of wear in µm or in.
func (s System) ShowCrown(um float64) string { return Crown.show(um, s) }

// ShowLineLoad prints a load per length of barrel in N/mm or lbf/in.
func (s System) ShowLineLoad(nPerMM float64) string { return LineLoad.show(nPerMM, s) }

// ShowStress prints a pressure or a stress in MPa or ksi.
func (s System) ShowStress(mpa float64) string { return Stress.show(mpa, s) }

// show prints v with the dimension's significant digits, but never cuts whole
// units: 123456 t stays 123456 t. A v that is not finite is a bug upstream and
// is printed as what it is rather than dressed up.
func (d *Dimension) show(v float64, s System) string {
	u := d.find(d.perSystem[s])
	exact := new(big.Rat).SetFloat64(v)
	if exact == nil {
		return strconv.FormatFloat(v, 'g', -1, 64) + " " + u.Name
	}
	amount := u.fromBase(exact)
	return amount.FloatString(d.decimals(amount)) + " " + u.Name
}

// decimals is how many places after the point give d.digits significant ones.
func (d *Dimension) decimals(amount *big.Rat) int {
	size, _ := new(big.Rat).Abs(amount).Float64()
	if size == 0 {
		return 0
	}
	leading := int(math.Floor(math.Log10(size))) + 1
	return min(max(d.digits-leading, 0), maxDecimals)
}

// maxDecimals keeps a value that is nothing but rounding noise from filling
// the line with zeros.
const maxDecimals = 8
