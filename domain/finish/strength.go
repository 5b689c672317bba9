package finish

import (
	"strings"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/rollforce"
)

// strengthUnknowns say what is not known of the rolls' strength where the
// practice asks for a margin of it: a roll that could not be looked at is not one
// that holds.
func (r *run) strengthUnknowns() (list []string) {
	if !r.stand.Limit(practice.OverloadMarginMin).Set || r.in.Models == nil {
		return nil
	}
	var sharp, end []string
	for _, roll := range r.rolls() {
		c := roll.Condition
		var missing []string
		for _, one := range []struct {
			known bool
			what  string
		}{{c.AllowableMPa > 0, "the stress allowed for its grade"}, {c.BearingSpanMM > 0, "its bearing span"}, {c.NeckDiameterMM > 0, "its neck diameter"}} {
			if !one.known {
				missing = append(missing, one.what)
			}
		}
		if len(missing) > 0 {
			list = append(list, roll.Number+": its strength is not checked, as "+strings.Join(missing, " and ")+" was not entered")
			continue
		}
		if c.Neck.FilletRadiusMM == 0 && (c.Neck.FilletBending == 0 || c.Neck.FilletTorsion == 0) {
			sharp = append(sharp, roll.Number)
		}
		if roll.Position.Role() == mill.Work && c.Neck.DriveEnd == (rollforce.DriveEnd{}) {
			end = append(end, roll.Number)
		}
	}
	if len(sharp) > 0 {
		list = append(list, "no fillet radius was entered for the necks of "+strings.Join(sharp, ", ")+": they are taken as sharply stepped")
	}
	if len(end) > 0 {
		list = append(list, "the drive ends of "+strings.Join(end, ", ")+" are not checked, as neither wobbler nor spade was entered")
	}
	return list
}
