package board

import (
	"fmt"
	"html/template"
	"net/url"
	"slices"
	"strings"

	"barrelbook/api/oapi"
	"barrelbook/domain/drawing"
)

// recordsData is the engineer's page: what was learned, how answers did, what is
// left and what was used.
type recordsData struct {
	Rates       []oapi.LearnedRate
	Scores      *oapi.ScoreReport
	Stock       *oapi.StockReport
	Consumption *oapi.ConsumptionReport
	Figures     []template.HTML
	Missing     []string
}

func (b *Board) records(v *visit) (answer, error) {
	mill, err := millNamed(v.asker, v.PathValue("mill"))
	if err != nil {
		return answer{}, err
	}
	kept, err := b.walls.get("records "+mill.Name, func() (any, error) { return makeRecords(v.asker, mill) })
	if err != nil {
		return answer{}, err
	}
	return answer{template: "records.html", title: "Records, " + millTitle(mill), data: kept.value, made: kept.at}, nil
}

func makeRecords(a asker, mill oapi.Mill) (*recordsData, error) {
	d, ofMill := &recordsData{}, "mill="+url.QueryEscape(mill.Name)
	var err error
	if d.Rates, err = everything[oapi.LearnedRate](a, "/v1/wear-rates?"+ofMill); err != nil {
		return nil, err
	}
	rolls, err := everything[oapi.Roll](a, "/v1/rolls?"+ofMill)
	if err != nil {
		return nil, err
	}
	d.add(ratesFigure(d.Rates), stockFigure(rolls))
	d.Scores = part[oapi.ScoreReport](d, a, "/v1/reports/scores")
	d.Stock = part[oapi.StockReport](d, a, "/v1/reports/stock")
	d.Consumption = part[oapi.ConsumptionReport](d, a, "/v1/reports/consumption?by=stand&"+ofMill)
	if d.Scores != nil {
		d.add(calibrationFigure(d.Scores.Finish))
	}
	if months := part[oapi.ConsumptionReport](d, a, "/v1/reports/consumption?by=month&"+ofMill); months != nil {
		d.add(monthsFigure(months.Rows))
	}
	if p := part[oapi.PopulationsReport](d, a, "/v1/reports/populations?"+ofMill); p != nil {
		d.add(survivalFigure(*p))
	}
	if d.Stock != nil {
		d.Stock.Groups = slices.DeleteFunc(d.Stock.Groups, func(g oapi.StockGroup) bool { return g.Mill != mill.Name })
	}
	return d, nil
}

func (d *recordsData) add(figures ...template.HTML) {
	for _, f := range figures {
		if f != "" {
			d.Figures = append(d.Figures, f)
		}
	}
}

// part reads one report; one that cannot be had does not take the page with it.
func part[T any](d *recordsData, a asker, path string) *T {
	report, err := read[T](a, path)
	if err != nil {
		d.Missing = append(d.Missing, err.Error())
		return nil
	}
	return &report
}

// ratesFigure draws the learned rate of each grade and stand with its 90 %
// interval, stand by stand.
func ratesFigure(rates []oapi.LearnedRate) template.HTML {
	var stands []string
	rates = slices.DeleteFunc(slices.Clone(rates), func(r oapi.LearnedRate) bool { return r.Role != oapi.RoleWork })
	for _, r := range rates {
		if !slices.Contains(stands, r.Stand) {
			stands = append(stands, r.Stand)
		}
	}
	panel := drawing.Panel{Title: "Wear rate of work rolls by grade and stand, with its 90 % interval", X: "stand", Y: "µm per km at 10 kN/mm", FromZero: true}
	for i, s := range stands {
		panel.XNames = append(panel.XNames, drawing.Level{Name: s, At: float64(i)})
	}
	byGrade := map[string]*drawing.Curve{}
	var order []string
	for _, s := range stands { // a grade's stands in one order, so that its line is one
		for _, r := range rates {
			if r.Stand != s {
				continue
			}
			c := byGrade[r.Grade]
			if c == nil {
				c = &drawing.Curve{Name: r.Grade}
				byGrade[r.Grade], order = c, append(order, r.Grade)
			}
			c.X, c.Y = append(c.X, float64(slices.Index(stands, s))), append(c.Y, r.RateUmPerKm)
			c.Low, c.High = append(c.Low, max(0, r.RateUmPerKm-1.645*r.RateSd)), append(c.High, r.RateUmPerKm+1.645*r.RateSd)
		}
	}
	for _, g := range order {
		panel.Curves = append(panel.Curves, *byGrade[g])
	}
	return figure(panel.Title, panel)
}

// stockFigure draws every roll's stock left, most first, by role: how many rolls
// are near their end.
func stockFigure(rolls []oapi.Roll) template.HTML {
	left := map[oapi.Role][]float64{}
	for _, r := range rolls {
		if r.State.Stage != "scrapped" {
			left[r.Role] = append(left[r.Role], max(0, r.State.StockLeftMm))
		}
	}
	panel := drawing.Panel{Title: "Rolls by what is left to scrap", X: "rolls, those with most left first", Y: "stock left, mm", FromZero: true}
	for _, role := range []oapi.Role{oapi.RoleWork, oapi.RoleBackup} {
		list := left[role]
		if len(list) == 0 {
			continue
		}
		slices.SortFunc(list, func(a, b float64) int {
			if a > b {
				return -1
			}
			return 1
		})
		c := drawing.Curve{Name: fmt.Sprintf("%s, %d", role, len(list)), Steps: true}
		for i, v := range list {
			c.X, c.Y = append(c.X, float64(i)), append(c.Y, v)
		}
		c.X, c.Y = append(c.X, float64(len(list))), append(c.Y, list[len(list)-1])
		panel.Curves = append(panel.Curves, c)
	}
	return figure(panel.Title, panel)
}

// calibrationFigure draws how often sets finished against how often it was said.
func calibrationFigure(s oapi.FinishScore) template.HTML {
	came := drawing.Curve{Name: "came"}
	for _, t := range s.Tenths {
		if t.Count > 0 {
			came.X, came.Y = append(came.X, 100*t.MeanProbability), append(came.Y, 100*float64(t.HappenedCount)/float64(t.Count))
			came.Low, came.High = append(came.Low, 100*t.Low), append(came.High, 100*t.High)
		}
	}
	if len(came.X) == 0 {
		return ""
	}
	return figure("Finish answers", drawing.Panel{Title: fmt.Sprintf("Finish answers: said against came, %d scored", s.Count), X: "said that the set finishes, %", Y: "finished, %", FromZero: true,
		Curves: []drawing.Curve{came, {Name: "as said", X: []float64{0, 100}, Y: []float64{0, 100}}}})
}

// monthsFigure draws what the grinders took off, month by month and role by
// role. Months are few: each has its name.
func monthsFigure(rows []oapi.ConsumptionRow) template.HTML {
	var months []string
	byRole := map[oapi.Role]map[string]float64{}
	for _, r := range rows {
		if r.Key == "" {
			continue
		}
		if !slices.Contains(months, r.Key) {
			months = append(months, r.Key)
		}
		if byRole[r.Role] == nil {
			byRole[r.Role] = map[string]float64{}
		}
		byRole[r.Role][r.Key] += r.RemovedKg
	}
	slices.Sort(months)
	months = months[max(0, len(months)-13):]
	panel := drawing.Panel{Title: "Ground off by month", X: "month", Y: "kg", FromZero: true}
	for i, m := range months {
		if i%2 == len(months)%2 || len(months) < 7 {
			panel.XNames = append(panel.XNames, drawing.Level{Name: m, At: float64(i)})
		}
	}
	for _, role := range []oapi.Role{oapi.RoleWork, oapi.RoleBackup} {
		if byRole[role] == nil {
			continue
		}
		c := drawing.Curve{Name: string(role)}
		for i, m := range months {
			c.X, c.Y = append(c.X, float64(i)), append(c.Y, byRole[role][m])
		}
		panel.Curves = append(panel.Curves, c)
	}
	return figure(panel.Title, panel)
}

// survivalFigure draws how long rolls last before they fail, by group, with a
// mark where rolls left the count without failing.
func survivalFigure(p oapi.PopulationsReport) template.HTML {
	panel := drawing.Panel{Title: "Rolls that have not failed by age", X: "age, " + strings.ReplaceAll(string(p.Age), "_", " "), Y: "survive, %", FromZero: true}
	for _, g := range p.Groups {
		if len(g.Steps) == 0 {
			continue
		}
		c := drawing.Curve{Name: g.Key + ", " + string(g.Role), Steps: true, X: []float64{0}, Y: []float64{100}}
		left := drawing.Cloud{Name: "left without failing"}
		for _, s := range g.Steps {
			c.X, c.Y = append(c.X, s.Age), append(c.Y, 100*s.Survival)
			if s.FailedCount == 0 {
				left.X, left.Y = append(left.X, s.Age), append(left.Y, 100*s.Survival)
			}
		}
		panel.Curves = append(panel.Curves, c)
		if len(left.X) > 0 {
			panel.Points = append(panel.Points, left)
		}
	}
	if len(panel.Curves) == 0 {
		return ""
	}
	return figure(panel.Title, panel)
}
