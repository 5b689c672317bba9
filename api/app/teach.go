package app

import (
	"fmt"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/wearrate"
)

// class is what is needed beside the regrinds to learn from them.
type class struct {
	millOf    map[string]string // of each stand
	practices []practice.Practice
}

func newClass(r Reader) (*class, error) {
	c := &class{millOf: map[string]string{}}
	stands, err := drain(func(p Page) ([]mill.Stand, string, error) { return r.Stands("", p) })
	if err != nil {
		return nil, err
	}
	for _, s := range stands {
		c.millOf[s.Name] = s.Mill
	}
	c.practices, err = allPractices(r)
	return c, err
}

// course is what is learned together: one role in one mill.
type course struct {
	mill string
	role mill.Role
}

// campaign is a regrind as the estimator takes it: exposure already holds the
// specific force, so it goes in at 10 kN/mm, where a kilometre is a kilometre.
// False for one that cannot teach: after a crack or an incident, in two stands
// or none, without exposure, or with a wear that no two measurements explain.
func (c *class) campaign(g GrindRow) (course, wearrate.Campaign, bool) {
	exposure := 0.0
	for _, u := range g.Uses {
		exposure += u.ExposureKM
	}
	one := wearrate.Campaign{Roll: g.Roll, Cell: wearrate.Cell{Grade: g.Grade, Stand: g.Stand()}, RolledKM: exposure, SpecificForceKNPerMM: 10, WearUM: float64(g.Wear())}
	return course{c.millOf[one.Stand], g.Role}, one, g.TeachesWear() && exposure > 0 && one.WearUM >= -leastWearUM
}

// leastWearUM is how far below 0 a measured wear may lie to be learned from; the
// estimator takes four standard deviations of two measurements of 10 µm.
const leastWearUM = 56

// defaults are the practice's for a role in a mill.
func (c *class) defaults(of course) wearrate.Defaults {
	d := wearrate.StandardDefaults()
	p := practice.Resolve(c.practices, practice.Scope{Mill: of.mill, Role: of.role})
	if rate := p.Number(practice.WearRateUMPerKM); rate > 0 {
		d.RateUMPerKM = rate
	}
	if cv := p.Number(practice.WearRateCV); cv > 0 {
		d.RollCV = cv
	}
	return d
}

func (c *class) learnAll(rows []GrindRow, out *WearRates) error {
	var order []course
	taught := map[course][]wearrate.Campaign{}
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
		rates, err := wearrate.Learn(taught[of], c.defaults(of), nil)
		if err != nil {
			return fmt.Errorf("learning the wear rates of %s rolls in %s: %w", of.role, of.mill, err)
		}
		out.Mills = append(out.Mills, MillRates{Mill: of.mill, Role: of.role, Rates: rates})
	}
	out.count()
	return nil
}

// relearn learns the cells anew that the fresh regrinds touch.
func (c *class) relearn(rows []GrindRow, have WearRates, fresh []GrindRow, out *WearRates) error {
	out.Mills = append([]MillRates(nil), have.Mills...)
	touched := map[course]map[wearrate.Cell]bool{}
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
		m := out.of(of.mill, of.role)
		if m == nil {
			out.Mills = append(out.Mills, MillRates{Mill: of.mill, Role: of.role, Rates: wearrate.Rates{Defaults: c.defaults(of)}})
			m = &out.Mills[len(out.Mills)-1]
		}
		for cell := range cells {
			var err error
			if m.Rates, err = m.Relearn(cell, c.campaignsOf(rows, of, cell), nil); err != nil {
				return fmt.Errorf("learning the wear rate of %s in %s: %w", cell.Grade, cell.Stand, err)
			}
		}
	}
	out.count()
	return nil
}

func (c *class) campaignsOf(rows []GrindRow, of course, cell wearrate.Cell) []wearrate.Campaign {
	var campaigns []wearrate.Campaign
	for _, g := range rows {
		if g.Grade != cell.Grade || g.Role != of.role {
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
func (c *class) score(have WearRates, fresh []GrindRow) []ForecastRow {
	var rows []ForecastRow
	for _, g := range fresh {
		of, one, ok := c.campaign(g)
		if !ok || !g.RecordedAt.After(have.LearnedAt) {
			continue
		}
		m := have.of(of.mill, of.role)
		if m == nil {
			continue
		}
		p, err := m.Predict(wearrate.Next{Roll: one.Roll, Cell: one.Cell, RolledKM: one.RolledKM, SpecificForceKNPerMM: one.SpecificForceKNPerMM})
		if err != nil || p.Source == wearrate.FromDefaults {
			continue
		}
		wear := one.WearUM
		rows = append(rows, ForecastRow{Kind: ForecastWear, About: fmt.Sprintf("%s/%d", g.Roll, g.Entry), Roll: g.Roll, Stand: one.Stand, Grade: one.Grade,
			AskedBy: "learning", RatesVersion: have.Version, Low: &p.Low90UM, Middle: &p.WearUM, High: &p.High90UM, Outcome: &wear,
			Input: fmt.Sprintf(`{"exposure_km":%g,"rate_um_per_km":%g,"source":%q}`, one.RolledKM, p.RateUMPerKM, p.Source)})
	}
	return rows
}
