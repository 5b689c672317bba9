// Package life forecasts what is left of a roll: how many campaigns and tonnes
// until its stock is gone, as whole distributions and not as one figure, and
// which limit its scrap diameter comes from.
package life

import (
	"fmt"
	"math"

	"barrelbook/domain/refusal"
)

// Spread is a gamma-distributed quantity of at least 0, by its mean and its
// coefficient of variation, standard deviation over mean. CV 0 is a constant.
type Spread struct {
	Mean float64
	CV   float64
}

// Incident is what a campaign that ends in an incident costs on top: a shifted
// exponential, MinimumMM plus an exponential excess of mean MeanExcessMM, both
// on diameter.
type Incident struct {
	Probability  float64 // per campaign
	MinimumMM    float64
	MeanExcessMM float64
}

// Input describes the campaigns to come. Lengths are mm on diameter.
type Input struct {
	// StockMM is the diameter less the tightest scrap limit.
	StockMM float64
	// Wear of one campaign.
	Wear Spread
	// FixedAllowanceMM is ground off at every regrind on top of the wear.
	FixedAllowanceMM float64
	// Allowance is the part of that which varies from grind to grind.
	Allowance Spread
	Incident  Incident
	// LossProbability per campaign that the roll is lost outright: a broken
	// neck, a spall past repair.
	LossProbability float64
	// Tonnes of one campaign.
	Tonnes Spread
	// WearFollowsTonnes makes the wear of a campaign proportional to its
	// tonnes: Wear is then the wear of a campaign of mean tonnage and its CV
	// what varies besides. Otherwise wear and tonnes are independent.
	WearFollowsTonnes bool
}

const (
	// greatestCV: a coefficient of variation above it is a slip of the unit.
	greatestCV = 2
	// greatestStockMM is more than any roll has.
	greatestStockMM = 10_000
	// greatestMean, in mm or t, is beyond any campaign.
	greatestMean = 1e7
	// greatestCampaigns bounds the expected number of campaigns, so that a
	// wear entered in the wrong unit is refused and not computed for minutes.
	greatestCampaigns = 10_000
)

// check refuses what cannot be computed. Paths are those of the contract.
func (in Input) check() error {
	var c refusal.Check
	switch {
	case !c.Finite("stock_mm", in.StockMM):
	case in.StockMM < 0:
		c.Add("stock_mm", refusal.Number(in.StockMM)+" mm", "is below 0: the roll is already below its scrap limit",
			"no campaign is left; scrap it, or enter the limit that holds for it")
	default:
		c.Within("stock_mm", in.StockMM, 0, greatestStockMM)
	}
	spread := func(path, unit string, s Spread) {
		c.Within(path+"/mean_"+unit, s.Mean, 0, greatestMean)
		c.Within(path+"/cv", s.CV, 0, greatestCV)
	}
	spread("wear", "mm", in.Wear)
	spread("allowance", "mm", in.Allowance)
	spread("tonnes", "t", in.Tonnes)
	c.Within("allowance/fixed_mm", in.FixedAllowanceMM, 0, greatestMean)
	c.Within("incident/probability", in.Incident.Probability, 0, 1)
	c.Within("incident/minimum_mm", in.Incident.MinimumMM, 0, greatestMean)
	c.Within("incident/mean_excess_mm", in.Incident.MeanExcessMM, 0, greatestMean)
	c.Within("loss_probability", in.LossProbability, 0, 1)
	if in.WearFollowsTonnes && in.Tonnes.Mean < 1e-9 {
		c.Add("tonnes/mean_t", refusal.Number(in.Tonnes.Mean)+" t", "must be greater than 0 where wear follows tonnes", "")
	}
	return c.Err()
}

// settled leaves out what is too small to matter and too small to compute with:
// a scatter of a millionth of its mean, a picometre of stock, a microgram of
// steel, a chance of one in a million million.
func (in Input) settled() Input {
	spread := func(s Spread) Spread {
		if s.Mean < 1e-9 {
			return Spread{}
		}
		if s.CV < 1e-6 {
			s.CV = 0
		}
		return s
	}
	drop := func(v *float64, least float64) {
		if *v < least {
			*v = 0
		}
	}
	in.Wear, in.Allowance, in.Tonnes = spread(in.Wear), spread(in.Allowance), spread(in.Tonnes)
	drop(&in.FixedAllowanceMM, 1e-9)
	drop(&in.Incident.MinimumMM, 1e-9)
	drop(&in.Incident.MeanExcessMM, 1e-9)
	drop(&in.Incident.Probability, 1e-12)
	drop(&in.LossProbability, 1e-12)
	return in
}

// checkEnds refuses a roll that would last for ever, or nearly so. What a
// campaign takes counts up to the stock: a rare mishap that ends the roll many
// times over ends it no sooner for that.
func (in Input) checkEnds() error {
	stock := math.Max(in.StockMM, tolerance)
	perCampaign := math.Min(in.Wear.Mean, stock) + math.Min(in.FixedAllowanceMM, stock) + math.Min(in.Allowance.Mean, stock) +
		in.Incident.Probability*math.Min(in.Incident.MinimumMM+in.Incident.MeanExcessMM, stock)
	if stock <= greatestCampaigns*perCampaign || in.LossProbability*greatestCampaigns >= 1 {
		return nil
	}
	return refusal.One("stock_mm", refusal.Number(in.StockMM)+" mm",
		fmt.Sprintf("is worth more than %d campaigns at %s mm each", greatestCampaigns, refusal.Number(perCampaign)),
		"check the units of wear and allowance")
}
