package store

import (
	"context"
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/domain/roll"
)

// projectionRules counts the changes of what a replay reads out of a book. 1
// brought the last tests, defects, measures and fire cracks, 2 the last stocks.
const projectionRules = 2

// reproject reads the books of projections made by older rules again: all of
// them after an update of the program, none at any other start. A start that is
// cut short goes on where it was.
func (s *Store) reproject(ctx context.Context) error {
	for {
		var numbers []string
		if err := s.read.WithContext(ctx).Model(&rollRow{}).Where("rules < ?", projectionRules).Order("number").Limit(200).Pluck("number", &numbers).Error; err != nil || len(numbers) == 0 {
			return err
		}
		err := s.Write(ctx, func(w port.Writer) error {
			if err := w.LockRolls(numbers); err != nil {
				return err
			}
			for _, number := range numbers {
				if err := w.(*writer).reproject(number); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return fmt.Errorf("reading the books by the rules of this version: %w", err)
		}
	}
}

func (w *writer) reproject(number string) error {
	var old rollRow
	if err := w.db.Where("number = ?", number).Take(&old).Error; err != nil {
		return err
	}
	book, err := w.Book(number)
	if err != nil {
		return err
	}
	state, err := roll.Replay(book)
	if err != nil {
		return err
	}
	row, err := newRollRow(state, old.Hash)
	if err != nil {
		return err
	}
	return w.db.Model(&rollRow{}).Where("number = ? AND version = ?", number, old.Version).Select("*").Omit("number", "totals").Updates(row).Error
}
