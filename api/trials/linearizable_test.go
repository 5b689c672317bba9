package trials

import (
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/anishathalye/porcupine"

	"barrelbook/api/store/pgtest"
)

var operationsWanted = flag.Int("operations", 400, "how many operations the test of linearizability runs")

// What a caller does and hears: of the book of a roll, whose version counts its
// entries, and of a stand, in which one of its sets is.
type (
	done struct {
		thing string // a roll or a stand
		write bool
		set   string // that is to go into the stand
	}
	heard struct {
		version int64  // of the book, after an entry or as read
		set     string // in the stand
		refused bool
	}
	things struct {
		version int64
		set     string
	}
)

// model says what one step at a time would answer.
var model = porcupine.Model{
	Partition: func(history []porcupine.Operation) (parts [][]porcupine.Operation) {
		by := map[string][]porcupine.Operation{}
		for _, o := range history {
			by[o.Input.(done).thing] = append(by[o.Input.(done).thing], o)
		}
		for _, part := range by {
			parts = append(parts, part)
		}
		return parts
	},
	Init: func() any { return things{version: 1} },
	Step: func(state, input, output any) (bool, any) {
		s, in, out := state.(things), input.(done), output.(heard)
		switch {
		case in.set != "" && out.refused:
			return s.set == in.set, s // it is in already
		case in.set != "":
			return s.set != in.set, things{set: in.set, version: s.version}
		case in.write:
			return out.version == s.version+1, things{version: s.version + 1}
		case strings.HasPrefix(in.thing, "F"):
			return out.set == s.set, s
		}
		return out.version == s.version, s
	},
	DescribeOperation: func(input, output any) string { return fmt.Sprintf("%+v: %+v", input, output) },
}

// TestLinearizable runs callers against three daemons in processes of their own,
// with clocks that differ, on one PostgreSQL, while daemons, backends and the
// server are killed. Callers try again with the same key until they are answered.
// There must be an order of single steps that explains all they heard.
func TestLinearizable(t *testing.T) {
	t.Parallel()
	cluster := pgtest.Own(t, "", "fsync=off")
	dsn := cluster.DSN("steps")
	setUp := open(t, plain(dsn))
	setUp.mill()
	// A set may go in 20 times before its rolls are ground: there are so many that
	// none does.
	rolls, stands := max(4, *operationsWanted/400), max(3, *operationsWanted/200)
	for i := range rolls {
		setUp.roll(fmt.Sprint("R", i), "work", 700, hourAgo)
	}
	for i := range stands {
		stand := fmt.Sprint("F", i+1)
		if i >= 2 { // the mill has two
			setUp.must("/v1/stands", fmt.Sprintf(`{"name":%q,"mill":"hot","order":%d,"arrangement":"four_high"}`, stand, 3+i%90))
		}
		setUp.set(stand+"a", "work", 700, hourAgo)
		setUp.set(stand+"b", "work", 700, hourAgo)
	}
	setUp.close()
	seed := uint64(time.Now().UnixNano())
	c := &chaos{t: t, cluster: cluster, database: "steps", random: rand.New(rand.NewPCG(seed, 1)), pause: 1500 * time.Millisecond}
	var urls []string
	for _, ahead := range []time.Duration{0, -time.Hour, 20 * time.Second} {
		d := startProcess(t, dsn, ahead)
		c.daemons, urls = append(c.daemons, d), append(urls, d.url)
	}
	const callers = 8
	var (
		g       sync.WaitGroup
		mu      sync.Mutex
		history []porcupine.Operation
		begun   = time.Now()
	)
	end := c.begin(1 << 20)
	for i := range callers {
		g.Go(func() {
			random := rand.New(rand.NewPCG(seed, uint64(i)+2))
			for range *operationsWanted / callers {
				in, call := step(random, rolls, stands)
				at := time.Since(begun).Nanoseconds()
				r, err := call(urls, random.IntN(3))
				ended := time.Since(begun).Nanoseconds()
				if err != nil {
					t.Errorf("seed %d: %+v: %v", seed, in, err)
					return
				}
				out, err := understood(in, r)
				if err != nil {
					t.Errorf("seed %d: %+v: %v", seed, in, err)
					return
				}
				mu.Lock()
				history = append(history, porcupine.Operation{ClientId: i, Input: in, Call: at, Output: out, Return: ended})
				mu.Unlock()
			}
		})
	}
	g.Wait()
	end()
	t.Logf("%d operations in %s, kills: %v, seed %d", len(history), time.Since(begun).Round(time.Second), c.kills, seed)
	if result := porcupine.CheckOperationsTimeout(model, history, 5*time.Minute); result != porcupine.Ok {
		t.Errorf("seed %d: no order of single steps explains the %d operations: %s", seed, len(history), result)
	}
}

// TestModelRefuses: histories that no order of steps explains are found.
func TestModelRefuses(t *testing.T) {
	t.Parallel()
	at := func(n int64, in done, out heard) porcupine.Operation {
		return porcupine.Operation{Input: in, Output: out, Call: 10 * n, Return: 10*n + 5}
	}
	for name, history := range map[string][]porcupine.Operation{
		"a lost entry":     {at(1, done{thing: "R1", write: true}, heard{version: 2}), at(2, done{thing: "R1"}, heard{version: 1})},
		"an entry twice":   {at(1, done{thing: "R1", write: true}, heard{version: 2}), at(2, done{thing: "R1"}, heard{version: 3})},
		"a change undone":  {at(1, done{thing: "F1", write: true, set: "a"}, heard{}), at(2, done{thing: "F1"}, heard{})},
		"refused for none": {at(1, done{thing: "F1", write: true, set: "a"}, heard{refused: true})},
	} {
		if porcupine.CheckOperations(model, history) {
			t.Errorf("%s was taken", name)
		}
	}
}

// step chooses what to do next.
func step(random *rand.Rand, rolls, stands int) (done, func(urls []string, from int) (reply, error)) {
	key := newKey() + strconv.FormatUint(random.Uint64(), 36)
	number, stand := fmt.Sprint("R", random.IntN(rolls)), fmt.Sprint("F", 1+random.IntN(stands))
	switch random.IntN(8) {
	case 0:
		set := stand + []string{"a", "b"}[random.IntN(2)]
		return done{thing: stand, write: true, set: set}, func(urls []string, from int) (reply, error) {
			return ask(urls, from, "POST", "/v1/changes", key, change(stand, "work", set, time.Time{}))
		}
	case 1:
		return done{thing: stand}, func(urls []string, from int) (reply, error) {
			return ask(urls, from, "GET", "/v1/stands/"+stand, "", "")
		}
	case 2, 3, 4:
		return done{thing: number}, func(urls []string, from int) (reply, error) {
			return ask(urls, from, "GET", "/v1/rolls/"+number, "", "")
		}
	}
	return done{thing: number, write: true}, func(urls []string, from int) (reply, error) {
		return ask(urls, from, "POST", "/v1/rolls/"+number+"/inspections", key, `{"tests":[{"test":"visual","outcome":"passed"}]}`)
	}
}

// understood reads an answer as the model has it.
func understood(in done, r reply) (heard, error) {
	switch {
	case in.set != "" && r.status == 409 && strings.Contains(r.detail(), "already"):
		return heard{refused: true}, nil
	case in.set != "" && r.status == 201:
		return heard{}, nil
	case !in.write && r.status == 200 && strings.HasPrefix(in.thing, "F"):
		var stand struct {
			Positions []struct{ Set string }
		}
		err := json.Unmarshal(r.body, &stand)
		for _, p := range stand.Positions {
			if p.Set != "" {
				return heard{set: p.Set}, nil
			}
		}
		return heard{}, err
	case r.status == 200 || r.status == 201:
		tag := strings.TrimLeft(r.header.Get("ETag"), `W/"`)
		digits := strings.IndexFunc(tag, func(c rune) bool { return c < '0' || c > '9' })
		version, err := strconv.ParseInt(tag[:max(digits, 0)], 10, 64)
		return heard{version: version}, err
	}
	return heard{}, fmt.Errorf("%s", r)
}
