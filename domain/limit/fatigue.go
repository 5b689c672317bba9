package limit

import (
	"math"

	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/practice"
)

// contactFatigue is the damage of the worst layer against the mill's policy.
//
// The whole of the programme is laid into the layers of the roll. After a part
// of it the layers have their share, by turns times pressure to the power m, as
// if it had pressed like the whole all along. Length counts in proportion and
// force, through the pressure, to the power m/2:
//
//	damage   max over layers of (D₀ + E·F^(m/2)·share·ΔD)
var contactFatigue = Kind{
	Criterion: "fatigue", Key: practice.MaxDamage, Unit: "of 1", Decimals: 3, Words: "contact fatigue", Noun: "contact-fatigue", Short: "fatigue",
	Watch: func(a *Ahead, j int) []Watch {
		w, ok := of(a.Rolls[j], practice.MaxDamage)
		t := a.fatigue[j]
		if damage := a.Rolls[j].Damage; ok && t == nil && damage != nil && len(a.Pieces) == 0 {
			w.Growth = Sharing{Deepest(nil, damage.Damage, nil), []float64{0}, 1}
			return []Watch{w}
		}
		if !ok || t == nil {
			return nil
		}
		whole, alike := t.on(a.Rolls[j].Damage)
		if !alike {
			return nil
		}
		scale := a.Factor[j].Turns * math.Pow(a.Factor[j].Pressure, a.FatigueExponent)
		w.Growth, w.Spread = Sharing{whole, t.share, scale}, Spread{Length: 1, Force: a.FatigueExponent / 2}
		w.Source += ", a policy; use: every piece rolled since the book began, every grind taken off, and the forces of the programme" + a.lengthDoubt() + a.forceDoubt()
		return []Watch{w}
	},
}

// fatigueAhead is what the programme adds to the contact fatigue of a roll.
type fatigueAhead struct {
	share []float64 // after i pieces, 1 at the end
	added *fatigue.Field
	// on the field it was asked for last: most rolls ask for one only.
	field *fatigue.Field
	lines []Line
}

// UsualPressureMPa sets how finely damage is looked at in a roll whose book has
// none yet: common practice, no source.
const UsualPressureMPa = 1200

func newFatigueAhead(uses []duty.Usage, added *fatigue.Field, exponent float64) *fatigueAhead {
	t := &fatigueAhead{share: make([]float64, len(uses)+1), added: added}
	for i := range uses {
		t.share[i+1] = t.share[i] + uses[i].Revolutions*math.Pow(uses[i].MaxPeakPressureMPa/UsualPressureMPa, exponent)
	}
	if whole := t.share[len(uses)]; whole > 0 {
		for i := range t.share {
			t.share[i] /= whole
		}
	}
	return t
}

// on gives the lines of the whole programme on the damage so far, nil for none
// yet. It is not known where the layers of the two are not alike.
func (t *fatigueAhead) on(field *fatigue.Field) (lines []Line, alike bool) {
	if t.lines != nil && t.field == field {
		return t.lines, true
	}
	var before []float64
	if field != nil {
		if !LayersAlike(field, t.added) {
			return nil, false
		}
		before = field.Damage
	}
	t.field, t.lines = field, Deepest(nil, before, t.added.Damage)
	return t.lines, true
}

// LayersAlike says whether the damage of two rolls may be laid layer on layer:
// as many places, and layers as thick within a fifth.
func LayersAlike(a, b *fatigue.Field) bool {
	return a.Layers == b.Layers && a.Stations == b.Stations && math.Abs(a.LayerMM/b.LayerMM-1) <= 0.2
}
