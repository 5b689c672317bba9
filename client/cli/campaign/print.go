package campaign

import (
	"fmt"
	"strconv"
	"strings"

	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// Print shows a campaign to people.
func Print(t *term.Streams, u render.Units, x oapi.Campaign, pieces bool) {
	t.Print("%s", t.Bold(fmt.Sprintf("Campaign %s of %s", x.Name, x.Mill)))
	facts := render.Facts{}
	facts.Add("starts", render.Time(x.StartsAt))
	facts.Add("pieces", fmt.Sprintf("%d, %s", x.PieceCount, u.Mass(x.TonnageT)))
	if x.MinutesPerPiece != nil {
		facts.Add("pace", render.Number(*x.MinutesPerPiece, 3)+" min a piece")
	}
	for _, s := range x.PlannedStops {
		line := fmt.Sprintf("before piece %d", s.BeforePiece)
		if s.Name != nil {
			line += ", " + *s.Name
		}
		if s.Minutes != nil {
			line += ", " + render.Number(*s.Minutes, 3) + " min"
		}
		facts.Add("planned stop", line)
	}
	facts.Write(t)
	if !pieces {
		return
	}
	table := render.Table{Columns: []render.Column{{Head: "piece", Right: true}, {Head: "id"}, {Head: "block", Spare: 1}, {Head: "material", Spare: 1}, {Head: "demand", Spare: 3},
		u.MassColumn("mass", ""), u.LengthColumn("width", ""), u.LengthColumn("entry", "").Spared(2), {Head: "passes", Right: true, Spare: 2}}}
	for i, p := range render.Opt(x.Pieces) {
		table.Add(strconv.Itoa(i+1), p.Id, render.Opt(p.Block), render.Opt(p.Material), strings.ReplaceAll(string(render.Opt(p.Demand)), "_", "-"), render.Bare(u.Mass(p.MassT)),
			render.Bare(u.Dimension(p.WidthMm)), render.Bare(u.Dimension(p.EntryThicknessMm)), strconv.Itoa(len(p.Passes)))
	}
	t.Print("")
	table.Write(t)
}

// PrintCheck shows whether the sets finish. What cannot be met comes first,
// then every stand, and the answer last.
func PrintCheck(t *term.Streams, u render.Units, x oapi.FinishCheck, explain bool) {
	t.Print("%s", t.Bold(fmt.Sprintf("Campaign %s, asked %s", x.Campaign, render.Time(x.AskedAt))))
	cannotMeet(t, x.Stands)
	table := render.Table{Columns: []render.Column{{Head: "stand"}, {Head: "set"}, {Head: "finishes"}, {Head: "sure"}, {Head: "tightest limit"}, {Head: "roll"},
		{Head: "passed at piece", Right: true}, {Head: "can roll, pieces", Right: true}, u.MassColumn("can roll", "")}}
	for _, s := range x.Stands {
		criterion, roll, piece, more, tonnes := "", "", "", "", ""
		if l := s.Limiting; l != nil {
			criterion, roll = render.Words(l.Criterion), l.Roll
			if l.Reached != nil {
				piece = strconv.FormatInt(l.Reached.Piece, 10)
			}
		}
		if m := s.More; m != nil {
			least := ""
			if render.Opt(m.AtLeast) {
				least = "≥"
			}
			more, tonnes = least+strconv.FormatInt(m.PieceCount, 10), least+render.Bare(u.Mass(m.TonnageT))
		}
		table.Add(s.Stand, render.Opt(s.Set), string(s.Verdict), render.Percent(s.Probability), criterion, roll, piece, more, tonnes)
	}
	t.Print("")
	table.Write(t)
	for _, s := range x.Stands {
		printStand(t, u, s, explain)
	}
	render.Bullets(t, "\nCautions:", x.Cautions)
	render.Bullets(t, "\nThis answer rests on:", x.Notes)
	t.Print("\n%s", answer(t, x))
}

// cannotMeet puts what fails before everything else.
func cannotMeet(t *term.Streams, stands []oapi.StandFinish) {
	var lines []string
	for _, s := range stands {
		switch {
		case len(s.Blocks) > 0:
			for _, b := range s.Blocks {
				lines = append(lines, named(s.Stand, b))
			}
		case s.Verdict == oapi.FinishVerdictNo || s.Verdict == oapi.FinishVerdictBlocked:
			lines = append(lines, named(s.Stand, s.Sentence))
		}
	}
	if len(lines) > 0 {
		t.Print("")
		render.Bullets(t, t.Bad("What cannot be met:"), lines)
	}
}

// printStand says more of a stand that does not plainly finish, or of every
// stand when an explanation is asked for.
func printStand(t *term.Streams, u render.Units, s oapi.StandFinish, explain bool) {
	if s.Verdict == oapi.FinishVerdictYes && !explain {
		return
	}
	t.Print("\n%s", named(s.Stand, s.Sentence))
	render.Bullets(t, "  Not known:", render.Opt(s.Unknowns))
	ways := render.Table{Indent: "  ", Columns: []render.Column{{Head: "what would help"}, {Head: "finishes"}, {Head: "sure"}}}
	for _, r := range render.Opt(s.Remedies) {
		ways.Add(strings.TrimPrefix(r.Sentence, s.Stand+": "), string(r.Verdict), render.Percent(r.Probability))
	}
	ways.Write(t)
	if !explain {
		return
	}
	margins := render.Table{Indent: "  ", Columns: []render.Column{{Head: "roll"}, {Head: "limit on"}, {Head: "unit"}, {Head: "limit", Right: true}, {Head: "now", Right: true},
		{Head: "at end", Right: true}, {Head: "P5", Right: true, Spare: 2}, {Head: "P95", Right: true, Spare: 1}, {Head: "kept"}, {Head: "from", Spare: 4}}}
	for _, m := range s.Margins {
		margins.Add(m.Roll, render.Words(m.Criterion), m.Unit, render.Number(m.Limit, 5), render.Number(m.Now, 4), render.Number(m.AtEnd, 4),
			optNumber(m.AtEndLow), optNumber(m.AtEndHigh), render.Percent(m.Probability), render.Opt(m.Source))
	}
	margins.Write(t)
	render.Bullets(t, "  Notes:", render.Opt(s.Notes))
}

// named begins a sentence with its stand, when it does not do so itself.
func named(stand, sentence string) string {
	if strings.HasPrefix(sentence, stand+" ") || strings.HasPrefix(sentence, stand+":") {
		return sentence
	}
	return stand + ": " + sentence
}

func optNumber(v *float64) string {
	if v == nil {
		return ""
	}
	return render.Number(*v, 4)
}

// answer is the whole in one line.
func answer(t *term.Streams, x oapi.FinishCheck) string {
	var fails, doubtful []string
	for _, s := range x.Stands {
		switch s.Verdict {
		case oapi.FinishVerdictNo, oapi.FinishVerdictBlocked:
			fails = append(fails, s.Stand)
		case oapi.FinishVerdictMarginal:
			doubtful = append(doubtful, s.Stand)
		}
	}
	at := ""
	if len(fails) > 0 {
		at = " at " + render.Join(fails)
	}
	switch x.Verdict {
	case oapi.FinishVerdictYes:
		return t.Good("Yes: the sets finish campaign " + x.Campaign + " within the limits entered.")
	case oapi.FinishVerdictMarginal:
		return t.Doubt("Marginal: whether the sets finish campaign " + x.Campaign + " is not sure at " + render.Join(doubtful) + ".")
	case oapi.FinishVerdictBlocked:
		return t.Bad("Blocked: campaign " + x.Campaign + " cannot be rolled" + at + " as things are.")
	}
	return t.Bad("No: the sets do not finish campaign " + x.Campaign + at + ".")
}
