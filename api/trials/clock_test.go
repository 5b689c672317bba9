package trials

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"barrelbook/api/embedded"
	"barrelbook/api/store/pgtest"
)

// skewed serves a database from machines whose clocks are ahead by the times
// given.
func skewed(t *testing.T, database string, ahead ...time.Duration) []*site {
	t.Helper()
	sites := make([]*site, len(ahead))
	for i, d := range ahead {
		sites[i] = open(t, embedded.Options{Path: database, MaxConns: 8, Machine: func() time.Time { return time.Now().Add(d) }})
	}
	return sites
}

// TestMachineAnHourSlow: what a machine records whose clock is an hour behind
// the others' is not refused for it.
func TestMachineAnHourSlow(t *testing.T) {
	t.Parallel()
	s := skewed(t, pgtest.DSN(t), 0, -time.Hour)
	s[0].mill()
	s[0].roll("R", "work", 700, hourAgo.Add(-time.Hour))
	for i := range 6 {
		s[i%2].must("/v1/rolls/R/regrinds", fmt.Sprintf(`{"found_mm":%d,"ground_mm":%d,"purpose":"wear"`+sure, 700-i, 699-i))
		s[1-i%2].must("/v1/rolls/R/holds", `{"reason":"a crack is looked for"}`)
		s[i%2].must("/v1/rolls/R/releases", `{"reason":"none was found"}`)
	}
	slow := s[1].read("/v1/works")["now"].(string)
	if at, err := time.Parse(time.RFC3339Nano, slow); err != nil || time.Since(at).Abs() > 5*time.Second {
		t.Errorf("the slow machine says that it is %s", slow)
	}
}

// TestMishapIsTheirsWhoAreIn: of machines 20 s apart, one records a change and
// the other a mishap at the stand the moment after. It is the mishap of the
// rolls that are in.
func TestMishapIsTheirsWhoAreIn(t *testing.T) {
	t.Parallel()
	s := skewed(t, pgtest.DSN(t), 20*time.Second, -20*time.Second)
	s[0].mill()
	for i, set := range []string{"A", "B", "C", "D"} {
		s[0].set(set, "work", 700, hourAgo)
		s[i%2].must("/v1/changes", change("F1", "work", set, time.Time{}))
		r := s[1-i%2].must("/v1/incidents", `{"what":"bruise","stand":"F1"}`)
		var rolls []string
		for _, one := range r.field("rolls").([]any) {
			rolls = append(rolls, one.(string))
		}
		slices.Sort(rolls)
		if want := []string{set + "B", set + "T"}; !slices.Equal(rolls, want) {
			t.Errorf("the mishap was booked on %v, in the stand were %v", rolls, want)
		}
	}
}

// TestNobodyIsRefusedForTheMoment has machines with differing clocks change the
// sets of two stands at the same time, without a moment. A change may be refused
// because its set is elsewhere, and never as dated before another entry.
func TestNobodyIsRefusedForTheMoment(t *testing.T) {
	t.Parallel()
	s := skewed(t, pgtest.DSN(t), 0, 7*time.Second, -45*time.Second)
	s[0].mill()
	sets := []string{"A", "B", "C", "D"}
	for _, set := range sets {
		s[0].set(set, "work", 700, hourAgo)
	}
	var g sync.WaitGroup
	var mu sync.Mutex
	said := map[string]int{}
	for i := range 6 {
		g.Go(func() {
			random := rand.New(rand.NewPCG(uint64(i), 1))
			for range 10 { // a set may go in 20 times before it is ground
				stand := []string{"F1", "F2"}[random.IntN(2)]
				r := s[i%3].post("/v1/changes", change(stand, "work", sets[random.IntN(4)], time.Time{}))
				mu.Lock()
				said[fmt.Sprint(r.status)]++
				mu.Unlock()
				if r.status != 201 && !holdsAny(r.detail(), "already", "is in F1", "is in F2") {
					t.Errorf("a change was refused: %s", r)
				}
			}
		})
	}
	g.Wait()
	t.Logf("%v", said)
	if said["201"] < 10 {
		t.Errorf("few changes were taken: %v", said)
	}
	if err := s[0].service.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}

// TestYearOneIsRefused: a moment that nobody can mean, which programs send for
// an empty one, is not taken for now.
func TestYearOneIsRefused(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, database string) {
		s := open(t, plain(database))
		s.mill()
		s.roll("R", "work", 700, hourAgo)
		for path, body := range map[string]string{
			"/v1/rolls/R/holds":    `{"reason":"a crack","at":"0001-01-01T00:00:00Z"}`,
			"/v1/rolls/R/regrinds": `{"found_mm":700,"ground_mm":699,"purpose":"wear","at":"0001-01-01T00:00:00+00:00"}`,
			"/v1/rolls":            receipt("N", "work", 700, time.Time{}),
			"/v1/incidents":        `{"what":"bruise","roll":"R","at":"1601-01-01T00:00:00Z"}`,
		} {
			if r := s.post(path, body); r.status != 400 {
				t.Errorf("POST %s %s: %s", path, body, r)
			}
		}
	})
}
