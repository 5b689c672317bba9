package set

import (
	"context"
	"slices"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/roll"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/paper"
	"barrelbook/client/render"
)

// card is a set's card: how it stands, and the state of its rolls.
func card(ctx context.Context, c *conn.Conn, u render.Units, s oapi.Set) (paper.Page, error) {
	page := paper.Page{Title: heading(s), Code: s.Name, Verdict: roll.Ruling(s.Fit), Reasons: s.Fit.Reasons, Facts: facts(u, s)}
	for _, number := range []string{s.Top, s.Bottom} {
		a, err := conn.Expect[oapi.Roll](c.API.GetRoll(ctx, number, nil))
		if err != nil {
			return paper.Page{}, kit.Failure{}.Explain(err)
		}
		one, err := roll.Card(ctx, c, u, a.Value)
		if err != nil {
			return paper.Page{}, err
		}
		for _, t := range one.Tables {
			t.Title = number + ": " + t.Title
			page.Tables = append(page.Tables, t)
		}
		page.Pictures = append(page.Pictures, one.Pictures[:min(1, len(one.Pictures))]...)
		for _, caution := range one.Cautions {
			if !slices.Contains(page.Cautions, caution) {
				page.Cautions = append(page.Cautions, caution)
			}
		}
	}
	return page, nil
}
