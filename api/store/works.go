package store

import (
	"barrelbook/api/app/port"
)

// Counts adds up what is kept with the rolls and the mills: its cost grows
// with them and not with their history.
func (r *reader) Counts() (port.Counts, error) {
	var c port.Counts
	err := r.db.Raw(`SELECT (SELECT count(*) FROM roll_states) AS rolls,
		CAST((SELECT coalesce(sum(version), 0) FROM roll_states) AS BIGINT) AS entries,
		CAST((SELECT coalesce(sum(pieces), 0) FROM piece_counts) AS BIGINT) AS pieces`).Scan(&c).Error
	return c, err
}
