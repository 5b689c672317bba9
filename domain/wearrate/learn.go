package wearrate

import (
	"time"

	"barrelbook/domain/score"
	"barrelbook/domain/stop"
)

// Source says whose campaigns an answer rests on.
type Source string

// From the nearest to the farthest.
const (
	FromRoll     Source = "roll"     // the roll's own campaigns at this stand, with its cell behind them
	FromCell     Source = "cell"     // other rolls of the grade at this stand
	FromGrade    Source = "grade"    // the grade at other stands
	FromDefaults Source = "defaults" // no campaign of the grade at all
)

// CellRate is what was learned of one grade at one stand. Rates are µm per km at
// 10 kN/mm.
type CellRate struct {
	Cell
	RateUMPerKM float64 // of a roll drawn from all, as the stand wears now
	RateSD      float64 // standard error of that
	// BetweenRollSD is the standard deviation of rates from roll to roll.
	BetweenRollSD float64
	NoiseUM       float64 // sd of the two measurements of a campaign
	IncidentShare float64 // expected share of campaigns with an incident
	Rolls         int
	Campaigns     int // with exposure
	// Source is FromCell where the cell stands on its own, FromGrade or
	// FromDefaults where it has too few rolls or campaigns and that is what its
	// spread, noise and mean lean on.
	Source     Source
	DiameterMM float64 // that the rate is at; 0 for not known
	// Trouble is where the stand wears beyond chance, nil where it does not.
	Trouble *Trouble
}

// GradeRate is what a stand without campaigns of the grade falls back on.
type GradeRate struct {
	Grade         string
	RateUMPerKM   float64 // over the stands
	RateSD        float64 // standard error of it
	StandCV       float64 // how far stands lie apart, relative
	RollCV        float64 // how far rolls of a cell lie apart, relative
	NoiseUM       float64
	ScatterCV     float64 // of the wear itself from campaign to campaign, relative, whole
	SharedCV      float64 // the part of it that the rolls of a set have in common
	IncidentShare float64
	Cells         int
	Rolls         int
	Campaigns     int
	// What the rate changes with, and from where it is counted.
	DiameterMM             float64
	PerTenMM, PerTenMMSD   float64 // logarithm of the rate for 10 mm less diameter
	Force                  float64 // logarithm of specific force in kN/mm
	ForceMore, ForceMoreSD float64 // exponent of force beyond the one in the exposure
	Freshness              float64
	FreshMore, FreshMoreSD float64 // logarithm of the rate while freshly ground
}

// RollRate is what was learned of one roll at one stand.
type RollRate struct {
	Roll string
	Cell
	RateUMPerKM float64
	RateSD      float64
	SharedSD    float64 // the part of it that all rolls of the cell have in common
	Campaigns   int     // with exposure
	Incidents   float64 // how many of them look like incidents
	DiameterMM  float64 // that the rate is at; 0 for not known
	// Log is what the roll does in every stand, and LogSD its standard deviation: see
	// RollEffect.
	Log, LogSD float64
}

// RollEffect is what a roll does in every stand: the logarithm of its rate over
// that of its grade there.
type RollEffect struct {
	Roll    string
	Log, SD float64
}

// Rates is everything learned from the campaigns up to one cut. Lists are in
// order of their names and hold all that Predict needs, so they can be stored
// and put together again.
type Rates struct {
	Defaults Defaults
	Grades   []GradeRate
	Cells    []CellRate
	Rolls    []RollRate
	// Effects of the rolls, as Settle reads them out of Rolls.
	Effects []RollEffect
	// SetAside counts campaigns without exposure, which say nothing of a rate.
	SetAside int
	// Spread is by how much intervals are wider than the model's, from those scored.
	Spread score.Spread
}

// Trouble is a level of a stand that chance does not explain.
type Trouble struct {
	Since     time.Time
	Campaigns int // that show it
	// Factor of the wear before it, 90 % between Low and High.
	Factor, Low, High float64
}

// Learn estimates all rates from all campaigns, in any order, that have no set and
// no moment told. See Model. Without campaigns the defaults remain.
//
// Refused, by path: a campaign without a roll, lengths or forces below 0, figures
// that are not finite, wear below 0 by more than the gauge's uncertainty. Wear
// below 0 within it is kept as measured: clipping it would bias short campaigns.
// A campaign without exposure is counted in SetAside.
//
// On simulated fleets (learn_fleet_test.go, twenty seeds of each kind): a roll's
// rate is within 8 % after three campaigns and 5 % after ten (root mean square;
// 8.2 % after three where campaigns are short and the gauge is poor), intervals
// for the next campaign hold 87–93 % of those without an incident, and an
// incident of 1 mm moves a roll's rate by less than 3 %. With a single campaign
// per roll, scatter of campaigns and difference of rolls cannot be told apart and
// intervals may be too narrow.
//
// Grows with the campaigns: seconds for a hundred thousand. ask ends it early, with
// its error.
func Learn(runs []Run, d Defaults, ask stop.Check) (Rates, error) {
	all := make([]Campaign, len(runs))
	for i, r := range runs {
		all[i].Run = r
	}
	m, err := LearnModel(all, d, ask)
	if err != nil {
		return Rates{}, err
	}
	return m.Rates(), nil
}

func (a Cell) compare(b Cell) int {
	return compareNames(a.Grade, b.Grade, a.Stand, b.Stand)
}

// A cell stands on its own from so many rolls and incident-free campaigns on.
// The estimate leans on the grade smoothly; this only says when to name it.
const (
	ownRolls     = 4
	ownCampaigns = 12
	// enough campaigns for a median to say where a cell is.
	enough = 3
	// least share of the mill's default that such a median must have.
	least = 0.01
)
