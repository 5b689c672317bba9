package gather

import (
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/standing"
)

// Rates say what is believed of a roll's wear rate at a stand.
type Rates func(roll.State, mill.Stand, practice.InForce) standing.Rate

// Standing gathers how things stand at a moment: the one place where what is in
// the stands and in the shop is put together from the books, the stays, the
// damage and the rates now known. Every answer takes it from here.
type Standing struct {
	Now      time.Time // the moment it holds for
	StartsAt time.Time // when rolling begins; until then the rolls cool
	*Shop
	// Mounted are the stays in the stands asked about, States the rolls read.
	Mounted map[string][]port.Stay
	States  map[string]roll.State

	r      port.Reader
	mill   mill.Mill
	models *Models
	rates  Rates
	past   bool // Now is a past moment: what is kept of the present only is not used
	grades map[string]port.Grade
	stands map[string]mill.Stand
	damage map[string]*port.DamageRow // nil as of a past moment
}

// NewStanding begins with nothing read.
func NewStanding(r port.Reader, models *Models, rates Rates, m mill.Mill, shop *Shop) *Standing {
	return &Standing{Now: shop.Now, StartsAt: shop.Now, Shop: shop, Mounted: map[string][]port.Stay{}, States: map[string]roll.State{},
		r: r, mill: m, models: models, rates: rates, grades: map[string]port.Grade{}, stands: map[string]mill.Stand{}, damage: map[string]*port.DamageRow{}}
}

// AsOf turns it to a past moment: books and stays as they were known then.
// Damage is not followed back in time.
func (g *Standing) AsOf(at time.Time) {
	g.Now, g.StartsAt, g.past, g.damage = at, at, true, nil
}

// Past says whether it holds for a past moment.
func (g *Standing) Past() bool { return g.past }

// Read reads the stays in stands at the moment, and their rolls with others
// named.
func (g *Standing) Read(stands []mill.Stand, others ...string) error {
	names := make([]string, len(stands))
	for i, s := range stands {
		names[i], g.stands[s.Name] = s.Name, s
	}
	mountings, err := g.r.MountingsAt(names, g.standing())
	if err != nil {
		return err
	}
	numbers := slices.Clone(others)
	for _, m := range mountings {
		g.Mounted[m.Stand] = append(g.Mounted[m.Stand], m)
		numbers = append(numbers, m.Roll)
	}
	if err := g.readRolls(numbers); err != nil || !g.past {
		return err
	}
	return g.usageAsOf(stands)
}

// standing is the moment whose stays are asked for.
func (g *Standing) standing() time.Time {
	if g.past {
		return g.Now
	}
	return port.EndOfTime
}

// Since is a roll as it stands, wherever it is: in its stand, or in the shop as it
// came out of its last one.
func (g *Standing) Since(state roll.State) (standing.Roll, error) {
	g.States[state.Roll.Number] = state
	at := port.Stay{Roll: state.Roll.Number, Position: PositionOf(state.Roll.Role, true), Diameter: state.Diameter}
	stays, err := StaysSinceGrind(g.r, state)
	if err != nil {
		return standing.Roll{}, err
	}
	var stand mill.Stand
	if len(stays) > 0 {
		if stand, err = g.standNamed(stays[0].Stand); err != nil {
			return standing.Roll{}, err
		}
		if at.Stand = stand.Name; stays[0].WithdrawnAt.IsZero() {
			at = stays[0]
		}
	}
	return g.Roll(at, stand)
}

// readRolls reads the states of the rolls at the moment, and their damage.
func (g *Standing) readRolls(numbers []string) error {
	slices.Sort(numbers)
	states, err := g.r.States(slices.Compact(numbers))
	if err != nil {
		return err
	}
	rows := make([]port.RollRow, len(states))
	for i, s := range states {
		state := *s
		if g.past {
			if state, err = g.stateAsOf(s.Roll.Number); err != nil {
				return err
			}
		}
		g.States[s.Roll.Number], rows[i].State = state, state
	}
	if g.past {
		return nil
	}
	damage, err := ReadDamage(g.r, rows)
	for number, row := range damage {
		g.damage[number] = row
	}
	return err
}

// InStand is what is in a stand and what it shares its motor with.
func (g *Standing) InStand(stand mill.Stand) (work, backup standing.Set, drive *standing.Drive, err error) {
	if work, err = g.InPlace(stand, mill.Work); err != nil {
		return work, backup, nil, err
	}
	if backup, err = g.InPlace(stand, mill.Backup); err != nil {
		return work, backup, nil, err
	}
	drive, err = g.Drive(stand)
	return work, backup, drive, err
}

// Fresh is a set as it would be freshly ground, wearing at the rate that is known
// of its grade in the stand.
func (g *Standing) Fresh(set standing.Set, stand mill.Stand) standing.Set {
	fresh := set.AfterGrind()
	for i := range fresh.Rolls {
		r := &fresh.Rolls[i]
		state := g.States[r.Number]
		state.Roll.Number = "" // of no roll in particular
		rate := g.rates(state, stand, practice.Resolve(g.Practices, CaseIn(state, stand)))
		r.Rate.UmPerKmAt10, r.SharedCV, r.OwnCV, r.RateSource = rate.UMPerKM, rate.SharedCV, rate.OwnCV, rate.Source
	}
	return fresh
}

// Limits are the settings of a stand and its work rolls.
func (g *Standing) Limits(stand mill.Stand) practice.InForce {
	return practice.Resolve(g.Practices, practice.Scope{Mill: g.mill.Name, Stand: stand.Name, Role: mill.Work})
}

// Models are those of a stand for a programme ahead.
func (g *Standing) Models(stand mill.Stand) (*duty.Models, error) {
	models, err := g.models.Of(g.mill, stand, g.Practices)
	if err != nil {
		return nil, err
	}
	models.Forecast = true
	if g.past {
		models.Kernel = nil
	}
	return &models, nil
}

func (g *Standing) grade(name string) (port.Grade, error) {
	if known, ok := g.grades[name]; ok {
		return known, nil
	}
	grade, err := g.r.Grade(name)
	g.grades[name] = grade
	return grade, err
}

func (g *Standing) standNamed(name string) (mill.Stand, error) {
	if s, ok := g.stands[name]; ok {
		return s, nil
	}
	s, err := g.r.Stand(name)
	if err == nil {
		g.stands[name] = s
	}
	return s, err
}
