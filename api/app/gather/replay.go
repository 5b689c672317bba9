package gather

import (
	"fmt"
	"strings"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// Replay computes again what pieces did, from the stays as the books now tell
// them: each roll goes in as it then was, with the damage that the stays before
// left in it and their wear where it was not ground in between. Pieces are to
// come in the order of their time. The practices are those of now.
type Replay struct {
	*Stays
	// Usage is what the stays bore, by mounting, as far as pieces were given.
	Usage map[int64]duty.Usage
	// Taken is the damage and the heat that followed rolls took into their stays.
	Taken  map[int64]port.DamageRow
	states map[int64]roll.State // as each roll went in
	byRoll map[string][]port.Stay
	// follows are the stays whose rolls' damage and heat is carried from one to the
	// next; of the others only what the load along the barrels needs is known.
	follows map[int64]bool
	in      map[string]followed
}

// followed is the stay that a followed roll is in.
type followed struct {
	*stayCondition
	mounting int64
}

// NewReplay reads the books of the rolls of the mountings. follows are
// all stays of some rolls, or all from one on into which they took what begin has
// of them.
func NewReplay(r port.Reader, models *Models, now time.Time, mountings []port.Stay, follows map[int64]bool, begin []port.DamageRow) (*Replay, error) {
	p := &Replay{Stays: NewStays(r, models, now), Usage: map[int64]duty.Usage{}, Taken: map[int64]port.DamageRow{}, states: map[int64]roll.State{}, byRoll: map[string][]port.Stay{}, follows: follows, in: map[string]followed{}}
	p.replay, p.Mountings, p.Damage = p, mountings, map[string]*port.DamageRow{}
	for i := range begin {
		p.Damage[begin[i].Roll] = &begin[i]
	}
	var err error
	if p.Practices, err = AllPractices(r); err != nil {
		return nil, err
	}
	for _, m := range mountings {
		if p.byRoll[m.Roll] != nil {
			continue
		}
		if p.byRoll[m.Roll], err = MountingsOf(r, m.Roll); err != nil {
			return nil, err
		}
		if err := p.readStates(m.Roll); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// readStates finds each mounting of a roll in its book.
func (p *Replay) readStates(number string) error {
	book, err := p.r.Book(number)
	if err != nil {
		return err
	}
	stays, err := roll.Stays(book)
	if err != nil {
		return port.BookError(err)
	}
	for _, m := range p.byRoll[number] {
		for _, s := range stays {
			if s.From.Equal(m.MountedAt) && s.In.Stand == m.Stand {
				p.states[m.ID] = s.In
			}
		}
	}
	return nil
}

// MountingsOf are all mountings of a roll, oldest first.
func MountingsOf(r port.Reader, number string) ([]port.Stay, error) {
	rows, err := port.Drain(func(p port.Page) ([]port.Stay, string, error) { return r.Mountings(number, p) })
	for i, j := 0, len(rows)-1; i < j; i, j = i+1, j-1 {
		rows[i], rows[j] = rows[j], rows[i]
	}
	return rows, err
}

// Add takes the passes of a piece through the stands that want it.
func (p *Replay) Add(piece mill.Piece, wanted func(stand string) bool) error {
	if _, err := p.StandsOf(piece.Mill); err != nil {
		return err
	}
	for k, pass := range piece.Passes {
		if !wanted(pass.Stand) {
			continue
		}
		taken, err := p.Take(piece, k)
		if err != nil {
			return err
		}
		if taken.Refused != nil {
			continue // it was told when the piece came in
		}
		for i, m := range taken.Mounted {
			u := p.Usage[m.ID]
			u.Add(taken.Load.Rolls[i])
			p.Usage[m.ID] = u
		}
	}
	return nil
}

// enterStay is the state that the models start a roll's stay from.
func (p *Replay) enterStay(s *duty.Stand, i int, m port.Stay, stand mill.Stand) (*stayCondition, error) {
	state := p.states[m.ID]
	grade, err := p.grade(state.Roll.Grade)
	if err != nil {
		return nil, err
	}
	stay := &stayCondition{roll: m.Roll, condition: ConditionOf(state, grade, p.wornBefore(state, m), practice.Resolve(p.Practices, CaseIn(state, stand)))}
	return stay, nil
}

// carry gives a followed roll the damage and the heat that the stays before left
// in it, with what was ground off since.
func (p *Replay) carry(s *duty.Stand, i int, m port.Stay, stay *stayCondition) error {
	if !p.follows[m.ID] {
		return nil
	}
	p.leave(m.Roll)
	if row := p.Damage[m.Roll]; row != nil {
		took := *row
		took.Field = *row.Field.Clone()
		p.Taken[m.ID] = took
	}
	row := p.damageRow(s, i, m.Roll, m.Diameter)
	if row == nil {
		return nil
	}
	if off := row.Diameter - m.Diameter; off > 0 {
		if err := row.Field.Grind(off.MM() / 2); err != nil {
			return err
		}
	}
	row.Diameter = m.Diameter
	stay.condition.Thermal, stay.thermalAt = row.Thermal, row.ThermalAt
	stay.condition.Damage = &row.Field
	p.in[m.Roll] = followed{stay, m.ID}
	return nil
}

// leave lays what is waiting on a roll and keeps its heat, as it goes into
// another stay.
func (p *Replay) leave(number string) {
	before, row := p.in[number], p.Damage[number]
	if before.stayCondition == nil || row == nil {
		return
	}
	for key, s := range p.setups {
		if strings.Contains(key+"/", fmt.Sprintf("/%d/", before.mounting)) {
			s.Settle()
			delete(p.setups, key)
		}
	}
	row.Thermal, row.ThermalAt = before.condition.Thermal, before.thermalAt.UTC().Truncate(time.Microsecond)
}

// wornBefore is the wear of the stays before this one since the roll was ground.
func (p *Replay) wornBefore(state roll.State, m port.Stay) []float64 {
	var since duty.Usage
	for _, before := range p.byRoll[m.Roll] {
		if !before.MountedAt.Before(m.MountedAt) {
			break
		}
		if before.MountedAt.Before(state.GroundAt) {
			continue
		}
		if p.follows[before.ID] {
			since.Add(p.Usage[before.ID])
		} else { // of others not all pieces are given
			since.Add(before.Usage)
		}
	}
	return since.WearUM
}

// Left is the damage and the heat that all pieces left in the followed rolls; a
// roll that bore none is not among them.
func (p *Replay) Left() []port.DamageRow {
	var rows []port.DamageRow
	for number, row := range p.Damage {
		p.leave(number)
		rows = append(rows, *row)
	}
	return rows
}
