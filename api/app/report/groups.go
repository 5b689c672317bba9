package report

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// sharing finds the rolls that can take one another's place: those of one role in
// one mill whose stands overlap, as rolls move down the train when they get thinner.
// A roll that may serve all stands joins all groups of its role.
type sharing struct {
	stands map[string][]string // of each mill, in order of their names
	joined map[standOf]standOf
	open   map[groupOf]bool // some roll may serve all
}

type groupOf struct {
	mill string
	role mill.Role
}

type standOf struct {
	groupOf
	stand string
}

func newSharing(millOf map[string]string, rolls map[string]port.RollRow) *sharing {
	s := &sharing{stands: map[string][]string{}, joined: map[standOf]standOf{}, open: map[groupOf]bool{}}
	for _, stand := range slices.Sorted(maps.Keys(millOf)) {
		s.stands[millOf[stand]] = append(s.stands[millOf[stand]], stand)
	}
	for _, number := range slices.Sorted(maps.Keys(rolls)) {
		state := rolls[number].State
		if state.Stage != roll.StageScrapped {
			s.join(groupOf{state.Mill, state.Roll.Role}, state.Stands)
		}
	}
	return s
}

func (s *sharing) join(of groupOf, stands []string) {
	if len(stands) == 0 {
		s.open[of] = true
		return
	}
	for _, other := range stands[1:] {
		if a, b := s.root(standOf{of, stands[0]}), s.root(standOf{of, other}); a != b {
			s.joined[b] = a
		}
	}
}

func (s *sharing) root(of standOf) standOf {
	for {
		next, ok := s.joined[of]
		if !ok {
			return of
		}
		of = next
	}
}

// group names the group of rolls that may serve some stands, and lists its stands,
// empty where it may serve all.
func (s *sharing) group(of groupOf, stands []string) (name string, all []string) {
	if !s.open[of] && len(stands) > 0 {
		root := s.root(standOf{of, stands[0]})
		for _, stand := range s.stands[of.mill] {
			if s.root(standOf{of, stand}) == root {
				all = append(all, stand)
			}
		}
	}
	return strings.Join(append([]string{of.mill, string(of.role)}, all...), " "), all
}

// needed is how many rolls a group's stands need by the practice, 0 where it does
// not say for any.
func (s *sharing) needed(of groupOf, stands []string, practices []practice.Practice) int {
	if len(stands) == 0 {
		stands = s.stands[of.mill]
	}
	sum := 0.0
	for _, stand := range stands {
		if v := practice.Resolve(practices, practice.Scope{Mill: of.mill, Stand: stand, Role: of.role}).Value(practice.NeededRolls); v.Set {
			sum += v.Number
		}
	}
	return int(sum)
}

// takeOrders puts the rolls on order into their groups.
func (f *fleet) takeOrders(r port.Reader, millName string, s *sharing) error {
	orders, err := port.Drain(func(p port.Page) ([]port.OrderRow, string, error) {
		return r.Orders(port.OrderFilter{Mill: millName, Open: true}, p)
	})
	for _, o := range orders {
		name, _ := s.group(groupOf{o.Mill, o.Role}, o.Stands)
		for i := range f.plans {
			if f.plans[i].Name == name {
				f.plans[i].Due = append(f.plans[i].Due, slices.Repeat([]time.Time{o.DueAt}, o.ToCome())...)
			}
		}
	}
	return err
}

// order sorts the groups by mill, role and stands.
func (f *fleet) order() {
	by := make([]int, len(f.groups))
	for i := range by {
		by[i] = i
	}
	slices.SortStableFunc(by, func(a, b int) int { return cmp.Compare(f.plans[a].Name, f.plans[b].Name) })
	groups, plans := slices.Clone(f.groups), slices.Clone(f.plans)
	for i, at := range by {
		f.groups[i], f.plans[i] = groups[at], plans[at]
	}
}
