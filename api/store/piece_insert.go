package store

import (
	"context"
	"database/sql"
	"slices"
	"strings"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/migrations"
)

// pieceKey is what makes two pieces the same.
type pieceKey struct{ source, id string }

func (k pieceKey) compare(o pieceKey) int {
	if c := strings.Compare(k.source, o.source); c != 0 {
		return c
	}
	return strings.Compare(k.id, o.id)
}

// InsertPieces goes past gorm: PostgreSQL takes a batch as five arrays, SQLite
// as rows of one statement. Of pieces with one key in a batch the first is
// taken. Rows go in by key, so that two imports of the same pieces wait for one
// another and never in a circle.
func (w *writer) InsertPieces(pieces []mill.Piece) ([]bool, error) {
	first := map[pieceKey]int{}
	rows := make([]pieceRow, 0, len(pieces))
	for i, p := range pieces {
		key := pieceKey{source: p.Source, id: p.ID}
		if _, twice := first[key]; twice {
			continue
		}
		first[key] = i
		row, err := newPieceRow(p)
		if err != nil {
			return nil, err
		}
		rows = append(rows, row)
	}
	slices.SortFunc(rows, func(a, b pieceRow) int {
		return pieceKey{source: a.Source, id: a.ID}.compare(pieceKey{source: b.Source, id: b.ID})
	})
	insert := w.insertRows
	if w.dialect == migrations.Postgres {
		insert = w.insertArrays
	}
	isNew, perMill := make([]bool, len(pieces)), map[string]int64{}
	err := insert(rows, func(k pieceKey) {
		i := first[k]
		isNew[i] = true
		perMill[pieces[i].Mill]++
	})
	if err != nil {
		return nil, err
	}
	for _, name := range keys(perMill) {
		_ = w.tell(nil, port.EventPiecesStored, "pieces", name, port.EventData{Count: perMill[name]})
	}
	return isNew, w.countPieces(perMill)
}

// insertArrays is for PostgreSQL.
func (w *writer) insertArrays(rows []pieceRow, inserted func(pieceKey)) error {
	const perStatement = 5000
	for chunk := range slices.Chunk(rows, perStatement) {
		n := len(chunk)
		sources, ids, mills, docs, at := make([]string, n), make([]string, n), make([]string, n), make([]string, n), make([]int64, n)
		for i, row := range chunk {
			sources[i], ids[i], mills[i], at[i], docs[i] = row.Source, row.ID, row.Mill, row.RolledAt, row.Doc
		}
		found, err := w.db.Statement.ConnPool.QueryContext(w.ctx(),
			`INSERT INTO pieces (source, id, mill, rolled_at, doc)
			 SELECT * FROM unnest($1::text[], $2::text[], $3::text[], $4::bigint[], $5::text[])
			 ON CONFLICT DO NOTHING RETURNING source, id`, sources, ids, mills, at, docs)
		if err != nil {
			return err
		}
		if err := eachKey(found, inserted); err != nil {
			return err
		}
	}
	return nil
}

// insertRows is for SQLite. Statements of one length are prepared once.
func (w *writer) insertRows(rows []pieceRow, inserted func(pieceKey)) error {
	const perStatement = 100 // more gain nothing: the time goes into the index
	var prepared *sql.Stmt
	for chunk := range slices.Chunk(rows, perStatement) {
		if prepared == nil || len(chunk) < perStatement {
			marks := strings.TrimSuffix(strings.Repeat("(?,?,?,?,?),", len(chunk)), ",")
			s, err := w.db.Statement.ConnPool.PrepareContext(w.ctx(), "INSERT INTO pieces (source, id, mill, rolled_at, doc) VALUES "+marks+" ON CONFLICT DO NOTHING RETURNING source, id")
			if err != nil {
				return err
			}
			defer s.Close()
			prepared = s
		}
		values := make([]any, 0, 5*len(chunk))
		for _, row := range chunk {
			values = append(values, row.Source, row.ID, row.Mill, row.RolledAt, row.Doc)
		}
		found, err := prepared.QueryContext(w.ctx(), values...)
		if err != nil {
			return err
		}
		if err := eachKey(found, inserted); err != nil {
			return err
		}
	}
	return nil
}

func eachKey(found *sql.Rows, do func(pieceKey)) error {
	defer found.Close()
	for found.Next() {
		var k pieceKey
		if err := found.Scan(&k.source, &k.id); err != nil {
			return err
		}
		do(k)
	}
	return found.Err()
}

// ctx is the context that the transaction was begun with.
func (r *reader) ctx() context.Context { return r.db.Statement.Context }

// countPieces keeps the number of pieces of each mill. Its rows are locked
// until the transaction ends, which makes imports into one mill take turns; they
// do so at its stands anyway.
func (w *writer) countPieces(perMill map[string]int64) error {
	for _, name := range keys(perMill) {
		err := w.db.Exec("INSERT INTO piece_counts (mill, pieces) VALUES (?, ?) ON CONFLICT (mill) DO UPDATE SET pieces = piece_counts.pieces + excluded.pieces",
			name, perMill[name]).Error
		if err != nil {
			return err
		}
	}
	return nil
}
