package app

import (
	"context"
	"fmt"
	"math"
	"sort"
	"sync"
	"sync/atomic"
	"time"

	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/wearrate"
)

// learner keeps what was read and learned between requests: the regrinds by id
// up to a cut, and the rates in force. Slices are only added to, so that a
// knowledge handed out stays as it is.
type learner struct {
	mu     sync.Mutex
	cut    GrindCut
	rows   []GrindRow
	past   map[string][]GrindRow // the rows by roll
	rates  WearRates
	habits map[course]forecast.Habits // of the cut
	// inForce is rates for those who are in a transaction and must not wait for
	// somebody who learns.
	inForce atomic.Pointer[WearRates]
}

// current is the rates last known, without learning.
func (l *learner) current() WearRates {
	if rates := l.inForce.Load(); rates != nil {
		return *rates
	}
	return WearRates{}
}

func (l *learner) keep(rates WearRates) {
	l.rates = rates
	l.inForce.Store(&rates)
}

// knowledge is what the regrinds teach at one moment.
type knowledge struct {
	rows   []GrindRow
	past   map[string][]GrindRow // by roll, in the order of happening
	rates  WearRates
	habits map[course]forecast.Habits
}

// CurrentWearRates is what the regrinds teach by now. Version 0 before the first.
func (a *App) CurrentWearRates(ctx context.Context) (WearRates, error) {
	k, err := a.known(ctx)
	return k.rates, err
}

// known gives the regrinds and the rates in force, learned again first when
// there are regrinds they do not know: a regrind costs nothing, the next question
// pays. It must not be called inside a transaction.
func (a *App) known(ctx context.Context) (knowledge, error) {
	l := &a.learner
	l.mu.Lock()
	defer l.mu.Unlock()
	const tries = 4
	for try := 1; ; try++ {
		var next *lesson
		err := a.store.Read(ctx, func(r Reader) (err error) {
			next, err = l.study(r, a.clock.Now())
			return err
		})
		if err == nil && next != nil {
			err = a.store.Write(ctx, func(w Writer) error {
				if err := w.CreateWearRates(next.rates); err != nil {
					return err
				}
				return w.KeepForecasts(next.scored)
			})
			if IsKind(err, Conflicting) && try < tries {
				continue // another process has learned the same meanwhile
			}
			if err == nil {
				l.keep(next.rates)
			}
		}
		return knowledge{l.rows, l.past, l.rates, l.habits}, err
	}
}

// refresh reads the regrinds since the last time, or all where some of those
// read have been rewritten.
func (l *learner) refresh(r Reader, c *class) error {
	cut, err := r.GrindCut()
	if err != nil || cut == l.cut {
		return err
	}
	fresh, err := grindsOf(r, GrindFilter{AfterID: l.cut.Newest})
	if err != nil {
		return err
	}
	if l.cut.Count+int64(len(fresh)) == cut.Count {
		l.rows = append(l.rows[:len(l.rows):len(l.rows)], fresh...)
	} else if l.rows, err = grindsOf(r, GrindFilter{}); err != nil {
		return err
	}
	l.cut, l.past, l.habits = cut, byRoll(l.rows), c.habits(l.rows)
	return nil
}

// grindsOf reads all regrinds of a filter, in large pages: there may be tens of
// thousands.
func grindsOf(r Reader, f GrindFilter) ([]GrindRow, error) {
	var all []GrindRow
	for p := (Page{Limit: 5000}); ; {
		rows, next, err := r.Grinds(f, p)
		if err != nil {
			return nil, err
		}
		all = append(all, rows...)
		if next == "" {
			return all, nil
		}
		p.After = next
	}
}

// lesson is a version to be written and how the one before did on the regrinds
// that it did not know.
type lesson struct {
	rates  WearRates
	scored []ForecastRow
}

// fullEvery is how many versions may pass before all is learned anew, because a
// cell learned by itself leans on its grade as that was.
const fullEvery = 20

// study reads what is new and learns it, nil when nothing is.
func (l *learner) study(r Reader, now time.Time) (*lesson, error) {
	cut, err := r.GrindCut()
	if err != nil {
		return nil, err
	}
	if err := l.readRates(r); err != nil || (cut == l.cut && cut == l.rates.Cut) {
		return nil, err
	}
	c, err := newClass(r)
	if err != nil {
		return nil, err
	}
	if err := l.refresh(r, c); err != nil || l.cut == l.rates.Cut {
		return nil, err
	}
	have := l.rates
	first := sort.Search(len(l.rows), func(i int) bool { return l.rows[i].ID > have.Cut.Newest })
	fresh := l.rows[first:]
	next := &lesson{rates: WearRates{Version: have.Version + 1, LearnedAt: now, Cut: l.cut}, scored: c.score(have, fresh)}
	// Fewer than were known means that some were rewritten: their old cells may
	// not be among the new ones.
	if int64(first) != have.Cut.Count || next.rates.Version%fullEvery == 1 {
		err = c.learnAll(l.rows, &next.rates)
	} else {
		err = c.relearn(l.rows, have, fresh, &next.rates)
	}
	for i := range next.scored {
		next.scored[i].AskedAt, next.scored[i].SettledAt = have.LearnedAt, now
	}
	return next, err
}

// readRates reads the version in force where it is not the one held.
func (l *learner) readRates(r Reader) error {
	version, err := r.WearRatesVersion()
	if err != nil || version == l.rates.Version {
		return err
	}
	have, err := r.WearRates()
	if err == nil {
		l.keep(have)
	}
	return err
}

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
		rates, err := wearrate.Learn(taught[of], c.defaults(of))
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
			if m.Rates, err = m.Relearn(cell, c.campaignsOf(rows, of, cell)); err != nil {
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

func (w *WearRates) count() {
	w.Campaigns = 0
	for _, m := range w.Mills {
		for _, c := range m.Cells {
			w.Campaigns += int64(c.Campaigns)
		}
	}
}

// of finds the rates of a role in a mill, nil where there are none.
func (w *WearRates) of(millName string, role mill.Role) *MillRates {
	for i := range w.Mills {
		if w.Mills[i].Mill == millName && w.Mills[i].Role == role {
			return &w.Mills[i]
		}
	}
	return nil
}

// Of is what is believed of a roll's wear rate at a stand: learned, or the
// practice's while nothing of its grade was.
func (w WearRates) Of(s roll.State, stand mill.Stand, p practice.InForce) WearRate {
	m := w.of(stand.Mill, s.Roll.Role)
	if m == nil {
		return practiceRate(s, stand, p)
	}
	cell := wearrate.Cell{Grade: s.Roll.Grade, Stand: stand.Name}
	got, err := m.Predict(wearrate.Next{Roll: s.Roll.Number, Cell: cell})
	if err != nil || got.Source == wearrate.FromDefaults || got.RateUMPerKM <= 0 {
		return practiceRate(s, stand, p)
	}
	// A roll's own rate is off by itself; one that is a new roll's shares the
	// doubt of its cell's or its grade's mean with its partner.
	rate := WearRate{UMPerKM: got.RateUMPerKM, SD: got.RateSD, NoiseUM: got.NoiseUM, Version: w.Version, OwnCV: got.RateSD / got.RateUMPerKM}
	rate.Source = fmt.Sprintf("learned v%d from ", w.Version)
	switch got.Source {
	case wearrate.FromRoll, wearrate.FromCell:
		rate.Source += m.cellWords(cell, s.Roll.Number)
		if c := m.cell(cell); c != nil && got.Source == wearrate.FromCell {
			rate.SharedCV, rate.OwnCV = c.RateSD/c.RateUMPerKM, c.BetweenRollSD/c.RateUMPerKM
		}
	default:
		for _, g := range m.Grades {
			if g.Grade == cell.Grade {
				rate.Source += fmt.Sprintf("%d campaigns of %s in other stands, as there are none in %s", g.Campaigns, g.Grade, stand.Name)
				rate.SharedCV, rate.OwnCV = rate.OwnCV, g.RollCV
				rate.SharedCV = math.Sqrt(math.Max(0, rate.SharedCV*rate.SharedCV-g.RollCV*g.RollCV))
			}
		}
	}
	return rate
}

// overBooked is the rate over the one of the practice, at which the wear along
// the barrel is booked when a piece is rolled: what is learned later holds for it
// as well.
func (w WearRate) overBooked(p practice.InForce) float64 {
	if booked := p.Number(practice.WearRateUMPerKM); booked > 0 {
		return w.UMPerKM / booked
	}
	return 1
}

func (m *MillRates) cell(at wearrate.Cell) *wearrate.CellRate {
	for i := range m.Cells {
		if m.Cells[i].Cell == at {
			return &m.Cells[i]
		}
	}
	return nil
}

func (m *MillRates) cellWords(at wearrate.Cell, number string) string {
	words := ""
	if c := m.cell(at); c != nil {
		words = fmt.Sprintf("%d campaigns of %s in %s", c.Campaigns, at.Grade, at.Stand)
	}
	for _, r := range m.Rolls {
		if r.Cell == at && r.Roll == number {
			return fmt.Sprintf("%s, %d of them this roll's", words, r.Campaigns)
		}
	}
	return words + ", none of them this roll's"
}
