package trials

import (
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"barrelbook/api/store/pgtest"
)

var (
	followRuns  = flag.Int("follow-runs", 1, "how often each database is followed while its daemons are killed")
	followKills = flag.Int("follow-kills", 2, "how many kills there are in each of them")
)

// TestFollow has 16 writers record while daemons, and on PostgreSQL its backends
// and itself, are killed, and others follow the events from a cursor each. A
// follower sees each entry once, each book in its order, and at the end knows what
// the books say: every entry, and the set in every stand.
func TestFollow(t *testing.T) {
	for run := range *followRuns {
		t.Run(fmt.Sprint("file ", run), func(t *testing.T) {
			followed(t, nil, filepath.Join(t.TempDir(), "shop.db"), 1)
		})
	}
	cluster := pgtest.Own(t, "", "fsync=off")
	for run := range *followRuns {
		t.Run(fmt.Sprint("postgresql ", run), func(t *testing.T) {
			followed(t, cluster, cluster.DSN(fmt.Sprint("follow", run)), 2)
		})
	}
}

func followed(t *testing.T, cluster *pgtest.Cluster, database string, daemons int) {
	const writers = 16
	setUp := open(t, plain(database))
	setUp.mill()
	for i := range writers {
		setUp.roll(fmt.Sprint("R", i), "work", 900, hourAgo)
	}
	for i, set := range []string{"A", "B", "C", "D"} {
		setUp.set(set, "work", 700, hourAgo.Add(time.Duration(i)))
	}
	setUp.must("/v1/changes", change("F1", "work", "A", hourAgo.Add(time.Minute)))
	setUp.must("/v1/changes", change("F2", "work", "C", hourAgo.Add(time.Minute)))
	setUp.close()
	seed := uint64(time.Now().UnixNano())
	name := database[strings.LastIndex(database, "/")+1:]
	name, _, _ = strings.Cut(name, "?")
	c := &chaos{t: t, cluster: cluster, database: name, random: rand.New(rand.NewPCG(seed, 1)), pause: 400 * time.Millisecond}
	var urls []string
	for range daemons {
		d := startProcess(t, database, 0)
		c.daemons, urls = append(c.daemons, d), append(urls, d.url)
	}
	stop, ended := make(chan struct{}), make(chan struct{})
	told := make([]*acknowledged, writers)
	var writing, following sync.WaitGroup
	for i := range writers {
		told[i] = &acknowledged{entries: map[string]int{}, ground: map[string]int{}}
		writing.Go(func() { told[i].work(t, urls, i, seed, stop) })
	}
	mirrors := make([]*mirror, 2)
	for i, page := range []int{3, 500} {
		mirrors[i] = &mirror{books: map[string][]string{}, in: map[string]string{}, seen: map[string]bool{}}
		following.Go(func() { mirrors[i].follow(t, urls, page, ended) })
	}
	c.run(nil, *followKills)
	close(stop)
	writing.Wait()
	close(ended)
	following.Wait()
	t.Logf("seed %d, %d kills: %v", seed, c.total(), c.kills)
	compare(t, urls, told, seed)
	for _, d := range c.daemons {
		d.kill()
	}
	again := open(t, plain(database))
	for _, m := range mirrors {
		m.compare(t, again, seed)
	}
	if err := again.service.Verify(t.Context()); err != nil {
		t.Errorf("seed %d: %v", seed, err)
	}
}

// mirror is what a follower knows by the events alone.
type mirror struct {
	books map[string][]string // the hashes of the entries, by roll
	in    map[string]string   // the set of work rolls in a stand
	seen  map[string]bool     // ids of events
}

type told struct {
	ID   string
	Type string
	Data struct {
		Entry *struct {
			Roll   string
			Number int
			Hash   string
		}
		Stand  string
		Set_In string `json:"set_in"`
	}
}

// follow reads page after page, from whichever daemon answers, until all writers
// have ended and there is no more.
func (m *mirror) follow(t *testing.T, urls []string, limit int, ended <-chan struct{}) {
	after := ""
	for n, last := 0, false; ; n++ {
		select {
		case <-ended:
			last = true
		default:
		}
		r, err := ask(urls, n, "GET", fmt.Sprintf("/v1/events?wait_s=1&limit=%d&after=%s", limit, after), "", "")
		var page struct {
			Items []told
			Next  string
		}
		if err != nil || r.status != 200 || json.Unmarshal(r.body, &page) != nil {
			t.Errorf("following: %v %s", err, r)
			return
		}
		for _, e := range page.Items {
			m.take(t, e)
		}
		if after = page.Next; last && len(page.Items) == 0 {
			return
		}
	}
}

func (m *mirror) take(t *testing.T, e told) {
	if m.seen[e.ID] {
		t.Errorf("event %s came twice", e.ID)
	}
	m.seen[e.ID] = true
	if e.Type == "barrelbook.change.recorded" {
		m.in[e.Data.Stand] = e.Data.Set_In
	}
	if entry := e.Data.Entry; entry != nil {
		if entry.Number != len(m.books[entry.Roll])+1 {
			t.Errorf("entry %d of %s came after %d entries", entry.Number, entry.Roll, len(m.books[entry.Roll]))
		}
		m.books[entry.Roll] = append(m.books[entry.Roll], entry.Hash)
	}
}

// compare holds what the follower knows against the books.
func (m *mirror) compare(t *testing.T, s *site, seed uint64) {
	t.Helper()
	rolls := s.read("/v1/rolls?limit=1000")["items"].([]any)
	if len(rolls) != len(m.books) {
		t.Errorf("seed %d: the follower knows of %d rolls, there are %d", seed, len(m.books), len(rolls))
	}
	entries := 0
	for _, number := range slices.Sorted(maps.Keys(m.books)) {
		var book []string
		for path := "/v1/rolls/" + number + "/entries?limit=1000"; path != ""; {
			page := s.read(path)
			for _, e := range page["items"].([]any) {
				book = append(book, e.(map[string]any)["hash"].(string))
			}
			path = ""
			if next, more := page["next"].(string); more {
				path = "/v1/rolls/" + number + "/entries?limit=1000&cursor=" + next
			}
		}
		if !slices.Equal(book, m.books[number]) {
			t.Errorf("seed %d: the follower has %d entries of %s, its book has %d, or others", seed, len(m.books[number]), number, len(book))
		}
		entries += len(book)
	}
	for stand, set := range m.in {
		var in []string
		for _, p := range s.read("/v1/stands/" + stand)["positions"].([]any) {
			if set, mounted := p.(map[string]any)["set"].(string); mounted {
				in = append(in, set)
			}
		}
		if !slices.Equal(slices.Compact(in), []string{set}) {
			t.Errorf("seed %d: in %s is %v, the follower thinks %s", seed, stand, in, set)
		}
	}
	if entries == 0 || len(m.in) == 0 {
		t.Error("nothing was followed")
	}
	t.Logf("%d events, %d entries", len(m.seen), entries)
}
