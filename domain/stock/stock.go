// Package stock says how much to take off a roll: the largest of what asks for
// it, each part with where it comes from, and the margin on top.
package stock

import (
	"fmt"
	"math"
	"slices"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// Kind names a part.
type Kind string

// The parts. All but the margin are alternatives: the largest rules.
const (
	Wear      Kind = "wear"
	Crack     Kind = "crack"
	FireCrack Kind = "fire_crack"
	Damage    Kind = "damage" // contact fatigue
	Hardness  Kind = "hardness"
	Groove    Kind = "groove"
	Contour   Kind = "profile"
	Least     Kind = "least"
	Margin    Kind = "margin"
)

// words name a part in "… sets the stock".
var words = map[Kind]string{
	Wear: "wear below the found diameter", Crack: "the deepest defect found", FireCrack: "fire cracks by the mill's policy", Damage: "contact fatigue over the limit",
	Hardness: "hardness risen above new", Groove: "the deepest worn groove", Contour: "the new contour against the old one", Least: "the practice's least stock",
}

// Part is one part of the stock, on diameter below what was found.
type Part struct {
	Kind   Kind
	UM     float64
	Source string
}

// Input is what is known of a roll before it is ground.
type Input struct {
	State    roll.State
	Practice practice.InForce
	Found    quantity.Micrometre // 0 when not yet measured: the last ground diameter is taken
	// WearUM is the deepest wear along the barrel since the last grind, computed
	// or measured, on diameter; 0 or more.
	WearUM     float64
	WearSource string
	// CrackUM is a crack depth told with the question, on radius; 0 when none is.
	CrackUM float64
	// FireCrackPieces are those rolled since the last grind, or since a test
	// measured the cracks after it.
	FireCrackPieces int64
	// Fatigue is the stock on radius, mm below the last ground surface, that is
	// rid of damage over the limit; nil where none was counted.
	Fatigue *Fatigue
	// GrooveWorn is the deepest groove's wear, on diameter, and GrooveMeasured is
	// true where it was measured in the groove.
	GrooveWorn     quantity.Micrometre
	GrooveMeasured bool
	AimCrownUM     float64
	// Taken are the stocks of the roll's last grinds, newest last.
	Taken []quantity.Micrometre
}

// Fatigue is what contact fatigue asks for.
type Fatigue struct {
	RadialMM float64
	Beyond   bool // more lies below what is kept of the roll's depth
	Source   string
}

// Advice is what to take off and what that leaves.
type Advice struct {
	Found quantity.Micrometre
	Parts []Part
	Rules Kind
	Rule  string // in words
	Stock quantity.Micrometre
	Aim   quantity.Micrometre
	// Left is what lies between the aim and the scrap limit, below 0 where the
	// grind goes past it.
	Left quantity.Micrometre
	// NormalMM is wear and grind of a normal campaign together, by the practice: a
	// comparison, not a rule.
	NormalMM     float64
	NormalSource string
	Comparison   Comparison
	Outlook      Outlook
	Notes        []string
}

// Advise gives the stock: the largest of the parts plus the margin, rounded up
// to whole micrometres.
func Advise(in Input) Advice {
	s, p := in.State, in.Practice
	normal := p.Value(practice.NormalStockMM)
	a := Advice{Found: in.Found, NormalMM: normal.Number, NormalSource: normal.Source}
	if a.Found == 0 {
		a.Found = s.Diameter
		a.Notes = append(a.Notes, "not measured yet: the last ground diameter is taken as found; measure and ask again")
	}
	// What is counted from the last ground surface is less by what the roll has
	// lost since. The shop measures the middle of the barrel; the deepest wear may
	// lie near the strip's edge and reach below that.
	lost := float64(s.Diameter - a.Found)
	a.add(Wear, math.Max(0, in.WearUM-lost), in.WearSource)
	a.crack(in)
	a.fireCrack(in)
	a.fatigue(in, lost)
	a.hardness(in)
	if s.Roll.Grooved() {
		a.add(Groove, math.Max(0, float64(in.GrooveWorn)-lost), "deepest groove wear "+in.grooveSource()+", less what the collars have lost; all grooves are turned by the same cut")
	}
	a.add(Contour, math.Abs(in.AimCrownUM-s.CrownUM), "the new crown against the last one")
	least := p.Value(practice.LeastStockMM)
	a.add(Least, 1000*least.Number, "least stock of the practice ("+least.Source+")")
	a.rule()
	margin := practice.MarginStockUM
	if s.Roll.Grooved() {
		margin = practice.RedressMarginUM
	}
	on := p.Value(margin)
	a.Parts = append(a.Parts, Part{Margin, on.Number, on.Source})
	a.Stock = quantity.Micrometre(math.Ceil(a.largest() + on.Number))
	a.Aim = a.Found - a.Stock
	limit, _ := s.ScrapLimit()
	a.Left = a.Aim - limit
	a.Comparison = compare(a, in.Taken)
	a.Outlook = Next(s.Diameter-a.Aim, a.Left, p)
	return a
}

func (a *Advice) add(kind Kind, um float64, source string) {
	a.Parts = append(a.Parts, Part{kind, um, source})
}

// largest is the part that rules; the first of equals does.
func (a *Advice) largest() float64 {
	most := 0.0
	for _, p := range a.Parts {
		if p.Kind != Margin {
			most = math.Max(most, p.UM)
		}
	}
	return most
}

func (a *Advice) rule() {
	most := a.largest()
	if most == 0 {
		a.Rules, a.Rule = Margin, "nothing asks for stock; the margin alone is taken"
		return
	}
	i := slices.IndexFunc(a.Parts, func(p Part) bool { return p.UM == most })
	a.Rules = a.Parts[i].Kind
	a.Rule = words[a.Rules] + "; the margin comes on top"
}

// crack is twice the deepest defect on radius that is known, with a margin of
// its own: every crack is ground right out.
func (a *Advice) crack(in Input) {
	depth, from := in.CrackUM, "deepest crack told"
	if d, known := in.State.DeepestDefect(); known && d.DepthUM >= depth {
		depth, from = d.DepthUM, fmt.Sprintf("deepest defect that the %s test of %s found and that is not ground out", d.Kind.Words(), d.At.UTC().Format("2006-01-02"))
	}
	if depth <= 0 {
		return
	}
	margin := in.Practice.Value(practice.CrackMarginUM)
	a.add(Crack, 2*depth+margin.Number, fmt.Sprintf("%s, %.0f µm on radius, doubled, and %g µm of its own margin (%s); every crack is ground right out", from, depth, margin.Number, margin.Source))
}

// fireCrack is twice the depth by the mill's policy: what the last grind left and
// what grew since, or what a test measured.
func (a *Advice) fireCrack(in Input) {
	rate, left := in.Practice.Value(practice.FireCrackUMPerPiece), in.State.FireCracks.LeftUM
	grown := 0.0
	if rate.Set {
		grown = rate.Number * float64(in.FireCrackPieces)
	}
	if !rate.Set && left == 0 {
		return
	}
	source := fmt.Sprintf("fire cracks on radius: %.0f µm left by the last grind and %.0f µm grown in %d pieces (%s, a policy), doubled", left, grown, in.FireCrackPieces, rate.Source)
	if at := in.State.FireCracks.MeasuredAt; !at.IsZero() {
		source = fmt.Sprintf("fire cracks on radius: %.0f µm measured on %s and %.0f µm grown since, doubled", left, at.UTC().Format("2006-01-02"), grown)
	}
	a.add(FireCrack, 2*(left+grown), source)
}

// fatigue takes off the layers over the limit. Damage lies below the last ground
// surface. A grind cannot heal a layer, only take it off.
func (a *Advice) fatigue(in Input, lost float64) {
	f := in.Fatigue
	if f == nil {
		return
	}
	um := 0.0
	if f.RadialMM > 0 {
		um = math.Max(0, 2000*f.RadialMM-lost)
		a.Notes = append(a.Notes, "fatigue over the limit lies deep: grinding a little oftener, or a lighter duty, keeps it down at less stock than taking it all off at once")
	}
	if f.Beyond {
		a.Notes = append(a.Notes, "fatigue over the limit reaches below what is kept of the roll's depth: this stock does not take all of it off")
	}
	a.add(Damage, um, f.Source)
}
