package record

import (
	"context"
	"slices"

	"barrelbook/api/app/port"
	"barrelbook/domain/quantity"
	"barrelbook/domain/reading"
	"barrelbook/domain/roll"
)

// RollMap is what tests read on a barrel.
type RollMap struct {
	Roll   string
	Barrel quantity.Micrometre
	Within reading.Within
	Places []reading.Place
}

// named are the places that the tests of an entry read and that are to be looked
// at, with their histories.
func named(r port.Reader, number string, entry int64, tests []roll.Test) ([]string, error) {
	if !slices.ContainsFunc(tests, func(t roll.Test) bool { return len(t.Readings) > 0 }) {
		return nil, nil
	}
	book, err := r.Book(number)
	if err != nil {
		return nil, err
	}
	effective, err := roll.Effective(book)
	if err != nil {
		return nil, port.BookError(err)
	}
	var says []string
	for _, p := range reading.Map(effective, reading.Near) {
		if p.Named() && p.Last().Entry == entry {
			says = append(says, "Look at it: "+p.Says()+".")
		}
	}
	return says, nil
}

// MapRoll joins the readings of a book into places. NotFound for an unknown roll.
func (a *Recorder) MapRoll(ctx context.Context, number string, within reading.Within) (m RollMap, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		row, err := r.Roll(number)
		if err != nil {
			return err
		}
		book, err := r.Book(number)
		if err != nil {
			return err
		}
		effective, err := roll.Effective(book)
		if err != nil {
			return port.BookError(err)
		}
		m = RollMap{Roll: number, Barrel: row.State.Roll.BarrelLength, Within: within, Places: reading.Map(effective, within)}
		return nil
	})
	return m, err
}
