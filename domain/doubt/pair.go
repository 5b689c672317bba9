package doubt

import (
	"fmt"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
)

// Beyond closeTolerance the tolerance of a pair says nothing of a slip, and
// within likePartner two rolls were ground to one diameter: margins of this
// program's own.
const (
	closeTolerance quantity.Micrometre = 500
	likePartner    quantity.Micrometre = 200
)

// pair asks of a diameter that does not match the partner's, where that was
// ground since they came out together.
func (g Grind) pair() (Question, bool) {
	tolerance := g.Practice.Micrometres(practice.PairToleranceUM)
	if !g.partnerGround() || tolerance > closeTolerance || apart(g.Body.Ground, g.Partner.Diameter) <= tolerance {
		return Question{}, false
	}
	return Question{Pair, "ground_mm", fmt.Sprintf("ground %s is %s from %s, to which its partner %s was ground, and the set's tolerance is %s",
		g.Body.Ground, apart(g.Body.Ground, g.Partner.Diameter), g.Partner.Diameter, g.Partner.Roll.Number, tolerance)}, true
}

// partnerGround says whether the partner has its grind behind it and the roll has
// not.
func (g Grind) partnerGround() bool {
	return g.Partner != nil && g.Partner.Regrinds > 0 && g.Partner.CampaignsSinceGrind == 0 && g.Before.CampaignsSinceGrind > 0
}

func (g Grind) likePartner() bool {
	return g.partnerGround() && apart(g.Body.Ground, g.Partner.Diameter) <= min(likePartner, g.Practice.Micrometres(practice.PairToleranceUM))
}
