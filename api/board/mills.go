package board

import (
	"net/http"
	"net/url"
	"strings"

	"barrelbook/api/oapi"
)

// mills lists the mills of the works; the only one is shown at once.
func (b *Board) mills(v *visit) (answer, error) {
	mills, err := everything[oapi.Mill](v.asker, "/v1/mills?")
	if err != nil {
		return answer{}, err
	}
	if len(mills) == 1 {
		return answer{goTo: "/board/mills/" + url.PathEscape(mills[0].Name)}, nil
	}
	return answer{template: "mills.html", title: "Mills of the works", data: mills}, nil
}

// find opens the page of a roll by its number, typed or read by a code reader.
func (b *Board) find(v *visit) (answer, error) {
	number := strings.TrimSpace(v.URL.Query().Get("roll"))
	for _, try := range []string{number, strings.ToUpper(number)} {
		if try == "" {
			continue
		}
		if _, err := read[oapi.Roll](v.asker, "/v1/rolls/"+url.PathEscape(try)); err == nil {
			return answer{goTo: "/board/rolls/" + url.PathEscape(try)}, nil
		} else if no, ok := err.(*refused); !ok || no.status != http.StatusNotFound && no.status != http.StatusBadRequest {
			return answer{}, err
		}
	}
	return answer{}, &refused{status: http.StatusNotFound, title: "No such roll", detail: "There is no roll " + number + ". Type the number as it stands on the neck of the roll."}
}

// newestProgramme is what the mill rolls next, nil where nothing is loaded.
func newestProgramme(a asker, mill string) (*oapi.Campaign, error) {
	newest, err := read[oapi.CampaignPage](a, "/v1/campaigns?limit=1&mill="+url.QueryEscape(mill))
	if err != nil || len(newest.Items) == 0 {
		return nil, err
	}
	return &newest.Items[0], nil
}

// checkAndPlan asks at the same time whether the sets finish the programme, with
// the course of the nearest limits where it is to be drawn, and for the plan of
// its roll changes. Each may be refused by itself.
func checkAndPlan(a asker, programme string, course bool) (check oapi.FinishCheck, plan oapi.ChangePlan, noCheck, noPlan error) {
	planned := make(chan struct{})
	go func() {
		defer close(planned)
		plan, noPlan = planChanges(a, programme)
	}()
	check, _, noCheck = ask[oapi.FinishCheck](a, http.MethodPost, "/v1/campaigns/"+url.PathEscape(programme)+"/finish-checks", oapi.FinishCheckInput{Course: &course})
	<-planned
	return check, plan, noCheck, noPlan
}

// planChanges asks for the plan of its roll changes.
func planChanges(a asker, programme string) (oapi.ChangePlan, error) {
	plan, _, err := ask[oapi.ChangePlan](a, http.MethodPost, "/v1/change-plans", oapi.ChangePlanInput{Campaign: programme})
	return plan, err
}
