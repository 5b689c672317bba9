package store

import (
	"cmp"
	"fmt"
	"slices"

	"gorm.io/gorm"

	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// stay is a stretch of a roll in a stand, as its book tells it and as its mounting
// does.
type stay struct {
	Stand     string        `gorm:"column:stand"`
	Position  mill.Position `gorm:"column:position"`
	Set       string        `gorm:"column:set_name"`
	Mounted   int64         `gorm:"column:mounted_at"`
	Withdrawn int64         `gorm:"column:withdrawn"` // endless while it is in
}

const endless = 1<<63 - 1

// staysBetween gives the mountings of the rolls after one number up to and with
// another.
func staysBetween(tx *gorm.DB, after, last string) (map[string][]stay, error) {
	q := tx.Table("mountings").Select("roll, stand, position, set_name, mounted_at, "+mountingEnd+" AS withdrawn").Where("roll > ?", after)
	if last != "" {
		q = q.Where("roll <= ?", last)
	}
	var rows []struct {
		Roll string
		Stay stay `gorm:"embedded"`
	}
	if err := q.Find(&rows).Error; err != nil {
		return nil, err
	}
	byRoll := map[string][]stay{}
	for _, row := range rows {
		byRoll[row.Roll] = append(byRoll[row.Roll], row.Stay)
	}
	return byRoll, nil
}

// verifyStays says where the stays of a book are not those of its mountings, ""
// where they are.
func verifyStays(book []roll.Entry, kept []stay) string {
	effective, err := roll.Effective(book)
	if err != nil {
		return err.Error()
	}
	var told []stay
	for _, e := range effective {
		switch b := e.Body.(type) {
		case roll.Mounted:
			told = append(told, stay{Stand: b.Stand, Position: b.Position, Set: b.Set, Mounted: micros(e.At), Withdrawn: endless})
		case roll.Withdrawn:
			if n := len(told); n > 0 {
				told[n-1].Withdrawn = micros(e.At)
			}
		case roll.PastStay:
			told = append(told, stay{Stand: b.Stand, Position: b.Position, Mounted: micros(b.From), Withdrawn: micros(e.At)})
		}
	}
	byTime := func(a, b stay) int {
		return cmp.Or(cmp.Compare(a.Mounted, b.Mounted), cmp.Compare(a.Withdrawn, b.Withdrawn))
	}
	slices.SortFunc(told, byTime)
	slices.SortFunc(kept, byTime)
	if slices.Equal(told, kept) {
		return ""
	}
	return fmt.Sprintf("the book tells %d stays in stands, and the mountings are not the same (there are %d)", len(told), len(kept))
}
