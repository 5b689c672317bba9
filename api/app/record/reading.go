package record

import (
	"fmt"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/port"
	"barrelbook/domain/heat"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// readingDoubts says what looks odd about a found diameter that the rules of
// the book take: it was read on a roll that is warm by the practice, or it is
// far more wear than what was rolled accounts for. computed is that wear, with
// ran false where the roll has not run since its last grind. A reading that was
// confirmed with a reason is past doubt.
func readingDoubts(r port.Reader, before roll.State, b roll.Reground, computed float64, ran bool, p practice.InForce, at time.Time) ([]string, error) {
	if b.Confirm != "" {
		return nil, nil
	}
	var doubts []string
	cool := before.WithdrawnAt.Add(p.Hours(practice.CoolingH))
	if !before.WithdrawnAt.IsZero() && at.Before(cool) && b.AboveShopK == 0 {
		grade, err := r.Grade(before.Roll.Grade)
		if err != nil {
			return nil, err
		}
		doubts = append(doubts, caution.Warm, fmt.Sprintf("The roll came out on %s and is warm by the practice until %s, and its diameters were taken as read at shop temperature: each kelvin above the shop reads %.1f µm too large. Measure it again when it is cool, or correct the regrind and say how warm it was.",
			port.Moment(before.WithdrawnAt), port.Moment(cool), heat.GrownUM(b.FoundAsRead.MM(), grade.Expansion(), 1)))
	}
	if wear := before.Diameter - b.Found; farBeyond(wear, computed, ran, p.Millimetres(practice.NormalStockMM)) {
		account := fmt.Sprintf("what was rolled accounts for about %s", quantity.Micrometre(computed+0.5))
		if !ran {
			account = "it has not run since"
		}
		doubts = append(doubts, fmt.Sprintf("Found %s is %s below the last ground diameter, and %s: check the reading. If it is wrong, correct the regrind.",
			b.Found, wear, account))
	}
	return doubts, nil
}

// farBeyond is wear above twice what was computed and a normal stock on top: a
// margin of this program's own, wide enough for a rate that is not learned yet.
// A roll that ran where nothing was counted is not judged.
func farBeyond(wear quantity.Micrometre, computed float64, ran bool, normal quantity.Micrometre) bool {
	if ran && computed <= 0 {
		return false
	}
	return float64(wear) > 2*computed+float64(normal)
}
