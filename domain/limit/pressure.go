package limit

import (
	"barrelbook/domain/duty"
	"barrelbook/domain/practice"
)

// peakPressure is the greatest contact pressure of any piece, which goes with the
// root of the force.
var peakPressure = Kind{
	Criterion: "peak_pressure", Key: practice.MaxPeakPressureMPa, Unit: "MPa", Words: "peak contact pressure", Noun: "contact-pressure", Short: "contact pressure",
	Watch: func(a *Ahead, j int) []Watch {
		w, ok := of(a.Rolls[j], practice.MaxPeakPressureMPa)
		per := a.Each(j, pressure)
		if !ok || greatest(per) == 0 {
			return nil
		}
		w.Growth, w.Spread = Peaking{a.Rolls[j].Stay.MaxPeakPressureMPa, per, a.Factor[j].Pressure}, Spread{Force: 0.5}
		w.Source += "; use: forces of the programme and the diameters as ground" + a.forceDoubt()
		return []Watch{w}
	},
}

func pressure(u *duty.Usage) float64 { return u.MaxPeakPressureMPa }
