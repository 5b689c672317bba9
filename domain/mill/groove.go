package mill

import (
	"fmt"

	"barrelbook/domain/refusal"
)

// checkOnce refuses pass i where the piece has been in the same stand before,
// one that does not reverse. Side by side in different grooves it may: that is
// how a looping mill rolls. In one groove it cannot be twice at once.
func (p Piece) checkOnce(c *refusal.Check, i int) {
	for _, before := range p.Passes[:i] {
		if before.Stand != p.Passes[i].Stand {
			continue
		}
		path := fmt.Sprintf("passes/%d", i)
		groove := p.Passes[i].Groove
		if groove == 0 || before.Groove == 0 {
			c.Add(path+"/stand", before.Stand, "is named twice and does not reverse", "give each stand once")
			return
		}
		if groove == before.Groove {
			c.Add(path+"/groove", fmt.Sprint(groove), fmt.Sprintf("of %s is used twice at once, and %s does not reverse", before.Stand, before.Stand), "give each pass its own groove")
			return
		}
	}
}

// Grooved says whether the mills of a kind roll in grooves only. A plain place
// of such a roll is received as a groove of depth 0.
func (k Kind) Grooved() bool { return k == Billet || k == Bar }

// CheckKind refuses a piece that does not belong in a mill of the kind: one
// that names no grooves in a mill of grooved rolls, such as strip.
func (p Piece) CheckKind(k Kind) error {
	var c refusal.Check
	for i, pass := range p.Passes {
		if k.Grooved() && pass.Groove == 0 {
			c.Add(fmt.Sprintf("passes/%d/groove", i), "", fmt.Sprintf("is missing: %s is a %s mill, whose rolls are grooved", p.Mill, k),
				"name the groove; a piece rolled flat, such as strip, belongs to another mill")
		}
	}
	return c.Err()
}
