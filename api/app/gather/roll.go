package gather

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/roll"
)

// PartnerOf reads the other roll of the set, nil when there is none.
func PartnerOf(r port.Reader, s roll.State) (*roll.State, error) {
	if s.Partner == "" {
		return nil, nil
	}
	row, err := r.Roll(s.Partner)
	if err != nil {
		return nil, err
	}
	return &row.State, nil
}

// StatesOf reads the states of the rolls named, by number.
func StatesOf(r port.Reader, numbers []string) (map[string]*roll.State, error) {
	states := map[string]*roll.State{}
	if len(numbers) == 0 {
		return states, nil
	}
	list, err := r.States(numbers)
	if err != nil {
		return nil, err
	}
	for _, s := range list {
		states[s.Roll.Number] = s
	}
	return states, nil
}
