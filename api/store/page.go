package store

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"strings"
	"time"

	"gorm.io/gorm"

	"barrelbook/api/app/port"
)

// defaultLimit is the size of a page when none is asked for.
const defaultLimit = 100

// order is how a list is sorted: by columns that together name one row, so that
// the place after a row is the values of its columns. A page is then found by
// the index at any depth, and rows that come or go meanwhile move nothing.
type order struct {
	list    string // the name of the list, so that a place of another is refused
	columns []string
	numbers string // for each column, 'n' for a number and 't' for a text
	newest  bool   // descending
}

// page reads one page of q and the place of the next. place gives the values
// of the order's columns in a row.
func page[Row any](q *gorm.DB, o order, p port.Page, place func(Row) []any) ([]Row, string, error) {
	limit := p.Limit
	if limit <= 0 {
		limit = defaultLimit
	}
	q, err := changedSince(q, o, p.ChangedSince)
	if err != nil {
		return nil, "", err
	}
	beyond, direction := " > ", ""
	if o.newest {
		beyond, direction = " < ", " DESC"
	}
	if p.After != "" {
		values, err := o.values(p.After)
		if err != nil {
			return nil, "", err
		}
		marks := strings.TrimSuffix(strings.Repeat("?,", len(values)), ",")
		q = q.Where("("+strings.Join(o.columns, ",")+")"+beyond+"("+marks+")", values...)
	}
	// One row more than asked for tells whether there is a next page.
	q = q.Order(strings.Join(o.columns, direction+",") + direction).Limit(limit + 1)
	var rows []Row
	if err := q.Find(&rows).Error; err != nil {
		return nil, "", err
	}
	if len(rows) <= limit {
		return rows, "", nil
	}
	rows = rows[:limit]
	after, err := o.place(place(rows[limit-1]))
	return rows, after, err
}

// changedSince leaves what has an event since the moment. Things of a list have the
// list and their key, the last column of its order, as the subject.
func changedSince(q *gorm.DB, o order, since time.Time) (*gorm.DB, error) {
	if since.IsZero() {
		return q, nil
	}
	fresh := q.Session(&gorm.Session{NewDB: true})
	var oldest []eventRow
	if err := fresh.Order("id").Limit(1).Find(&oldest).Error; err != nil {
		return nil, err
	}
	if len(oldest) == 0 || oldest[0].RecordedAt > micros(since) {
		from := "there are none yet"
		if len(oldest) > 0 {
			from = "the oldest is of " + moment(oldest[0].RecordedAt).Format(time.RFC3339)
		}
		return nil, refuse(port.Gone, "events do not go back so far, %s; read the whole list", from)
	}
	list, _, _ := strings.Cut(o.list, " by ")
	subjects := fresh.Model(&eventRow{}).Select("substr(subject, ?)", len(list)+2).Where("recorded_at >= ? AND subject >= ? AND subject < ?", micros(since), list+"/", list+"0")
	return q.Where(o.columns[len(o.columns)-1]+" IN (?)", subjects), nil
}

// place writes the values as the opaque text that callers hand back.
func (o order) place(values []any) (string, error) {
	text, err := json.Marshal(append([]any{o.list}, values...))
	return base64.RawURLEncoding.EncodeToString(text), err
}

// values reads a place. Malformed when it is not one of this list.
func (o order) values(after string) ([]any, error) {
	bad := refuse(port.Malformed, "the cursor is not one of this list; take the next value of the page before, or leave it out for the first page")
	text, err := base64.RawURLEncoding.DecodeString(after)
	if err != nil {
		return nil, bad
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var values []any
	if d.Decode(&values) != nil || len(values) != len(o.columns)+1 || values[0] != o.list {
		return nil, bad
	}
	values = values[1:]
	for i, v := range values {
		number, isNumber := v.(json.Number)
		if _, isText := v.(string); isText == (o.numbers[i] == 'n') || (!isText && !isNumber) {
			return nil, bad
		}
		if isNumber {
			if values[i], err = number.Int64(); err != nil {
				return nil, bad
			}
		}
	}
	return values, nil
}

// convert maps rows to what the caller knows, stopping at the first that
// cannot be read.
func convert[Row, Item any](rows []Row, read func(Row) (Item, error)) ([]Item, error) {
	items := make([]Item, 0, len(rows))
	for _, row := range rows {
		item, err := read(row)
		if err != nil {
			return nil, err
		}
		items = append(items, item)
	}
	return items, nil
}

// list is a page of items: page and convert in one.
func list[Row, Item any](q *gorm.DB, o order, p port.Page, place func(Row) []any, read func(Row) (Item, error)) ([]Item, string, error) {
	rows, next, err := page(q, o, p, place)
	if err != nil {
		return nil, "", err
	}
	items, err := convert(rows, read)
	return items, next, err
}

// changeOne writes columns of the one row with the key, else gives the refusal.
func (w *writer) changeOne(model any, key string, value any, columns map[string]any, none error) error {
	done := w.db.Model(model).Where(key+" = ?", value).Updates(columns)
	if done.Error != nil || done.RowsAffected == 1 {
		return done.Error
	}
	return none
}
