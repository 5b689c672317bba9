package roll

import (
	"fmt"
	"slices"
	"strings"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// shown prints a roll that a command answered with, and what was recorded.
func shown(f *kit.Factory, a conn.Answer[oapi.Roll], r *kit.Recording, done string) error {
	u, err := f.Units()
	if err != nil {
		return err
	}
	if err := kit.Show(f, a, func(roll oapi.Roll) error { Print(f.Term, u, roll); return nil }); err != nil {
		return err
	}
	if r != nil {
		r.Noted(f, "%s", done)
	}
	return nil
}

// Print shows a roll to people. Whether it is fit comes last.
func Print(t *term.Streams, u render.Units, r oapi.Roll) {
	s := r.State
	t.Print("%s", t.Bold(heading(r)))
	facts(u, r).Write(t)
	printUsage(t, u, r)
	printGrooves(t, u, render.Opt(s.Grooves))
	Owed(t, render.Opt(s.Owed))
	render.Bullets(t, "\nCautions:", render.Opt(r.Cautions))
	Verdict(t, s.Fit)
}

func heading(r oapi.Roll) string {
	return fmt.Sprintf("Roll %s, %s roll of %s", r.Number, r.Role, r.Mill)
}

// facts are a roll's state, line by line.
func facts(u render.Units, r oapi.Roll) render.Facts {
	s := r.State
	facts := render.Facts{}
	facts.Add("grade", r.Grade)
	facts.Add("stage", stageLine(s))
	facts.Add("held", render.Opt(s.Held))
	facts.Add("place", place(s))
	facts.Add("diameter", u.Length(s.DiameterMm)+" of "+u.Length(r.NewDiameterMm)+" new")
	facts.Add("scrap at", u.Length(s.ScrapMm)+", "+render.Words(s.ScrapLimit))
	facts.Add("stock left", u.Length(s.StockLeftMm))
	if s.CrownUm != nil {
		facts.Add("crown", u.Small(*s.CrownUm)+carried(s, oapi.RollStateAsGroundBeforeCrown))
	}
	if s.RoughnessUm != nil {
		facts.Add("roughness", render.Number(*s.RoughnessUm, 3)+" µm Ra"+carried(s, oapi.RollStateAsGroundBeforeRoughness))
	}
	if s.HardnessShoreC != nil {
		facts.Add("hardness", render.Number(*s.HardnessShoreC, 3)+" Shore C")
	}
	facts.Add("contour", contourLine(u, s.Contour))
	facts.Add("fire cracks", fireCrackLine(u, s.FireCracks))
	facts.Add("defects", defectLine(u, render.Opt(s.Defects)))
	facts.Add("last tests", testLine(render.Opt(s.Tested)))
	facts.Add("fatigue", fatigueLine(u, r.Damage))
	facts.Add("stands", strings.Join(r.Stands, ", "))
	facts.Add("supplier", render.Opt(r.Supplier))
	facts.Add("book", fmt.Sprintf("%s, %s, %s", render.Count(r.Version, "entry"), render.Count(s.RegrindCount, "regrind"), render.Count(s.CampaignCount, "campaign")))
	return facts
}

// carried marks a figure that is older than the last grind.
func carried(s oapi.RollState, which oapi.RollStateAsGroundBefore) string {
	if slices.Contains(render.Opt(s.AsGroundBefore), which) {
		return ", as ground before: not measured since"
	}
	return ""
}

func contourLine(u render.Units, c *oapi.MeasuredContour) string {
	if c == nil {
		return ""
	}
	line := fmt.Sprintf("%s; off by %s at %s from the drive side, %s root mean square, slope %s", c.Target, u.Small(c.GreatestUm), u.Length(c.AtMm), u.Small(c.RmsUm), u.Small(c.TaperUm))
	if c.ToleranceUm != nil {
		line += ", tolerance " + u.Small(*c.ToleranceUm)
	}
	if render.Opt(c.TakenForLoad) {
		line += "; the load is solved with it"
	}
	return line
}

func fireCrackLine(u render.Units, f *oapi.FireCracks) string {
	if f == nil {
		return ""
	}
	line := fmt.Sprintf("%s deep on radius; at the last grind %s before, %s grown, %s removed", u.Small(f.LeftUm), u.Small(f.BeforeUm), u.Small(f.GrownUm), u.Small(f.RemovedUm))
	if f.MeasuredAt != nil {
		line += ", measured " + render.Time(*f.MeasuredAt)
	}
	return line
}

func defectLine(u render.Units, defects []oapi.Defect) string {
	lines := make([]string, len(defects))
	for i, d := range defects {
		lines[i] = fmt.Sprintf("%s deep on radius (%s, %s)", u.Small(d.DepthUm), render.Words(d.Test), render.Time(d.At))
	}
	return strings.Join(lines, "; ")
}

func testLine(tests []oapi.LastTest) string {
	lines := make([]string, len(tests))
	for i, t := range tests {
		lines[i] = fmt.Sprintf("%s %s", render.Words(t.Test), t.Outcome)
		if t.GrindsSince > 0 {
			lines[i] += ", " + render.Count(t.GrindsSince, "grind") + " ago"
		}
	}
	return strings.Join(lines, "; ")
}

func stageLine(s oapi.RollState) string {
	line := string(s.Stage)
	switch {
	case s.MountedAt != nil && s.Stage == oapi.StageMounted:
		line += " since " + render.Time(*s.MountedAt)
	case s.WithdrawnAt != nil && s.Stage == oapi.StageWorn:
		line += ", out since " + render.Time(*s.WithdrawnAt)
	case s.GroundAt != nil:
		line += ", ground " + render.Time(*s.GroundAt)
	}
	return line
}

// printGrooves is what each groove has borne since all were turned.
func printGrooves(t *term.Streams, u render.Units, grooves []oapi.GrooveState) {
	if len(grooves) == 0 {
		return
	}
	table := render.Table{Columns: []render.Column{{Head: "groove", Key: "groove", Right: true}, {Head: "form", Key: "form", Spare: 1}, {Head: "depth", Key: "depth", Right: true},
		{Head: "borne", Key: "borne", Right: true}, {Head: "of", Key: "limit", Right: true}, {Head: "worn", Key: "worn", Right: true}, {Head: "", Key: "spare"}}}
	for _, g := range grooves {
		limit, spare := "", ""
		if g.LimitT != nil {
			limit = u.Mass(*g.LimitT)
		}
		if g.Spare {
			spare = "spare"
		}
		table.Add(fmt.Sprint(g.Number), render.Opt(g.Title), u.Length(g.DepthMm), u.Mass(g.TonnageT), limit, u.Small(g.WornUm), spare)
	}
	t.Print("")
	table.Write(t)
}

// printUsage is what the roll has borne in all, and in this mounting.
func printUsage(t *term.Streams, u render.Units, r oapi.Roll) {
	table := render.Table{Columns: []render.Column{
		{Head: "borne", Key: "borne"}, {Head: "pieces", Key: "piece_count", Right: true}, u.MassColumn("rolled", "tonnage"),
		u.RolledColumn("length", "rolled"), {Head: "turns", Key: "revolutions", Right: true, Spare: 1},
	}}
	row := func(name string, use oapi.Usage) {
		pieces := fmt.Sprint(use.PieceCount)
		if render.Opt(use.Stated) {
			pieces = "stated"
		}
		table.Add(name, pieces, render.Bare(u.Mass(use.TonnageT)), render.Bare(u.Rolled(use.RolledKm)), render.Number(use.Revolutions, 4))
	}
	if m := r.Mounting; m != nil {
		row("since "+render.Time(m.MountedAt)+" in "+m.Stand, m.Usage)
	}
	row("in all", r.Totals)
	t.Print("")
	table.Write(t)
	if since := r.SinceGrind; since != nil {
		if since.WearUm > 0 {
			t.Print("\nSince its grind it is worn %s, by the rate now known: %s µm/km (%s).", u.Small(since.WearUm), render.Number(since.RateUmPerKm, 3), since.RateSource)
		}
		if along := since.WearProfile; along != nil {
			u.WearPlot(along.XMm, along.Um, since.WearLimitUm).Draw(t, "Wear along the barrel since its grind, on diameter")
		}
	}
}

// Owed lists the tests a roll owes, now and after coming campaigns.
func Owed(t *term.Streams, tests []oapi.OwedTest) {
	var lines []string
	for _, o := range tests {
		line := render.Words(o.Test) + ": " + o.Why
		if !o.Due && o.CampaignsToCome != nil {
			line += fmt.Sprintf(" (after each of the next %s)", render.Count(*o.CampaignsToCome, "campaign"))
		}
		lines = append(lines, line)
	}
	render.Bullets(t, "\nOwed:", lines)
}

// Verdict says whether a roll may go out, why, and what would make it fit.
func Verdict(t *term.Streams, fit oapi.Fitness) {
	why := ""
	switch len(fit.Reasons) {
	case 0:
	case 1:
		why = ": " + fit.Reasons[0]
	default:
		render.Bullets(t, "\nWhy:", fit.Reasons)
	}
	ways := kit.WaysOn(fit.Steps)
	if ways == nil { // an earlier service says it in words alone
		ways = render.Opt(fit.Next)
	}
	render.Bullets(t, "\nTo make it fit:", ways)
	t.Print("")
	colour := map[oapi.FitnessVerdict]func(string) string{oapi.FitnessVerdictFit: t.Good, oapi.FitnessVerdictNotFit: t.Bad}[fit.Verdict]
	if colour == nil {
		colour = t.Doubt
	}
	t.Print("%s%s", colour(Ruling(fit)), dot(why))
}

// Ruling is whether a roll or a set may go out, in words.
func Ruling(fit oapi.Fitness) string {
	switch {
	case fit.Verdict == oapi.FitnessVerdictFit:
		return "Fit to go out within the limits entered"
	case fit.Verdict == oapi.FitnessVerdictNotFit:
		return "Not fit to go out"
	case fit.MayGoIn:
		return "Not released by what was looked at; an engineer's concession lets it go out"
	}
	return "Not released: nothing was found wrong, but something asked was not looked at"
}

// dot ends a sentence that may have ended already.
func dot(text string) string {
	if strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}
