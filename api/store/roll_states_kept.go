package store

import (
	"fmt"
	"slices"
	"sync"

	"barrelbook/domain/roll"
)

// mostStates bounds the states that are kept decoded, at some two kilobytes each.
const mostStates = 40_000

// keptStates are states by number. The hash of the last entry tells which state it
// is: it is chained over the whole book.
type keptStates struct {
	mu   sync.Mutex
	byNo map[string]keptState
}

type keptState struct {
	hash  string
	state *roll.State
}

func (k *keptStates) get(number, hash string) *roll.State {
	k.mu.Lock()
	defer k.mu.Unlock()
	if s := k.byNo[number]; s.hash == hash {
		return s.state
	}
	return nil
}

func (k *keptStates) put(number, hash string, s *roll.State) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.byNo == nil || len(k.byNo) >= mostStates {
		k.byNo = map[string]keptState{}
	}
	k.byNo[number] = keptState{hash: hash, state: s}
}

// States reads of each roll the hash of its book, and the state only where that is
// another than the one kept: to decode the states of a works takes longer than most
// questions about it. What is written starts from its own copy.
func (r *reader) States(numbers []string) ([]*roll.State, error) {
	var all []*roll.State
	for chunk := range slices.Chunk(sorted(numbers), namesPerQuery) {
		var unknown []string
		if r.states == nil || r.writes {
			unknown = chunk
		} else {
			var rows []rollRow
			if err := r.db.Select("number", "hash").Where("number IN ?", chunk).Find(&rows).Error; err != nil {
				return nil, err
			}
			for _, row := range rows {
				if s := r.states.get(row.Number, row.Hash); s != nil {
					all = append(all, s)
				} else {
					unknown = append(unknown, row.Number)
				}
			}
		}
		read, err := r.readStates(unknown)
		if err != nil {
			return nil, err
		}
		all = append(all, read...)
	}
	return all, nil
}

func (r *reader) readStates(numbers []string) ([]*roll.State, error) {
	if len(numbers) == 0 {
		return nil, nil
	}
	var rows []rollRow
	if err := r.db.Select("number", "hash", "state").Where("number IN ?", numbers).Find(&rows).Error; err != nil {
		return nil, err
	}
	all := make([]*roll.State, len(rows))
	for i, row := range rows {
		s, err := decodeState(row.State)
		if err != nil {
			return nil, fmt.Errorf("reading the state of roll %s: %w", row.Number, err)
		}
		all[i] = &s
		if r.states != nil && !r.writes {
			r.states.put(row.Number, row.Hash, &s)
		}
	}
	return all, nil
}
