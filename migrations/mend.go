package migrations

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
)

// mend puts two tables right whose files were changed in the first hours of the
// main branch, before anything was released. What they held is learned and reckoned
// anew, or was not yet used.
func mend(ctx context.Context, d Dialect, db *sql.DB) error {
	for _, m := range []struct {
		table, column string
		wrong         bool // to have the column
		file          string
		make          []string
	}{
		{"wear_rates", "doc", true, "00002_learning.sql", []string{"CREATE TABLE wear_rates ", "CREATE TABLE wear_rate_parts ", "CREATE INDEX wear_rate_parts_in_force "}},
		{"roll_damage", "diameter_um", false, "00004_damage.sql", []string{"CREATE TABLE roll_damage "}},
	} {
		columns, err := texts(ctx, db, sealerOf(d).columns(), m.table)
		if err != nil {
			return err
		}
		if len(columns) == 0 || slices.Contains(columns, m.column) != m.wrong {
			continue
		}
		statements := []string{"DROP TABLE " + m.table}
		text, err := files.ReadFile(string(d) + "/" + m.file)
		if err != nil {
			return err
		}
		for _, begin := range m.make {
			_, rest, _ := strings.Cut(string(text), begin)
			body, _, found := strings.Cut(rest, ";")
			if !found {
				return fmt.Errorf("%s has no statement %q", m.file, begin)
			}
			statements = append(statements, begin+body)
		}
		if err := inTx(ctx, db, func(tx *sql.Tx) error { return run(ctx, tx, statements) }); err != nil {
			return fmt.Errorf("putting the table %s right: %w", m.table, err)
		}
	}
	return nil
}
