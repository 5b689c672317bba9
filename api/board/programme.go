package board

import (
	"html/template"
	"math"
	"sort"
	"strings"
	"time"

	"barrelbook/api/oapi"
	"barrelbook/domain/drawing"
)

type programmeData struct {
	Campaign oapi.Campaign
	Stands   []programmeStand
	Notes    []string
	NoPlan   string // why there is no plan beside the check
}

// programmeStand is one stand's limits as the programme fills them, and what is
// planned for it.
type programmeStand struct {
	oapi.StandFinish
	Figure  template.HTML
	Limits  []fill
	More    int // limits that are further off and not drawn
	Changes []plannedChange
}

// plannedChange is a change of the stand in the plan.
type plannedChange struct {
	oapi.PlanChange
	BeforePiece int64
	At          time.Time
}

// fill is one limit of one roll: how much of it is used now and how much at the
// end of the programme, percent of the limit.
type fill struct {
	oapi.CriterionMargin
	Now, AtEnd, Low, High float64
	Falls                 bool
}

// limitsShown is how many limits of a stand are drawn: the nearest.
const limitsShown = 5

func (b *Board) programme(v *visit) (answer, error) {
	mill, err := millNamed(v.asker, v.PathValue("mill"))
	if err != nil {
		return answer{}, err
	}
	kept, err := b.walls.get("programme "+mill.Name, func() (any, error) { return makeProgramme(v.asker, mill) })
	if err != nil {
		return answer{}, err
	}
	return answer{template: "programme.html", title: "Can the sets finish? " + millTitle(mill), data: kept.value, made: kept.at, refresh: wallRefresh}, nil
}

func makeProgramme(a asker, mill oapi.Mill) (*programmeData, error) {
	newest, err := newestProgramme(a, mill.Name)
	if err != nil {
		return nil, err
	}
	if newest == nil {
		return nil, &refused{status: 404, title: "No programme", detail: "No programme is loaded for mill " + mill.Name + ". The shift loads one, or the mill's computer sends it."}
	}
	d := &programmeData{Campaign: *newest}
	check, plan, noCheck, noPlan := checkAndPlan(a, newest.Name, true)
	if noCheck != nil {
		return nil, noCheck
	}
	if noPlan != nil {
		d.NoPlan = noPlan.Error()
	}
	d.Notes = check.Notes
	for _, one := range check.Stands {
		s := programmeStand{StandFinish: one, Changes: changesOf(plan, one.Stand)}
		for _, m := range one.Margins {
			if f, ok := fillOf(m); ok {
				s.Limits = append(s.Limits, f)
			}
		}
		sort.SliceStable(s.Limits, func(i, j int) bool { return s.Limits[i].AtEnd > s.Limits[j].AtEnd })
		if len(s.Limits) > limitsShown {
			s.More, s.Limits = len(s.Limits)-limitsShown, s.Limits[:limitsShown]
		}
		s.Figure = limitsFigure(s, newest.PieceCount)
		d.Stands = append(d.Stands, s)
	}
	return d, nil
}

func changesOf(plan oapi.ChangePlan, stand string) (list []plannedChange) {
	for _, stop := range plan.Stops {
		for _, c := range stop.Changes {
			if c.Stand == stand {
				list = append(list, plannedChange{c, stop.BeforePiece, stop.At})
			}
		}
	}
	return list
}

// limitsFigure draws the nearest limits of a stand as the programme fills them,
// each as a share of its limit with its band of doubt, and the changes planned.
func limitsFigure(s programmeStand, pieces int64) template.HTML {
	panel := drawing.Panel{Title: s.Stand + ": the nearest limits, piece by piece", X: "piece", Y: "used, %", FromZero: true, Height: 230,
		Limits: []drawing.Level{{Name: "limit", At: 100}}}
	for _, m := range s.Margins {
		f, ok := fillOf(m)
		if !ok || m.Course == nil {
			continue
		}
		curve := drawing.Curve{Name: m.Roll + " " + words(m.Criterion)}
		for _, step := range *m.Course {
			low, high := f.share(step.Low), f.share(step.High)
			curve.X, curve.Y = append(curve.X, float64(step.Piece)), append(curve.Y, min(f.share(step.Value), drawnTo))
			curve.Low, curve.High = append(curve.Low, min(low, high, drawnTo)), append(curve.High, min(max(low, high), drawnTo))
		}
		panel.Curves = append(panel.Curves, curve)
	}
	for _, c := range s.Changes {
		panel.Marks = append(panel.Marks, drawing.Level{Name: opt(c.SetIn) + " in", At: float64(c.BeforePiece)})
	}
	panel.Marks = append(panel.Marks, drawing.Level{At: float64(pieces)})
	return figureOf(560, panel.Title, panel)
}

// drawnTo is how far past its limit, in percent of it, a value is drawn.
const drawnTo = 200

// fillOf draws a limit that fills as pieces are rolled; what rolling does not
// change, as a diameter or a speed, is left to the words.
func fillOf(m oapi.CriterionMargin) (fill, bool) {
	if m.Limit <= 0 || opt(m.Hard) || strings.Contains(m.Criterion, "diameter") || math.Abs(m.AtEnd-m.Now) < 1e-6*m.Limit {
		return fill{}, false
	}
	f := fill{CriterionMargin: m, Falls: m.Now > m.Limit && m.AtEnd < m.Now}
	f.Now, f.AtEnd = f.share(m.Now), f.share(m.AtEnd)
	f.Low, f.High = f.AtEnd, f.AtEnd
	if m.AtEndLow != nil && m.AtEndHigh != nil {
		f.Low, f.High = f.share(*m.AtEndLow), f.share(*m.AtEndHigh)
	}
	if f.Low > f.High {
		f.Low, f.High = f.High, f.Low
	}
	return f, true
}

// share is a value in percent of the limit.
func (f fill) share(v float64) float64 {
	switch {
	case !f.Falls:
		return 100 * v / f.Limit
	case v <= 0:
		return 0
	}
	return 100 * f.Limit / v
}

// Bar is where a share of a limit lies on a bar whose limit is at 75 %: what is
// past the limit is seen.
func (f fill) Bar(share float64) float64 { return min(100, 0.75*share) }
