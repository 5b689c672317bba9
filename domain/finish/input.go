package finish

import (
	"fmt"

	"barrelbook/domain/duty"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
	"barrelbook/domain/score"
	"barrelbook/domain/standing"
	"barrelbook/domain/stop"
)

// Input is one stand with the sets that are, or would be, in it and the
// programme ahead.
type Input struct {
	// Ask ends the work early, with its error. Defaults to never.
	Ask   stop.Check
	watch stop.Watch

	Stand          mill.Stand
	DensityKGPerM3 float64
	// Pieces is the whole programme in rolling order, completed and checked.
	Pieces []mill.Piece
	// FromPiece is the first piece still to be rolled, from 1; 0 stands for 1.
	FromPiece int
	Stops     []mill.PlannedStop
	// Work and Backup are the sets asked about. One without rolls stands for an
	// empty place. Backup is not looked at in a two-high stand, Intermediate only
	// in a six-high one.
	Work, Intermediate, Backup Set
	// Candidates are sets of either role that could go in instead, for the
	// remedies.
	Candidates []Set
	// LengthCV and ForceCV are how far, as a fraction, the rolled length and
	// the force of a whole programme are usually off what was planned. Both are
	// one for all its pieces.
	LengthCV, ForceCV float64
	// LengthFactor and ForceFactor are what is rolled over what the programme says, as
	// programmes before were; 0 stands for 1.
	LengthFactor, ForceFactor float64
	// OffPlan says what they were learned from.
	OffPlan string
	// Recalibration takes the model's probabilities to those that come true as often as
	// they say; its zero value leaves them.
	Recalibration score.Recalibration
	// Models are the mechanics of the stand; nil to take the load as even and
	// follow no fatigue. Gaps between pieces are MinutesPerPiece less the rolling.
	Models          *duty.Models
	MinutesPerPiece float64
	// Drive is nil where the stand has a motor of its own.
	Drive *Drive
	// Limits are the settings of the stand and its work rolls.
	Limits standing.Limits
	// YesFrom and NoBelow are the probabilities that part the verdicts.
	YesFrom, NoBelow float64
	// Explain adds to every margin where its numbers come from.
	Explain bool
	// Course follows the nearest limits through the programme.
	Course bool
}

// What the question starts from.
type (
	Set       = standing.Set
	Roll      = standing.Roll
	Block     = standing.Block
	Costs     = standing.Costs
	Drive     = standing.Drive
	Neighbour = standing.Neighbour
	// Criterion names what is held against a limit.
	Criterion = limit.Criterion
)

// Verdict is the answer in one word.
type Verdict string

// The verdicts. Blocked: a hard limit is passed or the set may not run.
const (
	Yes      Verdict = "yes"
	Marginal Verdict = "marginal"
	No       Verdict = "no"
	Blocked  Verdict = "blocked"
)

// Worse is the worse of two verdicts.
func Worse(a, b Verdict) Verdict {
	rank := map[Verdict]int{Yes: 0, Marginal: 1, No: 2, Blocked: 3}
	if rank[b] > rank[a] {
		return b
	}
	return a
}

// Answer is what Check says of one stand.
type Answer struct {
	Stand     string
	Set       string
	BackupSet string
	// IntermediateSet is that of a six-high stand.
	IntermediateSet string
	Verdict         Verdict
	Probability     float64
	// Modelled is the probability before it was recalibrated.
	Modelled float64
	Sentence string
	Limiting *Margin // nil where nothing limits the set
	Margins  []Margin
	Blocks   []string
	Unknowns []string
	Notes    []string
	More     *Capacity
	Remedies []Remedy
}

// Margin is one criterion of one roll.
type Margin struct {
	kind  *limit.Kind
	watch *soft // nil where the limit is hard

	Roll      string
	Criterion Criterion
	Groove    int // where the criterion is one groove's, from 1
	Unit      string
	Limit     float64
	Now       float64
	// Past is true where the limit is passed already.
	Past bool
	// AtEnd is expected when the last piece is rolled: with every uncertain
	// factor at its median. AtEndLow and AtEndHigh are P5 and P95, the same as
	// AtEnd where nothing is uncertain.
	AtEnd, AtEndLow, AtEndHigh float64
	// Probability that this limit is not passed.
	Probability float64
	// Reached is where AtEnd is expected to pass the limit, ReachedP10 the first
	// piece at which it is not 90 % sure that it does not. Nil within the
	// programme.
	Reached, ReachedP10 *Reached
	Hard                bool
	Source              string
	// Course is the way to AtEnd, where it was asked for.
	Course []Step
}

// Reached is a place in the programme. Tonnes and km are those of the stand
// from the first piece asked about up to the end of the piece named.
type Reached struct {
	Piece     int // from 1 in the whole programme
	PieceID   string
	TonnageT  float64
	RolledKM  float64
	pastStart int // pieces from FromPiece, this one included
}

// Capacity is how much more the set can roll at the yes probability: of the
// programme from the first piece asked about and, past its end, of the same
// pieces over again.
type Capacity struct {
	Pieces   int
	TonnageT float64
	RolledKM float64
	// AtLeast is true where the search ended before a limit came.
	AtLeast bool
}

// check refuses what no answer can be computed from.
func (in *Input) check() error {
	var c refusal.Check
	if len(in.Pieces) == 0 {
		c.Add("pieces", "", "must have at least one piece", "there is nothing to finish in an empty programme")
	} else if in.FromPiece < 1 || in.FromPiece > len(in.Pieces) {
		c.Add("from_piece", fmt.Sprint(in.FromPiece), fmt.Sprintf("must lie between 1 and the last piece, %d", len(in.Pieces)), "")
	}
	c.Positive("density_kg_per_m3", in.DensityKGPerM3)
	c.Within("length_cv", in.LengthCV, 0, 1)
	c.Within("force_cv", in.ForceCV, 0, 1)
	c.Within("length_factor", in.LengthFactor, 0, 10)
	c.Within("force_factor", in.ForceFactor, 0, 10)
	if c.Within("finish_yes_probability", in.YesFrom, 0, 1) && c.Within("finish_no_probability", in.NoBelow, 0, 1) && in.NoBelow > in.YesFrom {
		c.Add("finish_no_probability", refusal.Number(in.NoBelow), "must not be above finish_yes_probability "+refusal.Number(in.YesFrom), "correct the practice")
	}
	for _, set := range []*Set{&in.Work, &in.Intermediate, &in.Backup} {
		checkSet(set, &c)
	}
	for i := range in.Candidates {
		checkSet(&in.Candidates[i], &c)
	}
	return c.Err()
}

func checkSet(s *Set, c *refusal.Check) {
	for i := range s.Rolls {
		r := &s.Rolls[i]
		c.Positive("rolls/"+r.Number+"/diameter_mm", r.DiameterMM)
		c.NotNegative("rolls/"+r.Number+"/wear_rate_cv", r.SharedCV)
		c.NotNegative("rolls/"+r.Number+"/wear_rate_cv", r.OwnCV)
		c.NotNegative("rolls/"+r.Number+"/wear_rate_um_per_km", r.Rate.UmPerKmAt10)
		if r.Roughness.ScaleKM != 0 {
			if _, err := r.Roughness.At(0); err != nil {
				c.Add("rolls/"+r.Number+"/roughness", "", err.Error(), "correct the practice")
			}
		}
		if r.Damage != nil {
			if err := r.Damage.Check(); err != nil {
				c.Add("rolls/"+r.Number+"/damage", "", err.Error(), "")
			}
		}
		for _, w := range r.WearUM() {
			c.NotNegative("rolls/"+r.Number+"/wear_um", w)
		}
	}
}
