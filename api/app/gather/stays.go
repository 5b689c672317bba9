// Package gather reads from the store what is in a stand and in the shop: rolls, sets,
// what they have borne since their grind, damage, heat, and the models set up with it.
package gather

import (
	"fmt"
	"sort"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/wear"
)

// Stays are the stays of rolls in stands over a group of pieces, with what the
// models carry on from piece to piece.
type Stays struct {
	r          port.Reader
	models     *Models
	Now        time.Time
	Stands     map[string]map[string]mill.Stand // by mill, by name
	Mills      map[string]mill.Mill
	Practices  []practice.Practice
	Grades     map[string]port.Grade
	Rolls      map[string]port.RollRow
	Mountings  []port.Stay
	setups     map[string]*duty.Stand
	Damage     map[string]*port.DamageRow // by roll
	conditions map[int64]*stayCondition   // by mounting
	// replay is nil while pieces are booked as they come.
	replay *Replay
	// belated are the stands through which a piece came later than one after it.
	belated map[string]bool
	byStand map[string][]port.Stay
	covers  map[string]cover
}

// NewStays begins with nothing read.
func NewStays(r port.Reader, models *Models, now time.Time) *Stays {
	return &Stays{belated: map[string]bool{}, r: r, models: models, Now: now, Stands: map[string]map[string]mill.Stand{}, Mills: map[string]mill.Mill{}, Grades: map[string]port.Grade{},
		Rolls: map[string]port.RollRow{}, setups: map[string]*duty.Stand{}, conditions: map[int64]*stayCondition{}}
}

// StandsOf reads a mill and its stands once. NotFound for an unknown mill.
func (in *Stays) StandsOf(millName string) (map[string]mill.Stand, error) {
	if known, ok := in.Stands[millName]; ok {
		return known, nil
	}
	m, err := in.r.Mill(millName)
	if err != nil {
		return nil, err
	}
	list, err := port.Drain(func(p port.Page) ([]mill.Stand, string, error) { return in.r.Stands(millName, p) })
	if err != nil {
		return nil, err
	}
	byName := map[string]mill.Stand{}
	for _, s := range list {
		byName[s.Name] = s
	}
	in.Mills[millName], in.Stands[millName] = m, byName
	return byName, nil
}

// Covers says whether a mounting covers the moment: a roll is in from its
// mounting on, and out at the moment of its withdrawal.
func Covers(m port.Stay, at time.Time) bool {
	return !at.Before(m.MountedAt) && (m.WithdrawnAt.IsZero() || at.Before(m.WithdrawnAt))
}

// cover is who was in a stand over a time in which nobody came or went.
type cover struct {
	from, until time.Time // zero for no end
	rows        []port.Stay
}

// MountedAt gives the mountings of the stand that cover the moment, by place.
func (in *Stays) MountedAt(stand string, at time.Time) []port.Stay {
	if c, ok := in.covers[stand]; ok && !at.Before(c.from) && (c.until.IsZero() || at.Before(c.until)) {
		return c.rows
	}
	if in.byStand == nil {
		in.byStand, in.covers = map[string][]port.Stay{}, map[string]cover{}
		for _, m := range in.Mountings {
			in.byStand[m.Stand] = append(in.byStand[m.Stand], m)
		}
	}
	var c cover
	for _, m := range in.byStand[stand] {
		if Covers(m, at) {
			c.rows = append(c.rows, m)
		}
		for _, change := range []time.Time{m.MountedAt, m.WithdrawnAt} {
			switch {
			case change.IsZero():
			case change.After(at) && (c.until.IsZero() || change.Before(c.until)):
				c.until = change
			case !change.After(at) && change.After(c.from):
				c.from = change
			}
		}
	}
	sort.Slice(c.rows, func(i, j int) bool { return c.rows[i].Position < c.rows[j].Position })
	in.covers[stand] = c
	return c.rows
}

// Taken is what one pass did to the rolls that were in its stand.
type Taken struct {
	Mounted []port.Stay // none where no roll was
	Load    duty.Load
	// Refused is why it cannot be computed: the piece was rolled and is kept.
	Refused error
}

// Take computes pass k of a piece, from 0. Passes of a stand are to come in the
// order of their time.
func (in *Stays) Take(piece mill.Piece, k int) (Taken, error) {
	pass := piece.Passes[k]
	t := Taken{Mounted: in.MountedAt(pass.Stand, piece.RolledAt)}
	if len(t.Mounted) == 0 {
		return t, nil
	}
	setup, err := in.Setup(piece.Mill, pass.Stand, t.Mounted)
	if err != nil {
		return t, err
	}
	in.Rest(setup, t.Mounted, piece.RolledAt)
	if t.Load, t.Refused = setup.Take(piece, k); t.Refused == nil {
		in.Rolled(t.Mounted, piece.RolledAt, duty.RollingMin(pass, t.Load.Rolls[0].RolledKM))
	}
	return t, nil
}

// state is the roll of a mounting: as it went in, or as it is now.
func (in *Stays) state(m port.Stay) roll.State {
	if in.replay != nil {
		return in.replay.states[m.ID]
	}
	return in.Rolls[m.Roll].State
}

// Setup prepares the models for the rolls that are together in a stand, once
// for as long as they are.
func (in *Stays) Setup(millName, standName string, mounted []port.Stay) (*duty.Stand, error) {
	key := standName
	for _, m := range mounted {
		key += fmt.Sprintf("/%d", m.ID)
	}
	if s, ok := in.setups[key]; ok {
		return s, nil
	}
	stand := in.Stands[millName][standName]
	rolls := make([]duty.Roll, len(mounted))
	for i, m := range mounted {
		state := in.state(m)
		grade, err := in.grade(state.Roll.Grade)
		if err != nil {
			return nil, err
		}
		rolls[i] = DutyRoll(state, m, grade, practice.Resolve(in.Practices, CaseIn(state, stand)))
	}
	s, err := duty.NewStand(stand, in.Mills[millName].Density(), rolls)
	if err != nil {
		return nil, err
	}
	in.setups[key] = s
	return s, in.useModels(s, millName, stand, mounted)
}

func (in *Stays) grade(name string) (port.Grade, error) {
	if g, ok := in.Grades[name]; ok {
		return g, nil
	}
	g, err := in.r.Grade(name)
	in.Grades[name] = g
	return g, err
}

// DutyRoll is a mounted roll as the models need it.
func DutyRoll(s roll.State, m port.Stay, grade port.Grade, p practice.InForce) duty.Roll {
	shape := wear.PlainShape()
	if rise := p.Number(practice.EdgeWearFactor) - 1; rise > 0 {
		shape = wear.HotStripShape()
		shape.EdgeRise = rise
	}
	return duty.Roll{
		Number: m.Roll, Position: m.Position, DiameterMM: m.Diameter.MM(), BarrelLengthMM: s.Roll.BarrelLength.MM(),
		ElasticModulusMPa: grade.Modulus(), PoissonRatio: grade.Poisson(),
		GrooveDepthMM: depthsOf(s.Roll.Grooves), GrooveUMPerKT: p.Number(practice.GrooveWearUMPerKT),
		Rate: wear.Rate{UmPerKmAt10: p.Number(practice.WearRateUMPerKM), Exponent: p.Number(practice.WearForceExponent), Shape: shape},
	}
}
