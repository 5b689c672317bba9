package report

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
	"barrelbook/domain/stop"
	"barrelbook/domain/survival"
)

// populationModel names the models behind the report.
const populationModel = "populations 1: Weibull by maximum likelihood with right censoring, Kaplan and Meier's curve"

// Age is what the age of a roll is counted in.
type Age string

// The ages: what a roll has borne in all its campaigns.
const (
	AgeTonnes Age = "tonnes"
	AgeKM     Age = "km"
)

// PopulationsInput asks for it. Empty fields stand for grade, tonnes and any mill.
type PopulationsInput struct {
	By   string // grade or supplier
	Age  Age
	Mill string
}

// RollPopulation is the rolls of one role and one grade or supplier.
type RollPopulation struct {
	Key   string // empty where it is not known
	Role  mill.Role
	Rolls int
	// Failed are those that a spall, a crack or a neck ended, by cause. Planned
	// were scrapped at their diameter, Economic for money, Living are not scrapped.
	Failed                    map[roll.ScrapWhy]int
	Planned, Economic, Living int
	// Unused rolls have borne nothing, and PartWorn ones came with a life behind
	// them that no book tells. They are counted, but have no age.
	Unused, PartWorn int
	// Lives are those with an age.
	survival.Population
	Age float64 // of all lives together
	// Tenth and Half are the ages by which so many have failed, by the fit; 0 where
	// there is none, or one that puts them beyond any number.
	Tenth, Half float64
}

// PopulationsReport is how long rolls last.
type PopulationsReport struct {
	AskedAt time.Time
	Model   string
	By      string
	Age     Age
	Groups  []RollPopulation // by key, then role
	Notes   []string
}

// ReportPopulations reads how long rolls last before they fail. Rolls that live,
// and those scrapped as planned, have lasted at least so long. Impossible for
// another way to sort or to count; NotFound for an unknown mill.
func (a *Reporter) ReportPopulations(ctx context.Context, in PopulationsInput) (PopulationsReport, error) {
	in.By, in.Age = cmp.Or(in.By, "grade"), cmp.Or(in.Age, AgeTonnes)
	var c refusal.Check
	if in.By != "grade" && in.By != "supplier" {
		c.Add("by", in.By, "is not a way to sort rolls", "one of grade, supplier")
	}
	if in.Age != AgeTonnes && in.Age != AgeKM {
		c.Add("age", string(in.Age), "is not an age of a roll", "one of tonnes, km")
	}
	if err := c.Err(); err != nil {
		return PopulationsReport{}, port.Refused(err)
	}
	report := PopulationsReport{AskedAt: a.clock.Now(), Model: populationModel, By: in.By, Age: in.Age, Notes: []string{
		"age is what a roll bore in all its campaigns; spall, crack and neck are failures; living rolls and those scrapped at their diameter or for money have lasted at least their age",
		"shape below 1: early failures; near 1: as likely at any age; above 1: failures of old rolls. With few failures its standard error is as telling as the shape",
	}}
	err := a.store.Read(ctx, func(r port.Reader) error {
		if in.Mill != "" {
			if _, err := r.Mill(in.Mill); err != nil {
				return err
			}
		}
		rolls, err := allRolls(r, port.RollFilter{Mill: in.Mill})
		if err != nil {
			return err
		}
		report.Groups, err = populations(rolls, in, r.Err)
		for i := range report.Groups {
			report.Notes = append(report.Notes, report.Groups[i].notes()...)
		}
		return port.Refused(err)
	})
	return report, err
}

func populations(rolls map[string]port.RollRow, in PopulationsInput, ask stop.Check) ([]RollPopulation, error) {
	groups, lives := map[[2]string]*RollPopulation{}, map[[2]string][]survival.Observation{}
	for _, number := range slices.Sorted(maps.Keys(rolls)) {
		row := rolls[number]
		name := row.State.Roll.Grade
		if in.By == "supplier" {
			name = row.State.Roll.Supplier
		}
		key := [2]string{name, string(row.State.Roll.Role)}
		if groups[key] == nil {
			groups[key] = &RollPopulation{Key: name, Role: row.State.Roll.Role, Failed: map[roll.ScrapWhy]int{}}
		}
		if life, ok := groups[key].take(row, in.Age); ok {
			lives[key] = append(lives[key], life)
		}
	}
	list := make([]RollPopulation, 0, len(groups))
	for key, g := range groups {
		if err := g.describe(lives[key], ask); err != nil {
			return nil, err
		}
		list = append(list, *g)
	}
	slices.SortFunc(list, func(a, b RollPopulation) int { return cmp.Or(cmp.Compare(a.Key, b.Key), cmp.Compare(a.Role, b.Role)) })
	return list, nil
}

// take counts a roll and gives its life, false where it has no age.
func (g *RollPopulation) take(row port.RollRow, in Age) (survival.Observation, bool) {
	s := row.State
	g.Rolls++
	life := survival.Observation{Value: row.Totals.TonnageT}
	if in == AgeKM {
		life.Value = row.Totals.RolledKM
	}
	switch {
	case s.Stage != roll.StageScrapped:
		g.Living++
	case s.ScrapWhy == roll.ByDiameter:
		g.Planned++
	case s.ScrapWhy == roll.ByEconomy:
		g.Economic++
	default:
		g.Failed[s.ScrapWhy]++
		life.Failed = true
	}
	switch {
	case partWorn(s):
		g.PartWorn++
		return life, false
	case life.Value <= 0:
		g.Unused++
		return life, false
	}
	g.Age += life.Value
	return life, true
}

// partWorn says whether a roll was received with less than nineteen twentieths of
// its usable diameter: it had rolled before its book began. Common practice, no
// source; a roll bought new may measure a little less than its order.
func partWorn(s roll.State) bool {
	limit, _ := s.ScrapLimit()
	usable, received := s.Roll.NewDiameter-limit, s.Diameter+s.StockRemoved
	return s.Roll.NewDiameter-received > usable/20
}

func (g *RollPopulation) describe(lives []survival.Observation, ask stop.Check) error {
	if len(lives) == 0 {
		return nil
	}
	var err error
	if g.Population, err = survival.Describe(lives, ask); err != nil || g.Fit == nil {
		return err
	}
	tenth, err := g.Fit.Age(0.1)
	if err != nil {
		return nil
	}
	if half, err := g.Fit.Age(0.5); err == nil {
		g.Tenth, g.Half = tenth, half
	}
	return nil
}

// notes say what the population does not tell.
func (g *RollPopulation) notes() (list []string) {
	name := cmp.Or(g.Key, "not named") + ", " + string(g.Role) + " rolls: "
	switch {
	case g.Lives == 0:
		list = append(list, name+"none has an age")
	case errors.Is(g.NoFit, survival.ErrNoFailure):
		list = append(list, name+"none of those with an age has failed, so there is no distribution to fit")
	case errors.Is(g.NoFit, survival.ErrAllEqual):
		list = append(list, name+"every failure has the greatest age of all, so no distribution can be fitted; see the steps")
	case g.Failures < fewFailures:
		list = append(list, fmt.Sprintf("%sonly %d failed; see the standard errors", name, g.Failures))
	}
	if g.Unused > 0 {
		list = append(list, fmt.Sprintf("%s%d have borne nothing and are left out", name, g.Unused))
	}
	if g.PartWorn > 0 {
		list = append(list, fmt.Sprintf("%s%d were received part worn, with a life behind them that no book tells, and are left out", name, g.PartWorn))
	}
	return list
}

// fewFailures is how many leave the shape open by about a third.
const fewFailures = 5
