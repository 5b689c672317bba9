package main

import (
	"math"
	"time"
)

// density of rolled steel, kg/m³.
const density = 7850.0

// pass and piece are what the mill did, in the contract's names.
type pass struct {
	Stand    string  `json:"stand"`
	EntryMM  float64 `json:"entry_thickness_mm,omitempty"`
	ExitMM   float64 `json:"exit_thickness_mm"`
	WidthMM  float64 `json:"width_mm,omitempty"`
	ForceKN  float64 `json:"force_kn"`
	SpeedMPS float64 `json:"speed_m_per_s"`
	TempC    float64 `json:"temperature_c,omitempty"`
	Groove   int     `json:"groove,omitempty"`
	Reverse  bool    `json:"reverse,omitempty"`

	InnerShiftMM   float64 `json:"intermediate_roll_shift_mm,omitempty"`
	InnerBendingKN float64 `json:"intermediate_bending_force_kn,omitempty"`
}

type piece struct {
	Source   string  `json:"source,omitempty"`
	ID       string  `json:"id"`
	Mill     string  `json:"mill,omitempty"`
	RolledAt string  `json:"rolled_at,omitempty"`
	Material string  `json:"material"`
	Block    string  `json:"block,omitempty"`
	Demand   string  `json:"demand,omitempty"`
	MassT    float64 `json:"mass_t"`
	WidthMM  float64 `json:"width_mm"`
	EntryMM  float64 `json:"entry_thickness_mm"`
	Passes   []pass  `json:"passes"`
}

// exposure sums what pieces did at a stand: tonnes, km, and km weighted with
// specific force at 10 kN/mm. even is the barrel length for rolls that others press, over
// which the force is spread; 0 for the strip's width.
func exposure(pieces []piece, stand string, even float64) (t, km, weighted float64) {
	for _, p := range pieces {
		through := false
		for _, pass := range p.Passes {
			if pass.Stand != stand {
				continue
			}
			if !through { // a piece that comes again counts its tonnes once
				t, through = t+p.MassT, true
			}
			width := p.WidthMM
			if pass.WidthMM > 0 {
				width = pass.WidthMM
			}
			over := width
			if even > 0 {
				over = even
			}
			l := p.MassT * 1000 / (density * width / 1000 * pass.ExitMM / 1000) / 1000
			km += l
			weighted += l * pass.ForceKN / over / 10
		}
	}
	return t, km, weighted
}

// rolledFrom dates the pieces of a campaign one after the other.
func (l *line) rolledFrom(pieces []piece, start time.Time) []piece {
	dated := make([]piece, len(pieces))
	for i, p := range pieces {
		p.Source, p.Mill, p.Block, p.Demand = "mill-log", l.mill, "", ""
		p.RolledAt = stamp(start.Add(time.Duration(float64(i) * l.minutes * float64(time.Minute))))
		dated[i] = p
	}
	return dated
}

func round(v float64, digits int) float64 {
	scale := math.Pow(10, float64(digits))
	return math.Round(v*scale) / scale
}
