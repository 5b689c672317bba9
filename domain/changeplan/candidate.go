package changeplan

import (
	"math"

	"barrelbook/domain/refusal"
)

// Candidate is a set of two rolls that is ready or soon will be.
type Candidate struct {
	ID string
	// TopDiameterUM and BottomDiameterUM are the ground diameters, µm.
	TopDiameterUM, BottomDiameterUM int64
	// ReadyMin is when the set stands ready beside the mill, minutes from the
	// caller's zero: cooling, grinder queue, inspection and assembly done.
	ReadyMin float64
	// Quality ranks what the set can be trusted with, 1 the best.
	Quality int
	// Stands are those the set may serve; empty for any.
	Stands []string
	// Bars are facts that keep the set out of any stand, in plain words:
	// "held for inspection", "eddy current test owed".
	Bars []string
}

// Range is a closed interval; the zero value asks nothing.
type Range struct{ Low, High float64 }

func (r Range) set() bool { return r != Range{} }

// Slot is one planned change of one stand and what it asks of a set. A zero
// range, tolerance or backup diameter leaves that check out.
type Slot struct {
	ID    string
	Stand string
	// DueMin is when the set has to be there, on the same clock as ReadyMin.
	DueMin float64
	// Demand ranks how demanding the stand is, 1 the most, on the scale of
	// Candidate.Quality.
	Demand int
	// PairToleranceUM is the greatest difference of the two diameters. Nil
	// leaves the check out; 0 asks for equal rolls.
	PairToleranceUM *int64
	DiameterMM      Range
	// StripSpeedMPerS is the range of roll surface speed in the campaign and
	// DriveRPM what the drive can turn.
	StripSpeedMPerS, DriveRPM Range
	// TopBackupUM and BottomBackupUM are the backup rolls that stay, µm; 0 in
	// a two-high stand.
	TopBackupUM, BottomBackupUM int64
	// IntermediatesUM is the sum of the intermediate rolls of a six-high stand, µm.
	IntermediatesUM int64
	// ShimMM is what the pass-line shims can take up, from the reference
	// diameters WorkRefMM and BackupRefMM; StackMM is the window for the sum
	// of the diameters in the stand.
	ShimMM                 Range
	WorkRefMM, BackupRefMM float64
	StackMM                Range
}

// Weights turn what is undesirable into cost, each at least 0.
type Weights struct {
	// LatePerMin is charged for each minute that the set is ready after due.
	LatePerMin float64
	// TooGoodPerRank is charged for each rank that a set is better than the
	// stand asks, which keeps good rolls for demanding stands.
	TooGoodPerRank float64
	// TooPoorPerRank is charged for each rank that it is worse.
	TooPoorPerRank float64
}

// Code names a rule of Judge.
type Code string

const (
	CodeBarred      Code = "barred"
	CodeStand       Code = "stand"
	CodePair        Code = "pair_mismatch"
	CodeDiameter    Code = "diameter"
	CodeSpeed       Code = "speed"
	CodeShim        Code = "shim"
	CodeStack       Code = "stack"
	CodeLate        Code = "late"
	CodeTooGood     Code = "too_good"
	CodeTooPoor     Code = "too_poor"
	CodeWithin      Code = "within_limits"
	CodeOnlyOne     Code = "only_one"
	CodeCheapest    Code = "cheapest"
	CodeElsewhere   Code = "cheaper_used_elsewhere"
	CodeNoCandidate Code = "no_candidate"
)

// Reason is one rule and what it found, as a sentence for a person.
type Reason struct {
	Code Code
	Text string
}

// Verdict is what a candidate costs in a slot, or why it may not go there.
type Verdict struct {
	// Cost is finite and at least 0. It means nothing where Forbidden.
	Cost      float64
	Forbidden bool
	Reasons   []Reason
}

// Judge applies the rules to one candidate and one slot:
//
//	stand   one of those the set may serve
//	pair    |D_t - D_b| <= tolerance
//	speed   N = 60000 v/(π D), both ends of the strip's range on the larger and
//	        the smaller roll within the drive's
//	shim    S = (D_b,ref - D_b)/2 + (D_w,ref - D_w), D_b and D_w those of the bottom half
//	stack   H = sum of the diameters between the screws
//	cost    LatePerMin·max(0, ready - due) + per rank of difference
//
// D in mm, v in m/s, N per minute. Rolls of one pair turn together, so both
// diameters are checked. Refuses input that is not finite or not positive.
// Formulas of stand geometry as in the rolling textbooks; derived anew here.
func Judge(c Candidate, s Slot, w Weights) (Verdict, error) {
	return judge(c, s, w, "candidate", "slot")
}

func judge(c Candidate, s Slot, w Weights, atC, atS string) (Verdict, error) {
	if err := checkJudged(c, s, w, atC, atS); err != nil {
		return Verdict{}, err
	}
	var v Verdict
	forbid := func(code Code, text string) {
		v.Forbidden = true
		v.Reasons = append(v.Reasons, Reason{code, text})
	}
	for _, b := range c.Bars {
		forbid(CodeBarred, "set "+c.ID+" may not go out: "+b)
	}
	judgeFit(c, s, forbid)
	charge := func(code Code, cost float64, text string) {
		v.Cost += cost
		v.Reasons = append(v.Reasons, Reason{code, text})
	}
	if late := c.ReadyMin - s.DueMin; late > 0 {
		charge(CodeLate, w.LatePerMin*late, "ready "+number(late)+" min after the change is due")
	}
	switch d := c.Quality - s.Demand; {
	case d < 0:
		charge(CodeTooGood, w.TooGoodPerRank*float64(-d), grades(-d, "better"))
	case d > 0:
		charge(CodeTooPoor, w.TooPoorPerRank*float64(d), grades(d, "lower"))
	}
	if len(v.Reasons) == 0 {
		v.Reasons = []Reason{{CodeWithin, "within the limits entered, ready in time, of the grade the stand needs"}}
	}
	if math.IsInf(v.Cost, 0) {
		return Verdict{}, refusal.One("weights", "", "give a cost beyond the range of numbers", "use a larger unit of cost")
	}
	return v, nil
}
