package kit

import (
	"slices"
	"strconv"
	"strings"

	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// PrintStandings says what follows for each roll from a correction: what is
// decided on, before and after, where it is not the same.
func PrintStandings(f *Factory, u render.Units, before, after []oapi.RollStanding) error {
	table := render.Table{Columns: []render.Column{{Head: "roll"}, {Head: ""}, {Head: "before"}, {Head: "after"}}}
	for i := range min(len(before), len(after)) {
		was, is := standingLines(u, before[i], after[i]), standingLines(u, after[i], before[i])
		name := after[i].Roll
		for j := range was {
			if was[j].value == is[j].value {
				continue
			}
			table.Add(name, was[j].what, orNone(was[j].value), orNone(is[j].value))
			name = ""
		}
	}
	if len(table.Rows) == 0 {
		f.Term.Print("Stock, fitness, tests owed and forecasts stay as they are.")
		return nil
	}
	f.Term.Print("What follows:")
	table.Indent = "  "
	return table.Write(f.Term)
}

func orNone(value string) string {
	if value == "" {
		return "none"
	}
	return value
}

type standingLine struct{ what, value string }

// standingLines says how a roll stands; of the reasons against its fitness those
// that the other standing has not.
func standingLines(u render.Units, s, other oapi.RollStanding) []standingLine {
	pair, campaigns, scrap := "", "", ""
	if s.PairMismatchUm != nil {
		pair = u.Small(*s.PairMismatchUm) + " of " + u.Small(render.Opt(s.PairToleranceUm)) + " allowed"
	}
	if s.CampaignsLeft != nil {
		campaigns = "about " + render.Number(*s.CampaignsLeft, 2)
	}
	if s.ScrapAt != nil {
		scrap = "about " + s.ScrapAt.Format("2006-01")
	}
	var owed []string
	for _, o := range render.Opt(s.Owed) {
		owed = append(owed, render.Words(o.Test))
	}
	fit := render.Words(s.Fit.Verdict)
	own := slices.DeleteFunc(slices.Clone(s.Fit.Reasons), func(reason string) bool { return slices.Contains(other.Fit.Reasons, reason) })
	if len(own) > 0 {
		fit += ": " + strings.Join(own, "; ")
	}
	return []standingLine{
		{what: "stage", value: render.Words(s.Stage)}, {what: "diameter", value: u.Length(s.DiameterMm)}, {what: "scrap at", value: u.Length(s.ScrapMm) + ", " + render.Words(s.ScrapLimit)}, {what: "stock left", value: u.Length(s.StockLeftMm)},
		{what: "grinds left", value: render.Count(s.RegrindsLeft, "normal grind")}, {what: "fitness", value: fit}, {what: "tests owed", value: strings.Join(owed, ", ")}, {what: "mismatch of the set", value: pair},
		{what: "campaigns left", value: campaigns}, {what: "scrap, forecast", value: scrap},
	}
}

// PrintCorrection says what a correction changes in the entry, by the flags of the
// command, and what follows.
func PrintCorrection(f *Factory, flags map[string]string, a oapi.CorrectionAnswer) error {
	u, err := f.Units()
	if err != nil {
		return err
	}
	table := render.Table{Indent: "  ", Columns: []render.Column{{Head: "what"}, {Head: "was"}, {Head: "is"}}}
	for _, c := range render.Opt(a.Changed) {
		table.Add(strings.TrimPrefix(FlagOf(c.Field, flags), "--"), figureOf(u, c.Field, c.Was), figureOf(u, c.Field, c.Is))
	}
	switch {
	case a.Withdrawn:
		f.Term.Print("Entry %d of %s does not stand any more: %s.", a.Corrects, a.Roll.Number, a.Summary)
	default:
		f.Term.Print("Entry %d of %s says otherwise:", a.Corrects, a.Roll.Number)
		if err := table.Write(f.Term); err != nil {
			return err
		}
	}
	return PrintStandings(f, u, a.Before, a.After)
}

// figureOf shows a figure of the contract in the units of the person.
func figureOf(u render.Units, field string, text *string) string {
	v, err := strconv.ParseFloat(render.Opt(text), 64)
	switch {
	case text == nil:
		return "nothing"
	case err != nil:
		return render.Words(*text)
	case strings.HasSuffix(field, "_mm"):
		return u.Length(v)
	case strings.HasSuffix(field, "_um") && field != "roughness_um":
		return u.Small(v)
	}
	return *text
}
