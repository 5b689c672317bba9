package embedded_test

import (
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"barrelbook/api/embedded"
	"barrelbook/api/store"
)

// TestRecountNames changes what rolls bore and lets the seals agree. Books and
// pieces tell otherwise, and verify names the stay or the roll.
func TestRecountNames(t *testing.T) {
	path := worksFile(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const loaded = " WHERE id = (SELECT min(id) FROM mountings WHERE usage ->> '$.max_peak_pressure_mpa' > 100)"
	const first = " WHERE id = (SELECT min(id) FROM mountings WHERE usage LIKE '%\"pieces\"%')"
	for _, c := range []struct{ do, table, key, says string }{
		{"UPDATE mountings SET usage = json_set(usage, '$.pieces', usage ->> '$.pieces' + 1)" + first, "mountings", "roll ", "its pieces and what was stated are"},
		{"UPDATE mountings SET usage = json_set(usage, '$.tonnage_t', usage ->> '$.tonnage_t' - 0.5)" + first, "mountings", "roll ", "its pieces and what was stated are"},
		{"UPDATE mountings SET usage = json_set(usage, '$.max_peak_pressure_mpa', 100)" + loaded, "mountings", "roll ", "by the practices in force"},
		{"UPDATE roll_states SET totals = json_set(totals, '$.tonnage_t', 1) WHERE totals LIKE '%tonnage_t%'", "roll_states", "", "not the sum of its stays"},
		{"UPDATE roll_damage SET damage = zeroblob(length(damage))", "roll_damage", "", "leave a damage of"},
		{"DELETE FROM pieces WHERE rowid IN (SELECT rowid FROM pieces LIMIT 1); UPDATE piece_counts SET pieces = pieces - 1; DELETE FROM sign_offs; DELETE FROM signed_heads", "mountings", "roll ", "its pieces and what was stated are"},
	} {
		tampered := filepath.Join(t.TempDir(), "works.db")
		if err := os.WriteFile(tampered, whole, 0o600); err != nil {
			t.Fatal(err)
		}
		db, err := sql.Open(store.SQLiteDriver, "file:"+tampered+"?_pragma=synchronous(OFF)")
		if err != nil {
			t.Fatal(err)
		}
		for _, statement := range strings.Split(c.do, "; ") {
			r, err := db.Exec(statement)
			if err != nil {
				t.Fatal(err)
			}
			if n, _ := r.RowsAffected(); n == 0 {
				t.Errorf("nothing to do for %s", statement)
			}
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		err = verify(t, tampered)
		var all interface{ Unwrap() []error }
		named := errors.As(err, &all) && slices.ContainsFunc(flat(all), func(d *embedded.Damage) bool {
			return d.Table == c.table && strings.HasPrefix(d.Key, c.key) && strings.Contains(d.Why, c.says)
		})
		if !named {
			t.Errorf("%s: verify says %.300v, want table %s, %s…, … %s …", c.do, err, c.table, c.key, c.says)
		}
	}
}

// flat are the damages joined in an error.
func flat(joined interface{ Unwrap() []error }) (all []*embedded.Damage) {
	for _, err := range joined.Unwrap() {
		var damage *embedded.Damage
		if more, ok := err.(interface{ Unwrap() []error }); ok {
			all = append(all, flat(more)...)
		} else if errors.As(err, &damage) {
			all = append(all, damage)
		}
	}
	return all
}
