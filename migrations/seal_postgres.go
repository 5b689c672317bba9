package migrations

import "strings"

// WriterSetting is the setting of a session on PostgreSQL by which the triggers
// know the service: what any other session writes does not enter the seals, and so
// shows.
const WriterSetting = "barrelbook.writer"

type postgresSealer struct{}

func (postgresSealer) tables() string {
	return "SELECT table_name FROM information_schema.tables WHERE table_schema = current_schema() AND table_type = 'BASE TABLE' ORDER BY table_name"
}

func (postgresSealer) columns() string {
	return "SELECT column_name FROM information_schema.columns WHERE table_schema = current_schema() AND table_name = $1 ORDER BY ordinal_position"
}

func (postgresSealer) lock(table string) string {
	return "LOCK TABLE " + table + " IN SHARE ROW EXCLUSIVE MODE"
}

// digest is over the row as PostgreSQL writes it, so that it needs no columns.
func (postgresSealer) digest(alias string, _ []string) string {
	return "('x' || encode(sha256(convert_to(" + alias + "::text, 'UTF8')), 'hex'))::bit(256)"
}

func (postgresSealer) xor(digest string) string { return "bit_xor(" + digest + ")" }

func (postgresSealer) both(a, b string) string { return a + " # " + b }

func (postgresSealer) zero() string { return "0::bit(256)" }

func (postgresSealer) text(digest string) string { return "CAST(" + digest + " AS TEXT)" }

func (postgresSealer) temporary(name, query string) string {
	return "CREATE TEMP TABLE " + name + " ON COMMIT DROP AS " + query
}

// triggers run once for a statement, over the rows that it changed.
func (l postgresSealer) triggers(s source, columns []string) (create, remove []string) {
	lane := "0"
	if s.lanes {
		lane = "pg_backend_pid() % 32"
	}
	of := func(table, kept string) string {
		return "SELECT " + s.over("r") + " AS shard, " + kept + " AS kept, " + l.digest("r", columns) + " AS digest FROM " + table + " AS r"
	}
	for _, on := range []struct{ event, rows, body string }{
		{"INSERT", "NEW TABLE AS fresh", of("fresh", "1")},
		{"DELETE", "OLD TABLE AS gone", of("gone", "-1")},
		{"UPDATE", "OLD TABLE AS gone NEW TABLE AS fresh", of("gone", "-1") + " UNION ALL " + of("fresh", "1")},
	} {
		name := "seal_" + s.table + "_" + strings.ToLower(on.event)
		remove = append(remove, "DROP TRIGGER IF EXISTS "+name+" ON "+s.table, "DROP FUNCTION IF EXISTS "+name+"()")
		create = append(create, "CREATE FUNCTION "+name+`() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF current_setting('`+WriterSetting+`', true) = 'on' THEN
		INSERT INTO seals AS s (source, shard, lane, kept, digest)
		SELECT `+quoted(s.table)+`, shard, `+lane+`, sum(kept), `+l.xor("digest")+` FROM (`+on.body+`) AS x GROUP BY shard ORDER BY shard
		ON CONFLICT (source, shard, lane) DO UPDATE SET kept = s.kept + excluded.kept, digest = s.digest # excluded.digest;
	END IF;
	RETURN NULL;
END;
$$`, "CREATE TRIGGER "+name+" AFTER "+on.event+" ON "+s.table+" REFERENCING "+on.rows+" FOR EACH STATEMENT EXECUTE FUNCTION "+name+"()")
	}
	return create, remove
}
