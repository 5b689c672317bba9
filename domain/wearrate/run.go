// Package wearrate learns how fast rolls wear from what every regrind found.
//
// A campaign's wear is rate × exposure + noise of the two measurements, unless
// an incident was ground out with it. Rates differ by grade and stand (a cell)
// and from roll to roll. The estimator takes all of that apart: a roll with many
// campaigns speaks for itself, a roll with few leans on its cell, a new cell on
// its grade, a new mill on its defaults; and an incident moves nothing.
package wearrate

import (
	"fmt"
	"math"

	"barrelbook/domain/refusal"
)

// Cell is where a rate holds: a grade of roll at a stand.
type Cell struct{ Grade, Stand string }

// Run is what one roll rolled between two grinds, as the second found it.
type Run struct {
	Roll string
	Cell
	// RolledKM is the length rolled at that stand.
	RolledKM float64
	// SpecificForceKNPerMM is the force over the strip width, mean over the length.
	SpecificForceKNPerMM float64
	// WearUM is last ground less found diameter, corrected for temperature. It
	// may be a little below 0: both were measured.
	WearUM float64
}

// Defaults are what a mill believes before its first regrind. Rates are µm on
// diameter per km at 10 kN/mm.
type Defaults struct {
	RateUMPerKM float64
	// RateCV is how far a grade's mean rate may lie from that, relative.
	RateCV float64
	// StandCV is how far the stands of a grade lie apart, relative, and RollCV the
	// rolls of a cell.
	StandCV, RollCV float64
	// NoiseUM is the standard deviation of a campaign's wear about rate × exposure.
	NoiseUM float64
	// GaugeSDUM is the standard deviation of one diameter measurement. Wear below
	// −4·√2 of it cannot be a measurement's error and is refused.
	GaugeSDUM float64
	// IncidentShare of campaigns end in an incident or a mistaken entry, whose
	// wear may be anything over a range of IncidentSpanUM.
	IncidentShare, IncidentSpanUM float64
	// LoadExponent a in exposure = km · (q/10)ᵃ; 1 in Archard's law, 0.6–1.2 in the literature.
	LoadExponent float64
}

// StandardDefaults are typical of hot strip finishing, from memory and with no
// source; a mill enters its own. They hold until a grade has campaigns.
func StandardDefaults() Defaults {
	return Defaults{
		RateUMPerKM: 3, RateCV: 1, StandCV: 0.3, RollCV: 0.15,
		NoiseUM: 12, GaugeSDUM: 10, IncidentShare: 0.05, IncidentSpanUM: 2000, LoadExponent: 1,
	}
}

// exposure is km · (q/10)ᵃ, in km at 10 kN/mm.
func (d Defaults) exposure(rolledKM, force float64) float64 {
	if rolledKM == 0 || force == 0 {
		return 0
	}
	return rolledKM * math.Pow(force/10, d.LoadExponent)
}

func (d Defaults) check(c *refusal.Check) {
	c.Positive("defaults/rate_um_per_km", d.RateUMPerKM)
	c.Positive("defaults/rate_cv", d.RateCV)
	c.Positive("defaults/stand_cv", d.StandCV)
	c.Positive("defaults/roll_cv", d.RollCV)
	c.Positive("defaults/noise_um", d.NoiseUM)
	c.Positive("defaults/gauge_sd_um", d.GaugeSDUM)
	c.Positive("defaults/incident_span_um", d.IncidentSpanUM)
	c.Within("defaults/incident_share", d.IncidentShare, 0.001, 0.5)
	c.Within("defaults/load_exponent", d.LoadExponent, 0, 3)
}

// Bounds on one campaign. They are far outside any mill; a figure beyond them
// has a wrong unit, and squares of it would leave the range of floats.
const (
	greatestKM     = 1e6
	greatestForce  = 1000
	greatestWearUM = 1e6
	greatestMM     = 1e4
)

func (d Defaults) checkRun(c *refusal.Check, path string, e Run) {
	if e.Roll == "" {
		c.Add(path+"/roll", "", "must name a roll", "")
	}
	c.Within(path+"/rolled_km", e.RolledKM, 0, greatestKM)
	c.Within(path+"/specific_force_kn_per_mm", e.SpecificForceKNPerMM, 0, greatestForce)
	lowest := -4 * math.Sqrt2 * d.GaugeSDUM
	switch {
	case !c.Finite(path+"/wear_um", e.WearUM):
	case e.WearUM < lowest:
		c.Add(path+"/wear_um", refusal.Number(e.WearUM)+" µm",
			fmt.Sprintf("is further below 0 than two measurements of %s µm standard deviation allow (%.0f µm)",
				refusal.Number(d.GaugeSDUM), lowest),
			"a roll does not grow; check the ground and the found diameter and their temperatures")
	default:
		c.Within(path+"/wear_um", e.WearUM, lowest, greatestWearUM)
	}
}

// check refuses defaults and campaigns; at most the first twenty bad campaigns
// are listed, for a person reads them.
func check(campaigns []Run, d Defaults) error {
	var c refusal.Check
	d.check(&c)
	if err := c.Err(); err != nil {
		return err
	}
	for i, e := range campaigns {
		d.checkRun(&c, fmt.Sprintf("campaigns/%d", i), e)
		if len(refusal.FieldsOf(c.Err())) >= 20 {
			break
		}
	}
	return c.Err()
}
