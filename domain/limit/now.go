package limit

import (
	"barrelbook/domain/mill"
	"barrelbook/domain/standing"
)

// Past says which limits a roll in a stand is past already, with nothing ahead
// of it.
func Past(r *standing.Roll, stand mill.Stand) []string {
	s := &standing.Stand{Stand: stand, Work: standing.Set{Rolls: []standing.Roll{*r}}}
	a := NewAhead(s, nil)
	a.Settle(nil)
	var said []string
	for _, w := range Watches(a) {
		if w.Past() {
			said = append(said, w.IsPast(r.Number, w.Limit, w.Now(), w.Groove))
		}
	}
	return said
}
