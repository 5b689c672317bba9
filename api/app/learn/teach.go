package learn

import (
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
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

// campaign is a regrind as the estimator takes it: exposure already holds the
// specific force, so it goes in at 10 kN/mm, where a kilometre is a kilometre.
// False for one that cannot teach: after a crack or an incident, in two stands
// or none, without exposure, or with a wear that no two measurements explain.
func (c *Basis) campaign(g port.GrindRow) (RateGroup, wearrate.Run, bool) {
	exposure := 0.0
	for _, u := range g.Uses {
		exposure += u.ExposureKM
	}
	one := wearrate.Run{Roll: g.Roll, Cell: wearrate.Cell{Grade: g.Grade, Stand: g.Stand()}, RolledKM: exposure, SpecificForceKNPerMM: 10, WearUM: float64(g.Wear())}
	return RateGroup{c.MillOf[one.Stand], g.Role}, one, g.TeachesWear() && exposure > 0 && one.WearUM >= -leastWearUM
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

// LearnAll learns the rates of every role in every mill anew.
func (c *Basis) LearnAll(rows []port.GrindRow, out *port.WearRates) error {
	var order []RateGroup
	taught := map[RateGroup][]wearrate.Run{}
	for _, g := range rows {
		of, one, ok := c.campaign(g)
		if !ok {
			continue
		}
		if taught[of] == nil {
			order = append(order, of)
		}
		taught[of] = append(taught[of], one)
	}
	for _, of := range order {
		rates, err := wearrate.Learn(taught[of], c.defaults(of), c.Ask)
		if err != nil {
			return fmt.Errorf("learning the wear rates of %s rolls in %s: %w", of.Role, of.Mill, err)
		}
		out.Mills = append(out.Mills, port.MillRates{Mill: of.Mill, Role: of.Role, Rates: rates})
	}
	countCampaigns(out)
	return nil
}

// relearn learns the cells anew that the fresh regrinds touch.
func (c *Basis) relearn(rows []port.GrindRow, have port.WearRates, fresh []port.GrindRow, out *port.WearRates) error {
	out.Mills = append([]port.MillRates(nil), have.Mills...)
	touched := map[RateGroup]map[wearrate.Cell]bool{}
	for _, g := range fresh {
		of, one, ok := c.campaign(g)
		if !ok {
			continue
		}
		if touched[of] == nil {
			touched[of] = map[wearrate.Cell]bool{}
		}
		touched[of][one.Cell] = true
	}
	for of, cells := range touched {
		m := ratesIn(out, of.Mill, of.Role)
		if m == nil {
			out.Mills = append(out.Mills, port.MillRates{Mill: of.Mill, Role: of.Role, Rates: wearrate.Rates{Defaults: c.defaults(of)}})
			m = &out.Mills[len(out.Mills)-1]
		}
		for cell := range cells {
			var err error
			if m.Rates, err = m.Relearn(cell, c.campaignsOf(rows, of, cell), c.Ask); err != nil {
				return fmt.Errorf("learning the wear rate of %s in %s: %w", cell.Grade, cell.Stand, err)
			}
		}
	}
	countCampaigns(out)
	return nil
}

func (c *Basis) campaignsOf(rows []port.GrindRow, of RateGroup, cell wearrate.Cell) []wearrate.Run {
	var campaigns []wearrate.Run
	for _, g := range rows {
		if g.Grade != cell.Grade || g.Role != of.Role {
			continue
		}
		if in, one, ok := c.campaign(g); ok && in == of && one.Cell == cell {
			campaigns = append(campaigns, one)
		}
	}
	return campaigns
}

// score holds the version in force against regrinds that were recorded after it
// was learned: forecasts made before the outcome was known.
func (c *Basis) score(have port.WearRates, fresh []port.GrindRow) []port.ForecastRow {
	var rows []port.ForecastRow
	for _, g := range fresh {
		of, one, ok := c.campaign(g)
		if !ok || !g.RecordedAt.After(have.LearnedAt) {
			continue
		}
		m := ratesIn(&have, of.Mill, of.Role)
		if m == nil {
			continue
		}
		p, err := m.Predict(wearrate.Next{Roll: one.Roll, Cell: one.Cell, RolledKM: one.RolledKM, SpecificForceKNPerMM: one.SpecificForceKNPerMM})
		if err != nil || p.Source == wearrate.FromDefaults {
			continue
		}
		wear := one.WearUM
		rows = append(rows, port.ForecastRow{Kind: port.ForecastWear, About: fmt.Sprintf("%s/%d", g.Roll, g.Entry), Roll: g.Roll, Stand: one.Stand, Grade: one.Grade,
			AskedBy: "learning", RatesVersion: have.Version, Low: &p.Low90UM, Middle: &p.WearUM, High: &p.High90UM, Outcome: &wear,
			Input: fmt.Sprintf(`{"exposure_km":%g,"rate_um_per_km":%g,"source":%q}`, one.RolledKM, p.RateUMPerKM, p.Source)})
	}
	return rows
}
