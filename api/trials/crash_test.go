package trials

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"barrelbook/api/store/pgtest"
)

var (
	killsWanted = flag.Int("kills", 4, "how many processes the crash test kills")
	synced      = flag.Bool("synced", false, "let PostgreSQL wait for the disk in the crash test")
)

// acknowledged is what one client was told is kept.
type acknowledged struct {
	entries map[string]int // by roll
	ground  map[string]int // grinds of rolls that came out, by roll
	pieces  int
	records []kept
}

// kept is a record by its key, and how it was answered.
type kept struct{ path, key, body, answer string }

// TestCrash records through two daemons while they, the backends of PostgreSQL
// and PostgreSQL itself are killed. Whatever was acknowledged is there, once; a
// record sent again with its key is answered the same; the books are whole.
func TestCrash(t *testing.T) {
	t.Parallel()
	settings := []string{"fsync=off"}
	if *synced {
		settings = nil
	}
	cluster := pgtest.Own(t, "", settings...)
	dsn := cluster.DSN("crash")
	setUp := open(t, plain(dsn))
	setUp.mill()
	const clients = 4
	for i := range clients {
		setUp.roll(fmt.Sprint("R", i), "work", 900, hourAgo)
	}
	for i, set := range []string{"A", "B", "C", "D"} {
		setUp.set(set, "work", 700, hourAgo.Add(time.Duration(i)))
	}
	setUp.must("/v1/changes", change("F1", "work", "A", hourAgo.Add(time.Minute)))
	setUp.must("/v1/changes", change("F2", "work", "C", hourAgo.Add(time.Minute)))
	setUp.close()
	seed := uint64(time.Now().UnixNano())
	c := &chaos{t: t, cluster: cluster, database: "crash", random: rand.New(rand.NewPCG(seed, 1)), pause: 400 * time.Millisecond}
	var urls []string
	for range 2 {
		d := startProcess(t, dsn, 0)
		c.daemons, urls = append(c.daemons, d), append(urls, d.url)
	}
	stop := make(chan struct{})
	told := make([]*acknowledged, clients)
	var g sync.WaitGroup
	for i := range clients {
		told[i] = &acknowledged{entries: map[string]int{}, ground: map[string]int{}}
		g.Go(func() { told[i].work(t, urls, i, seed, stop) })
	}
	c.run(nil, *killsWanted)
	close(stop)
	g.Wait()
	t.Logf("seed %d, %d kills: %v", seed, c.total(), c.kills)
	compare(t, urls, told, seed)
	again := open(t, plain(dsn))
	if err := again.service.Verify(t.Context()); err != nil {
		t.Errorf("seed %d: %v", seed, err)
	}
}

// work records one thing after the other until it is told to stop.
func (a *acknowledged) work(t *testing.T, urls []string, i int, seed uint64, stop <-chan struct{}) {
	random := rand.New(rand.NewPCG(seed, uint64(i)+2))
	number := fmt.Sprint("R", i)
	mm, stand, sets := 900.0, fmt.Sprint("F", i+1), [][]string{{"A", "B"}, {"C", "D"}}
	in := 0
	for n := 0; ; n++ {
		select {
		case <-stop:
			return
		default:
		}
		key := fmt.Sprintf("crash-%d-%d-%d", seed, i, n)
		path, body := "/v1/rolls/"+number+"/regrinds", fmt.Sprintf(`{"found_mm":%.3f,"ground_mm":%.3f,"purpose":"wear"`+sure, mm, mm-0.01)
		switch what := random.IntN(4); {
		case what == 0:
			path, key, body = "/v1/pieces", "", piece(key+"a", hourAgo.Add(2*time.Minute), 8000, "F1", "F2")+piece(key+"b", hourAgo.Add(3*time.Minute), 8000, "F1")
		case what == 1 && i < 2:
			path, body = "/v1/changes", change(stand, "work", sets[i][1-in], time.Time{})
		}
		r, err := ask(urls, random.IntN(2), "POST", path, key, body)
		for err == nil && path == "/v1/pieces" && strings.Contains(string(r.body), `"failed"`) {
			r, err = ask(urls, random.IntN(2), "POST", path, key, body)
		}
		if err != nil || r.status/100 != 2 {
			t.Errorf("seed %d: %s %s: %v %s", seed, path, body, err, r)
			return
		}
		switch path {
		case "/v1/pieces":
			if !strings.Contains(string(r.body), `"summary":true`) {
				n-- // cut off: sent again
				continue
			}
			a.pieces += 2
			continue
		case "/v1/changes":
			for _, set := range sets[i] {
				a.entries[set+"T"]++
				a.entries[set+"B"]++
			}
			// A roll may run 20 campaigns before it is ground: what came out is.
			out := sets[i][in]
			in = 1 - in
			for _, end := range []string{"T", "B"} {
				a.grindOut(t, urls, out+end, fmt.Sprintf("%s-%s", key, end))
			}
		default:
			a.entries[number]++
			mm -= 0.01
		}
		a.records = append(a.records, kept{path, key, body, string(r.body)})
	}
}

// grindOut takes a hundredth off a roll that came out of a stand.
func (a *acknowledged) grindOut(t *testing.T, urls []string, number, key string) {
	from := 700 - 0.01*float64(a.ground[number])
	k := kept{path: "/v1/rolls/" + number + "/regrinds", key: key, body: fmt.Sprintf(`{"found_mm":%.3f,"ground_mm":%.3f,"purpose":"wear"`+sure, from, from-0.01)}
	r, err := ask(urls, 0, "POST", k.path, k.key, k.body)
	if err != nil || r.status != 201 {
		t.Errorf("%s %s: %v %s", k.path, k.body, err, r)
		return
	}
	k.answer = string(r.body)
	a.entries[number]++
	a.ground[number]++
	a.records = append(a.records, k)
}

// compare holds what is there against what was acknowledged.
func compare(t *testing.T, urls []string, told []*acknowledged, seed uint64) {
	t.Helper()
	entries, pieces, records := map[string]int{}, 0, 0
	for _, a := range told {
		for number, n := range a.entries {
			entries[number] += n
		}
		pieces += a.pieces
		records += len(a.records)
		for i, k := range a.records {
			if i%max(1, len(a.records)/200) != 0 {
				continue
			}
			r, err := ask(urls, i, "POST", k.path, k.key, k.body)
			if err != nil || string(r.body) != k.answer {
				t.Errorf("seed %d: %s %s is answered %s (%v), and was answered %.300s", seed, k.path, k.key, r, err, k.answer)
			}
		}
	}
	before := map[string]int{"R": 1, "A": 3, "C": 3, "B": 2, "D": 2} // receipt, set, change
	for number, n := range entries {
		r, err := ask(urls, 0, "GET", "/v1/rolls/"+number+"/entries?limit=1", "", "")
		if err != nil || r.status != 200 {
			t.Fatal(err, r)
		}
		r, err = ask(urls, 0, "GET", "/v1/rolls/"+number, "", "")
		if err != nil {
			t.Fatal(err)
		}
		got, err := understood(done{thing: number}, r)
		if want := int64(n + before[number[:1]]); err != nil || got.version != want {
			t.Errorf("seed %d: the book of %s has %d entries, %d were acknowledged (%v)", seed, number, got.version, want, err)
		}
	}
	r, err := ask(urls, 0, "GET", "/v1/works", "", "")
	if err != nil || r.field("piece_count") != float64(pieces) {
		t.Errorf("seed %d: %v pieces are kept, %d were acknowledged (%v)", seed, r.field("piece_count"), pieces, err)
	}
	t.Logf("%d records and %d pieces were acknowledged", records, pieces)
	if records == 0 || pieces == 0 {
		t.Error("nothing was acknowledged: nothing was tested")
	}
}
