package finish

import (
	"fmt"

	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/wear"
)

// Input is one stand with the sets that are, or would be, in it and the
// programme ahead.
type Input struct {
	Stand          mill.Stand
	DensityKGPerM3 float64
	// Pieces is the whole programme in rolling order, completed and checked.
	Pieces []mill.Piece
	// FromPiece is the first piece still to be rolled, from 1; 0 stands for 1.
	FromPiece int
	Stops     []mill.PlannedStop
	// Work and Backup are the sets asked about. One without rolls stands for an
	// empty place. Backup is not looked at in a two-high stand.
	Work, Backup Set
	// Candidates are sets of either role that could go in instead, for the
	// remedies.
	Candidates []Set
	// LengthCV and ForceCV are how far, as a fraction, the rolled length and
	// the force of a whole programme are usually off what was planned. Both are
	// one for all its pieces.
	LengthCV, ForceCV float64
	// Models are the mechanics of the stand; nil to take the load as even and
	// follow no fatigue. Gaps between pieces are MinutesPerPiece less the rolling.
	Models          *duty.Models
	MinutesPerPiece float64
	// LeastMargin is the least margin of the rolls' own strength; not set for
	// none.
	LeastMargin practice.Value
	// MaxReductionPct bounds the reduction of a pass; not set for no limit.
	MaxReductionPct practice.Value
	// Drive is nil where the stand has a motor of its own.
	Drive *Drive
	// YesFrom and NoBelow are the probabilities that part the verdicts.
	YesFrom, NoBelow float64
	// Explain adds to every margin where its numbers come from.
	Explain bool
}

// Set is two rolls, in the stand or not.
type Set struct {
	Name    string
	Role    mill.Role
	Mounted bool
	Rolls   []Roll
	// MismatchUM is the difference of the two diameters as they are now.
	MismatchUM    float64
	PairTolerance practice.Value
	Blocks        []Block
	Costs         Costs
}

// Block is a reason why a set cannot run at all.
type Block struct {
	Why string
	// ByTest is true where a passed test would lift it.
	ByTest bool
}

// Costs are what a remedy is ranked by, minor units of money.
type Costs struct {
	Stop, PlannedStop, Change, UnusedPerKM float64
}

// Roll is one roll with its limits. The mean wear rate is in the duty.Roll.
type Roll struct {
	duty.Roll
	// Campaign is what it has borne since it went in; zero for a set outside.
	Campaign duty.Usage
	// WornUM is the computed wear along the barrel since the last grind, at the
	// mean rate; nil where there is none.
	WornUM []float64
	// SharedCV is the spread of the wear rate that both rolls of a set have in
	// common, OwnCV what each has by itself. RateSource names where both and the
	// mean come from.
	SharedCV, OwnCV float64
	RateSource      string

	MaxCampaignT, MaxCampaignKM, MaxWearUM, MaxPeakPressureMPa practice.Value

	// Condition is what the models need to know of the roll and start from; its
	// wear is WornUM and its damage Damage.
	Condition duty.Condition
	// Damage is the contact fatigue so far; nil for none counted yet. MaxDamage
	// is what a layer may bear.
	Damage    *fatigue.Field
	MaxDamage practice.Value

	// MaxGrooveT bounds the tonnes through a groove; GrooveT are those since all
	// were turned, by number from 1.
	MaxGrooveT practice.Value
	GrooveT    []float64
	// SinceGrind is what the surface has borne, for fire cracks and roughness.
	SinceGrind                          SinceGrind
	FireCrackUMPerPiece, MaxFireCrackUM practice.Value
	// Roughness is followed where its scale and start are known.
	Roughness        wear.Roughness
	RoughnessLimitUM practice.Value

	ScrapDiameterMM float64
	ScrapLimit      string // which limit it is
	NormalStockMM   practice.Value
	Unknowns        []string
}

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
	Stand       string
	Set         string
	BackupSet   string
	Verdict     Verdict
	Probability float64
	Sentence    string
	Limiting    *Margin // nil where nothing limits the set
	Margins     []Margin
	Blocks      []string
	Unknowns    []string
	Notes       []string
	More        *Capacity
	Remedies    []Remedy
}

// Criterion names what is held against a limit.
type Criterion string

// The criteria. The soft ones have an uncertain use and make up the
// probability; the others are known beforehand, and one that is passed blocks.
// NextGrind does neither: a roll may well roll its last campaign.
const (
	CampaignTonnage Criterion = "campaign_tonnage"
	CampaignKM      Criterion = "campaign_km"
	Wear            Criterion = "wear"
	PeakPressure    Criterion = "peak_pressure"
	ScrapDiameter   Criterion = "scrap_diameter"
	NextGrind       Criterion = "diameter_after_grind"
	Force           Criterion = "force"
	SpeedHigh       Criterion = "speed_high"
	SpeedLow        Criterion = "speed_low"
	PairMismatch    Criterion = "pair_mismatch"
	StackHigh       Criterion = "stack_high"
	StackLow        Criterion = "stack_low"
	PassLineShim    Criterion = "pass_line_shim"
	GrooveTonnage   Criterion = "groove_tonnage"
	FireCrack       Criterion = "fire_crack"
	Roughness       Criterion = "roughness"
	Reduction       Criterion = "reduction"
	DriveRatio      Criterion = "drive_ratio"
	Fatigue         Criterion = "fatigue"
	Strength        Criterion = "strength"
)

// Margin is one criterion of one roll.
type Margin struct {
	Roll      string
	Criterion Criterion
	Groove    int // where the criterion is one groove's, from 1
	Unit      string
	Limit     float64
	Now       float64
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
	if c.Within("finish_yes_probability", in.YesFrom, 0, 1) && c.Within("finish_no_probability", in.NoBelow, 0, 1) && in.NoBelow > in.YesFrom {
		c.Add("finish_no_probability", refusal.Number(in.NoBelow), "must not be above finish_yes_probability "+refusal.Number(in.YesFrom), "correct the practice")
	}
	for _, set := range []*Set{&in.Work, &in.Backup} {
		set.check(&c)
	}
	for i := range in.Candidates {
		in.Candidates[i].check(&c)
	}
	return c.Err()
}

func (s *Set) check(c *refusal.Check) {
	for _, r := range s.Rolls {
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
		for _, w := range r.WornUM {
			c.NotNegative("rolls/"+r.Number+"/wear_um", w)
		}
	}
}
