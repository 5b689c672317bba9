package store

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gorm.io/gorm"

	"barrelbook/api/app/port"
	"barrelbook/api/store/pgtest"
)

// twentyThousand fills the tables that grow with a works of twenty thousand rolls:
// few are in stands, held or backup rolls, and all are of two mills.
var twentyThousand = []string{
	"INSERT INTO mills (name, kind, title, density_kg_per_m3) VALUES ('HSM', 'hot_strip', '', 0), ('CSM', 'cold_strip', '', 0)",
	`INSERT INTO stands (name, mill, pass_order, arrangement, vertical, reversing, max_force_kn, max_torque_knm, min_rpm, max_rpm, min_stack_um, max_stack_um, max_shim_um, reference_work_um,
		reference_backup_um, bending_force_kn, version) SELECT 'F' || i, 'HSM', i, 'four_high', false, false, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1 FROM generate_series(1, 7) AS i`,
	`INSERT INTO roll_states (number, version, stage, role, mill, grade, stand, set_name, held, diameter_um, hash, state, totals)
		SELECT 'W' || i, 1, CASE WHEN i % 1400 = 0 THEN 'mounted' ELSE 'ground' END, CASE WHEN i % 500 = 0 THEN 'backup' ELSE 'work' END, CASE WHEN i % 200 = 0 THEN 'HSM' ELSE 'CSM' END,
		CASE WHEN i % 300 = 0 THEN 'G' ELSE 'H' END, CASE WHEN i % 1400 = 0 THEN 'F' || (i / 1400 % 7 + 1) ELSE '' END, 'S' || (i / 2), i % 900 = 0, 700000, 'h', rpad('{}', 900), rpad('{}', 300)
		FROM generate_series(1, 20000) AS i`,
	`INSERT INTO sets (name, role, mill, top, bottom, built_at, broken_at, stand, version)
		SELECT 'S' || i, CASE WHEN i % 500 = 0 THEN 'backup' ELSE 'work' END, CASE WHEN i % 200 = 0 THEN 'HSM' ELSE 'CSM' END, 'W' || (2 * i), 'W' || (2 * i + 1), 1, CASE WHEN i % 4 > 0 THEN 2 END, '', 1
		FROM generate_series(1, 40000) AS i`,
	`INSERT INTO mountings (roll, stand, position, set_name, mounted_at, withdrawn_at, diameter_um, usage)
		SELECT 'W' || (i % 20000), 'F' || (i % 7 + 1), 'top_work', 'S1', i::bigint * 1000000, i::bigint * 1000000 + 1, 700000, rpad('{}', 300) FROM generate_series(1, 30000) AS i`,
	`INSERT INTO entries (roll, number, kind, happened_at, recorded_at, recorded_by, reason, body, hash)
		SELECT 'W' || (i % 5000), i / 5000 + 1, 'inspected', 1, 1, 'a', '', '{}', 'h' FROM generate_series(0, 29999) AS i`,
	`INSERT INTO changes (name, stand, role, happened_at, set_out, set_in, why, recorded_by, note) SELECT 'C' || i, 'F' || (i % 7 + 1), 'work', i, '', '', '', 'a', '' FROM generate_series(1, 20000) AS i`,
	`INSERT INTO incidents (name, what, stand, happened_at, rolls, recorded_by, note) SELECT 'I' || i, 'cobble', 'F1', i, '[]', 'a', '' FROM generate_series(1, 5000) AS i`,
	`INSERT INTO pieces (source, id, mill, rolled_at, doc) SELECT 's', 'p' || i, CASE WHEN i % 100 = 0 THEN 'HSM' ELSE 'CSM' END, i, rpad('{}', 300) FROM generate_series(1, 30000) AS i`,
	`INSERT INTO campaigns (name, mill, starts_at, minutes_per_piece, piece_count, tonnage_t, stops, loaded_by, doc)
		SELECT 'P' || i, CASE WHEN i % 20 = 0 THEN 'HSM' ELSE 'CSM' END, i, 2, 1, 1, '[]', 'a', rpad('{}', 300) FROM generate_series(1, 5000) AS i`,
	"INSERT INTO audit (happened_at, actor, what, request_id) SELECT i, 'a', 'b', '' FROM generate_series(1, 20000) AS i",
	"INSERT INTO answers (actor, operation, request_key, fingerprint, answer, answered_at) SELECT 'a', 'b', 'k' || i, '', '', 1893456000000000 + i FROM generate_series(1, 20000) AS i",
	"INSERT INTO tokens (name, hash, role, created_at, expires_at) SELECT 't' || i, 'h' || i, 'viewer', 1, 1 FROM generate_series(1, 3000) AS i",
	`INSERT INTO grinds (roll, entry, happened_at, recorded_at, since_at, last_ground_um, found_um, ground_um, purpose)
		SELECT 'W' || (i % 20000), i / 20000 + 1, i, i, 0, 700000, 700000, 699000, 'wear' FROM generate_series(1, 30000) AS i`,
	"ANALYZE",
}

// handled are the rows that a step gave on, or read and threw away.
var handled = regexp.MustCompile(`actual time=\S+ rows=(\d+)|Rows Removed by Filter: (\d+)`)

// touched are the blocks of all steps: an index that is read through throws no row
// away.
var touched = regexp.MustCompile(`Buffers: shared(?: hit=(\d+))?(?: read=(\d+))?`)

// TestPlansOnPostgres runs every query on a table that grows in a works of twenty
// thousand rolls: none reads a large table through, sorts it, or throws away most
// of what it read.
func TestPlansOnPostgres(t *testing.T) {
	s, err := OpenPostgres(t.Context(), pgtest.DSN(t), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	err = s.write.Transaction(func(tx *gorm.DB) error {
		for _, statement := range append([]string{"SET LOCAL barrelbook.writer = off"}, twentyThousand...) {
			if err := tx.Exec(statement).Error; err != nil {
				return fmt.Errorf("%.80s: %w", statement, err)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range growing() {
		t.Run(c.name, func(t *testing.T) {
			said := recorder{keepQuotes: true}
			w := &writer{reader: reader{db: s.write.Session(&gorm.Session{Logger: &said}), dialect: s.dialect}}
			if err := c.ask(w); err != nil && !port.IsKind(err, port.NotFound) {
				t.Fatal(err)
			}
			for _, statement := range said.statements {
				explain := "EXPLAIN "
				if strings.HasPrefix(statement, "SELECT") {
					explain = "EXPLAIN (ANALYZE, BUFFERS) "
				}
				var lines []string
				if err := s.write.Raw(explain + statement).Scan(&lines).Error; err != nil {
					t.Fatal(err)
				}
				plan := strings.Join(lines, "\n")
				if strings.Contains(plan, "Seq Scan") {
					t.Errorf("%s\nreads a table through:\n%s", statement, plan)
				}
				blocks := 0
				for i, n := range touched.FindStringSubmatch(plan) {
					if k, _ := strconv.Atoi(n); i > 0 {
						blocks += k
					}
				}
				if blocks > 100 {
					t.Errorf("%s\ntouches %d blocks:\n%s", statement, blocks, plan)
				}
				for _, step := range handled.FindAllStringSubmatch(plan, -1) {
					if n, _ := strconv.Atoi(step[1] + step[2]); n > 500 {
						t.Errorf("%s\nhandles %d rows:\n%s", statement, n, plan)
					}
				}
			}
		})
	}
}
