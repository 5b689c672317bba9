package roll

import (
	"context"
	"slices"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/paper"
	"barrelbook/client/render"
	"barrelbook/domain/drawing"
)

// Card is a roll's card: its state, what is owed, its last grinds, contour and map
// of readings.
func Card(ctx context.Context, c *conn.Conn, u render.Units, r oapi.Roll) (paper.Page, error) {
	page := paper.Page{Title: heading(r), Code: r.Number, Verdict: Ruling(r.State.Fit), Reasons: r.State.Fit.Reasons, Facts: facts(u, r), Cautions: render.Opt(r.Cautions)}
	owed := paper.Table{Title: "Owed", Heads: []string{"test", "why"}, Shares: []float64{0.25, 0.75}}
	for _, o := range render.Opt(r.State.Owed) {
		owed.Rows = append(owed.Rows, []string{render.Words(o.Test), o.Why})
	}
	entries, err := everyEntry(ctx, c, r.Number)
	if err != nil {
		return paper.Page{}, err
	}
	page.Tables = []paper.Table{owed, lastGrinds(u, entries)}
	m, err := conn.Expect[oapi.RollMap](c.API.MapRoll(ctx, r.Number, nil))
	if err != nil {
		return paper.Page{}, kit.Failure{}.Explain(err)
	}
	panels, err := barrelPanels(ctx, c, u, r)
	if err != nil {
		return paper.Page{}, err
	}
	panels = slices.Concat(contourPanels(u, r), placePanels(u, m.Value), panels)
	page.Pictures = kit.Pictures(panels[:min(len(panels), cardPictures)])
	return page, nil
}

// What a card of one page has room for.
const (
	cardGrinds   = 6
	cardPictures = 2
)

func everyEntry(ctx context.Context, c *conn.Conn, number string) (list []oapi.Entry, err error) {
	err = kit.Pages(&kit.Paging{All: true}, func(limit *int64, cursor *string) (kit.Page[oapi.Entry], error) {
		a, err := conn.Expect[oapi.EntryPage](c.API.ListEntries(ctx, number, &oapi.ListEntriesParams{Limit: limit, Cursor: cursor}))
		return kit.Page[oapi.Entry]{Items: a.Value.Items, Next: a.Value.Next}, err
	}, func(page kit.Page[oapi.Entry]) error { list = append(list, page.Items...); return nil })
	return list, err
}

// lastGrinds are the newest grinds that still hold, newest first.
func lastGrinds(u render.Units, entries []oapi.Entry) paper.Table {
	t := paper.Table{Title: "Last grinds", Heads: []string{"at", "found", "ground", "for", "crown", "Ra, µm", "grinder"}, Shares: []float64{0.24, 0.15, 0.15, 0.13, 0.11, 0.09, 0.13}}
	for _, e := range slices.Backward(entries) {
		if e.Kind != oapi.EntryKindReground || e.ReplacedBy != nil || len(t.Rows) == cardGrinds {
			continue
		}
		say := func(key string, show func(float64) string) string {
			if v, ok := e.Body[key].(float64); ok {
				return show(v)
			}
			return ""
		}
		purpose, _ := e.Body["purpose"].(string)
		grinder, _ := e.Body["grinder"].(string)
		t.Rows = append(t.Rows, []string{render.Time(e.At), say("found_mm", u.Length), say("ground_mm", u.Length), render.Words(purpose), say("crown_um", u.Small),
			say("roughness_um", func(v float64) string { return render.Number(v, 3) }), grinder})
	}
	return t
}

// contourPanels draw the contour measured at the last grind off its target.
func contourPanels(u render.Units, r oapi.Roll) []drawing.Panel {
	c := r.State.Contour
	if c == nil {
		return nil
	}
	var at, off []float64
	for _, s := range c.Stations {
		at, off = append(at, s.AtMm), append(off, s.OffUm)
	}
	plot := u.BarrelPlot(at, off)
	return []drawing.Panel{{Title: r.Number + " as last ground, off its target (" + string(c.Target) + ")", X: "along the barrel from the drive side, " + plot.XUnit,
		Y: "on diameter, " + plot.YUnit, Curves: []drawing.Curve{{Name: "measured", X: plot.X, Y: plot.Y}}, Limits: []drawing.Level{{Name: "target", At: 0}}}}
}

// label is what is stuck on the roll.
func label(f *kit.Factory, u render.Units, r oapi.Roll) paper.Label {
	return paper.Label{Number: r.Number, Lines: []string{string(r.Role) + " roll, " + r.Mill, r.Grade, u.Length(r.State.DiameterMm) + ", scrap " + u.Length(r.State.ScrapMm)}, Made: f.Now()}
}
