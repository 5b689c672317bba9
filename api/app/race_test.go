package app_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"barrelbook/api/app"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/store"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

// both runs a test on a data file and on PostgreSQL, where transactions do not
// wait for one another of themselves.
func both(t *testing.T, name string, test func(t *testing.T, w *works)) {
	t.Run(name+"/file", func(t *testing.T) { test(t, shop(t)) })
	t.Run(name+"/postgresql", func(t *testing.T) {
		s, err := store.OpenPostgres(context.Background(), pgtest.DSN(t), store.Options{MaxConns: 8})
		if err != nil {
			t.Fatal(err)
		}
		test(t, shopOf(worksOn(t, s, "")))
	})
}

// TestChangesRace sends two changes of one stand at once, with different sets
// and with the same one, while the clock stands still. Neither states a moment,
// so neither is refused for it: different sets go in one after the other, and
// the same set goes in once.
func TestChangesRace(t *testing.T) {
	t.Parallel()
	both(t, "NEXT and SPARE", func(t *testing.T, w *works) {
		var g sync.WaitGroup
		for _, set := range []string{"NEXT", "SPARE"} {
			g.Go(func() {
				if _, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: set}); err != nil {
					t.Errorf("%s: %v", set, err)
				}
			})
		}
		g.Wait()
		w.sound()
		w.agree()
	})
	for _, sets := range [][2]string{{"NEXT", "NEXT"}} {
		both(t, sets[0]+" and "+sets[1], func(t *testing.T, w *works) {
			var g sync.WaitGroup
			var errs [2]error
			for i, set := range sets {
				g.Go(func() {
					_, errs[i] = w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: set})
				})
			}
			g.Wait()
			won := slices.Index(errs[:], nil)
			if won < 0 || errs[1-won] == nil {
				t.Fatalf("one must be taken and the other refused: %v", errs)
			}
			if !port.IsKind(errs[1-won], port.Conflicting) {
				t.Errorf("the loser heard %v", errs[1-won])
			}
			stand, err := w.Stand(w.ctx, "F5")
			w.must(err)
			if got := stand.Positions[1].Mounting.Set; got != sets[won] {
				t.Errorf("in F5: %s, want %s", got, sets[won])
			}
			w.sound()
		})
	}
}

// TestRegrindsRace: eight people record eight grinds of one roll at once; each
// that is acknowledged is in the book.
func TestRegrindsRace(t *testing.T) {
	t.Parallel()
	both(t, "eight", func(t *testing.T, w *works) {
		var g sync.WaitGroup
		errs := make([]error, 8)
		for i := range errs {
			g.Go(func() {
				to := 714_900 - 100*quantity.Micrometre(i+1)
				_, errs[i] = w.RecordRegrind(w.ctx, engineer, "FREE", grind(to+50, to))
			})
		}
		g.Wait()
		taken := int64(0)
		for _, err := range errs {
			if err == nil {
				taken++
			} else if !port.IsKind(err, port.Impossible) { // found above what another has ground
				t.Error(err)
			}
		}
		if taken == 0 || w.entries("FREE") != 1+taken {
			t.Errorf("%d acknowledged, %d entries after the receipt", taken, w.entries("FREE")-1)
		}
		w.sound()
	})
}

// ticking is a clock that moves on by a second each time it is read.
type ticking struct {
	sync.Mutex
	now time.Time
}

func (c *ticking) Now() time.Time {
	c.Lock()
	defer c.Unlock()
	c.now = c.now.Add(time.Second)
	return c.now
}

func (c *ticking) In(port.Writer) (time.Time, error) { return c.Now(), nil }

// TestEveryoneAtOnce lets a shop full of people change, undo, grind, test,
// import and report mishaps at random at the same time. Whatever was refused,
// the books replay, who is in a stand is the same in the books, the sets and
// the mountings, and what the rolls bore is what their mountings did.
func TestEveryoneAtOnce(t *testing.T) {
	t.Parallel()
	both(t, "shop", func(t *testing.T, w *works) {
		// No time to cool, and many campaigns between grinds: there is much to do.
		w.practice("quick", practice.Scope{}, map[practice.Key]float64{practice.CoolingH: 0, practice.CampaignsBetweenGrind: 20, practice.PairToleranceUM: 5000})
		w.App = app.New(w.store, &ticking{now: w.clock.now}, &names{}, "test")
		const people, rounds = 6, 25
		var g sync.WaitGroup
		done := make([]map[string]int, people)
		for i := range people {
			g.Go(func() {
				p := person{works: w, rng: rand.New(rand.NewPCG(1, uint64(i))), number: i, done: map[string]int{}}
				for round := range rounds {
					p.act(round)
				}
				done[i] = p.done
			})
		}
		g.Wait()
		total := map[string]int{}
		for _, d := range done {
			for what, n := range d {
				total[what] += n
			}
		}
		t.Logf("acknowledged %v", total)
		for _, what := range []string{"change", "undo", "regrind", "import", "incident", "inspect"} {
			if total[what] == 0 {
				t.Errorf("nobody managed a %s in %d tries: %v", what, people*rounds, total)
			}
		}
		w.sound()
		w.agree()
	})
}

// person does one thing after another.
type person struct {
	*works
	rng    *rand.Rand
	number int
	done   map[string]int
}

func (p *person) act(round int) {
	pick := func(from ...string) string { return from[p.rng.IntN(len(from))] }
	set, stand := pick("OLD", "NEXT", "SPARE"), pick("F5", "F6")
	number := set + pick("-T", "-B")
	what := pick("change", "change", "undo", "regrind", "inspect", "inspect", "import", "incident")
	var err error
	switch what {
	case "change":
		in := record.ChangeInput{Stand: stand, Role: mill.Work, SetIn: set}
		if p.rng.IntN(3) == 0 {
			in.SetIn = ""
		}
		_, err = p.RecordChange(p.ctx, engineer, in)
	case "undo":
		var list []port.ChangeRow
		if list, _, err = p.Changes(p.ctx, stand, port.Page{Limit: 3}); err == nil && len(list) > 0 {
			_, err = p.UndoChange(p.ctx, engineer, list[p.rng.IntN(len(list))].Name, "wrong")
		}
	case "regrind":
		var v record.RollView
		if v, err = p.Roll(p.ctx, number); err == nil {
			_, err = p.RecordRegrind(p.ctx, engineer, number, grind(v.State.Diameter-10, v.State.Diameter-20))
		}
	case "inspect":
		_, err = p.RecordHappening(p.ctx, engineer, record.Happening{Number: number, Body: roll.Inspected{Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}, {Kind: roll.EddyCurrent, Outcome: roll.Passed}}}})
	case "incident":
		_, err = p.RecordIncident(p.ctx, engineer, record.IncidentInput{What: roll.Bruise, Stand: stand})
	case "import":
		now, _ := p.Works(p.ctx)
		_, err = p.ImportPieces(p.ctx, engineer, []mill.Piece{rolled(fmt.Sprintf("p%d-%d", p.number, round), now.Now.Add(-time.Duration(p.rng.IntN(60))*time.Second), "F5", "F6")})
	}
	var refused *port.Error
	switch {
	case err == nil:
		p.done[what]++
	case !errors.As(err, &refused):
		p.t.Errorf("%s: %v", what, err)
	}
}

// agree compares who is where by the books, the sets and the mountings, and
// what the rolls bore with what their mountings did.
func (w *works) agree() {
	w.t.Helper()
	in := map[string]string{}
	for _, name := range []string{"F5", "F6"} {
		v, err := w.Stand(w.ctx, name)
		w.must(err)
		for _, p := range v.Positions {
			if p.Mounting != nil {
				in[p.Mounting.Roll] = name + " " + string(p.Position) + " " + p.Mounting.Set
			}
		}
	}
	rolls, _, err := w.Rolls(w.ctx, port.RollFilter{}, port.Page{Limit: 100})
	w.must(err)
	for _, r := range rolls {
		s, where := r.State, ""
		if s.Stage == roll.StageMounted {
			where = s.Stand + " " + string(s.Position) + " " + s.Set
		}
		if in[s.Roll.Number] != where {
			w.t.Errorf("roll %s is in %q by its book and in %q by the mountings", s.Roll.Number, where, in[s.Roll.Number])
		}
		if s.Set != "" {
			if set, err := w.Set(w.ctx, s.Set); err != nil || set.Stand != s.Stand {
				w.t.Errorf("roll %s is in %q, its set %s in %q (%v)", s.Roll.Number, s.Stand, s.Set, set.Stand, err)
			}
		}
		mountings, _, err := w.Mountings(w.ctx, s.Roll.Number, port.Page{Limit: 1000})
		w.must(err)
		var sum duty.Usage
		for i, m := range mountings {
			sum.Add(m.Usage)
			if i > 0 && (m.WithdrawnAt.IsZero() || m.WithdrawnAt.After(mountings[i-1].MountedAt)) {
				w.t.Errorf("roll %s was in two stands at once: %+v and %+v", s.Roll.Number, m, mountings[i-1])
			}
		}
		if sum.Pieces != r.Totals.Pieces || math.Abs(sum.TonnageT-r.Totals.TonnageT) > 1e-6 || math.Abs(sum.RolledKM-r.Totals.RolledKM) > 1e-6 {
			w.t.Errorf("roll %s bore %d pieces and %g t in all, %d and %g in its mountings", s.Roll.Number, r.Totals.Pieces, r.Totals.TonnageT, sum.Pieces, sum.TonnageT)
		}
	}
}
