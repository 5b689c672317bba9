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
}

// NewStays begins with nothing read.
func NewStays(r port.Reader, models *Models, now time.Time) *Stays {
	return &Stays{r: r, models: models, Now: now, Stands: map[string]map[string]mill.Stand{}, Mills: map[string]mill.Mill{}, Grades: map[string]port.Grade{},
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

// MountedAt gives the mountings of the stand that cover the moment, by place.
func (in *Stays) MountedAt(stand string, at time.Time) []port.Stay {
	var covering []port.Stay
	for _, m := range in.Mountings {
		if m.Stand == stand && !at.Before(m.MountedAt) && (m.WithdrawnAt.IsZero() || at.Before(m.WithdrawnAt)) {
			covering = append(covering, m)
		}
	}
	sort.Slice(covering, func(i, j int) bool { return covering[i].Position < covering[j].Position })
	return covering
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
		grade, err := in.grade(in.Rolls[m.Roll].State.Roll.Grade)
		if err != nil {
			return nil, err
		}
		rolls[i] = DutyRoll(in.Rolls[m.Roll].State, m, grade, practice.Resolve(in.Practices, CaseIn(in.Rolls[m.Roll].State, stand)))
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
