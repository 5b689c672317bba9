package record

import (
	"fmt"
	"slices"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// Moved is what a late record takes from one roll and books on another. From or
// Roll is empty where no roll was or is in the place.
type Moved struct {
	Roll     string
	From     string
	Pieces   int
	TonnageT float64
}

// exchange is two sets of rolls taking each other's place in a stand for a time.
type exchange struct {
	stand       mill.Stand
	role        mill.Role
	from, until time.Time // until is zero for no end
	out, in     []string  // top and bottom, none where there is no set
	// whole says that a mishap of the very moment it began goes with it: those that
	// go out never were in. Else it stays with those it was told of.
	whole bool
}

// through are the pieces that went through the stand in the time, as far as the
// answer needs them.
type through struct {
	pieces    int
	tonnageT  float64
	overloads []mill.Piece // a measured force passed the limit of the stand
}

// through reads them. Conflicting where one cannot have gone through the rolls
// that come in, as its groove is none of theirs.
func (x exchange) through(w port.Writer) (t through, err error) {
	in, err := w.RollsByNumber(x.in)
	if err != nil {
		return t, err
	}
	var rolls []roll.Roll
	for _, row := range in {
		if x.role == mill.Work {
			rolls = append(rolls, row.State.Roll)
		}
	}
	spans := map[string][]span{x.stand.Mill: {{stand: x.stand.Name, from: x.from, until: x.until}}}
	return t, eachPiece(w, spans, func(p mill.Piece) error {
		passes := slices.DeleteFunc(slices.Clone(p.Passes), func(pass mill.Pass) bool { return pass.Stand != x.stand.Name })
		if len(passes) == 0 {
			return nil
		}
		t.pieces++
		t.tonnageT += p.MassT
		if x.stand.MaxForceKN > 0 && slices.ContainsFunc(passes, func(pass mill.Pass) bool { return pass.ForceKN > x.stand.MaxForceKN }) {
			t.overloads = append(t.overloads, p)
		}
		if err := checkGrooves(mill.Piece{Passes: passes}, func(string) []roll.Roll { return rolls }); err != nil {
			return port.Fail(port.Conflicting, "piece %s was rolled in %s on %s and cannot have gone through these rolls: %v; check the moment and the set", p.ID, x.stand.Name, port.Moment(p.RolledAt), err)
		}
		return nil
	})
}

// moved says what goes from which roll to which.
func (x exchange) moved(t through) (list []Moved) {
	if t.pieces == 0 {
		return nil
	}
	for i := range max(len(x.in), len(x.out)) {
		m := Moved{Pieces: t.pieces, TonnageT: t.tonnageT}
		if i < len(x.in) {
			m.Roll = x.in[i]
		}
		if i < len(x.out) {
			m.From = x.out[i]
		}
		list = append(list, m)
	}
	return list
}

// mishaps drafts that the mishaps at the stand in the time were borne by the
// rolls that were in, and gives what is to be written of them after the books.
// An overload by a piece that found no roll is noted now.
func (v *revision) mishaps(x exchange, t through) (write func() error, err error) {
	var move, create []port.IncidentRow
	known, err := incidentsAt(v.w, x)
	if err != nil {
		return nil, err
	}
	for _, i := range known {
		if !i.UndoneAt.IsZero() {
			continue // nobody bore it
		}
		var rolls []string
		for _, number := range i.Rolls {
			if !slices.Contains(x.out, number) {
				rolls = append(rolls, number)
				continue
			}
			e, err := v.find(number, func(b roll.Body) bool { incident, is := b.(roll.Incident); return is && incident.Name == i.Name })
			if err != nil {
				continue // withdrawn by hand
			}
			v.withdraw(number, e)
		}
		i.Rolls = append(rolls, v.bear(x.in, i)...)
		move = append(move, i)
	}
	for _, p := range t.overloads {
		if slices.ContainsFunc(known, func(i port.IncidentRow) bool { return i.What == roll.Overload && i.At.Equal(p.RolledAt) }) || len(x.in) == 0 {
			continue
		}
		beside, err := v.w.MountingsAt([]string{x.stand.Name}, p.RolledAt)
		if err != nil {
			return nil, err
		}
		i := port.IncidentRow{Name: v.app.ids.Name("incident"), What: roll.Overload, Stand: x.stand.Name, At: p.RolledAt, By: v.call.Actor, Note: overloadNote(x.stand, p)}
		all := slices.Clone(x.in)
		for _, m := range beside {
			if m.Position.Role() != x.role {
				all = append(all, m.Roll)
			}
		}
		i.Rolls = v.bear(all, i)
		create = append(create, i)
	}
	return func() error {
		for _, i := range move {
			if err := v.w.MoveIncident(i); err != nil {
				return err
			}
		}
		for _, i := range create {
			if err := v.w.CreateIncident(i); err != nil {
				return err
			}
		}
		return nil
	}, nil
}

// bear drafts a mishap into the books of the rolls.
func (v *revision) bear(rolls []string, i port.IncidentRow) []string {
	for _, number := range rolls {
		v.enter(number, i.At, "", roll.Incident{Name: i.Name, What: i.What, Stand: i.Stand, Note: i.Note})
	}
	return rolls
}

// overloadNote says by how much a piece passed the limit of a stand.
func overloadNote(s mill.Stand, p mill.Piece) string {
	force := 0.0
	for _, pass := range p.Passes {
		if pass.Stand == s.Name {
			force = max(force, pass.ForceKN)
		}
	}
	return fmt.Sprintf("piece %s: %.0f kN, limit of %s %.0f kN", p.ID, force, s.Name, s.MaxForceKN)
}

// incidentsAt are those told of the stand in the time.
func incidentsAt(r port.Reader, x exchange) (list []port.IncidentRow, err error) {
	s := span{stand: x.stand.Name, from: x.from, until: x.until}
	for page := (port.Page{Limit: 50}); ; {
		rows, next, err := r.Incidents(page)
		if err != nil {
			return nil, err
		}
		for _, i := range rows {
			if i.At.Before(x.from) {
				return list, nil // newest first
			}
			if i.Stand == x.stand.Name && s.covers(i.At) && (x.whole || i.What == roll.Overload || i.At.After(x.from)) {
				list = append(list, i)
			}
		}
		if page.After = next; next == "" {
			return list, nil
		}
	}
}

// positions are the rolls of a set in a stand, top first.
func positions(role mill.Role, rows []port.Stay) []string {
	var rolls []string
	for _, top := range []bool{true, false} {
		for _, m := range rows {
			if m.Position == gather.PositionOf(role, top) {
				rolls = append(rolls, m.Roll)
			}
		}
	}
	return rolls
}
