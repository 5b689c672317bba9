package stand

import (
	"fmt"

	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
	"barrelbook/domain/drawing"
)

// Along is the x axis of everything drawn along a barrel.
func Along(unit string) string { return "along the barrel from its middle, " + unit }

// printLoad is how the load lies between the rolls: figures for each pair and a
// drawing of the top one.
func printLoad(t *term.Streams, u render.Units, l *oapi.StandLoad) {
	if l == nil {
		return
	}
	t.Print("\nLoad between the rolls under %s:", underWhat(u, l))
	table := render.Table{Columns: []render.Column{{Head: "roll"}, {Head: "presses on"}, {Head: "mean", Right: true}, {Head: "peak", Right: true},
		{Head: "peak/mean", Right: true}, {Head: "peak pressure", Right: true}, {Head: ""}}}
	for _, p := range l.Pairs {
		how := ""
		if p.TakenAsEven {
			how = "taken as even"
		}
		table.Add(p.Work, p.Backup, u.LineLoad(p.MeanNPerMm), u.LineLoad(p.PeakNPerMm), fmt.Sprintf("%.2f", p.PeakOverMean), u.Stress(p.PeakPressureMpa), how)
	}
	table.Write(t)
	if len(l.Pairs) > 0 && !l.Pairs[0].TakenAsEven {
		top := l.Pairs[0]
		plot := u.LoadPlot(top.XMm, top.LoadNPerMm)
		plot.Marks = stripEdges(u, l)
		plot.Draw(t, "Load along "+top.Work)
	}
	printGap(t, u, l.Gap)
	render.Bullets(t, "", render.Opt(l.Notes))
}

// underWhat names the piece that the load is that of.
func underWhat(u render.Units, l *oapi.StandLoad) string {
	force := u.Force(l.ForceKn)
	if l.ForcePredicted {
		force += " predicted"
	}
	of := "the last piece, " + l.Piece
	if l.Campaign != nil {
		of = fmt.Sprintf("a usual piece of programme %s, %s", *l.Campaign, l.Piece)
	} else if l.RolledAt != nil {
		of += " rolled " + render.Time(*l.RolledAt)
	}
	return fmt.Sprintf("%s (%s wide, %s)", of, u.Dimension(l.WidthMm), force)
}

// printWear draws each work roll's wear since it went in.
func printWear(t *term.Streams, u render.Units, positions []oapi.StandPosition, l *oapi.StandLoad) {
	for _, p := range positions {
		if profile := wearOf(p); profile != nil {
			plot := u.WearPlot(profile.XMm, profile.Um, p.SinceGrind.WearLimitUm)
			plot.Marks = stripEdges(u, l)
			plot.Draw(t, fmt.Sprintf("Wear of %s since its grind, on diameter", *p.Roll))
		}
	}
}

// wearOf is the wear along a work roll, nil of other rolls and empty places.
func wearOf(p oapi.StandPosition) *oapi.BarrelProfile {
	work := p.Position == oapi.PositionTopWork || p.Position == oapi.PositionBottomWork
	if !work || p.Roll == nil || p.SinceGrind == nil {
		return nil
	}
	return p.SinceGrind.WearProfile
}

// panels are what --svg and --png draw: the load of both pairs, the gap and the
// wear of both work rolls.
func panels(u render.Units, v oapi.StandView) (list []drawing.Panel) {
	if p := LoadPanel(u, v, ""); p != nil {
		list = append(list, *p)
	}
	if v.Load != nil && v.Load.Gap != nil {
		list = append(list, gapPanel(u, v))
	}
	wear := drawing.Panel{Title: "Wear of the work rolls of " + v.Stand.Name + " since they went in", Down: true}
	for _, p := range v.Positions {
		if profile := wearOf(p); profile != nil {
			plot := u.BarrelPlot(profile.XMm, profile.Um)
			wear.X, wear.Y = Along(plot.XUnit), "wear on diameter, "+plot.YUnit
			wear.Curves = append(wear.Curves, drawing.Curve{Name: *p.Roll, X: plot.X, Y: plot.Y})
		}
	}
	if len(wear.Curves) > 0 {
		wear.Marks = StripEdges(u, v.Load)
		list = append(list, wear)
	}
	return list
}

// StripEdges are the edges of the piece that the load is that of, to be marked
// along a barrel; none where no load is known.
func StripEdges(u render.Units, l *oapi.StandLoad) []drawing.Level {
	if l == nil {
		return nil
	}
	edges := stripEdges(u, l)
	return []drawing.Level{{Name: "strip edge", At: edges[0]}, {At: edges[1]}}
}

// stripEdges are the same in a drawing of characters.
func stripEdges(u render.Units, l *oapi.StandLoad) []float64 {
	if l == nil {
		return nil
	}
	return u.BarrelPlot([]float64{-l.WidthMm / 2, l.WidthMm / 2}, nil).X
}

// LoadPanel draws the load of a stand along its barrels: of all pairs, or of the
// one that the roll is half of. Nil where none is known.
func LoadPanel(u render.Units, v oapi.StandView, roll string) *drawing.Panel {
	if v.Load == nil {
		return nil
	}
	panel := drawing.Panel{FromZero: true, Marks: StripEdges(u, v.Load), Title: fmt.Sprintf("Load between the rolls of %s under %s, %s", v.Stand.Name, v.Load.Piece, u.Force(v.Load.ForceKn))}
	for _, p := range v.Load.Pairs {
		if roll != "" && roll != p.Work && roll != p.Backup {
			continue
		}
		plot := u.LoadPlot(p.XMm, p.LoadNPerMm)
		panel.X, panel.Y = Along(plot.XUnit), "line load, "+plot.YUnit
		panel.Curves = append(panel.Curves, drawing.Curve{Name: p.Work + " on " + p.Backup, X: plot.X, Y: plot.Y})
	}
	if len(panel.Curves) == 0 {
		return nil
	}
	return &panel
}
