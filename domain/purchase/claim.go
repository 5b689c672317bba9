package purchase

import (
	"time"

	"barrelbook/domain/refusal"
)

// Claim is what is asked of a supplier for one roll.
type Claim struct {
	Name      string
	Roll      string
	Supplier  string
	What      string // what is wrong, in words
	MadeAt    time.Time
	Claimed   int64     // minor units
	SettledAt time.Time // zero while it is open
	Credited  int64     // given back, 0 where it was turned down
	By        string
	Note      string
}

// Check refuses a claim that cannot be. price is of the roll, 0 when not known:
// nobody gives back more than was paid.
func (c Claim) Check(price int64) error {
	var bad refusal.Check
	if c.What == "" {
		bad.Add("what", "", "must be given", "say in a few words what is wrong with the roll")
	}
	for field, sum := range map[string]int64{"claimed": c.Claimed, "credited": c.Credited} {
		switch {
		case sum < 0:
			bad.Add(field, refusal.Number(float64(sum)), "must not be below 0", "")
		case price > 0 && sum > price:
			bad.Add(field, refusal.Number(float64(sum)), "is more than the price of the roll, "+refusal.Number(float64(price)), "give it in the smallest currency unit")
		}
	}
	return bad.Err()
}

// Cover says whether a warranty still stood when a roll failed.
type Cover string

// The covers.
const (
	Covered    Cover = "covered"
	NotCovered Cover = "not covered"
	NotKnown   Cover = "not known" // no order tells the warranty, or it has no limit
)

// Covers holds what a roll had borne against the warranty: every limit that is
// given must not be passed.
func (w Warranty) Covers(tonnageT, rolledKM float64, age time.Duration) Cover {
	if w == (Warranty{}) {
		return NotKnown
	}
	const month = 365.25 / 12 * 24 // hours
	if w.TonnageT > 0 && tonnageT > w.TonnageT || w.RolledKM > 0 && rolledKM > w.RolledKM || w.Months > 0 && age.Hours() > w.Months*month {
		return NotCovered
	}
	return Covered
}
