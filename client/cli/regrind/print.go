package regrind

import (
	"fmt"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/roll"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// Print shows the answer to a regrind. Whether the roll is fit comes last.
func Print(t *term.Streams, u render.Units, a oapi.RegrindAnswer) {
	t.Print("%s", t.Bold(fmt.Sprintf("Roll %s, ground for %s, %s", a.Roll, render.Words(a.Purpose), render.Time(a.At))))
	facts := render.Facts{}
	facts.Add("last ground", u.Length(a.LastGroundMm))
	facts.Add("found", u.Length(a.FoundMm)+worn(u, a))
	facts.Add("ground", u.Length(a.GroundMm)+", stock "+u.Length(a.StockMm)+advised(u, a.AdvisedStockMm))
	facts.Add("scrap at", u.Length(a.ScrapMm)+", "+render.Words(a.ScrapLimit))
	facts.Add("stock left", u.Length(a.StockLeftMm))
	facts.Add("after that", a.Outlook.Says)
	if a.RemovedKg != nil {
		facts.Add("taken off", render.Number(*a.RemovedKg, 3)+" kg")
	}
	if a.Partner != nil && a.PairMismatchUm != nil {
		line := *a.Partner + ", mismatch " + u.Small(*a.PairMismatchUm)
		if a.PairToleranceUm != nil {
			line += " of " + u.Small(*a.PairToleranceUm) + " allowed"
		}
		facts.Add("partner", line)
	}
	if m := a.Campaign; m != nil {
		facts.Add("last stay", fmt.Sprintf("%s %s, %s and %s, out %s", m.Stand, render.Words(m.Position),
			u.Mass(m.Usage.TonnageT), u.Rolled(m.Usage.RolledKm), render.OptTime(m.WithdrawnAt)))
	}
	facts.Write(t)
	roll.Owed(t, render.Opt(a.Owed))
	render.Bullets(t, "\nCautions:", a.Cautions)
	render.Bullets(t, "\nIf a figure is wrong:", kit.Commands(a.Steps))
	render.Bullets(t, "\nThis answer rests on:", render.Opt(a.Notes))
	roll.Verdict(t, a.Fit)
}

// worn is the wear found: of a grooved roll that in its grooves, as its collars do
// not wear.
func worn(u render.Units, a oapi.RegrindAnswer) string {
	if a.GrooveWornUm == nil {
		return ", wear " + u.Small(a.WearUm)
	}
	how := "computed from its tonnes"
	if render.Opt(a.GrooveMeasured) {
		how = "measured"
	}
	return " over the collars; deepest groove worn " + u.Length(*a.GrooveWornUm/1000) + ", " + how
}

func advised(u render.Units, mm *float64) string {
	if mm == nil {
		return ""
	}
	return " (" + u.Length(*mm) + " advised)"
}

// PrintAdvice shows what to take off. What to grind to comes last.
func PrintAdvice(t *term.Streams, u render.Units, a oapi.RegrindAdvice) {
	t.Print("%s", t.Bold("Roll "+a.Roll+", what to take off"))
	table := render.Table{Columns: []render.Column{{Head: "part"}, u.SmallColumn("on diameter", ""), {Head: "from"}}}
	for _, p := range a.Parts {
		table.Add(render.Words(p.Part), render.Bare(u.Small(p.Um)), p.Source)
	}
	table.Write(t)
	partners := render.Table{Columns: []render.Column{{Head: "could pair with"}, u.LengthColumn("diameter", ""), u.SmallColumn("mismatch", "")}}
	for _, p := range render.Opt(a.Partners) {
		partners.Add(p.Roll, render.Bare(u.Length(p.DiameterMm)), render.Bare(u.Small(p.MismatchUm)))
	}
	if len(partners.Rows) > 0 {
		t.Print("")
		partners.Write(t)
	}
	redress := render.Table{Columns: []render.Column{u.LengthColumn("groove worn", ""), u.LengthColumn("turn off", ""), u.LengthColumn("to", ""), u.LengthColumn("left", "")}}
	for _, r := range render.Opt(a.Redress) {
		redress.Add(render.Bare(u.Length(r.GrooveWornUm/1000)), render.Bare(u.Length(r.StockMm)), render.Bare(u.Length(r.AimDiameterMm)), render.Bare(u.Length(r.StockLeftMm)))
	}
	if len(redress.Rows) > 0 {
		t.Print("\nWhat to turn to for the wear measured in the deepest groove, on diameter:")
		redress.Write(t)
	}
	render.Bullets(t, "\nCautions:", a.Cautions)
	render.Bullets(t, "\nThis answer rests on:", a.Notes)
	t.Print("")
	if a.FoundMm != nil {
		t.Print("Found %s. The stock is set by: %s.", u.Length(*a.FoundMm), a.Rule)
	} else {
		t.Print("The stock is set by: %s.", a.Rule)
	}
	if a.TakenStockMm != nil && a.Differs == nil {
		t.Print("The shop took %s in the median of the last %s.", u.Length(*a.TakenStockMm), render.Count(render.Opt(a.TakenCount), "grind"))
	}
	if a.Differs != nil {
		t.Print("This is %s.", *a.Differs)
	}
	crown := ""
	if a.AimCrownUm != nil {
		crown = ", crown " + u.Small(*a.AimCrownUm)
	}
	t.Print("%s That leaves %s: %s.", t.Bold(fmt.Sprintf("Take off %s: grind to %s%s.", u.Length(a.StockMm), u.Length(a.AimDiameterMm), crown)),
		u.Length(a.StockLeftMm), a.Outlook.Says)
}
