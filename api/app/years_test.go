package app_test

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"barrelbook/api/app"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/store"
	"barrelbook/api/store/filetest"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

var (
	worksYears = flag.Float64("works-years", 0.12, "works-years to be simulated on each database, in works of a year each")
	worksSeed  = flag.Uint64("works-seed", 0, "its seed; 0 takes one from the clock")
)

// TestWorksYears runs a works with faults, all from one seed: its clients record
// late, send twice and try again, its pieces come out of order, its service loses
// transactions before and after they are kept, and starts again. What the books
// must hold is held at each step.
func TestWorksYears(t *testing.T) {
	t.Parallel()
	seed := *worksSeed
	if seed == 0 {
		seed = uint64(time.Now().UnixNano())
	}
	for name, open := range map[string]func(t *testing.T) (*store.Store, string){
		"file": func(t *testing.T) (*store.Store, string) {
			path := filetest.Path(t)
			s, err := store.OpenSQLite(context.Background(), path, store.Options{Migrate: true, Volatile: true})
			if err != nil {
				t.Fatal(err)
			}
			return s, path
		},
		"postgresql": func(t *testing.T) (*store.Store, string) {
			s, err := store.OpenPostgres(context.Background(), pgtest.DSN(t), store.Options{MaxConns: 4})
			if err != nil {
				t.Fatal(err)
			}
			return s, ""
		},
	} {
		for i, left := uint64(0), *worksYears; left > 0; i, left = i+1, left-1 {
			t.Run(fmt.Sprintf("%s/%d", name, seed+i), func(t *testing.T) {
				t.Parallel()
				s, path := open(t)
				runYears(t, s, path, seed+i, min(left, 1))
			})
		}
	}
}

func runYears(t *testing.T, s *store.Store, path string, seed uint64, long float64) {
	y := &years{works: worksOn(t, s, path), random: rand.New(rand.NewPCG(seed, 7)), truth: map[string][]stay{}, in: map[string]string{}, ready: map[string][]string{}, said: map[string]int{}}
	defer func() {
		t.Logf("seed %d: %.2f works-years, %v", seed, y.clock.now.Sub(start).Hours()/24/365, y.said)
		if t.Failed() {
			t.Logf("run it again with -run TestWorksYears -works-seed %d -works-years %g", seed, long)
		}
	}()
	y.run(time.Duration(long * 365 * 24 * float64(time.Hour)))
}

// years is the works and what really happened in it.
type years struct {
	*works
	random *rand.Rand
	faults *faulty
	stands []string
	ready  map[string][]string // sets that wait for a stand, longest first
	in     map[string]string   // set in each stand
	truth  map[string][]stay   // of each stand
	pieces []mill.Piece
	bought int
	sent   int
	acked  []ack
	said   map[string]int
}

// stay is one set in one stand, as it really was.
type stay struct {
	set      string
	from, to time.Time // to is zero while it is in
}

// ack is a record that was acknowledged: how to send it again, and its answer.
type ack struct {
	again  func() (any, error)
	answer string
	at     time.Time
}

func (y *years) run(long time.Duration) {
	y.faults = &faulty{Store: y.store, random: y.random}
	y.restart()
	y.practice("years", practice.Scope{}, map[practice.Key]float64{practice.CoolingH: 0, practice.CampaignsBetweenGrind: 2, practice.PairToleranceUM: 2000})
	for i, stand := range []string{"F1", "F2"} {
		y.stand(stand, i+1)
		y.stands = append(y.stands, stand)
		for range 4 {
			y.buy(stand)
		}
		y.change(stand, 0)
	}
	y.faults.on = true
	for until := y.clock.now.Add(long); y.clock.now.Before(until); {
		y.pass(time.Duration(1+y.random.IntN(20)) * time.Hour)
		y.step(y.stands[y.random.IntN(len(y.stands))])
		if y.random.IntN(40) == 0 {
			y.restart()
		}
		if y.random.IntN(25) == 0 {
			y.everyBook()
		}
	}
	y.everyBook()
	var missing []string
	for _, what := range []string{"change", "late change", "undo", "regrind", "late regrind", "correction", "incident", "inspection", "piece", "piece twice", "lost answer", "rolled back", "replayed"} {
		if y.said[what] == 0 {
			missing = append(missing, what)
		}
	}
	// Six weeks may by chance go by without one or two of them.
	if few := long < 90*24*time.Hour; !few && len(missing) > 0 || few && long > 30*24*time.Hour && len(missing) > 2 {
		y.t.Errorf("there was no %v: %v", missing, y.said)
	}
}

// restart is a service that begins again: nothing but the database is left.
func (y *years) restart() {
	y.App = app.New(y.faults, y.clock, y.ids(), "test")
}

// ids are names that no start before has given.
func (y *years) ids() *names {
	y.said["start"]++
	n := &names{}
	n.given.Store(int64(y.said["start"]) * 1_000_000)
	return n
}

// record sends a request with a key until it is answered, and keeps the answer.
func send[T any](y *years, what string, do func(port.Call) (T, error)) (T, error) {
	y.sent++
	call := port.Call{Actor: "years", Role: port.Engineer, Operation: what, Key: fmt.Sprintf("k%d", y.sent), Fingerprint: "f"}
	for {
		answer, err := do(call)
		if port.IsKind(err, port.Unavailable) {
			continue
		}
		if err == nil {
			y.said[what]++
			text, err := json.Marshal(answer)
			y.must(err)
			y.acked = append(y.acked, ack{func() (any, error) { return do(call) }, string(text), y.clock.now})
		}
		return answer, err
	}
}

// answered asks until the service answers: what is read may be learned first, and
// that is written.
func answered[T any](y *years, ask func() (T, error)) T {
	y.t.Helper()
	for {
		answer, err := ask()
		if !port.IsKind(err, port.Unavailable) {
			y.must(err)
			return answer
		}
	}
}

// view reads a roll.
func (y *years) view(number string) record.RollView {
	y.t.Helper()
	return answered(y, func() (record.RollView, error) { return y.Roll(y.ctx, number) })
}

// replay sends an old request again: it must be answered as it was.
func (y *years) replay() {
	for len(y.acked) > 1 && y.clock.now.Sub(y.acked[0].at) > record.DefaultKeepAnswers-time.Hour {
		y.acked = y.acked[1:] // forgotten by now, or soon
	}
	old := y.acked[y.random.IntN(len(y.acked))]
	answer, err := old.again()
	if port.IsKind(err, port.Unavailable) {
		return
	}
	y.must(err)
	text, err := json.Marshal(answer)
	y.must(err)
	if string(text) != old.answer {
		y.t.Fatalf("it was answered %s, and %s now", old.answer, text)
	}
	y.said["replayed"]++
}

// buy receives two rolls and builds them into a set for the stand.
func (y *years) buy(stand string) {
	y.bought++
	set := fmt.Sprintf("S%03d", y.bought)
	for _, end := range []string{"-T", "-B"} {
		r := roll.Roll{Number: set + end, Role: mill.Work, Grade: "steel", NewDiameter: 720_000, BarrelLength: 1_780_000, BearingSpan: 2_800_000, NeckDiameter: 400_000, Scrap: roll.ScrapLimits{Nominal: 700_000}}
		_, err := send(y, "receipt", func(c port.Call) (record.RollView, error) {
			return y.ReceiveRoll(y.ctx, c, y.clock.now, roll.Received{Roll: r, Mill: "hot", Stands: []string{stand}, Diameter: r.NewDiameter, Ground: true})
		})
		y.must(err)
	}
	_, err := send(y, "set", func(c port.Call) (any, error) {
		return y.BuildSet(y.ctx, c, record.SetInput{Name: set, Top: set + "-T", Bottom: set + "-B"})
	})
	y.must(err)
	y.ready[stand] = append(y.ready[stand], set)
}

// faulty loses transactions: before they are begun, before they are kept, and
// after, when only the answer is lost.
type faulty struct {
	port.Store
	random *rand.Rand
	on     bool
	lost   func(what string)
}

var errLost = &port.Error{Kind: port.Unavailable, Detail: "the database does not answer"}

func (f *faulty) Write(ctx context.Context, fn func(port.Writer) error) error {
	chance := 1.0
	if f.on {
		chance = f.random.Float64()
	}
	switch {
	case chance < 0.02:
		return errLost
	case chance < 0.05:
		err := f.Store.Write(ctx, func(w port.Writer) error {
			if err := fn(w); err != nil {
				return err
			}
			return errLost
		})
		if errors.Is(err, errLost) {
			f.lost("rolled back")
		}
		return err
	case chance < 0.08:
		if err := f.Store.Write(ctx, fn); err != nil {
			return err
		}
		f.lost("lost answer")
		return errLost
	}
	return f.Store.Write(ctx, fn)
}

func (y *years) grindOf(number string) (record.RegrindInput, quantity.Micrometre) {
	v := y.view(number)
	found := v.State.Diameter - quantity.Micrometre(20+y.random.IntN(60))
	return grind(found, found-quantity.Micrometre(100+y.random.IntN(150))), v.State.Diameter
}

func sameSum(a, b float64) bool { return math.Abs(a-b) <= 1e-6*math.Max(1, math.Abs(b)) }
