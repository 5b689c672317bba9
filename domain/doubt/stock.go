package doubt

import (
	"fmt"
	"math"
	"slices"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
)

// How far the stock may lie outside what is advised and what is usual before it
// is asked about: margins of this program's own, tried on the demo works. Grooves
// are turned by what their deepest asks, and vary more.
const (
	stockSpan        = 150 // µm
	stockShare       = 0.25
	stockShareGroove = 0.5
)

// stock asks of a stock far from what was advised and from what the roll's last
// grinds took, unless the diameter is told twice: along the barrel, or by the
// partner that was ground to the same.
func (g Grind) stock() (Question, bool) {
	if g.settled(g.Body.Ground, g.Body.Stations) || g.likePartner() {
		return Question{}, false
	}
	stock, advised := g.Body.Found-g.Body.Ground, g.Advised
	least, most := g.usual()
	share := stockShare
	if g.Before.Roll.Grooved() {
		share = stockShareGroove
	}
	span := quantity.Micrometre(math.Max(stockSpan, share*float64(most)))
	usual := fmt.Sprintf("%s was advised", advised)
	if n := len(g.Before.Taken); n > 0 {
		usual += fmt.Sprintf(" and its last grinds took %s to %s", slices.Min(g.Before.Taken), slices.Max(g.Before.Taken))
	}
	switch {
	case stock > most+span:
		return Question{Stock, "ground_mm", fmt.Sprintf("the stock, found %s less ground %s, is %s; %s", g.Body.Found, g.Body.Ground, stock, usual)}, true
	case stock < least-span:
		return Question{Stock, "ground_mm", fmt.Sprintf("the stock, found %s less ground %s, is only %s; %s", g.Body.Found, g.Body.Ground, stock, usual)}, true
	case stock <= 0:
		return Question{Stock, "ground_mm", fmt.Sprintf("nothing was taken off: found and ground are both %s; %s", g.Body.Ground, usual)}, true
	}
	return Question{}, false
}

// usual is the span from the least to the most of what was advised and what the
// roll's last grinds took; before there was one, what the practice calls normal.
func (g Grind) usual() (least, most quantity.Micrometre) {
	list := append([]quantity.Micrometre{g.Advised}, g.Before.Taken...)
	if len(g.Before.Taken) == 0 {
		list = append(list, g.Practice.Millimetres(practice.NormalStockMM)-max(g.found(), 0))
	}
	return slices.Min(list), slices.Max(list)
}
