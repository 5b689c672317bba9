package change

import (
	"fmt"
	"strconv"

	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// PrintPlan shows a plan of roll changes. What cannot be met comes first, the
// plan in one line last.
func PrintPlan(t *term.Streams, _ render.Units, p oapi.ChangePlan) {
	t.Print("%s", t.Bold(fmt.Sprintf("Roll changes for campaign %s, asked %s", p.Campaign, render.Time(p.AskedAt))))
	if len(p.CannotMeet) > 0 {
		t.Print("")
		render.Bullets(t, t.Bad("What cannot be met:"), p.CannotMeet)
	}
	for _, s := range p.Stops {
		t.Print("\n%s", stopLine(s))
		printChanges(t, s.Changes)
	}
	printQueue(t, p.GrinderQueue)
	if stands := render.Opt(p.StandsWithoutChange); len(stands) > 0 {
		t.Print("\nWithout a change: %s.", render.Join(stands))
	}
	render.Bullets(t, "\nCautions:", p.Cautions)
	render.Bullets(t, "\nThis answer rests on:", p.Notes)
	t.Print("\n%s", summary(t, p))
}

// printChanges lists what is changed at one stop, and why.
func printChanges(t *term.Streams, changes []oapi.PlanChange) {
	table := render.Table{Indent: "  ", Columns: []render.Column{{Head: "stand"}, {Head: "rolls"}, {Head: "out"}, {Head: "in"}, {Head: "ready", Spare: 1}, {Head: "second best", Spare: 2}}}
	for _, ch := range changes {
		table.Add(ch.Stand, string(ch.Role), or(render.Opt(ch.SetOut), "-"), or(render.Opt(ch.SetIn), "none ready"), render.OptTime(ch.ReadyAt), render.Opt(ch.SecondBest))
	}
	table.Write(t)
	for _, ch := range changes {
		t.Print("  %s: %s", ch.Stand, ch.Why)
	}
}

func stopLine(s oapi.PlanStop) string {
	line := fmt.Sprintf("Before piece %d", s.BeforePiece)
	if s.PieceId != nil {
		line += " (" + *s.PieceId + ")"
	}
	line += ", " + render.Time(s.At)
	if s.PlannedStop != nil {
		return line + ", at the planned stop " + *s.PlannedStop
	}
	return line + ", a stop of its own"
}

func printQueue(t *term.Streams, jobs []oapi.GrinderJob) {
	queue := render.Table{Columns: []render.Column{{Head: "grinder", Right: true}, {Head: "set"}, {Head: "rolls"}, {Head: "from"}, {Head: "to"}, {Head: "due"}, {Head: "late, min", Right: true}, {Head: "for"}}}
	for _, j := range jobs {
		late := ""
		if render.Opt(j.LateMin) > 0 {
			late = strconv.FormatFloat(*j.LateMin, 'f', 0, 64)
		}
		queue.Add(strconv.FormatInt(j.Grinder, 10), j.Set, render.Join(j.Rolls), render.Time(j.StartAt), render.Time(j.FinishAt), render.OptTime(j.DueAt), late, render.Opt(j.ForStand))
	}
	if len(queue.Rows) > 0 {
		t.Print("\nWhat the grinders do for it:")
		queue.Write(t)
	}
}

func summary(t *term.Streams, p oapi.ChangePlan) string {
	if !p.Feasible {
		return t.Bad("No plan keeps every stand within the limits entered.")
	}
	count := 0
	for _, s := range p.Stops {
		count += len(s.Changes)
	}
	if count == 0 {
		return t.Good("No roll change is needed within the limits entered.")
	}
	proof := "proved to be the least"
	if !p.Optimal {
		proof = "at most " + render.Number(100*p.Gap, 2) + " % of it above the least"
	}
	return fmt.Sprintf("%s Cost %.2f in the mill's money, %s.",
		t.Bold(render.Count(int64(count), "stand change")+" at "+render.Count(int64(len(p.Stops)), "stop")+"."), p.Cost/100, proof)
}

func or(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}
