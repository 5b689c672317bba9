package migrations

import (
	"context"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// SignedDifference is where the works, or the chain itself, is not as it was
// signed off.
type SignedDifference struct {
	Table, Part, Why string
}

// part names one part of one table.
type part struct{ source, shard string }

func (a part) compare(b part) int {
	return strings.Compare(a.source+"\x00"+a.shard, b.source+"\x00"+b.shard)
}

// last is how a part was last signed, and by which link.
type last struct {
	signedHead
	by SignOff
}

// SignedDifferences replays the chain inside one transaction, which it only reads:
// every link follows from the one before it, none takes rows away that are kept for
// ever, and what was signed last is still there, as the seals tell it, which are
// held against the rows elsewhere. It gives at most so many differences. Where
// hash is not empty, a link must have it: it is one that was noted outside.
func SignedDifferences(ctx context.Context, d Dialect, tx Tx, hash string, most int) ([]SignedDifference, error) {
	links, err := signOffs(ctx, tx, "ORDER BY number")
	if err != nil {
		return nil, err
	}
	c := &chain{signed: map[part]last{}, most: most}
	if hash != "" && !slices.ContainsFunc(links, func(s SignOff) bool { return s.Hash == strings.ToLower(hash) }) {
		c.add("sign_offs", "", fmt.Sprintf("no sign-off has the hash %s: this is another works, an older copy of it, or its chain was made anew", hash))
	}
	previous := ""
	for i, link := range links {
		if link.Number != int64(i+1) {
			c.add("sign_offs", fmt.Sprintf("number %d", i+1), "the sign-off is missing, and later ones are there")
			break
		}
		sum := link.digest(previous)
		err := eachHead(ctx, d, tx, link.Number, func(h signedHead) {
			h.addTo(sum)
			c.follow(link, h)
		})
		if err != nil {
			return nil, err
		}
		if hex.EncodeToString(sum.Sum(nil)) != link.Hash {
			c.add("sign_offs", fmt.Sprintf("number %d", link.Number), "what it holds is not what its hash was taken over")
		}
		previous = link.Hash
	}
	without, err := texts(ctx, tx, "SELECT DISTINCT CAST(sign_off AS TEXT) FROM signed_heads WHERE sign_off NOT IN (SELECT number FROM sign_offs) ORDER BY 1")
	if err != nil {
		return nil, err
	}
	for _, number := range without {
		c.add("sign_offs", "number "+number, "the sign-off is missing, and what it holds is there")
	}
	if err := c.now(ctx, d, tx); err != nil {
		return nil, err
	}
	return c.found, c.books(ctx, d, tx)
}

// chain is what replaying has found so far.
type chain struct {
	signed map[part]last
	found  []SignedDifference
	most   int
}

func (c *chain) add(table, part, why string) {
	if len(c.found) < c.most {
		c.found = append(c.found, SignedDifference{table, part, why})
	}
}

// follow takes the next head of a part.
func (c *chain) follow(link SignOff, h signedHead) {
	key := part{h.source, h.shard}
	if before, ok := c.signed[key]; ok {
		c.compare(before, h, link.sealedBy, fmt.Sprintf("sign-off %d", link.Number))
	}
	c.signed[key] = last{h, link}
}

// compare holds a part against what was signed of it before.
func (c *chain) compare(before last, h signedHead, sealedBy, now string) {
	signed := fmt.Sprintf("sign-off %d of %s by %s holds %d rows", before.by.Number, before.by.At.Format("2006-01-02 15:04Z"), before.by.By, before.kept)
	switch {
	case slices.Contains(keepsRows, h.source) && h.kept < before.kept:
		c.add(h.source, sourceOf(h.source).words(h.shard), fmt.Sprintf("%s and %s %d: rows were taken away", signed, now, h.kept))
	case slices.Contains(onlyAdds, h.source) && h.kept == before.kept && h.digest != before.digest && sealedBy == before.by.sealedBy:
		c.add(h.source, sourceOf(h.source).words(h.shard), fmt.Sprintf("%s and %s others: rows were changed", signed, now))
	}
}

// now holds the seals against what was signed last.
func (c *chain) now(ctx context.Context, d Dialect, tx Tx) error {
	noted, err := texts(ctx, tx, "SELECT rule FROM seal_sources WHERE source = ''")
	if err != nil {
		return err
	}
	l, there := sealerOf(d), map[part]signedHead{}
	err = heads(ctx, tx, "SELECT source, shard, kept, "+l.text("digest")+" FROM ("+sealsNow(l)+") AS k", func(h signedHead) { there[part{h.source, h.shard}] = h })
	if err != nil {
		return err
	}
	for _, key := range slices.SortedFunc(maps.Keys(c.signed), part.compare) {
		h, ok := there[key]
		if !ok {
			h = signedHead{source: key.source, shard: key.shard}
		}
		c.compare(c.signed[key], h, strings.Join(noted, ""), "there are now")
	}
	return nil
}

// books holds the entries that were signed against those there are, where others
// have come after them.
func (c *chain) books(ctx context.Context, d Dialect, tx Tx) error {
	l := sealerOf(d)
	noted, err := texts(ctx, tx, "SELECT rule FROM seal_sources WHERE source = ''")
	if err != nil {
		return err
	}
	for _, table := range slices.Sorted(maps.Keys(numbered)) {
		columns, err := texts(ctx, tx, l.columns(), table)
		if err != nil {
			return err
		}
		book, number := numbered[table][0], numbered[table][1]
		changed, err := texts(ctx, tx, `SELECT h.shard FROM (`+latestHeads+` JOIN sign_offs AS o ON o.number = h.sign_off WHERE h.source = `+quoted(table)+` AND o.sealed_by = $1) AS h
			JOIN `+table+` AS r ON r.`+book+` = h.shard AND r.`+number+` <= h.kept
			WHERE EXISTS (SELECT 1 FROM `+table+` AS n WHERE n.`+book+` = h.shard AND n.`+number+` = h.kept + 1) GROUP BY h.shard, h.kept, h.digest
			HAVING count(*) = h.kept AND `+l.xor(l.digest("r", columns))+` <> h.digest ORDER BY h.shard`, strings.Join(noted, ""))
		if err != nil {
			return err
		}
		for _, shard := range changed {
			s := c.signed[part{table, shard}]
			c.add(table, shard, fmt.Sprintf("the first %d rows are not those of sign-off %d of %s by %s", s.kept, s.by.Number, s.by.At.Format("2006-01-02 15:04Z"), s.by.By))
		}
	}
	return nil
}
