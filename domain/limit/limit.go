// Package limit knows every thing that can end a campaign: one file for each.
// A Kind says where a roll stands, how a programme brings it nearer to its
// limit, how doubtful that is, and how it is said. The finish check, the change
// planner and the forecast of the next change are engines over Kinds; a new
// limit is one file here, its Kind in Kinds, one setting in package practice and
// that setting's line in the contract.
package limit

import (
	"math"

	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
)

// Criterion names a limit as the contract does.
type Criterion string

// Kind is one thing that can end a campaign.
type Kind struct {
	Criterion Criterion
	// Key is the setting that gives the limit; empty where the roll or the stand
	// has it.
	Key practice.Key
	// Unit and Decimals are those it is said in.
	Unit     string
	Decimals int
	// Words name it for a person, Noun where it stands before "limit", Short what a
	// forecast is limited by where that is said in fewer words.
	Words, Noun, Short string
	// Falls is true where the limit is passed on the way down.
	Falls bool
	// Unforced is true where smaller forces do not bear on it.
	Unforced bool
	// Informs is true where passing it bars nothing.
	Informs bool
	// Ends says what a roll does to its limit; nil for the usual words.
	Ends func(roll, limit string, groove int) string

	// Watch lists what is uncertain of roll j of the programme; Fixed what is
	// known beforehand of the stand. A kind has one of the two.
	Watch func(a *Ahead, j int) []Watch
	// Plan, where it is not nil, stands for Watch in a plan, which may act within
	// the limit without changing rolls.
	Plan  func(a *Ahead, j int) []Watch
	Fixed func(a *Ahead) []Fixed
}

// InShort is what a forecast says it is limited by.
func (k *Kind) InShort() string {
	if k.Short == "" {
		return k.Words
	}
	return k.Short
}

// Kinds are all there are, in the order in which equals are told.
func Kinds() []*Kind { return kinds }

var kinds = []*Kind{
	&campaignTonnage, &campaignKM, &revolutions, &sameWidth, &grooveTonnage, &fireCrack, &roughness, &deepestWear, &scrapDiameter, &contactFatigue, &peakPressure,
	&crownChange, &quarter, &edgeStep,
	&force, &torque, &strength, &reduction, &speedHigh, &speedLow, &pairMismatch, &stackHigh, &stackLow, &passLineShim, &driveRatio, &nextGrind,
}

// Spread says which of the doubts of a programme bear on a use: the length
// rolled and the force to a power, and the wear rate of the roll or not. The use
// of a line is
//
//	A·O·(borne + Eᵉ·Fᶠ·added)      e = Length, f = Force
//
// with E of the length and F of the force, one each for the programme, A of the
// rate, one for the rolls of a set, and O each roll's own, all log-normal with
// median 1; A and O only where Rate is true.
type Spread struct {
	Length, Force float64
	Rate          bool
}

// Exact is the spread of what is taken from the programme as it is.
var Exact = Spread{}

// Line is a use: borne already and added by what is ahead. Where there are more
// lines than one the greatest counts.
type Line struct{ Borne, Added float64 }

// Watch is one limit of one roll that is used up by rolling.
type Watch struct {
	*Kind
	Roll   int // of the rolls of Ahead
	Groove int // where it is one groove's, from 1
	Limit  float64
	// Bound is the use at which the limit is reached, in the measure of the lines;
	// +Inf where it never is.
	Bound  float64
	Spread Spread
	Growth Growth
	// Show turns a use into the figure that is told; nil where it is the same.
	Show   func(use float64) float64
	Source string

	pieces int // of the programme
}

// Shown is the figure told of a use.
func (w *Watch) Shown(use float64) float64 {
	if w.Show == nil {
		return use
	}
	return w.Show(use)
}

// Now is the figure told before anything of the programme is rolled.
func (w *Watch) Now() float64 { return w.Shown(w.Growth.Now()) }

// Past says whether the limit is passed already by what lasts: a peak is over
// and done with.
func (w *Watch) Past() bool { return Greatest(w.Growth.Lines(nil, nil), 0) > w.Bound }

// Greatest is the use of the greatest line when what is ahead is off by a
// factor.
func Greatest(lines []Line, factor float64) float64 {
	use := 0.0
	for _, l := range lines {
		use = max(use, l.Borne+factor*l.Added)
	}
	return use
}

// Fixed is a figure that is known beforehand and must not pass its limit.
type Fixed struct {
	*Kind
	Roll       string
	Limit, Now float64
	// PerPiece is the figure of each piece, NaN where it has none; nil where the
	// figure is Now throughout.
	PerPiece []float64
	// Rolls names for each piece the roll whose figure it is, where they differ.
	Rolls []string
	// ByForce is true where the figure goes with the force.
	ByForce bool
	Source  string
}

// Passed says whether a figure passes the limit, leaving room for rounding.
func (f *Fixed) Passed(v float64) bool {
	if f.Falls {
		return v < f.Limit-1e-9*max(1, f.Limit)
	}
	return v > f.Limit+1e-9*max(1, f.Limit)
}

// Watches lists what the programme uses up of the rolls, roll by roll.
func Watches(a *Ahead) []Watch {
	return watches(a, func(k *Kind) func(*Ahead, int) []Watch { return k.Watch })
}

// Planned lists what a plan has to watch.
func Planned(a *Ahead) []Watch {
	return watches(a, func(k *Kind) func(*Ahead, int) []Watch {
		if k.Plan != nil {
			return k.Plan
		}
		return k.Watch
	})
}

func watches(a *Ahead, by func(*Kind) func(*Ahead, int) []Watch) []Watch {
	var list []Watch
	for j := range a.Rolls {
		for _, k := range kinds {
			watch := by(k)
			if watch == nil {
				continue
			}
			for _, w := range watch(a, j) {
				w.Kind, w.Roll, w.pieces = k, j, len(a.Pieces)
				list = append(list, w)
			}
		}
	}
	return list
}

// FixedOf lists what is known beforehand of the stand.
func FixedOf(a *Ahead) []Fixed {
	var list []Fixed
	for _, k := range kinds {
		if k.Fixed == nil {
			continue
		}
		for _, f := range k.Fixed(a) {
			f.Kind = k
			list = append(list, f)
		}
	}
	return list
}

// of starts a watch whose limit is a setting of the roll; ok is false where it
// is not given.
func of(r *standing.Roll, key practice.Key) (w Watch, ok bool) {
	v := r.Limit(key)
	return Watch{Limit: v.Number, Bound: v.Number, Source: "limit: " + v.Source}, v.Set
}

// LogSD is the standard deviation of the logarithm that goes with a coefficient
// of variation of a log-normal figure, √ln(1+cv²).
func LogSD(cv float64) float64 { return math.Sqrt(math.Log1p(cv * cv)) }
