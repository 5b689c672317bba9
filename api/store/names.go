package store

import (
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/domain/spelling"
	"barrelbook/migrations"
)

// nameColumns says where the names of each sort are.
var nameColumns = map[port.Named]struct{ table, column string }{
	port.RollNames: {"roll_states", "number"}, port.SetNames: {"sets", "name"}, port.StandNames: {"stands", "name"}, port.MillNames: {"mills", "name"},
	port.GradeNames: {"grades", "name"}, port.ChockNames: {"chocks", "name"}, port.CampaignNames: {"campaigns", "name"},
}

// looks is spelling.Look in SQL; of rolls it is the expression of an index.
const looks = "REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(%s, 'o', '0'), 'i', '1'), 'l', '1'), 's', '5'), 'b', '8'), 'z', '2'), '-', ''), '_', ''), '.', '')"

func (r *reader) Names(of port.Named, alike string) (names []string, err error) {
	at, known := nameColumns[of]
	if !known {
		return nil, fmt.Errorf("there are no names of sort %q", of)
	}
	q := r.db.Table(at.table)
	if alike != "" {
		lower := "LOWER(" + at.column + ")"
		if r.dialect == migrations.Postgres {
			lower = "LOWER(" + at.column + ` COLLATE "C")`
		}
		q = q.Where(fmt.Sprintf(looks, lower)+" = ?", spelling.Look(alike))
	}
	return names, q.Order(at.column).Pluck(at.column, &names).Error
}
