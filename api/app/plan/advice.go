package plan

import (
	"context"
	"fmt"
	"math"
	"slices"
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
	"barrelbook/domain/stock"
)

// AdviceInput is what is known of the roll before it is ground.
type AdviceInput struct {
	Found        quantity.Micrometre // 0 when not yet measured
	CrackDepthUM float64             // deepest crack found, on radius
	CrownUM      *float64            // to grind; nil for the practice's
	GrooveWornUM *float64            // deepest wear measured in a groove, on diameter; nil to compute it
	// FoundStations are the diameters along the barrel as found; nil when not
	// measured.
	FoundStations []roll.Station
}

// PartnerOffer is a roll that would match after the grind.
type PartnerOffer struct {
	Roll     string
	Diameter quantity.Micrometre
	Mismatch quantity.Micrometre
}

// Advice is what to take off and what that leaves.
type Advice struct {
	Redress []stock.Redress // of a grooved roll
	stock.Advice
	Roll         string
	AimCrownUM   float64
	RegrindsLeft int64
	WearUM       float64 // deepest since the last grind, by what was rolled
	Partners     []PartnerOffer
	Cautions     []string

	Stays []port.Stay // in stands since the last grind
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

// Advise gathers what asks for stock and has the domain say how much.
func (a *Planner) Advise(r port.Reader, s roll.State, in AdviceInput, practices []practice.Practice) (Advice, error) {
	p := practice.Resolve(practices, gather.CaseOf(s))
	advice := Advice{Roll: s.Roll.Number, AimCrownUM: p.Number(practice.CrownUM)}
	if in.CrownUM != nil {
		advice.AimCrownUM = *in.CrownUM
	}
	need := stock.Input{State: s, Practice: p, Found: in.Found, CrackUM: in.CrackDepthUM, AimCrownUM: advice.AimCrownUM, Taken: s.Taken}
	var err error
	if advice.Stays, err = gather.StaysSinceGrind(r, s); err != nil {
		return Advice{}, err
	}
	if need.WearUM, need.WearSource, err = a.wornSince(r, s, practices); err != nil {
		return Advice{}, err
	}
	if um, at, measured := s.WornAlong(in.FoundStations); measured {
		need.WearUM, need.WearSource = um, fmt.Sprintf("deepest wear measured along the barrel, at %.0f mm from the drive side, less the wear found", at)
	}
	need.FireCrackPieces = gather.FireCrackPieces(s, advice.Stays)
	if need.GrooveWorn, err = gather.GrooveWorn(r, s); err != nil {
		return Advice{}, err
	}
	if in.GrooveWornUM != nil && s.Roll.Grooved() {
		need.GrooveWorn, need.GrooveMeasured = quantity.Micrometre(math.Ceil(*in.GrooveWornUM)), true
	}
	if need.Fatigue, err = fatigueStock(r, s, p); err != nil {
		return Advice{}, err
	}
	advice.Redress = stock.RedressTable(need)
	advice.Advice, advice.WearUM = stock.Advise(need), need.WearUM
	if s.Stage == roll.StageMounted {
		advice.Notes = append(advice.Notes, "the roll is in "+s.Stand+": this is for what it has borne so far")
	}
	if len(advice.Stays) > 0 && p.Value(practice.FireCrackUMPerPiece).Set && need.FireCrackPieces == 0 && s.FireCracks.MeasuredAt.IsZero() {
		advice.Notes = append(advice.Notes, "no piece is in the book of these campaigns, so that no growth of fire cracks is counted; their depth is not known until a test tells it")
	}
	advice.RegrindsLeft = RegrindsLeft(advice.Left, p)
	advice.Cautions = adviceCautions(s, in, advice)
	return advice, nil
}

// wornSince is the deepest wear since the last grind by what was rolled, at the
// rate now known, and where it comes from.
func (a *Planner) wornSince(r port.Reader, s roll.State, practices []practice.Practice) (float64, string, error) {
	rates, err := a.learner.InForce(r)
	if err != nil {
		return 0, "", err
	}
	now, err := gather.NewStanding(r, a.models, learn.RatesIn(rates), mill.Mill{Name: s.Mill}, &gather.Shop{Practices: practices, Now: a.clock.Now()}).Since(s)
	if err != nil {
		return 0, "", err
	}
	computed, from := now.SinceGrind.DeepestWearUM(), "deepest wear computed from the pieces rolled, less the wear found"
	if computed > 0 {
		from += "; wear rate " + now.RateSource
	}
	return computed, from, nil
}

// fatigueStock is what it takes to be rid of contact fatigue over the limit, nil
// where none was ever counted.
func fatigueStock(r port.Reader, s roll.State, p practice.InForce) (*stock.Fatigue, error) {
	shown, field, err := gather.DamageOf(r, port.RollRow{State: s}, p)
	if err != nil || shown == nil {
		return nil, err
	}
	off, err := field.StockToRemove(shown.Limit)
	return &stock.Fatigue{RadialMM: off.RadialMM, Beyond: off.Beyond,
		Source: fmt.Sprintf("contact fatigue %.3g of %g allowed (%s), %.1f mm deep: a policy, not a law", shown.Worst, shown.Limit, shown.Source, shown.DepthMM)}, err
}

func adviceCautions(s roll.State, in AdviceInput, advice Advice) []string {
	list := caution.ForGrind(s, advice.Aim)
	if in.CrackDepthUM > 0 && !caution.Cracked(s) {
		list = append(list, caution.Crack, caution.FullLoad)
	}
	if in.CrackDepthUM > 0 || caution.Cracked(s) {
		list = append(list, "Test again after grinding: a crack is ground right out, to a passed test, not to a figure.")
	}
	if in.CrackDepthUM == 0 {
		list = append(list, unknownCracks(s)...)
	}
	if !s.WithdrawnAt.IsZero() && s.WithdrawnAt.After(s.GroundAt) {
		list = append(list, caution.Warm)
	}
	if advice.Left < 0 {
		list = append(list, "This grind goes below the scrap limit: the roll would be scrapped by it.")
	}
	return list
}

// unknownCracks says that the stock advised knows of no crack while a test for
// cracks is owed or failed.
func unknownCracks(s roll.State) []string {
	var why []string
	for _, f := range s.Failed {
		known := slices.ContainsFunc(s.Defects, func(d roll.Defect) bool { return d.Kind == f.Kind })
		if f.Kind.FindsCracks() && !known {
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
