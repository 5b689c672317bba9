package migrations

import "strings"

// sqliteSealer seals with three functions of the service's own driver (package
// store). Another program has none of them: it cannot write to a sealed table, and
// where it has taken the triggers away, the seals show what it wrote.
type sqliteSealer struct{}

func (sqliteSealer) tables() string {
	return "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
}

func (sqliteSealer) columns() string {
	return "SELECT name FROM pragma_table_xinfo($1) WHERE hidden = 0 ORDER BY cid" // not the generated ones
}

// lock does nothing: the transaction began with the lock on the file.
func (sqliteSealer) lock(string) string { return "" }

func (sqliteSealer) digest(alias string, columns []string) string {
	return "barrelbook_digest(" + alias + "." + strings.Join(columns, ", "+alias+".") + ")"
}

func (sqliteSealer) xor(digest string) string { return "barrelbook_sum(" + digest + ")" }

func (sqliteSealer) both(a, b string) string { return "barrelbook_both(" + a + ", " + b + ")" }

func (sqliteSealer) zero() string { return "zeroblob(32)" }

func (sqliteSealer) text(digest string) string { return "hex(" + digest + ")" }

func (sqliteSealer) temporary(name, query string) string {
	return "CREATE TEMP TABLE " + name + " AS " + query
}

func (l sqliteSealer) triggers(s source, columns []string) (create, remove []string) {
	put := func(alias, kept string) string {
		return "\n\tINSERT INTO seals (source, shard, lane, kept, digest) VALUES (" + quoted(s.table) + ", " + s.over(alias) + ", 0, " + kept + ", " + l.digest(alias, columns) +
			")\n\t\tON CONFLICT (source, shard, lane) DO UPDATE SET kept = kept + excluded.kept, digest = " + l.both("digest", "excluded.digest") + ";"
	}
	for _, on := range []struct{ event, body string }{
		{"INSERT", put("NEW", "1")}, {"DELETE", put("OLD", "-1")}, {"UPDATE", put("OLD", "-1") + put("NEW", "1")},
	} {
		name := "seal_" + s.table + "_" + strings.ToLower(on.event)
		remove = append(remove, "DROP TRIGGER IF EXISTS "+name)
		create = append(create, "CREATE TRIGGER "+name+" AFTER "+on.event+" ON "+s.table+"\nBEGIN"+on.body+"\nEND")
	}
	return create, remove
}
