// Package practice holds the mill's own limits and settings. A practice gives
// values for a scope (mill, stand, role, grade); the most particular scope
// that gives a value wins, and every value tells where it came from.
package practice

import (
	"fmt"
	"math"
	"sort"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// Scope is what a practice is for. An empty part stands for any.
type Scope struct {
	Mill  string
	Stand string
	Role  mill.Role
	Grade string
	// Material is a rolled metal, by the name on its pieces. A practice for one
	// holds what is known of it and nothing else.
	Material string
}

// covers says whether a practice of scope s speaks for the case c.
func (s Scope) covers(c Scope) bool {
	return (s.Mill == "" || s.Mill == c.Mill) && (s.Stand == "" || s.Stand == c.Stand) &&
		(s.Role == "" || s.Role == c.Role) && (s.Grade == "" || s.Grade == c.Grade) &&
		(s.Material == "" || s.Material == c.Material)
}

// weight orders scopes from general to particular: a material outweighs a stand,
// a stand a grade, a grade a role, a role a mill.
func (s Scope) weight() int {
	w := 0
	for i, part := range []string{s.Mill, string(s.Role), s.Grade, s.Stand, s.Material} {
		if part != "" {
			w += 1 << i
		}
	}
	return w
}

// Practice is one named, versioned block of settings.
type Practice struct {
	Name    string
	Scope   Scope
	Values  map[Key]float64
	Version int64
}

// Check refuses unknown settings, values outside their range, and a lower
// limit above its upper one.
func (p Practice) Check() error {
	var c refusal.Check
	keys := make([]string, 0, len(p.Values))
	for k := range p.Values {
		keys = append(keys, string(k))
	}
	sort.Strings(keys)
	for _, k := range keys {
		setting, known := settings[Key(k)]
		if !known {
			c.Add("values/"+k, "", "is not a setting", "see the settings that there are")
			continue
		}
		c.Within("values/"+k, p.Values[Key(k)], setting.Low, setting.High)
		if p.Scope.Material != "" && !ofMaterial(Key(k)) {
			c.Add("values/"+k, "", "is not a setting of a rolled metal", "leave the material out of the scope, or keep it in a practice of its own")
		}
	}
	p.ordered(&c, RoughnessMinUM, RoughnessMaxUM)
	p.ordered(&c, FinishNoProbability, FinishYesProbability)
	return c.Err()
}

// ofMaterial says whether a setting tells of a rolled metal.
func ofMaterial(k Key) bool {
	switch k {
	case CarbonPct, ManganesePct, ChromiumPct, FlowStressFactor, ColdFlowStressMPa:
		return true
	}
	return false
}

func (p Practice) ordered(c *refusal.Check, low, high Key) {
	l, givenLow := p.Values[low]
	h, givenHigh := p.Values[high]
	if givenLow && givenHigh && l > h {
		c.Add("values/"+string(low), refusal.Number(l), "must not be above "+string(high)+" "+refusal.Number(h), "")
	}
}

// Value is a setting in force and where it came from.
type Value struct {
	Number float64
	Source string // "practice finishing-work v3" or "default"
	Set    bool   // false where there is neither a practice nor a default
}

// InForce answers what the settings are for one case.
type InForce struct {
	role   mill.Role
	chosen []Practice // particular first
}

// Resolve gathers what the practices say for the case c. Two practices of
// equal particularity are taken in the order of their names, so that the
// answer does not depend on the order they were stored in.
func Resolve(all []Practice, c Scope) InForce {
	var chosen []Practice
	for _, p := range all {
		if p.Scope.covers(c) {
			chosen = append(chosen, p)
		}
	}
	sort.SliceStable(chosen, func(i, j int) bool {
		wi, wj := chosen[i].Scope.weight(), chosen[j].Scope.weight()
		if wi != wj {
			return wi > wj
		}
		return chosen[i].Name < chosen[j].Name
	})
	return InForce{role: c.Role, chosen: chosen}
}

// Value is the setting k in force.
func (f InForce) Value(k Key) Value {
	for _, p := range f.chosen {
		if v, ok := p.Values[k]; ok {
			return Value{Number: v, Source: fmt.Sprintf("practice %s v%d", p.Name, p.Version), Set: true}
		}
	}
	if v, ok := settings[k].defaultFor(wearsAs(k, f.role)); ok {
		return Value{Number: v, Source: "default", Set: true}
	}
	return Value{}
}

// Number is the setting k in force, 0 where there is none.
func (f InForce) Number(k Key) float64 { return f.Value(k).Number }

// Micrometres is a setting in µm as a length of record.
func (f InForce) Micrometres(k Key) quantity.Micrometre {
	return quantity.Micrometre(math.Round(f.Number(k)))
}

// Millimetres is a setting in mm as a length of record.
func (f InForce) Millimetres(k Key) quantity.Micrometre {
	return quantity.Micrometre(math.Round(f.Number(k) * 1000))
}

// Hours is a setting in hours as a duration.
func (f InForce) Hours(k Key) time.Duration {
	return time.Duration(f.Number(k) * float64(time.Hour))
}
