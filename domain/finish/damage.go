package finish

import (
	"math"

	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
)

// tired is what the programme adds to the contact fatigue of one roll.
//
// The whole of it is laid into the layers of the roll. After a part of the
// programme the layers have their share of it, by turns times pressure to the
// power m, as if it had pressed like the whole all along. Length counts in
// proportion and force, through the pressure, to the power m/2:
//
//	damage   max over layers of (D₀ + E·F^(m/2)·share·ΔD)
type tired struct {
	share []float64 // after i pieces, 1 at the end; nil where nothing is counted
	added []float64 // ΔD of the layers of field
	field *fatigue.Field
	lines []line
	scale float64 // of ΔD, which rolls of one shape may share
}

// emptyLike is a field of the layers of f without damage.
func emptyLike(f *fatigue.Field) *fatigue.Field {
	empty := *f
	empty.Damage = make([]float64, len(f.Damage))
	return &empty
}

// useModels turns the models of the input on, and gives what the rolls carry
// while the programme is loaded.
func (r *run) useModels(stand *duty.Stand) []*duty.Condition {
	conditions := make([]*duty.Condition, len(r.rolls))
	for j, roll := range r.rolls {
		c := roll.Condition
		c.WornUM = append([]float64(nil), roll.WornUM...)
		field := roll.Damage
		if field == nil {
			field = stand.NewDamage(j, usualPressureMPa)
		}
		if r.in.Models.Kernel != nil && field != nil {
			c.Damage = emptyLike(field)
			r.tired[j] = tired{share: make([]float64, r.n+1), field: field}
		}
		conditions[j] = &c
	}
	stand.Use(*r.in.Models, conditions)
	return conditions
}

// usualPressureMPa sets how finely damage is looked at in a roll whose book has
// none yet: common practice, no source.
const usualPressureMPa = 1200

// tire notes the share of a pass.
func (r *run) tire(i int, load duty.Load) {
	for j := range r.tired {
		if share := r.tired[j].share; share != nil {
			share[i+1] += load.Rolls[j].Revolutions * math.Pow(load.Rolls[j].MaxPeakPressureMPa/usualPressureMPa, 2*r.risk.halfM)
		}
	}
}

// layDamage takes what the programme added from the conditions of the rolls.
func (r *run) layDamage(conditions []*duty.Condition) {
	for j := range r.tired {
		t := &r.tired[j]
		if t.share == nil {
			continue
		}
		for i := range r.n {
			t.share[i+1] += t.share[i]
		}
		if whole := t.share[r.n]; whole > 0 {
			for i := range t.share {
				t.share[i] /= whole
			}
		}
		t.added, t.scale = conditions[j].Damage.Damage, 1
		t.lines = deepLines(nil, t.field.Damage, t.added)
	}
}

// damageLikewise is that of another roll from the one it replaces: turns go
// with 1/D and pressure by the ratio given. It is not known where the layers of
// the two are not alike.
func damageLikewise(old tired, from, to *Roll, pressure, m float64) tired {
	if old.share == nil {
		return tired{}
	}
	field := to.Damage
	if field == nil {
		field = emptyLike(old.field)
	}
	if field.Layers != old.field.Layers || field.Stations != old.field.Stations || math.Abs(field.LayerMM/old.field.LayerMM-1) > 0.2 {
		return tired{}
	}
	t := tired{share: old.share, added: old.added, field: field, lines: old.lines,
		scale: old.scale * from.DiameterMM / to.DiameterMM * math.Pow(pressure, m)}
	if to != from {
		t.lines = deepLines(nil, t.field.Damage, t.added)
	}
	return t
}

// damageAt is the damage of the worst layer of roll j for a factor E·F^(m/2).
func (r *run) damageAt(u *usage, j int, factor float64) float64 {
	worst := 0.0
	for _, l := range r.tired[j].lines {
		worst = max(worst, l.worn+factor*u.tired[j]*l.added)
	}
	return worst
}

// endOfDamage is the logarithm of the factor E·F^(m/2) at which roll j comes to
// its limit; ±Inf where it never does or is past it.
func (r *run) endOfDamage(u *usage, j int) float64 {
	limit := r.rolls[j].MaxDamage
	if !limit.Set || r.tired[j].share == nil {
		return math.Inf(1)
	}
	end := math.Inf(1)
	for _, l := range r.tired[j].lines {
		if use := u.tired[j] * l.added; use > 0 {
			end = min(end, math.Log(max(0, limit.Number-l.worn)/use))
		}
	}
	return end
}

// fatigued is contact fatigue against the mill's policy.
func (r *run) fatigued(j int) (soft, bool) {
	roll := r.rolls[j]
	if !roll.MaxDamage.Set || r.tired[j].share == nil {
		return soft{}, false
	}
	sd := math.Hypot(r.risk.sdE, r.risk.halfM*r.risk.sdF)
	return soft{
		margin: Margin{Roll: roll.Number, Criterion: Fatigue, Unit: "of 1", Limit: roll.MaxDamage.Number, Now: r.tired[j].field.Worst().Damage,
			Source: "limit: " + roll.MaxDamage.Source + ", a policy; use: every piece rolled since the book began, every grind taken off, and the forces of the programme" +
				cvSource("length_cv", r.in.LengthCV) + cvSource("force_cv", r.in.ForceCV)},
		use:   func(m int) float64 { return r.damageAt(r.gather(r.first(m)...), j, 1) },
		holds: func(m int) float64 { return cdf(standard(r.endOfDamage(r.gather(r.first(m)...), j), sd)) },
		at: func(m int, p float64) float64 {
			return r.damageAt(r.gather(r.first(m)...), j, math.Exp(sd*quantile(p)))
		},
	}, true
}

// standard is a logarithm in standard deviations; ±Inf by its sign where there
// is no deviation.
func standard(log, sd float64) float64 {
	switch {
	case sd > 0:
		return log / sd
	case log >= 0:
		return math.Inf(1)
	}
	return math.Inf(-1)
}
