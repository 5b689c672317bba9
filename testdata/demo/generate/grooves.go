package main

import "math"

// grooving is how the rolls of a class are grooved; none when count is 0.
type grooving struct {
	count   int
	depthMM float64
	limitT  float64 // tonnes a groove is given
	rate    float64 // µm on diameter per 1000 t
}

// groovesOf lists the grooves for a receipt, nil for a plain barrel.
func (c *class) groovesOf() []object {
	var list []object
	for i := range c.grooves.count {
		list = append(list, object{"number": i + 1, "depth_mm": c.grooves.depthMM})
	}
	return list
}

// usual is the purpose of a normal grind of the class.
func (c *class) usual() string {
	if c.purpose != "" {
		return c.purpose
	}
	return "wear"
}

// groovedAt is the class grooved at a stand and the set in it, nil where the
// barrel is plain.
func (s *shop) groovedAt(stand string) (*class, *pair) {
	for _, c := range s.classes {
		if c.grooves.count == 0 {
			continue
		}
		for _, name := range c.stands {
			if name == stand {
				return c, s.in[stand+c.role]
			}
		}
	}
	return nil, nil
}

// chooseGrooves sends the pieces through the groove in use at each stand and
// goes on to the next one when a groove has had its tonnes.
func (s *shop) chooseGrooves(pieces []piece) {
	for i := range pieces {
		for k := range pieces[i].Passes {
			pass := &pieces[i].Passes[k]
			c, set := s.groovedAt(pass.Stand)
			if set == nil {
				continue
			}
			if set.grooveT == nil {
				set.grooveT = make([]float64, c.grooves.count)
			}
			if set.grooveT[set.groove]+pieces[i].MassT > c.grooves.limitT && set.groove+1 < c.grooves.count {
				set.groove++
			}
			set.grooveT[set.groove] += pieces[i].MassT
			pass.Groove = set.groove + 1
		}
	}
}

// nameGrooves plans the pieces ahead through the grooves in use now.
func (s *shop) nameGrooves(pieces []piece) {
	for i := range pieces {
		for k := range pieces[i].Passes {
			if _, set := s.groovedAt(pieces[i].Passes[k].Stand); set != nil {
				pieces[i].Passes[k].Groove = set.groove + 1
			}
		}
	}
}

// redressMM is the cut that cleans the deepest groove of a set.
func (p *pair) redressMM(c *class) float64 {
	deepest := 0.0
	for _, t := range p.grooveT {
		deepest = math.Max(deepest, t/1000*c.grooves.rate/1000)
	}
	return deepest
}
