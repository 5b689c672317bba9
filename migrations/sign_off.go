package migrations

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"slices"
	"strings"
	"time"
)

// SignOff is a link of the chain that holds the whole works: how many rows of each
// part of each table there were at a moment, and their digests.
type SignOff struct {
	Number int64 // from 1
	At     time.Time
	By     string
	Note   string
	Kept   int64 // rows of all tables that are signed
	// Hash is over all of this link and the hash of the link before.
	Hash string

	sealedBy string // by which schema and rules the digests were taken
}

// signLock keeps two from signing at once on PostgreSQL.
const signLock = lockKey + 1

// unsigned are the tables that a link does not hold: the chain itself, and rows
// that come and go.
var unsigned = []string{"answers", "events", "probes", "sign_offs", "signed_heads", "webhooks"}

// keepsRows are the tables of which no row is ever taken out, so that one that has
// fewer than were signed has lost some. onlyAdds are those whose rows are never
// changed either: where there are as many as were signed, they are the same.
var (
	onlyAdds  = []string{"entries", "chock_entries", "practices", "pieces", "audit"}
	keepsRows = append([]string{"mills", "stands", "grades", "roll_states", "sets", "changes", "incidents", "piece_counts", "campaigns", "tokens", "chocks", "forecasts", "wear_rates"}, onlyAdds...)
)

// numbered are the tables whose rows are numbered from 1 within a part, so that
// those that were signed are known among later ones: the column of the part and
// that of the number.
var numbered = map[string][2]string{"entries": {"roll", "number"}, "chock_entries": {"chock", "number"}}

// latestHeads gives each part as it was last signed.
const latestHeads = `SELECT h.source, h.shard, h.kept, h.digest FROM signed_heads AS h
	JOIN (SELECT source, shard, max(sign_off) AS sign_off FROM signed_heads GROUP BY source, shard) AS l
	ON l.source = h.source AND l.shard = h.shard AND l.sign_off = h.sign_off`

// sealsNow gives each part as it is sealed now.
func sealsNow(l sealer) string {
	return "SELECT source, shard, CAST(sum(kept) AS BIGINT) AS kept, " + l.xor("digest") + " AS digest FROM seals WHERE source NOT IN ('" +
		strings.Join(unsigned, "', '") + "') GROUP BY source, shard"
}

// Sign adds a link to the chain, inside a transaction of the service.
func Sign(ctx context.Context, d Dialect, tx Tx, s SignOff) (SignOff, error) {
	if d == Postgres {
		if _, err := tx.ExecContext(ctx, "SELECT pg_advisory_xact_lock($1)", int64(signLock)); err != nil {
			return SignOff{}, err
		}
	}
	links, err := signOffs(ctx, tx, "ORDER BY number DESC LIMIT 1")
	if err != nil {
		return SignOff{}, err
	}
	previous := ""
	if s.Number = 1; len(links) > 0 {
		s.Number, previous = links[0].Number+1, links[0].Hash
	}
	noted, err := texts(ctx, tx, "SELECT rule FROM seal_sources WHERE source = ''")
	if err != nil {
		return SignOff{}, err
	}
	s.sealedBy = strings.Join(noted, "")
	now := sealsNow(sealerOf(d))
	if _, err := tx.ExecContext(ctx, `INSERT INTO signed_heads (sign_off, source, shard, kept, digest)
		SELECT `+fmt.Sprint(s.Number)+`, k.source, k.shard, k.kept, k.digest FROM (`+now+`) AS k LEFT JOIN (`+latestHeads+`) AS h ON h.source = k.source AND h.shard = k.shard
		WHERE h.kept IS NULL AND k.kept <> 0 OR h.kept <> k.kept OR h.digest <> k.digest`); err != nil {
		return SignOff{}, err
	}
	if err := tx.QueryRowContext(ctx, "SELECT CAST(coalesce(sum(kept), 0) AS BIGINT) FROM ("+latestHeads+") AS l").Scan(&s.Kept); err != nil {
		return SignOff{}, err
	}
	sum := s.digest(previous)
	err = eachHead(ctx, d, tx, s.Number, func(h signedHead) { h.addTo(sum) })
	if err != nil {
		return SignOff{}, err
	}
	s.Hash = hex.EncodeToString(sum.Sum(nil))
	_, err = tx.ExecContext(ctx, "INSERT INTO sign_offs (number, signed_at, signed_by, note, sealed_by, kept, hash) VALUES ($1, $2, $3, $4, $5, $6, $7)",
		s.Number, s.At.UnixMicro(), s.By, s.Note, s.sealedBy, s.Kept, s.Hash)
	return s, err
}

// digest begins the hash of a link with all but its heads.
func (s SignOff) digest(previous string) hash.Hash {
	sum := sha256.New()
	for _, part := range []string{previous, fmt.Sprint(s.Number), fmt.Sprint(s.At.UnixMicro()), s.By, s.Note, s.sealedBy, fmt.Sprint(s.Kept)} {
		writePart(sum, part)
	}
	return sum
}

func writePart(w io.Writer, part string) { fmt.Fprintf(w, "%d:%s,", len(part), part) }

// signedHead is a part of a table as one link holds it.
type signedHead struct {
	source, shard string
	kept          int64
	digest        string
}

func (h signedHead) addTo(sum hash.Hash) {
	for _, part := range []string{h.source, h.shard, fmt.Sprint(h.kept), h.digest} {
		writePart(sum, part)
	}
}

// eachHead gives the heads of one link in order.
func eachHead(ctx context.Context, d Dialect, tx Tx, number int64, do func(signedHead)) error {
	return heads(ctx, tx, "SELECT source, shard, kept, "+sealerOf(d).text("digest")+" FROM signed_heads WHERE sign_off = "+fmt.Sprint(number)+" ORDER BY source, shard", do)
}

func heads(ctx context.Context, tx Tx, query string, do func(signedHead)) error {
	rows, err := tx.QueryContext(ctx, query)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var h signedHead
		if err := rows.Scan(&h.source, &h.shard, &h.kept, &h.digest); err != nil {
			return err
		}
		do(h)
	}
	return rows.Err()
}

func signOffs(ctx context.Context, tx Tx, which string) ([]SignOff, error) {
	rows, err := tx.QueryContext(ctx, "SELECT number, signed_at, signed_by, note, sealed_by, kept, hash FROM sign_offs "+which)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []SignOff
	for rows.Next() {
		var s SignOff
		var at int64
		if err := rows.Scan(&s.Number, &at, &s.By, &s.Note, &s.sealedBy, &s.Kept, &s.Hash); err != nil {
			return nil, err
		}
		s.At = time.UnixMicro(at).UTC()
		all = append(all, s)
	}
	return all, rows.Err()
}

// HasSignOffs says whether the schema has the chain.
func HasSignOffs(ctx context.Context, d Dialect, tx Tx) (bool, error) {
	tables, err := texts(ctx, tx, sealerOf(d).tables())
	return slices.Contains(tables, "sign_offs"), err
}

// Tx is what is needed of a transaction.
type Tx interface {
	querier
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}
