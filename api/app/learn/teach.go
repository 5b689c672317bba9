package learn

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/score"
	"barrelbook/domain/stop"
	"barrelbook/domain/wearrate"
)

// Basis is what is needed beside the regrinds to learn from them.
type Basis struct {
	MillOf    map[string]string // of each stand
	Practices []practice.Practice
	Ask       stop.Check
}

// NewBasis reads the stands and practices.
func NewBasis(r port.Reader) (*Basis, error) {
	c := &Basis{MillOf: map[string]string{}, Ask: r.Err}
	settings, err := r.Settings()
	if err != nil {
		return nil, err
	}
	for _, s := range settings.Stands {
		c.MillOf[s.Name] = s.Mill
	}
	c.Practices = settings.Practices
	return c, nil
}

// RateGroup is what is learned together: one role in one mill.
type RateGroup struct {
	Mill string
	Role mill.Role
}

// campaign is a regrind as the model takes it: exposure already holds the specific
// force, so that its mean over the length is told back from it. The rolls that went
// into the stand together share what the campaign has of its own. False for one that
// cannot teach: after a crack or an incident, in two stands or none, without
// exposure, or with a wear that no two measurements explain.
func (c *Basis) campaign(g port.GrindRow) (RateGroup, wearrate.Campaign, bool) {
	one := wearrate.Campaign{Run: wearrate.Run{Roll: g.Roll, Cell: wearrate.Cell{Grade: g.Grade, Stand: g.Stand()}, WearUM: float64(g.Wear())}, EndedAt: g.At, DiameterMM: g.LastGround.MM()}
	exposure := 0.0
	for _, u := range g.Uses {
		exposure += u.ExposureKM
		one.RolledKM += u.RolledKM
		one.Set, one.EndedAt = u.MountedAt.UTC().Format(time.RFC3339Nano), u.WithdrawnAt
	}
	if one.RolledKM > 0 {
		one.SpecificForceKNPerMM = 10 * exposure / one.RolledKM
	}
	return RateGroup{c.MillOf[one.Stand], g.Role}, one, g.TeachesWear() && exposure > 0 && one.RolledKM > 0 && one.WearUM >= -leastWearUM
}

// leastWearUM is how far below 0 a measured wear may lie to be learned from; the
// estimator takes four standard deviations of two measurements of 10 µm.
const leastWearUM = 56

// defaults are the practice's for a role in a mill.
func (c *Basis) defaults(of RateGroup) wearrate.Defaults {
	d := wearrate.StandardDefaults()
	p := practice.Resolve(c.Practices, practice.Scope{Mill: of.Mill, Role: of.Role})
	if rate := p.Number(practice.WearRateUMPerKM); rate > 0 {
		d.RateUMPerKM = rate
	}
	if cv := p.Number(practice.WearRateCV); cv > 0 {
		d.RollCV = cv
	}
	return d
}

// models are what the regrinds teach, for each role in each mill.
type models map[RateGroup]*wearrate.Model

// learnAll learns the rates of every role in every mill anew.
func (c *Basis) learnAll(rows []port.GrindRow) (models, error) {
	taught := map[RateGroup][]wearrate.Campaign{}
	for _, g := range rows {
		if of, one, ok := c.campaign(g); ok {
			taught[of] = append(taught[of], one)
		}
	}
	all := models{}
	for of, campaigns := range taught {
		m, err := wearrate.LearnModel(campaigns, c.defaults(of), c.Ask)
		if err != nil {
			return nil, fmt.Errorf("learning the wear rates of %s rolls in %s: %w", of.Role, of.Mill, err)
		}
		all[of] = m
	}
	return all, nil
}

// replace takes in what has changed of some rolls, whose regrinds are given whole,
// and gives the stands where that tells of. Where a model is due, it is learned anew
// from all rows, and whole is true.
func (c *Basis) replace(all models, rolls map[string][]port.GrindRow, rows func() []port.GrindRow) (stands map[string]bool, whole bool, err error) {
	stands = map[string]bool{}
	for roll, list := range rolls {
		taught := map[RateGroup][]wearrate.Campaign{}
		for _, g := range list {
			if of, one, ok := c.campaign(g); ok {
				taught[of] = append(taught[of], one)
				stands[one.Stand] = true
			}
		}
		for of := range taught {
			if all[of] == nil {
				if all[of], err = wearrate.NewModel(c.defaults(of)); err != nil {
					return nil, false, err
				}
			}
		}
		for of, m := range all {
			if err := m.Replace(roll, taught[of], c.Ask); err != nil {
				return nil, false, fmt.Errorf("learning the wear rate of %s in %s: %w", roll, of.Mill, err)
			}
		}
	}
	for _, m := range all {
		whole = whole || m.Due()
	}
	if whole {
		anew, err := c.learnAll(rows())
		if err != nil {
			return nil, true, err
		}
		clear(all)
		maps.Copy(all, anew)
	}
	return stands, whole, nil
}

// read puts what the models say into a version of the rates; of cells that nothing
// new was told of what the version before says.
func (all models) read(have port.WearRates, spreads map[RateGroup]score.Spread, stands map[string]bool, whole bool, out *port.WearRates) {
	groups := slices.SortedFunc(maps.Keys(all), func(a, b RateGroup) int {
		return cmp.Or(cmp.Compare(a.Mill, b.Mill), cmp.Compare(a.Role, b.Role))
	})
	out.Mills = nil
	for _, of := range groups {
		rates := all[of].Rates()
		if was := ratesIn(&have, of.Mill, of.Role); was != nil && !whole {
			rates = was.Updated(rates, func(at wearrate.Cell) bool { return stands[at.Stand] })
		}
		rates.Spread = spreads[of]
		out.Mills = append(out.Mills, port.MillRates{Mill: of.Mill, Role: of.Role, Rates: rates})
	}
	countCampaigns(out)
}

// score holds the version in force against regrinds that were recorded after it
// was learned: forecasts made before the outcome was known. It takes the spreads of
// the next version by them.
func (c *Basis) score(have port.WearRates, fresh, rows []port.GrindRow) (list []port.ForecastRow, spreads map[RateGroup]score.Spread) {
	spreads = map[RateGroup]score.Spread{}
	for _, m := range have.Mills {
		spreads[RateGroup{m.Mill, m.Role}] = m.Spread
	}
	for _, g := range fresh {
		of, one, ok := c.campaign(g)
		if !ok || !g.RecordedAt.After(have.LearnedAt) {
			continue
		}
		m := ratesIn(&have, of.Mill, of.Role)
		if m == nil {
			continue
		}
		p, err := m.Predict(wearrate.Next{Roll: one.Roll, Cell: one.Cell, RolledKM: one.RolledKM, SpecificForceKNPerMM: one.SpecificForceKNPerMM, DiameterMM: one.DiameterMM})
		if err != nil || p.Source == wearrate.FromDefaults {
			continue
		}
		wear := one.WearUM
		// What no scatter explains is a mishap or a slip, and says nothing of the spread.
		if off := math.Abs(wear - p.WearUM); off < incidentFrom*(p.High90UM-p.WearUM) {
			spreads[of] = spreads[of].After(wear >= p.Low90UM && wear <= p.High90UM)
		}
		in := wearBasis{ExposureKM: one.RolledKM * one.SpecificForceKNPerMM / 10, RateUMPerKM: p.RateUMPerKM, Source: p.Source, RuleUM: c.rule(rows, g, one)}
		text, err := json.Marshal(in)
		if err != nil {
			continue // a figure that is not finite
		}
		list = append(list, port.ForecastRow{Kind: port.ForecastWear, About: fmt.Sprintf("%s/%d", g.Roll, g.Entry), Roll: g.Roll, Stand: one.Stand, Grade: one.Grade,
			AskedBy: "learning", RatesVersion: have.Version, Low: &p.Low90UM, Middle: &p.WearUM, High: &p.High90UM, Outcome: &wear, Input: string(text)})
	}
	return list, spreads
}

// incidentFrom is how many half widths of its interval a wear must lie off to be
// taken for a mishap.
const incidentFrom = 3.5

// wearBasis is what a forecast of wear was made from, and what the spreadsheet's rule
// said in its place.
type wearBasis struct {
	ExposureKM  float64         `json:"exposure_km"`
	RateUMPerKM float64         `json:"rate_um_per_km"`
	Source      wearrate.Source `json:"source"`
	RuleUM      float64         `json:"rule_um,omitempty"`
}

// ruleStays is how many stays the rule takes the mean of.
const ruleStays = 10

// rule is what a spreadsheet would have said of the wear of a campaign. 0 where it has
// too little to say it from.
func (c *Basis) rule(rows []port.GrindRow, of port.GrindRow, one wearrate.Campaign) float64 {
	mean, _ := c.RuleRate(rows, of.Role, one.Stand, of.RecordedAt)
	return max(0, mean*one.RolledKM)
}

// RuleRate is the spreadsheet's rule: the mean wear per kilometre of the last ten stays
// at a stand that were known before a moment, µm, and their spread. 0 where there are
// not as many.
func (c *Basis) RuleRate(rows []port.GrindRow, role mill.Role, stand string, before time.Time) (mean, sd float64) {
	var list []float64
	for i := len(rows) - 1; i >= 0 && len(list) < ruleStays; i-- {
		g := rows[i]
		if g.Role != role || !g.TeachesWear() || g.Stand() != stand || !g.RecordedAt.Before(before) {
			continue
		}
		if _, past, ok := c.campaign(g); ok {
			list = append(list, past.WearUM/past.RolledKM)
		}
	}
	if len(list) < ruleStays {
		return 0, 0
	}
	return score.MeanSD(list)
}
