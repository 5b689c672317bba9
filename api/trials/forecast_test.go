package trials

import (
	"database/sql"
	"strings"
	"testing"
	"time"
)

// TestReadingRecordsNothing asks for a forecast and for a finish check again and
// again: nothing of the database changes by it.
func TestReadingRecordsNothing(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, database string) {
		s := open(t, plain(database))
		s.mill()
		s.set("A", "work", 700, hourAgo)
		s.must("/v1/practices", `{"name":"limits","scope":{"mill":"hot"},"values":{"max_campaign_t":2000}}`)
		s.must("/v1/changes", change("F1", "work", "A", time.Time{}))
		s.must("/v1/pieces", piece("P", time.Now(), 9000, "F1"))
		count := func() (n int) {
			driver, dsn := "sqlite", "file:"+database
			if strings.HasPrefix(database, "postgres") {
				driver, dsn = "pgx", database
			}
			db, err := sql.Open(driver, dsn)
			if err != nil {
				t.Fatal(err)
			}
			defer db.Close()
			if err := db.QueryRow("SELECT count(*) FROM forecasts").Scan(&n); err != nil {
				t.Fatal(err)
			}
			return n
		}
		s.must("/v1/campaigns", `{"name":"C","mill":"hot","pieces":[{"id":"P1","mass_t":20,"width_mm":1250,"entry_thickness_mm":30,"passes":[{"stand":"F1","exit_thickness_mm":20}]}]}`)
		before := count()
		for range 3 {
			if r := s.get("/v1/rolls/AT/forecast"); r.status != 200 {
				t.Fatalf("%s", r)
			}
			if r := s.post("/v1/campaigns/C/finish-checks", `{}`); r.status != 200 {
				t.Fatalf("%s", r)
			}
		}
		if after := count(); after != before {
			t.Errorf("%d rows of forecasts, %d after three readings", before, after)
		}
	})
}

// TestLoadingAProgrammeIsNoEcho: neither the answer nor what is remembered of it
// holds the pieces.
func TestLoadingAProgrammeIsNoEcho(t *testing.T) {
	t.Parallel()
	s := open(t, plain(t.TempDir()+"/shop.db"))
	s.mill()
	var pieces []string
	for i := range 300 {
		pieces = append(pieces, `{"id":"P`+strings.Repeat("x", i%40)+`","mass_t":20,"width_mm":1250,"entry_thickness_mm":30,"passes":[{"stand":"F1","exit_thickness_mm":20}]}`)
	}
	for i := range pieces {
		pieces[i] = strings.Replace(pieces[i], `"id":"P`, `"id":"`+string(rune('A'+i/26))+string(rune('a'+i%26)), 1)
	}
	r := s.must("/v1/campaigns", `{"name":"C","mill":"hot","pieces":[`+strings.Join(pieces, ",")+`]}`)
	if r.field("piece_count") != 300.0 || r.field("pieces") != nil || len(r.body) > 2000 {
		t.Errorf("%d bytes were answered: %s", len(r.body), r)
	}
}

// TestAnswersAreForgotten: an answer is kept for as long as is set, and goes with
// later records; the newest stay.
func TestAnswersAreForgotten(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, database string) {
		now := epoch
		o := plain(database)
		o.Now, o.Keep = func() time.Time { return now }, time.Hour
		s := open(t, o)
		s.mill()
		first := send(s.url, "POST", "/v1/rolls", "first", receipt("R1", "work", 700, epoch))
		now = now.Add(30 * time.Minute)
		if again := send(s.url, "POST", "/v1/rolls", "first", receipt("R1", "work", 700, epoch)); again.status != 201 || string(again.body) != string(first.body) {
			t.Errorf("after half an hour: %s", again)
		}
		now = now.Add(2 * time.Hour)
		s.roll("R2", "work", 700, epoch)
		if again := send(s.url, "POST", "/v1/rolls", "first", receipt("R1", "work", 700, epoch)); again.status != 409 {
			t.Errorf("after it was forgotten: %s", again)
		}
	})
}
