package stock

import (
	"fmt"
	"math"
	"slices"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
)

// Comparison holds an advice against what the shop took.
type Comparison struct {
	Taken quantity.Micrometre // the median of the last grinds
	Count int
	// Says why the advice is further off than usual; empty where it is not.
	Says string
}

// usualShare is how far an advice may be off what the shop takes without a word.
const usualShare = 0.20

// lastGrinds is how many grinds the shop's habit is taken from.
const lastGrinds = 5

// compare takes the median of the last five stocks of the roll.
func compare(a Advice, taken []quantity.Micrometre) Comparison {
	if len(taken) > lastGrinds {
		taken = taken[len(taken)-lastGrinds:]
	}
	if len(taken) == 0 {
		return Comparison{}
	}
	sorted := slices.Sorted(slices.Values(taken))
	c := Comparison{Taken: (sorted[(len(sorted)-1)/2] + sorted[len(sorted)/2]) / 2, Count: len(sorted)}
	if c.Taken <= 0 {
		return c
	}
	off := float64(a.Stock-c.Taken) / float64(c.Taken)
	if math.Abs(off) <= usualShare {
		return c
	}
	more := "more"
	if off < 0 {
		more = "less"
	}
	c.Says = fmt.Sprintf("%.0f %% %s than the %s taken in the median of this roll's last %s: it is set by %s", 100*math.Abs(off), more, c.Taken, grinds(c.Count), a.Rule)
	if off < 0 {
		c.Says += "; nothing in the book asks for as much as was taken"
	}
	return c
}

func grinds(n int) string {
	if n == 1 {
		return "grind"
	}
	return fmt.Sprintf("%d grinds", n)
}

// OutlookWord is whether one more grind leaves a roll.
type OutlookWord string

// The words.
const (
	GoesOn       OutlookWord = "goes_on"
	LastCampaign OutlookWord = "last_campaign"
	Scrap        OutlookWord = "scrap"
)

// Outlook answers whether one more grind like this leaves a roll.
type Outlook struct {
	Word OutlookWord
	More int64 // whole rounds of wear and grind like this that are left after it
	Says string
}

// Next answers for a round that took so much off from one grind to the next,
// wear and stock together, and left so much above the scrap limit. A round that
// took less than a normal one counts as a normal one, as there is always wear.
func Next(round, left quantity.Micrometre, p practice.InForce) Outlook {
	round = max(round, p.Millimetres(practice.NormalStockMM))
	switch {
	case left < 0:
		return Outlook{Word: Scrap, Says: "this grind goes below the scrap limit: the roll is scrap after it"}
	case round <= 0:
		return Outlook{Word: GoesOn, Says: "how many rounds are left is not known: the practice has no normal stock"}
	case left < round:
		return Outlook{Word: LastCampaign, Says: fmt.Sprintf("last campaign: a round of wear and grind like this takes %s and %s is left; order its successor if that is not done", round, left)}
	}
	n := int64(left / round)
	more := fmt.Sprintf("%d more rounds", n)
	if n == 1 {
		more = "1 more round"
	}
	return Outlook{Word: GoesOn, More: n, Says: fmt.Sprintf("%s of wear and grind like this, %s each", more, round)}
}
