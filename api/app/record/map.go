package record

import (
	"context"

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
