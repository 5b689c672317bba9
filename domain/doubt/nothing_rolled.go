package doubt

import (
	"fmt"

	"barrelbook/domain/roll"
)

// nothingRolled asks of a roll that was in no stand since it was last ground and
// is said to have worn: by what it was ground for, or by its found diameter.
func (g Grind) nothingRolled() (Question, bool) {
	wear := g.found()
	said := g.Body.For == roll.ForWear || g.Body.For == roll.ForRedress
	if g.Ran || !said && wear <= g.gauge() {
		return Question{}, false
	}
	since := "it was received"
	if g.Before.Regrinds > 0 {
		since = "its last grind"
	}
	if wear > g.gauge() {
		return Question{NothingRolled, "found_mm", fmt.Sprintf("found %s is %s below the last diameter %s, and the roll has rolled nothing since %s", g.Body.Found, wear, g.Before.Diameter, since)}, true
	}
	return Question{NothingRolled, "purpose", fmt.Sprintf("it was ground for %s, and the roll has rolled nothing since %s", g.Body.For, since)}, true
}
