package store

import (
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"gorm.io/gorm/schema"

	"barrelbook/api/store/pgtest"
)

// models are all rows; a table without one is found by the test.
var models = []schema.Tabler{millRow{}, standRow{}, gradeRow{}, practiceRow{}, entryRow{}, rollRow{}, setRow{}, mountingRow{}, changeRow{}, incidentRow{},
	pieceRow{}, campaignRow{}, tokenRow{}, auditRow{}, answerRow{}, grindRow{}, wearRateRow{}, wearRatePartRow{}, forecastRow{}, chockRow{}, chockEntryRow{}, damageRow{}, stayDamageRow{}, signOffRow{}, programRow{}, orderRow{}, claimRow{}, eventRow{}, webhookRow{}}

// withoutRow are tables that are written by statements.
var withoutRow = []string{"goose_db_version", "piece_counts", "probes", "revisions", "seal_sources", "seals", "signed_heads", "sqlite_sequence"}

// TestDrift compares the rows with the schema both ways: every column has a
// field and every field a column, NULL where the field is a pointer.
func TestDrift(t *testing.T) {
	lite, err := OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "d.db"), Options{Migrate: true, Volatile: true})
	t.Run("sqlite", func(t *testing.T) { testDrift(t, lite, err) })
	t.Run("postgres", func(t *testing.T) {
		post, err := OpenPostgres(t.Context(), pgtest.DSN(t), Options{})
		testDrift(t, post, err)
	})
}

func testDrift(t *testing.T, s *Store, err error) {
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	tables, err := s.write.Migrator().GetTables()
	if err != nil {
		t.Fatal(err)
	}
	for _, model := range models {
		i := slices.Index(tables, model.TableName())
		if i < 0 {
			t.Fatalf("there is no table %s", model.TableName())
		}
		tables = slices.Delete(tables, i, i+1)
		want := map[string]bool{}
		parsed, err := schema.Parse(model, &sync.Map{}, s.write.NamingStrategy)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range parsed.Fields {
			want[f.DBName] = f.FieldType.Kind().String() == "ptr"
		}
		columns, err := s.write.Migrator().ColumnTypes(model)
		if err != nil {
			t.Fatal(err)
		}
		have := map[string]bool{}
		for _, c := range columns {
			null, ok := c.Nullable()
			if !ok {
				t.Fatalf("%s.%s: nullability is not known", model.TableName(), c.Name())
			}
			have[c.Name()] = null
		}
		if fmt.Sprint(have) != fmt.Sprint(want) {
			t.Errorf("%s: columns (nullable) %v, fields (pointer) %v", model.TableName(), have, want)
		}
	}
	for _, table := range tables {
		if !slices.Contains(withoutRow, table) {
			t.Errorf("table %s has no row", table)
		}
	}
}
