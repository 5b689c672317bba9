package board

import (
	"html/template"
	"time"

	"barrelbook/api/oapi"
	"barrelbook/domain/drawing"
)

// figure draws a panel for a page. What cannot be drawn yet is left out.
func figure(title string, panels ...drawing.Panel) template.HTML {
	return figureOf(760, title, panels...)
}

// figureOf draws as wide as the page has room: letters in it do not shrink then.
func figureOf(width float64, title string, panels ...drawing.Panel) template.HTML {
	picture, err := drawing.Sheet{Title: title, Panels: panels, Width: width}.Layout()
	if err != nil {
		return ""
	}
	return template.HTML(picture.SVG(drawing.InPage)) // every text in it is escaped there
}

// years makes a moment a number for an axis.
func years(t time.Time) float64 { return float64(t.Unix()) / (365.25 * 24 * 3600) }

// dates names round moments between two: years, or months where it is short.
func dates(from, to time.Time) (list []drawing.Level) {
	months := 1
	for _, wider := range []int{2, 3, 6, 12, 24, 60, 120} {
		if to.Sub(from).Hours() > float64(months)*30*24*8 {
			months = wider
		}
	}
	at := time.Date(from.Year(), 1, 1, 0, 0, 0, 0, time.UTC)
	for ; at.Before(to); at = at.AddDate(0, months, 0) {
		if at.Before(from) {
			continue
		}
		name := at.Format("Jan 2006")
		if months >= 12 {
			name = at.Format("2006")
		}
		list = append(list, drawing.Level{Name: name, At: years(at)})
	}
	return list
}

// diameterOverTime draws a roll's diameter from grind to grind down to its
// scrap limit, and the band in which the forecast sees it go.
func diameterOverTime(r oapi.Roll, book []oapi.Entry, f *oapi.RollForecast, now time.Time) template.HTML {
	line := drawing.Curve{Name: "ground", Steps: true}
	add := func(at time.Time, mm any) {
		if v, ok := mm.(float64); ok {
			line.X, line.Y = append(line.X, years(at)), append(line.Y, v)
		}
	}
	for _, e := range book {
		if e.ReplacedBy != nil {
			continue
		}
		switch e.Kind {
		case "received":
			add(e.At, e.Body["diameter_mm"])
		case "reground":
			add(e.At, e.Body["ground_mm"])
		}
	}
	if len(line.X) == 0 {
		return ""
	}
	add(now, r.State.DiameterMm)
	panel := drawing.Panel{Title: "Diameter from grind to grind", X: "", Y: "diameter, mm", Curves: []drawing.Curve{line},
		Limits: []drawing.Level{{Name: "scrap " + mm(r.State.ScrapMm), At: r.State.ScrapMm}}}
	until := now
	if f != nil && f.Remaining.ScrapAt != nil {
		// The band runs from today to the dates between which the forecast sees the
		// roll at its limit; it is cut where it leaves what can be read.
		d := f.Remaining.ScrapAt
		until = d.P90
		if far := now.AddDate(5, 0, 0); until.After(far) {
			until = far
		}
		ahead := drawing.Curve{Name: "forecast"}
		for k := range 41 {
			at := now.Add(time.Duration(float64(until.Sub(now)) * float64(k) / 40))
			ahead.X = append(ahead.X, years(at))
			ahead.Y = append(ahead.Y, wornTo(r, now, at, d.P50))
			ahead.Low = append(ahead.Low, wornTo(r, now, at, d.P10))
			ahead.High = append(ahead.High, wornTo(r, now, at, d.P90))
		}
		panel.Curves = append(panel.Curves, ahead)
	}
	panel.XNames = dates(book[0].At, until)
	return figure("Diameter of "+r.Number+" over time", panel)
}

// wornTo is the diameter at a moment of a roll that loses its stock evenly until
// it is scrap.
func wornTo(r oapi.Roll, now, at, scrap time.Time) float64 {
	share := 1.0
	if left := scrap.Sub(now); left > 0 {
		share = min(1, float64(at.Sub(now))/float64(left))
	}
	return r.State.DiameterMm - share*(r.State.DiameterMm-r.State.ScrapMm)
}

const alongBarrel = "along the barrel from its middle, mm"

// alongTheBarrel draws what lies along a roll: load, wear and fatigue.
func alongTheBarrel(r oapi.Roll, stand *oapi.StandView) (list []template.HTML) {
	var edges []drawing.Level
	if stand != nil && stand.Load != nil {
		half := stand.Load.WidthMm / 2
		edges = []drawing.Level{{Name: "strip edge", At: -half}, {At: half}}
		panel := drawing.Panel{Title: "Load between the rolls under " + stand.Load.Piece, X: alongBarrel, Y: "line load, N/mm", FromZero: true, Marks: edges}
		for _, p := range stand.Load.Pairs {
			if p.Work == r.Number || p.Backup == r.Number {
				panel.Curves = append(panel.Curves, drawing.Curve{Name: p.Work + " on " + p.Backup, X: p.XMm, Y: p.LoadNPerMm})
			}
		}
		list = append(list, figure(panel.Title, panel))
	}
	if r.Mounting != nil && r.Mounting.Usage.WearProfile != nil {
		w := r.Mounting.Usage.WearProfile
		list = append(list, figure("Wear of "+r.Number, drawing.Panel{Title: "Wear since it went into " + r.Mounting.Stand, X: alongBarrel, Y: "wear on diameter, µm", Down: true, Marks: edges,
			Curves: []drawing.Curve{{Name: r.Number, X: w.XMm, Y: w.Um}}}))
	}
	if d := r.Damage; d != nil && len(d.Along.XMm) > 1 && d.Worst > 0.05*d.Limit {
		list = append(list, figure("Contact fatigue of "+r.Number, drawing.Panel{Title: "Contact fatigue, by the mill's policy", X: alongBarrel, Y: "damage of the worst layer", FromZero: true,
			Limits: []drawing.Level{{Name: "allowed", At: d.Limit}}, Curves: []drawing.Curve{{Name: r.Number, X: d.Along.XMm, Y: d.Along.Damage}}}))
	}
	return list
}
