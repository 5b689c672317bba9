package wearrate

import (
	"cmp"
	"math"
	"slices"

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
	RateUMPerKM float64 // mean over rolls
	RateSD      float64 // standard error of that mean
	// BetweenRollSD is the standard deviation of rates from roll to roll.
	BetweenRollSD float64
	NoiseUM       float64 // sd of one campaign's wear about rate × exposure
	IncidentShare float64 // expected share of campaigns with an incident
	Rolls         int
	Campaigns     int // with exposure
	// Source is FromCell where the cell stands on its own, FromGrade or
	// FromDefaults where it has too few rolls or campaigns and that is what its
	// spread, noise and mean lean on.
	Source Source
}

// GradeRate is what a stand without campaigns of the grade falls back on.
type GradeRate struct {
	Grade         string
	RateUMPerKM   float64 // over the stands
	RateSD        float64 // standard error of it
	StandCV       float64 // how far stands lie apart, relative
	RollCV        float64 // how far rolls of a cell lie apart, relative
	NoiseUM       float64
	ScatterCV     float64 // of the wear itself from campaign to campaign, relative; in NoiseUM too
	IncidentShare float64
	Cells         int
	Rolls         int
	Campaigns     int
}

// RollRate is what was learned of one roll at one stand.
type RollRate struct {
	Roll string
	Cell
	RateUMPerKM float64
	RateSD      float64
	Campaigns   int     // with exposure
	Incidents   float64 // how many of them look like incidents
}

// Rates is everything learned from the campaigns up to one cut. Lists are in
// order of their names and hold all that Predict needs, so they can be stored
// and put together again.
type Rates struct {
	Defaults Defaults
	Grades   []GradeRate
	Cells    []CellRate
	Rolls    []RollRate
	// SetAside counts campaigns without exposure, which say nothing of a rate.
	SetAside int
}

// Learn estimates all rates from all campaigns, in any order. See fit for the
// model. Without campaigns the defaults remain.
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
func Learn(campaigns []Run, d Defaults, ask stop.Check) (Rates, error) {
	if err := check(campaigns, d); err != nil {
		return Rates{}, err
	}
	out := Rates{Defaults: d}
	cells, aside, err := d.group(campaigns, ask)
	if err != nil {
		return Rates{}, err
	}
	out.SetAside = aside
	for len(cells) > 0 {
		n := 1 // cells of one grade stand together
		for n < len(cells) && cells[n].Grade == cells[0].Grade {
			n++
		}
		if err := out.learnGrade(cells[:n], ask); err != nil {
			return Rates{}, err
		}
		cells = cells[n:]
	}
	return out, nil
}

// cellData is the campaigns of one cell by roll, rolls in order of name.
type cellData struct {
	Cell
	names  []string
	points [][]point
}

// group sorts campaigns into cells and rolls and sets those without exposure aside.
func (d Defaults) group(campaigns []Run, ask stop.Check) (cells []cellData, aside int, err error) {
	watch := stop.Watch{Check: ask, Every: 1024}
	sorted := slices.Clone(campaigns)
	slices.SortStableFunc(sorted, func(a, b Run) int {
		if watch.Ended() {
			return 0 // the order does not matter any more, only that it ends
		}
		return cmp.Or(a.compare(b.Cell), cmp.Compare(a.Roll, b.Roll))
	})
	for _, e := range sorted {
		if watch.Ended() {
			return nil, 0, watch.Err()
		}
		x := d.exposure(e.RolledKM, e.SpecificForceKNPerMM)
		if x < 1e-9 { // a micrometre of rolling
			aside++
			continue
		}
		if len(cells) == 0 || cells[len(cells)-1].Cell != e.Cell {
			cells = append(cells, cellData{Cell: e.Cell})
		}
		c := &cells[len(cells)-1]
		if last := len(c.names) - 1; last < 0 || c.names[last] != e.Roll {
			c.names = append(c.names, e.Roll)
			c.points = append(c.points, nil)
		}
		i := len(c.points) - 1
		c.points[i] = append(c.points[i], point{x, e.WearUM})
	}
	return cells, aside, nil
}

func (a Cell) compare(b Cell) int {
	return cmp.Or(cmp.Compare(a.Grade, b.Grade), cmp.Compare(a.Stand, b.Stand))
}

// learnGrade fits the cells of one grade twice: on the defaults, to see what the
// grade is like, and then on the grade.
func (r *Rates) learnGrade(cells []cellData, ask stop.Check) error {
	first := make([]cellFit, len(cells))
	for i, c := range cells {
		var err error
		if first[i], err = fit(c.points, r.Defaults.belief(), ask); err != nil {
			return err
		}
	}
	g := r.Defaults.pool(cells[0].Grade, first)
	r.Grades = append(r.Grades, g)
	for _, c := range cells {
		f, err := fit(c.points, g.belief(r.Defaults), ask)
		if err != nil {
			return err
		}
		r.add(c, f, g)
	}
	return nil
}

// add notes the fit of one cell and of its rolls.
func (r *Rates) add(c cellData, f cellFit, g GradeRate) {
	cell := CellRate{
		Cell: c.Cell, RateUMPerKM: f.mean, RateSD: f.meanSD, BetweenRollSD: f.between,
		NoiseUM: f.noise, IncidentShare: f.share, Rolls: len(c.names),
	}
	for i, roll := range f.rolls {
		cell.Campaigns += roll.campaigns
		r.Rolls = append(r.Rolls, RollRate{c.names[i], c.Cell, roll.rate, roll.sd, roll.campaigns, roll.incidents})
	}
	cell.Source = FromCell
	if cell.Rolls < ownRolls || f.campaigns < ownCampaigns {
		cell.Source = FromGrade
		if g.Rolls < ownRolls || g.Campaigns < ownCampaigns {
			cell.Source = FromDefaults
		}
	}
	r.Cells = append(r.Cells, cell)
}

// A cell stands on its own from so many rolls and incident-free campaigns on.
// The estimate leans on the grade smoothly; this only says when to name it.
const (
	ownRolls     = 4
	ownCampaigns = 12
)

// belief before a grade has campaigns.
func (d Defaults) belief() belief {
	return belief{
		mean: d.RateUMPerKM, meanSD: d.RateUMPerKM * math.Hypot(d.RateCV, d.StandCV),
		rollCV: d.RollCV, rolls: 2, noise: d.NoiseUM, campaigns: 3,
		share: d.IncidentShare, span: d.IncidentSpanUM,
	}
}

// belief about a cell of the grade before that has campaigns.
func (g GradeRate) belief(d Defaults) belief {
	return belief{
		mean: g.RateUMPerKM, meanSD: math.Hypot(g.RateSD, g.StandCV*g.RateUMPerKM),
		rollCV: g.RollCV, rolls: 4, noise: g.NoiseUM, campaigns: 10,
		share: g.IncidentShare, span: d.IncidentSpanUM,
	}
}

// pool makes a grade of the fits of its cells: the median of their means, the
// mean square of the rest weighted by rolls or campaigns.
func (d Defaults) pool(grade string, cells []cellFit) GradeRate {
	g := GradeRate{Grade: grade, Cells: len(cells)}
	means := make([]weighted, len(cells))
	var noise, free, incidents, all, spread, rolls, precision float64
	var residuals []residual
	for i, c := range cells {
		residuals = append(residuals, c.residuals...)
		// A cell known well weighs as much as stands differ, not more.
		w := 1 / (c.meanSD*c.meanSD/(c.mean*c.mean) + d.StandCV*d.StandCV)
		means[i] = weighted{c.mean, w}
		precision += w
		noise += c.campaigns * c.noise * c.noise
		free += c.campaigns
		n := float64(len(c.rolls))
		spread += n * c.between * c.between / (c.mean * c.mean)
		rolls += n
		for _, r := range c.rolls {
			all += float64(r.campaigns)
			incidents += r.incidents
		}
	}
	g.ScatterCV = d.scatterCV(residuals)
	g.Rolls, g.Campaigns = int(rolls), int(all)
	g.RateUMPerKM = weightedMedian(means)
	g.RateSD = g.RateUMPerKM / math.Sqrt(precision)
	g.NoiseUM = math.Sqrt((3*d.NoiseUM*d.NoiseUM + noise) / (3 + free))
	g.RollCV = math.Sqrt((2*d.RollCV*d.RollCV + spread) / (2 + rolls))
	g.IncidentShare = (20*d.IncidentShare + incidents) / (20 + all)
	apart := 2 * d.StandCV * d.StandCV
	for _, c := range cells {
		off := math.Min(math.Abs(c.mean/g.RateUMPerKM-1), 1)
		apart += off * off
	}
	g.StandCV = math.Sqrt(apart / (2 + math.Max(0, float64(len(cells)-1))))
	return g
}
