package plan

import (
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/changeplan"
	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// programmeLoad is what a programme does to one roll of a place.
type programmeLoad struct {
	uses      []duty.Usage // by piece
	share     []float64    // by piece: what it adds to the fatigue, of any unit
	added     *fatigue.Field
	predicted int // passes whose force was not given
}

// useModels turns the models on with the rolls as they are; the first is the one
// watched. It gives the empty field that its fatigue is laid into, nil where none
// is followed.
func (p *changePlanner) useModels(s *duty.Stand, at place, states []roll.State) (*fatigue.Field, error) {
	models, err := p.models.Of(p.mill, at.stand, p.practices)
	if err != nil {
		return nil, err
	}
	models.Forecast = true
	numbers := make([]string, len(states))
	for i, state := range states {
		numbers[i] = state.Roll.Number
	}
	rows, err := p.damageOf(numbers)
	if err != nil {
		return nil, err
	}
	conditions := make([]*duty.Condition, len(states))
	for i, state := range states {
		grade, err := p.r.Grade(state.Roll.Grade)
		if err != nil {
			return nil, err
		}
		condition := gather.ConditionOf(state, grade, nil, practice.Resolve(p.practices, gather.CaseIn(state, at.stand)))
		if m, ok := p.mountingOf(at.stand.Name, numbers[i]); ok {
			if condition.WornUM, err = gather.WornSinceGrind(p.r, state, m, p.now); err != nil {
				return nil, err
			}
			condition.Thermal = gather.CooledTo(p.startsAt(), rows[numbers[i]], state, models)
		}
		conditions[i] = &condition
	}
	if row := rows[numbers[0]]; row != nil {
		empty := row.Field
		empty.Damage = make([]float64, len(empty.Damage))
		conditions[0].Damage = &empty
	} else {
		conditions[0].Damage = s.NewDamage(0, gather.SincePressureMPa)
	}
	s.Use(models, conditions)
	return conditions[0].Damage, nil
}

// startsAt is when the first piece is rolled, which may have been planned for a
// moment that is past.
func (p *changePlanner) startsAt() (at time.Time) {
	if at = p.campaign.PieceTime(1); at.Before(p.now) {
		return p.now
	}
	return at
}

// stopMinutes is how long the planned stop before a piece, from 1, takes.
func (p *changePlanner) stopMinutes(number int) (minutes float64) {
	for _, s := range p.campaign.Stops {
		if s.BeforePiece == number {
			minutes += s.Minutes
		}
	}
	return minutes
}

func (p *changePlanner) mountingOf(stand, number string) (port.MountingRow, bool) {
	for _, m := range p.mounted[stand] {
		if m.Roll == number {
			return m, true
		}
	}
	return port.MountingRow{}, false
}

// damageOf is the fatigue of rolls, with all their grinds taken off.
func (p *changePlanner) damageOf(numbers []string) (map[string]*port.DamageRow, error) {
	rows, err := p.r.RollsByNumber(numbers)
	if err != nil {
		return nil, err
	}
	return gather.ReadDamage(p.r, rows)
}

// fatigueWeight is what a use adds to fatigue, to within a factor that is the
// same for all pieces: turns times pressure to the exponent of the policy.
func fatigueWeight(u duty.Usage, exponent float64) float64 {
	return u.Revolutions * math.Pow(u.MaxPeakPressureMPa/gather.SincePressureMPa, exponent)
}

// nanosPerDamage makes whole units of damage.
const nanosPerDamage = 1e9

// fatigueCriteria hold the worst layer at each station of the barrel against the
// policy, of both rolls of the set, at the upper edge of length and force. The
// pieces share what the whole programme adds by turns and pressure, as in the
// finish check. What the programme cannot bring to the limit is left out.
func (p *changePlanner) fatigueCriteria(at place, ahead programmeLoad) ([]changeplan.Criterion, error) {
	limit, total := at.limits.Value(practice.MaxDamage), 0.0
	for _, share := range ahead.share {
		total += share
	}
	if !limit.Set || ahead.added == nil || total == 0 {
		return nil, nil
	}
	m := gather.FatiguePolicy(p.practices, p.campaign.Mill).Exponent
	factor := nanosPerDamage * math.Exp(distuv.UnitNormal.Quantile(p.in.Confidence)*math.Hypot(logSD(at.limits.Number(practice.LengthCV)), m/2*logSD(at.limits.Number(practice.ForceCV))))
	starts := []*fatigue.Field{nil} // of fresh rolls
	if at.set != nil {
		rows, err := p.damageOf([]string{at.set.Top, at.set.Bottom})
		if err != nil {
			return nil, err
		}
		starts = nil
		for _, number := range []string{at.set.Top, at.set.Bottom} {
			if row := rows[number]; row != nil {
				starts = append(starts, &row.Field)
			} else {
				starts = append(starts, nil)
			}
		}
	}
	var criteria []changeplan.Criterion
	for _, start := range starts {
		for station := range ahead.added.Stations {
			before, added := worstAfter(start, ahead.added, station)
			c := changeplan.Criterion{Name: "fatigue", Limit: int64(limit.Number * nanosPerDamage), StartUsage: whole(before * nanosPerDamage), Usage: make([]int64, len(ahead.share))}
			for i, share := range ahead.share {
				c.Usage[i] = whole(added * factor * share / total)
			}
			if c.StartUsage+sum(c.Usage) > c.Limit {
				criteria = append(criteria, c)
			}
		}
	}
	return deepestOnly(criteria), nil
}

// worstAfter is the damage now of the layer at a station that is the most damaged
// once all of added is laid, and what is laid into it. Where the layers of the two
// are not alike it takes the worst of each.
func worstAfter(start, added *fatigue.Field, station int) (before, more float64) {
	if start == nil {
		return 0, added.WorstAt(station).Damage
	}
	if start.Layers != added.Layers || start.Stations != added.Stations || math.Abs(start.LayerMM/added.LayerMM-1) > 0.2 {
		return start.Worst().Damage, added.WorstAt(station).Damage
	}
	for i := station * added.Layers; i < (station+1)*added.Layers; i++ {
		if start.Damage[i]+added.Damage[i] > before+more {
			before, more = start.Damage[i], added.Damage[i]
		}
	}
	return before, more
}
