package gather

import (
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/chock"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

// Shop is what a release is judged by besides the roll's own book: practices,
// mills, grades, and the chocks on the sets. It is read for one answer.
type Shop struct {
	Practices []practice.Practice
	Now       time.Time

	r        port.Reader
	kinds    map[string]mill.Kind
	families map[string]string
	fitted   map[string][]port.ChockRow // by set; nil until asked for
	standing map[string]chock.Standing  // by chock
}

// OpenShop reads what every release needs; chocks are read when asked for.
func OpenShop(r port.Reader, now time.Time) (*Shop, error) {
	known, err := r.Settings()
	if err != nil {
		return nil, err
	}
	s := &Shop{Practices: known.Practices, Now: now, r: r, kinds: map[string]mill.Kind{}, families: map[string]string{}, standing: map[string]chock.Standing{}}
	for _, m := range known.Mills {
		s.kinds[m.Name] = m.Kind
	}
	for _, g := range known.Grades {
		s.families[g.Name] = g.Family
	}
	return s, nil
}

// Practice is what is in force for a roll.
func (s *Shop) Practice(state roll.State) practice.InForce {
	return practice.Resolve(s.Practices, CaseOf(state))
}

// Asked is all that is asked of a roll before it goes out.
func (s *Shop) Asked(state roll.State) release.Asked {
	return release.AskedOf(s.Practice(state), s.caseOf(state))
}

func (s *Shop) caseOf(state roll.State) release.Case {
	return release.CaseOf(s.kinds[state.Mill], state.Roll, s.families[state.Roll.Grade])
}

// Judge says whether a roll may go out. partner is the state of the other roll of
// its set, nil when it has none.
func (s *Shop) Judge(state roll.State, partner *roll.State, at time.Time) (release.Verdict, error) {
	chocks, err := s.chocksOn(state)
	if err != nil {
		return release.Verdict{}, err
	}
	return release.Judge(release.Subject{State: state, Partner: partner, Practice: s.Practice(state), Case: s.caseOf(state), Chocks: chocks, Now: at}), nil
}

// Chocked says whether there are chocks on a roll.
func (s *Shop) Chocked(state roll.State) (bool, error) {
	list, err := s.chocksOn(state)
	return len(list) > 0, err
}

// chocksOn are the chocks on a roll of a set.
func (s *Shop) chocksOn(state roll.State) ([]chock.Standing, error) {
	if state.Set == "" {
		return nil, nil
	}
	if s.fitted == nil {
		rows, err := port.Drain(func(p port.Page) ([]port.ChockRow, string, error) { return s.r.Chocks(port.ChockFilter{}, p) })
		if err != nil {
			return nil, err
		}
		s.fitted = map[string][]port.ChockRow{}
		for _, row := range rows {
			if row.Set != "" {
				s.fitted[row.Set] = append(s.fitted[row.Set], row)
			}
		}
	}
	var list []chock.Standing
	for _, row := range s.fitted[state.Set] {
		if row.Place.Top() != state.Top {
			continue
		}
		st, known := s.standing[row.Name]
		if !known {
			c, stays, err := ReadChock(s.r, row.Name)
			if err != nil {
				return nil, err
			}
			st = c.Standing(stays, s.Now)
			s.standing[row.Name] = st
		}
		list = append(list, st)
	}
	return list, nil
}

// ReadChock replays a chock's book and reads the stays in stands of the sets it
// was on, by the roll it sat on. NotFound when there is none of the name.
func ReadChock(r port.Reader, name string) (chock.State, []chock.Stay, error) {
	book, err := r.ChockBook(name)
	if err != nil {
		return chock.State{}, nil, err
	}
	s, err := chock.Replay(book)
	if err != nil {
		return chock.State{}, nil, err
	}
	var stays []chock.Stay
	seen := map[string]bool{}
	for _, fit := range s.Fits {
		set, err := r.Set(fit.Set)
		if err != nil {
			return chock.State{}, nil, err
		}
		number := set.Bottom
		if fit.Place.Top() {
			number = set.Top
		}
		if seen[fit.Set+"/"+number] {
			continue
		}
		seen[fit.Set+"/"+number] = true
		mountings, err := port.Drain(func(p port.Page) ([]port.Stay, string, error) { return r.Mountings(number, p) })
		if err != nil {
			return chock.State{}, nil, err
		}
		for _, m := range mountings {
			if m.Set == fit.Set {
				stays = append(stays, chock.Stay{Set: m.Set, From: m.MountedAt, To: m.WithdrawnAt, TonnageT: m.Usage.TonnageT, Revolutions: m.Usage.Revolutions})
			}
		}
	}
	return s, stays, nil
}
