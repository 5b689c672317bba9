package store

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// asked is a query on a table that grows with the years.
type asked struct {
	name string
	ask  func(w *writer) error
	want string // in SQLite's plan of the last statement that reads the table
}

// growing are all of them.
func growing() []asked {
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	page := port.Page{Limit: 10}
	return []asked{
		{"roll", func(w *writer) error { _, err := w.Roll("W1"); return err }, "SEARCH roll_states USING INDEX sqlite_autoindex_roll_states_1 (number=?)"},
		{"rolls by number", func(w *writer) error { _, err := w.RollsByNumber([]string{"W1", "W2"}); return err }, "SEARCH roll_states USING INDEX sqlite_autoindex_roll_states_1 (number=?)"},
		{"rolls", func(w *writer) error { _, _, err := w.Rolls(port.RollFilter{}, page); return err }, "SCAN roll_states USING INDEX sqlite_autoindex_roll_states_1"},
		{"rolls of a set", func(w *writer) error { _, _, err := w.Rolls(port.RollFilter{Set: "S"}, page); return err }, "SEARCH roll_states USING INDEX roll_states_set (set_name=?)"},
		{"rolls in a stand", func(w *writer) error { _, _, err := w.Rolls(port.RollFilter{Stand: "F1"}, page); return err }, "SEARCH roll_states USING INDEX roll_states_stand (stand=?)"},
		{"book", func(w *writer) error { _, err := w.Book("W1"); return err }, "SEARCH entries USING INDEX sqlite_autoindex_entries_1 (roll=?)"},
		{"entries", func(w *writer) error { _, _, err := w.Entries("W1", page); return err }, "SEARCH entries USING INDEX sqlite_autoindex_entries_1 (roll=?)"},
		{"corrections", func(w *writer) error { _, err := w.Corrections("W1", 40, 60); return err }, "SEARCH entries USING INDEX entries_corrections (roll=? AND corrects>? AND corrects<?)"},
		{"sets", func(w *writer) error { _, _, err := w.Sets(port.SetFilter{Mill: "HSM"}, page); return err }, "SEARCH sets USING INDEX sets_of_mill (mill=?)"},
		{"all sets", func(w *writer) error { _, _, err := w.Sets(port.SetFilter{}, page); return err }, "SCAN sets USING INDEX sets_standing"},
		{"rolls of a mill", func(w *writer) error { _, _, err := w.Rolls(port.RollFilter{Mill: "HSM"}, page); return err }, "SEARCH roll_states USING INDEX roll_states_of_mill (mill=?)"},
		{"rolls of a stage", func(w *writer) error {
			_, _, err := w.Rolls(port.RollFilter{Stage: roll.StageMounted}, page)
			return err
		}, "SEARCH roll_states USING INDEX roll_states_stage (stage=?)"},
		{"rolls of a role", func(w *writer) error { _, _, err := w.Rolls(port.RollFilter{Role: mill.Backup}, page); return err }, "SEARCH roll_states USING INDEX roll_states_role (role=?)"},
		{"rolls of a grade", func(w *writer) error { _, _, err := w.Rolls(port.RollFilter{Grade: "G"}, page); return err }, "SEARCH roll_states USING INDEX roll_states_grade (grade=?)"},
		{"rolls of a mill, role and stage", func(w *writer) error {
			_, _, err := w.Rolls(port.RollFilter{Mill: "HSM", Role: mill.Backup, Stage: roll.StageMounted}, page)
			return err
		}, "SEARCH roll_states USING INDEX roll_states_mill (mill=? AND role=? AND stage=?)"},
		{"held rolls", func(w *writer) error {
			yes := true
			_, _, err := w.Rolls(port.RollFilter{Held: &yes}, page)
			return err
		}, "SCAN roll_states USING INDEX roll_states_held"},
		{"rolls not held", func(w *writer) error { no := false; _, _, err := w.Rolls(port.RollFilter{Held: &no}, page); return err }, "SCAN roll_states USING INDEX sqlite_autoindex_roll_states_1"},
		{"sets of a role", func(w *writer) error { _, _, err := w.Sets(port.SetFilter{Role: mill.Backup}, page); return err }, "SEARCH sets USING INDEX sets_of_role (role=?)"},
		{"mountings of a roll", func(w *writer) error { _, _, err := w.Mountings("W1", page); return err }, "SEARCH mountings USING INDEX mountings_of_roll (roll=?)"},
		{"mountings at", func(w *writer) error { _, err := w.MountingsAt([]string{"F1", "F2"}, at); return err }, "SEARCH mountings USING INDEX mountings_by_end (stand=? AND <expr>>?)"},
		{"mountings between", func(w *writer) error { _, err := w.MountingsBetween([]string{"F1"}, at, at); return err }, "SEARCH mountings USING INDEX mountings_by_end (stand=? AND <expr>>?)"},
		{"usage", func(w *writer) error { return w.AddUsage(map[int64]duty.Usage{1: {}}) }, "SEARCH mountings USING INTEGER PRIMARY KEY (rowid=?)"},
		{"changes", func(w *writer) error { _, _, err := w.Changes("", page); return err }, "SCAN changes USING INDEX changes_newest"},
		{"changes of a stand", func(w *writer) error { _, _, err := w.Changes("F1", page); return err }, "SEARCH changes USING INDEX changes_of_stand (stand=?)"},
		{"incidents", func(w *writer) error { _, _, err := w.Incidents(page); return err }, "SCAN incidents USING INDEX incidents_newest"},
		{"pieces", func(w *writer) error { _, _, err := w.Pieces("", page); return err }, "SCAN pieces USING INDEX pieces_newest"},
		{"pieces of a mill", func(w *writer) error { _, _, err := w.Pieces("HSM", page); return err }, "SEARCH pieces USING INDEX pieces_of_mill (mill=?)"},
		{"pieces of a mill, deep", func(w *writer) error {
			after, err := order{list: "pieces"}.place([]any{1, "s", "i"})
			if err != nil {
				return err
			}
			_, _, err = w.Pieces("HSM", port.Page{Limit: 10, After: after})
			return err
		}, "SEARCH pieces USING INDEX pieces_of_mill (mill=? AND (rolled_at,source,id)<(?,?,?))"},
		{"campaigns of a mill", func(w *writer) error { _, _, err := w.Campaigns("HSM", page); return err }, "SEARCH campaigns USING INDEX campaigns_of_mill (mill=?)"},
		{"token", func(w *writer) error { _, err := w.TokenByHash("h"); return err }, "SEARCH tokens USING INDEX sqlite_autoindex_tokens_2 (hash=?)"},
		{"audit", func(w *writer) error { _, _, err := w.Audit(port.AuditFilter{}, page); return err }, "SCAN audit"}, // by its id, backwards
		{"answer", func(w *writer) error { _, err := w.Remembered("a", "b", "c"); return err }, "SEARCH answers USING INDEX sqlite_autoindex_answers_1 (actor=? AND operation=? AND request_key=?)"},
		{"old answers", func(w *writer) error { return w.Forget(at, 20) }, "SEARCH answers USING INDEX answers_oldest (answered_at<?)"},
	}
}

// TestPlans wants every query on a table that grows with the years to go by an
// index, pages without sorting: what it costs then does not grow with the
// history behind it.
func TestPlans(t *testing.T) {
	s, err := OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "p.db"), Options{Migrate: true, Volatile: true})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for _, c := range growing() {
		t.Run(c.name, func(t *testing.T) {
			var said recorder
			db := s.write.Session(&gorm.Session{Logger: &said})
			w := &writer{reader: reader{db: db, dialect: s.dialect}}
			if err := c.ask(w); err != nil && !port.IsKind(err, port.NotFound) {
				t.Fatal(err)
			}
			if len(said.statements) != 1 {
				t.Fatalf("%d statements, want 1: %q", len(said.statements), said.statements)
			}
			var steps []struct{ Detail string }
			if err := s.write.Raw("EXPLAIN QUERY PLAN " + said.statements[0]).Scan(&steps).Error; err != nil {
				t.Fatal(err)
			}
			var plan []string
			for _, step := range steps {
				plan = append(plan, step.Detail)
			}
			text := strings.Join(plan, "\n")
			if !strings.Contains(text+"\n", c.want+"\n") {
				t.Errorf("%s\nhas the plan\n%s\nwant in it\n%s", said.statements[0], text, c.want)
			}
			if strings.Contains(said.statements[0], "LIMIT") && strings.Contains(text, "TEMP B-TREE") {
				t.Errorf("%s\nsorts for a page:\n%s", said.statements[0], text)
			}
		})
	}
}

// recorder keeps the statements that gorm sends, with their values in them.
type recorder struct {
	statements []string
	keepQuotes bool
}

func (r *recorder) LogMode(logger.LogLevel) logger.Interface { return r }
func (r *recorder) Info(context.Context, string, ...any)     {}
func (r *recorder) Warn(context.Context, string, ...any)     {}
func (r *recorder) Error(context.Context, string, ...any)    {}
func (r *recorder) Trace(_ context.Context, _ time.Time, fc func() (string, int64), _ error) {
	statement, _ := fc()
	if !r.keepQuotes {
		// For SQLite it puts texts into the quotes of names; names are in backquotes.
		statement = strings.ReplaceAll(statement, `"`, "'")
	}
	r.statements = append(r.statements, statement)
}
