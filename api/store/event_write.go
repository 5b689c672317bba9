package store

import (
	"context"
	"database/sql"
	"slices"
	"strings"
	"sync"
	"time"

	"gorm.io/gorm"

	"barrelbook/api/app/port"
	"barrelbook/domain/roll"
	"barrelbook/migrations"
)

// eventsLock names the advisory lock under which events are put in order on
// PostgreSQL. Any number does, as long as nothing else in the database uses it.
const eventsLock = 7_310_425_127

// untold is an event of the transaction under way. Mill may be left to its stand
// or its roll.
type untold struct {
	port.Event
	roll  string
	entry int64
}

// tell notes an event when err is nil, to be written with all others at the end of
// the transaction: by then it has all its locks. It gives err back.
func (w *writer) tell(err error, kind port.EventKind, subject, mill string, data port.EventData) error {
	if err == nil {
		w.untold = append(w.untold, untold{Event: port.Event{Kind: kind, Subject: subject, Mill: mill, EventData: data}})
	}
	return err
}

func (w *writer) tellEntry(e roll.Entry, mill string) {
	kind := port.EventEntry + "." + port.EventKind(e.Body.Kind())
	w.untold = append(w.untold, untold{Event: port.Event{Kind: kind, Subject: named("rolls", e.Roll), Mill: mill}, roll: e.Roll, entry: e.Number})
}

// writeEvents writes what was noted.
func (w *writer) writeEvents() error {
	if len(w.untold) == 0 {
		return nil
	}
	if err := w.InScope(); err != nil {
		return err
	}
	w.untold = gathered(w.untold)
	now, err := w.lastNow()
	if err != nil {
		return err
	}
	rows := make([]eventRow, len(w.untold))
	for i, u := range w.untold {
		data, err := newEventData(u.EventData)
		if err != nil {
			return err
		}
		rows[i] = eventRow{Kind: u.Kind, Subject: u.Subject, Mill: u.Mill, RecordedAt: micros(now), Roll: u.roll, Entry: u.entry, Data: data}
	}
	return w.db.Omit("id").CreateInBatches(&rows, 1000).Error
}

// InScope implements port.Writer. What the service learns and forecasts for itself
// is of no caller's mill.
func (w *writer) InScope() error {
	if err := w.findMills(); err != nil {
		return err
	}
	for _, u := range w.untold {
		own := u.Subject == forecastsSubject || u.Kind == port.EventRatesLearned
		if !own && !port.MayRecordIn(w.ctx(), u.Mill) {
			of := "of no one mill"
			if u.Mill != "" {
				of = "of the mill " + u.Mill
			}
			return refuse(port.Forbidden, "this token may record in %s only, and %s is %s", strings.Join(port.MillsOf(w.ctx()), ", "), u.Subject, of)
		}
	}
	return nil
}

// findMills reads the mills of stands and rolls of which nobody said it.
func (w *writer) findMills() error {
	byStand, byRoll := map[string]string{}, map[string]string{}
	for _, u := range w.untold {
		switch {
		case u.Mill != "":
		case u.Stand != "":
			byStand[u.Stand] = ""
		case len(u.Rolls) > 0:
			byRoll[u.Rolls[0]] = ""
		}
	}
	for _, of := range []struct {
		mills map[string]string
		model any
		key   string
	}{{byStand, &standRow{}, "name"}, {byRoll, &rollRow{}, "number"}} {
		for chunk := range slices.Chunk(keys(of.mills), namesPerQuery) {
			var found []struct{ Name, Mill string }
			if err := w.db.Model(of.model).Select(of.key+" AS name, mill").Where(of.key+" IN ?", chunk).Find(&found).Error; err != nil {
				return err
			}
			for _, f := range found {
				of.mills[f.Name] = f.Mill
			}
		}
	}
	for i := range w.untold {
		if u := &w.untold[i]; u.Mill == "" && u.Stand != "" {
			u.Mill = byStand[u.Stand]
		} else if u.Mill == "" && len(u.Rolls) > 0 {
			u.Mill = byRoll[u.Rolls[0]]
		}
	}
	return nil
}

// forecastsSubject is what events of forecasts are about: they are gathered.
const forecastsSubject = "forecasts"

// gathered puts the forecasts of a kind, in a mill or of a stand, into one event.
func gathered(list []untold) []untold {
	type same struct {
		kind              port.EventKind
		what, mill, stand string
	}
	first := map[same]int{}
	var out []untold
	for _, u := range list {
		if u.Subject == forecastsSubject {
			k := same{kind: u.Kind, what: u.What, mill: u.Mill, stand: u.Stand}
			if at, ok := first[k]; ok {
				out[at].Count += u.Count
				out[at].Rolls = append(out[at].Rolls, u.Rolls...)
				continue
			}
			first[k] = len(out)
		}
		out = append(out, u)
	}
	return out
}

// OrderEvents implements port.EventStore. On SQLite there is nothing to do. On
// PostgreSQL the lock makes those who do it take turns, and the statement, which
// begins after the lock was taken, sees all places given before. An event that is
// not kept yet is seen the next time: it follows nothing of what is ordered now, as
// its transaction would have waited.
func (s *Store) OrderEvents(ctx context.Context) error {
	if s.dialect == migrations.SQLite || s.readOnly {
		return nil
	}
	const batch = 5000
	for {
		var waiting []int64
		if err := s.read.WithContext(ctx).Model(&eventRow{}).Where("position IS NULL").Limit(1).Pluck("id", &waiting).Error; err != nil || len(waiting) == 0 {
			return translate(err)
		}
		var ordered int64
		err := s.write.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
			if err := tx.Exec("SELECT pg_advisory_xact_lock(?)", int64(eventsLock)).Error; err != nil {
				return err
			}
			done := tx.Exec(`UPDATE events SET position = o.position FROM (
				SELECT id, (SELECT coalesce(max(position), 0) FROM events) + row_number() OVER (ORDER BY id) AS position
				FROM (SELECT id FROM events WHERE position IS NULL ORDER BY id LIMIT ?) AS waiting
			) AS o WHERE events.id = o.id`, batch)
			ordered = done.RowsAffected
			return done.Error
		}, &sql.TxOptions{Isolation: sql.LevelReadCommitted})
		if err != nil || ordered < batch {
			return translate(err)
		}
	}
}

// ForgetEvents drops from the oldest on, so that what is kept has no gap.
func (w *writer) ForgetEvents(before time.Time, n int) error {
	by := w.eventOrder()
	var oldest []eventRow
	if err := w.db.Where(by + " IS NOT NULL").Order(by).Limit(n + 1).Find(&oldest).Error; err != nil {
		return err
	}
	young := slices.IndexFunc(oldest, func(row eventRow) bool { return row.RecordedAt >= micros(before) })
	if young < 0 {
		young = len(oldest) - 1 // the newest, or one more than asked for
	}
	if young <= 0 {
		return nil
	}
	return w.db.Where(by+" <= ?", *oldest[young-1].Position).Delete(&eventRow{}).Error
}

// news tells those who wait that something was recorded.
type news struct {
	mu sync.Mutex
	ch chan struct{}
}

// Recorded implements port.EventStore.
func (s *Store) Recorded() <-chan struct{} {
	s.news.mu.Lock()
	defer s.news.mu.Unlock()
	if s.news.ch == nil {
		s.news.ch = make(chan struct{})
	}
	return s.news.ch
}

func (n *news) spread() {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.ch != nil {
		close(n.ch)
		n.ch = nil
	}
}

// named is a subject: the resource below /v1.
func named(list, name string) string { return strings.Join([]string{list, name}, "/") }

// lastNow is the moment that the transaction last read, or now.
func (w *writer) lastNow() (time.Time, error) {
	if !w.now.IsZero() {
		return w.now, nil
	}
	return w.Now()
}
