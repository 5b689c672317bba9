package shift

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/roll"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// sections are what a hand-over tells, in the order in which it is read.
var sections = []string{"Changed in the stands", "Mishaps", "Ground", "Tested", "Held, released, conceded", "Put right", "Other"}

// sectionOf is where an event is told; empty where another event tells it.
func sectionOf(kind string) string {
	switch kind {
	case "change.recorded", "change.undone", "change.moved":
		return sections[0]
	case "entry.mounted", "entry.withdrawn", "entry.incident": // the change and the mishap tell of both rolls
		return ""
	case "incident.recorded", "incident.moved":
		return sections[1]
	case "entry.reground":
		return sections[2]
	case "entry.inspected", "chock_entry.inspected":
		return sections[3]
	case "entry.held", "entry.released", "entry.conceded":
		return sections[4]
	case "entry.corrected":
		return sections[5]
	}
	return sections[6]
}

func (r *report) print(t *term.Streams, u render.Units) error {
	t.Print("%s", t.Bold("Hand-over since "+render.Time(r.Since)))
	now, before := map[string]*render.Table{}, &render.Table{Columns: columns()}
	for _, e := range r.Events {
		kind := strings.TrimPrefix(e.Type, "barrelbook.")
		section := sectionOf(kind)
		if section == "" {
			continue
		}
		at := happened(e)
		into := before
		if !at.Before(r.Since) {
			if now[section] == nil {
				now[section] = &render.Table{Columns: columns()}
			}
			into = now[section]
		}
		into.Add(render.Time(at), says(kind, e), by(e))
	}
	none := true
	for _, name := range sections {
		if table := now[name]; table != nil {
			none = false
			t.Print("\n%s:", name)
			if err := table.Write(t); err != nil {
				return err
			}
		}
	}
	if none {
		t.Print("\nNothing that happened since then is recorded.")
	}
	if err := r.printEarlier(t, before); err != nil {
		return err
	}
	r.printStanding(t, u)
	return nil
}

func columns() []render.Column {
	return []render.Column{{Head: "at"}, {Head: "what"}, {Head: "by", Spare: 1}}
}

// mostEarlier is how many late records are told one by one.
const mostEarlier = 15

func (r *report) printEarlier(t *term.Streams, before *render.Table) error {
	n := len(before.Rows)
	if n == 0 {
		return nil
	}
	t.Print("\nRecorded since, of what happened before:")
	before.Rows = before.Rows[max(0, n-mostEarlier):]
	if err := before.Write(t); err != nil {
		return err
	}
	if n > mostEarlier {
		t.Print("and %d more before these.", n-mostEarlier)
	}
	return nil
}

// printStanding is how things are now.
func (r *report) printStanding(t *term.Streams, u render.Units) {
	var held, owed, worn []string
	for _, one := range r.Held {
		held = append(held, one.Number+": "+render.Opt(one.State.Held))
	}
	for _, one := range r.Owed {
		owed = append(owed, one.Number+": "+roll.Due(one.State))
	}
	for _, one := range r.Worn {
		line := one.Number
		if at := one.State.CoolAt; at != nil {
			line += ", warm until " + render.Time(*at)
		}
		worn = append(worn, line)
	}
	render.Bullets(t, "\nHeld:", held)
	render.Bullets(t, "\nOwed:", owed)
	if len(worn) > 0 {
		t.Print("\nWaiting for a grinder (%s): %s.", kit.Path("regrind queue"), strings.Join(worn, "; "))
	}
	if r.Plan == nil {
		return
	}
	if len(r.Plan.Stops) == 0 {
		t.Print("\nNext: no roll change is planned for campaign %s.", r.Plan.Campaign)
		return
	}
	stop := r.Plan.Stops[0]
	var changes []string
	for _, ch := range stop.Changes {
		into := "none ready"
		if ch.SetIn != nil {
			into = *ch.SetIn
		}
		changes = append(changes, fmt.Sprintf("%s %s in for %s", ch.Stand, into, render.Opt(ch.SetOut)))
	}
	t.Print("\nNext, before piece %d, %s: %s.", stop.BeforePiece, render.Time(stop.At), strings.Join(changes, "; "))
}

// happened is when it was done; an event of what has no moment is of when it was
// recorded.
func happened(e oapi.Event) time.Time {
	switch {
	case e.Data.Entry != nil:
		return e.Data.Entry.At
	case e.Data.At != nil:
		return *e.Data.At
	}
	return e.Time
}

func by(e oapi.Event) string {
	if e.Data.Entry != nil {
		return e.Data.Entry.By
	}
	return ""
}

// says is an event in a line.
func says(kind string, e oapi.Event) string {
	d := e.Data
	switch {
	case d.Entry != nil:
		line := d.Entry.Roll + ": " + render.Words(d.Entry.Kind)
		if d.Entry.Summary != nil {
			line = d.Entry.Roll + " " + *d.Entry.Summary
		}
		if d.Entry.Reason != nil && *d.Entry.Reason != "" {
			line += ", because: " + *d.Entry.Reason
		}
		return line
	case strings.HasPrefix(kind, "change."):
		parts := []string{render.Opt(d.Stand) + " " + render.Opt(d.Role)}
		if d.SetOut != nil && *d.SetOut != "" {
			parts = append(parts, *d.SetOut+" out")
		}
		if d.SetIn != nil && *d.SetIn != "" {
			parts = append(parts, *d.SetIn+" in")
		}
		line := strings.Join(parts, ", ")
		if verb := strings.TrimPrefix(kind, "change."); verb != "recorded" {
			line += " (" + verb + ")"
		}
		return line
	case strings.HasPrefix(kind, "incident."):
		rolls := slices.Clone(render.Opt(d.Rolls))
		line := render.Words(render.Opt(d.What))
		if d.Stand != nil && *d.Stand != "" {
			line += " in " + *d.Stand
		}
		return line + ": " + render.Join(rolls)
	}
	return strings.ReplaceAll(strings.ReplaceAll(kind, "_", " "), ".", " ") + " " + render.Opt(d.Name)
}
