package consumption

import (
	"math"

	"barrelbook/domain/quantity"
)

// Life is the money of one roll: over which diameters its price is spread, and
// where it stands.
type Life struct {
	New, Scrap    quantity.Micrometre // between which the price is used up
	Received, Now quantity.Micrometre
	Price         int64 // minor units, 0 when not known
	Scrapped      bool
	Credited      int64 // given back by the supplier
}

// used is what of the price is used up at a diameter. It is rounded there, and not
// in each part, so that the parts of a life add up to the price.
func (l Life) used(d quantity.Micrometre) int64 {
	if l.New <= l.Scrap {
		return 0
	}
	d = min(max(d, l.Scrap), l.New)
	return int64(math.Round(float64(l.Price) * float64(l.New-d) / float64(l.New-l.Scrap)))
}

// Balance is where the money of all rolls is, in minor units:
//
//	price = before + used + lost + credited + left
//
// exactly. Before was used up before the books began and is not charged to the
// mill. Lost is what went with rolls that were scrapped early, less what suppliers
// gave back: it is below 0 where they gave back more.
type Balance struct {
	Rolls, Unpriced                           int
	Price, Before, Used, Lost, Credited, Left int64
}

// Account strikes the balance. Rolls without a price are counted apart.
func Account(lives []Life) Balance {
	var b Balance
	for _, l := range lives {
		b.Rolls++
		if l.Price <= 0 || l.New <= l.Scrap {
			b.Unpriced++
			continue
		}
		before, now := l.used(l.Received), l.used(l.Now)
		b.Price += l.Price
		b.Before += before
		b.Used += now - before
		b.Credited += l.Credited
		b.Lost -= l.Credited
		if l.Scrapped {
			b.Lost += l.Price - now
		} else {
			b.Left += l.Price - now
		}
	}
	return b
}
