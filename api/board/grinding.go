package board

import (
	"net/url"
	"sort"

	"barrelbook/api/oapi"
)

// grindingRow is a roll that waits for a grinder.
type grindingRow struct {
	Roll   oapi.Roll
	Job    *oapi.GrinderJob // nil where no plan names it
	Advice *oapi.RegrindAdvice
	Not    string // why there is no advice
}

type grindingData struct {
	Rows []grindingRow
	Plan *oapi.ChangePlan
}

// grinding is the list of a mill's rolls to be ground, in the order of the plan,
// with what to take off each.
func (b *Board) grinding(v *visit) (answer, error) {
	mill, err := millNamed(v.asker, v.PathValue("mill"))
	if err != nil {
		return answer{}, err
	}
	kept, err := b.walls.get("grinding "+mill.Name, func() (any, error) { return makeGrinding(v.asker, mill) })
	if err != nil {
		return answer{}, err
	}
	return answer{template: "grinding.html", title: "To be ground, " + millTitle(mill), data: kept.value, made: kept.at, refresh: wallRefresh}, nil
}

func makeGrinding(a asker, mill oapi.Mill) (*grindingData, error) {
	d := &grindingData{}
	jobs := map[string]*oapi.GrinderJob{}
	newest, err := newestProgramme(a, mill.Name)
	if err != nil {
		return nil, err
	}
	if newest != nil {
		if plan, err := planChanges(a, newest.Name); err == nil {
			d.Plan = &plan
			for i := range plan.GrinderQueue {
				for _, number := range plan.GrinderQueue[i].Rolls {
					jobs[number] = &plan.GrinderQueue[i]
				}
			}
		}
	}
	for _, stage := range []string{"worn", "new"} {
		rolls, err := everything[oapi.Roll](a, "/v1/rolls?mill="+url.QueryEscape(mill.Name)+"&stage="+stage)
		if err != nil {
			return nil, err
		}
		for _, r := range rolls {
			row := grindingRow{Roll: r, Job: jobs[r.Number]}
			advice, _, err := ask[oapi.RegrindAdvice](a, "POST", "/v1/rolls/"+url.PathEscape(r.Number)+"/regrind-advice", oapi.RegrindAdviceInput{})
			if err != nil {
				row.Not = err.Error()
			} else {
				row.Advice = &advice
			}
			d.Rows = append(d.Rows, row)
		}
	}
	sort.SliceStable(d.Rows, func(i, j int) bool {
		a, b := d.Rows[i].Job, d.Rows[j].Job
		if a == nil || b == nil {
			return a != nil
		}
		return a.StartAt.Before(b.StartAt)
	})
	return d, nil
}
