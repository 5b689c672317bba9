package trials

import (
	"database/sql"
	"encoding/binary"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"barrelbook/api/store/pgtest"
)

// copied gives a copy of a database that nobody has open.
func copied(t *testing.T, template string) (string, rawDatabase) {
	t.Helper()
	if strings.HasPrefix(template, "postgres") {
		dsn := pgtest.CopyDSN(t, template)
		return dsn, rawDatabase{"pgx", dsn}
	}
	path := filepath.Join(t.TempDir(), "shop.db")
	data, err := os.ReadFile(template)
	if err == nil {
		err = os.WriteFile(path, data, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	return path, rawDatabase{"sqlite", "file:" + path}
}

// rowsOf reads rows as texts in the order of the texts.
func rowsOf(t *testing.T, db *sql.DB, table, columns string) []string {
	t.Helper()
	rows, err := db.Query("SELECT " + columns + " FROM " + table)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var all []string
	for rows.Next() {
		cells := make([]any, strings.Count(columns, ",")+1)
		for i := range cells {
			cells[i] = new(any)
		}
		if err := rows.Scan(cells...); err != nil {
			t.Fatal(err)
		}
		parts := []string{table}
		for _, c := range cells {
			parts = append(parts, shown(*c.(*any)))
		}
		all = append(all, strings.Join(parts, "|"))
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	slices.Sort(all)
	return all
}

// shown writes a field of damage by its sum and its greatest.
func shown(cell any) string {
	blob, is := cell.([]byte)
	if !is || len(blob)%8 != 0 || len(blob) < 64 {
		return fmt.Sprint(cell)
	}
	sum, greatest := 0.0, 0.0
	for i := 0; i+8 <= len(blob); i += 8 {
		v := math.Float64frombits(binary.LittleEndian.Uint64(blob[i:]))
		sum, greatest = sum+v, math.Max(greatest, v)
	}
	return fmt.Sprintf("sum %.12e, greatest %.12e", sum, greatest)
}

// rounded writes a figure with six digits: two orders of adding differ in the
// last of sixteen, and what the models carry on from one piece to the next by
// less than a millionth.
func rounded(text string) string {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	return strconv.FormatFloat(v, 'g', 6, 64)
}

func sortedKeys(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }
