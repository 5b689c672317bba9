package record

import (
	"fmt"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/port"
	"barrelbook/domain/heat"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// readWarm says that a found diameter was read on a roll that is warm by the
// practice, and was not said to be.
func readWarm(r port.Reader, before roll.State, b roll.Reground, p practice.InForce, at time.Time) ([]string, error) {
	cool := before.WithdrawnAt.Add(p.Hours(practice.CoolingH))
	if b.Confirm != "" || before.WithdrawnAt.IsZero() || !at.Before(cool) || b.AboveShopK != 0 {
		return nil, nil
	}
	grade, err := r.Grade(before.Roll.Grade)
	if err != nil {
		return nil, err
	}
	return []string{caution.Warm, fmt.Sprintf("The roll came out on %s and is warm by the practice until %s, and its diameters were taken as read at shop temperature: each kelvin above the shop reads %.1f µm too large. Measure it again when it is cool, or correct the regrind and say how warm it was.",
		port.Moment(before.WithdrawnAt), port.Moment(cool), heat.GrownUM(b.FoundAsRead.MM(), grade.Expansion(), 1))}, nil
}
