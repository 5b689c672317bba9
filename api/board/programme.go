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
				list = append(list, plannedChange{PlanChange: c, BeforePiece: stop.BeforePiece, At: stop.At})
			}
		}
	}
	return list
}

// limitsFigure draws the nearest limits of a stand as the programme fills them,
// and the changes planned.
func limitsFigure(s programmeStand, pieces int64) template.HTML {
	var limits []drawing.Fill
	for _, m := range s.Margins {
		if m.Course == nil {
			continue
		}
		f := drawing.Fill{Name: m.Roll + " " + words(m.Criterion), Limit: m.Limit}
		for _, step := range *m.Course {
			f.Piece, f.Value = append(f.Piece, float64(step.Piece)), append(f.Value, step.Value)
			f.Low, f.High = append(f.Low, step.Low), append(f.High, step.High)
		}
		limits = append(limits, f)
	}
	marks := []drawing.Level{{At: float64(pieces)}}
	for _, c := range s.Changes {
		marks = append(marks, drawing.Level{Name: opt(c.SetIn) + " in", At: float64(c.BeforePiece)})
	}
	title := s.Stand + ": the nearest limits, piece by piece"
	return figureOf(560, title, drawing.Filling(title, limits, marks))
}

// fillOf draws a limit that fills as pieces are rolled; what rolling does not
// change, as a diameter or a speed, is left to the words.
func fillOf(m oapi.CriterionMargin) (fill, bool) {
	if m.Limit <= 0 || opt(m.Hard) || strings.Contains(m.Criterion, "diameter") || math.Abs(m.AtEnd-m.Now) < 1e-6*m.Limit {
		return fill{}, false
	}
	f := fill{CriterionMargin: m, Falls: m.Now > m.Limit && m.AtEnd < m.Now}
	share := func(v float64) float64 { return drawing.UsedPct(v, m.Limit, f.Falls) }
	f.Now, f.AtEnd = share(m.Now), share(m.AtEnd)
	f.Low, f.High = f.AtEnd, f.AtEnd
	if m.AtEndLow != nil && m.AtEndHigh != nil {
		f.Low, f.High = share(*m.AtEndLow), share(*m.AtEndHigh)
	}
	if f.Low > f.High {
		f.Low, f.High = f.High, f.Low
	}
	return f, true
}

// Bar is where a share of a limit lies on a bar whose limit is at 75 %: what is
// past the limit is seen.
func (f fill) Bar(share float64) float64 { return min(100, 0.75*share) }
