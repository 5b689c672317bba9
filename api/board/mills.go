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

// checkFinish asks whether the sets in the stands finish the programme.
func checkFinish(a asker, programme string) (oapi.FinishCheck, error) {
	check, _, err := ask[oapi.FinishCheck](a, http.MethodPost, "/v1/campaigns/"+url.PathEscape(programme)+"/finish-checks", oapi.FinishCheckInput{})
	return check, err
}

// planChanges asks for the plan of its roll changes.
func planChanges(a asker, programme string) (oapi.ChangePlan, error) {
	plan, _, err := ask[oapi.ChangePlan](a, http.MethodPost, "/v1/change-plans", oapi.ChangePlanInput{Campaign: programme})
	return plan, err
}
