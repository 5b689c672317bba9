package plan

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// AdviceInput is what is known of the roll before it is ground.
type AdviceInput struct {
	Found        quantity.Micrometre // 0 when not yet measured
	CrackDepthUM float64             // deepest crack found, on radius
	CrownUM      *float64            // to grind; nil for the practice's
}

// StockPart is one part of the stock advised.
type StockPart struct {
	Part   string
	UM     float64 // on diameter
	Source string
}

// PartnerOffer is a roll that would match after the grind.
type PartnerOffer struct {
	Roll     string
	Diameter quantity.Micrometre
	Mismatch quantity.Micrometre
}

// Advice is what to take off and what that leaves.
type Advice struct {
	Roll         string
	Found        quantity.Micrometre
	Parts        []StockPart
	Stock        quantity.Micrometre
	Aim          quantity.Micrometre
	AimCrownUM   float64
	Rule         string
	StockLeft    quantity.Micrometre
	RegrindsLeft int64
	WearUM       float64 // deepest since the last grind, by what was rolled
	Partners     []PartnerOffer
	Cautions     []string
	Notes        []string

	Stretches []port.MountingRow // in stands since the last grind
}

// AdviseRegrind says what to take off a roll; of one that is in a stand, what it
// would be now. Conflicting when it is scrapped.
func (a *Planner) AdviseRegrind(ctx context.Context, number string, in AdviceInput) (Advice, error) {
	if _, err := a.learner.Known(ctx); err != nil {
		return Advice{}, err
	}
	var advice Advice
	err := a.store.Read(ctx, func(r port.Reader) error {
		row, err := r.Roll(number)
		if err != nil {
			return err
		}
		if row.State.Stage == roll.StageScrapped {
			return port.Fail(port.Conflicting, "roll %s is scrapped; check the roll number", number)
		}
		practices, err := gather.AllPractices(r)
		if err != nil {
			return err
		}
		if advice, err = a.Advise(r, row.State, in, practices); err != nil {
			return err
		}
		advice.Partners, err = offerPartners(r, row.State, advice.Aim, practice.Resolve(practices, gather.CaseOf(row.State)))
		return err
	})
	return advice, err
}

// Advise adds up the stock: what is left of the wear below the found diameter,
// or the crack, whichever is deeper, plus the margin and what a new crown
// needs.
func (a *Planner) Advise(r port.Reader, s roll.State, in AdviceInput, practices []practice.Practice) (Advice, error) {
	p := practice.Resolve(practices, gather.CaseOf(s))
	advice := Advice{Roll: s.Roll.Number, Found: in.Found, AimCrownUM: p.Number(practice.CrownUM)}
	if in.CrownUM != nil {
		advice.AimCrownUM = *in.CrownUM
	}
	stretches, err := gather.StaysSinceGrind(r, s)
	if err != nil {
		return Advice{}, err
	}
	now, err := gather.NewStanding(r, a.models, learn.RatesIn(a.learner.Current()), mill.Mill{Name: s.Mill}, &gather.Shop{Practices: practices, Now: a.clock.Now()}).Since(s)
	if err != nil {
		return Advice{}, err
	}
	computed, from := now.SinceGrind.DeepestWearUM(), "deepest wear computed from the pieces rolled, less the wear found"
	if computed > 0 {
		from += "; wear rate " + now.RateSource
	}
	advice.WearUM, advice.Stretches = computed, stretches
	if s.Stage == roll.StageMounted {
		advice.Notes = append(advice.Notes, "the roll is in "+s.Stand+": this is for what it has borne so far")
	}
	if advice.Found == 0 {
		advice.Found = s.Diameter
		advice.Notes = append(advice.Notes, "not measured yet: the last ground diameter is taken as found; measure and ask again")
	}
	// The shop measures the middle of the barrel; the deepest wear may lie near
	// the strip's edge and reach below what was found.
	below := math.Max(0, computed-float64(s.Diameter-advice.Found))
	deepest, rule := below, "wear below the found diameter"
	advice.Parts = append(advice.Parts, StockPart{Part: "wear", UM: below, Source: from})
	if in.CrackDepthUM > 0 {
		crack := 2 * in.CrackDepthUM
		advice.Parts = append(advice.Parts, StockPart{Part: "crack", UM: crack, Source: "deepest crack found, on radius, doubled; every crack is ground right out"})
		if crack > deepest {
			deepest, rule = crack, "the deepest crack"
		}
	}
	if deepest, rule, err = damagePart(r, s, p, &advice, deepest, rule); err != nil {
		return Advice{}, err
	}
	margin := practice.MarginStockUM
	if s.Roll.Grooved() {
		margin = practice.RedressMarginUM
		if deepest, rule, err = grooveParts(r, s, &advice, deepest, rule); err != nil {
			return Advice{}, err
		}
	}
	profile := math.Abs(advice.AimCrownUM - s.CrownUM)
	advice.Parts = append(advice.Parts,
		StockPart{Part: "profile", UM: profile, Source: "the new crown against the last one"},
		StockPart{Part: "margin", UM: p.Number(margin), Source: p.Value(margin).Source})
	advice.Stock = quantity.Micrometre(math.Ceil(deepest + profile + p.Number(margin)))
	advice.Rule = fmt.Sprintf("%s sets the stock; crown and margin come on top", rule)
	advice.Aim = advice.Found - advice.Stock
	limit, _ := s.ScrapLimit()
	advice.StockLeft = advice.Aim - limit
	advice.RegrindsLeft = RegrindsLeft(advice.StockLeft, p)
	advice.Cautions = adviceCautions(s, in, advice)
	return advice, nil
}

func adviceCautions(s roll.State, in AdviceInput, advice Advice) []string {
	list := append(caution.For(s), caution.Grind)
	if in.CrackDepthUM > 0 {
		list = append(list, caution.Crack, "Test again after grinding: a crack is ground right out, to a passed test, not to a figure.")
	}
	if in.CrackDepthUM == 0 {
		list = append(list, unknownCracks(s)...)
	}
	if !s.WithdrawnAt.IsZero() && s.WithdrawnAt.After(s.GroundAt) {
		list = append(list, caution.Warm)
	}
	if advice.StockLeft < 0 {
		list = append(list, "This grind goes below the scrap limit: the roll would be scrapped by it.")
	}
	return list
}

// unknownCracks says that the stock advised knows of no crack while a test for
// cracks is owed or failed.
func unknownCracks(s roll.State) []string {
	var why []string
	for _, f := range s.Failed {
		if f.Kind.FindsCracks() {
			why = append(why, fmt.Sprintf("the %s test failed on %s", f.Kind.Words(), port.Moment(f.At)))
		}
	}
	for _, o := range s.Owed {
		if o.Due && o.Kind.FindsCracks() {
			why = append(why, o.Sentence())
		}
	}
	if len(why) == 0 {
		return nil
	}
	return []string{"The stock advised knows of no crack, and " + strings.Join(why, ", and ") + ": find the depth of the deepest crack and ask again with it."}
}

// offerPartners lists the rolls that would match the aim, nearest first.
func offerPartners(r port.Reader, s roll.State, aim quantity.Micrometre, p practice.InForce) ([]PartnerOffer, error) {
	rows, err := port.Drain(func(page port.Page) ([]port.RollRow, string, error) {
		return r.Rolls(port.RollFilter{Role: s.Roll.Role, Mill: s.Mill, Stage: roll.StageGround}, page)
	})
	if err != nil {
		return nil, err
	}
	tolerance := p.Micrometres(practice.PairToleranceUM)
	var offers []PartnerOffer
	for _, row := range rows {
		other := row.State
		gap := other.Diameter - aim
		if gap < 0 {
			gap = -gap
		}
		if other.Roll.Number != s.Roll.Number && other.HeldFor == "" && other.Roll.BarrelLength == s.Roll.BarrelLength && gap <= tolerance {
			offers = append(offers, PartnerOffer{Roll: other.Roll.Number, Diameter: other.Diameter, Mismatch: gap})
		}
	}
	sort.Slice(offers, func(i, j int) bool {
		if offers[i].Mismatch != offers[j].Mismatch {
			return offers[i].Mismatch < offers[j].Mismatch
		}
		return offers[i].Roll < offers[j].Roll
	})
	return offers[:min(5, len(offers))], nil
}

// RegrindsLeft is how many normal grinds the stock left allows, in exact
// integers: (712.4 − 680.0)/0.45 is 72, which binary floats call 71.
func RegrindsLeft(stockLeft quantity.Micrometre, p practice.InForce) int64 {
	normal := p.Millimetres(practice.NormalStockMM)
	if normal <= 0 || stockLeft <= 0 {
		return 0
	}
	return int64(stockLeft / normal)
}
