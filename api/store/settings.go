package store

import (
	"strconv"
	"strings"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/migrations"
)

const settingsRevision = "SELECT revision FROM revisions WHERE name = 'settings'"

// Settings are read again only when their revision is another: nearly every answer
// needs them, and they change a few times a week. A transaction that has written
// settings may lose them again, so it keeps none.
func (r *reader) Settings() (*port.Settings, error) {
	var revision int64
	if err := r.row(settingsRevision).Scan(&revision); err != nil {
		return nil, err
	}
	if r.kept == nil {
		return r.readSettings(revision)
	}
	if s := r.kept.Load(); s != nil && s.Revision == revision {
		return s, nil
	}
	s, err := r.readSettings(revision)
	if err != nil || r.ownSettings {
		return s, err
	}
	// Where each statement has its own view they may have changed meanwhile.
	if err := r.row(settingsRevision).Scan(&revision); err != nil {
		return nil, err
	}
	if revision == s.Revision {
		r.kept.Store(s)
	}
	return s, nil
}

func (r *reader) readSettings(revision int64) (s *port.Settings, err error) {
	s = &port.Settings{Revision: revision}
	if s.Practices, err = port.Drain(func(p port.Page) ([]practice.Practice, string, error) { return r.Practices(p) }); err != nil {
		return nil, err
	}
	if s.Mills, err = port.Drain(r.Mills); err != nil {
		return nil, err
	}
	if s.Grades, err = port.Drain(r.Grades); err != nil {
		return nil, err
	}
	s.Stands, err = port.Drain(func(p port.Page) ([]mill.Stand, string, error) { return r.Stands("", p) })
	return s, err
}

// Stamp is one statement: the revision of the settings and the seals of the parts,
// each found by its key. A part that has no rows has no seal.
func (r *reader) Stamp(parts []port.Part) (string, error) {
	var q strings.Builder
	q.WriteString("SELECT CAST(revision AS TEXT)")
	args := make([]any, 0, 2*len(parts))
	for i, p := range parts {
		n := strconv.Itoa(2*i + 1)
		m := strconv.Itoa(2*i + 2)
		q.WriteString(", coalesce((SELECT " + r.digestText() + " FROM seals WHERE source = $" + n + " AND shard = $" + m + " AND lane = 0), '')")
		args = append(args, p.Table, p.Key)
	}
	q.WriteString(" FROM revisions WHERE name = 'settings'")
	texts, into := make([]string, 1+len(parts)), make([]any, 1+len(parts))
	for i := range texts {
		into[i] = &texts[i]
	}
	err := r.row(q.String(), args...).Scan(into...)
	return strings.Join(texts, "|"), err
}

// digestText is the digest of a seal in letters.
func (r *reader) digestText() string {
	if r.dialect == migrations.Postgres {
		return "CAST(digest AS TEXT)"
	}
	return "hex(digest)"
}
