package gather

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// AllPractices reads every practice in force; a mill has tens of them.
func AllPractices(r port.Reader) ([]practice.Practice, error) {
	s, err := r.Settings()
	if err != nil {
		return nil, err
	}
	return s.Practices, nil
}

// CaseOf is the practice case of a roll: its stand is the one it is in, or the
// only one it may serve.
func CaseOf(s roll.State) practice.Scope {
	stand := s.Stand
	if stand == "" && len(s.Stands) == 1 {
		stand = s.Stands[0]
	}
	return practice.Scope{Mill: s.Mill, Stand: stand, Role: s.Roll.Role, Grade: s.Roll.Grade}
}

// CaseIn is the practice case of a roll in a given stand.
func CaseIn(s roll.State, stand mill.Stand) practice.Scope {
	return practice.Scope{Mill: stand.Mill, Stand: stand.Name, Role: s.Roll.Role, Grade: s.Roll.Grade}
}
