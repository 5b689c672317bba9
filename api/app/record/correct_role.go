package record

import (
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/domain/roll"
)

// correctionRoles say who may correct or withdraw an entry of each kind: whoever
// may undo what it did. A hold is ended by an engineer, and so is one withdrawn;
// a receipt holds the scrap limits, and an incident what tests are owed.
var correctionRoles = map[roll.Kind]port.Role{
	roll.KindInspected: port.Grinder,
	roll.KindReground:  port.Grinder,
	roll.KindReceived:  port.Engineer,
	roll.KindIncident:  port.Engineer,
	roll.KindHeld:      port.Engineer,
	roll.KindReleased:  port.Engineer,
	roll.KindConceded:  port.Engineer,
	roll.KindRegraded:  port.Engineer,
	roll.KindScrapped:  port.Engineer,
}

// CorrectionRole is the least role that may correct or withdraw an entry of a
// kind; an engineer where nothing is said.
func CorrectionRole(kind roll.Kind) port.Role {
	if role, ok := correctionRoles[kind]; ok {
		return role
	}
	return port.Engineer
}

// mayCorrect refuses who may not undo what an entry did.
func mayCorrect(role port.Role, book []roll.Entry, entry int64) error {
	kind := kindOf(book[entry-1])
	if role.May(CorrectionRole(kind)) {
		return nil
	}
	return notTheirs(role, kind, fmt.Sprintf("entry %d (%s)", entry, kind))
}

func notTheirs(role port.Role, kind roll.Kind, what string) error {
	return port.Fail(port.Forbidden, "%s is corrected or withdrawn by somebody of role %s, and yours is %s", what, CorrectionRole(kind), role)
}

// kindOf is the kind of what an entry says: for a correction, of what it put in
// the place of another.
func kindOf(e roll.Entry) roll.Kind {
	if corrected, ok := e.Body.(roll.Corrected); ok && corrected.With != nil {
		return corrected.With.Kind()
	}
	return e.Body.Kind()
}
