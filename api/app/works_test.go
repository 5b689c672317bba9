package app_test

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"barrelbook/api/app"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/store"
	"barrelbook/api/store/filetest"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// clock is a clock the test sets.
type clock struct{ now time.Time }

func (c *clock) Now() time.Time { return c.now }

func (c *clock) In(port.Writer) (time.Time, error) { return c.now, nil }

// names counts.
type names struct{ given atomic.Int64 }

func (n *names) Name(prefix string) string { return fmt.Sprintf("%s-%06d", prefix, n.given.Add(1)) }

// works is a mill of these tests on a database of its own: invented.
type works struct {
	*app.App
	t     testing.TB
	ctx   context.Context
	clock *clock
	store *store.Store
	path  string // of the data file
	told  map[string]bool
}

var start = time.Date(2031, 3, 3, 6, 0, 0, 0, time.UTC)

func newWorks(t testing.TB) *works {
	t.Helper()
	path := filetest.Path(t)
	s, err := store.OpenSQLite(context.Background(), path, store.Options{Migrate: true, Volatile: true})
	if err != nil {
		t.Fatal(err)
	}
	return worksOn(t, s, path)
}

func worksOn(t testing.TB, s *store.Store, path string) *works {
	t.Helper()
	t.Cleanup(func() { _ = s.Close() })
	c := &clock{now: start}
	w := &works{App: app.New(s, c, &names{}, "test"), t: t, ctx: context.Background(), clock: c, store: s, path: path, told: map[string]bool{}}
	_, err := w.CreateMill(w.ctx, engineer, mill.Mill{Name: "hot", Kind: mill.HotStrip, Title: "Hot strip mill"})
	w.must(err)
	_, err = w.CreateGrade(w.ctx, engineer, port.Grade{Name: "steel", Family: "forged_steel", Title: "Steel"})
	w.must(err)
	w.askNothing()
	return w
}

// askNothing has every mill ask no test and no measure, so that what these tests
// are about is not held up by a release; that has tests of its own.
func (w *works) askNothing() {
	w.t.Helper()
	values := map[practice.Key]float64{}
	for _, k := range practice.Asks() {
		values[k] = 0
	}
	_, err := w.CreatePractice(w.ctx, engineer, practice.Practice{Name: "asks-nothing", Values: values})
	w.must(err)
}

var engineer = port.Call{Actor: "engineer", Role: port.Engineer}

func (w *works) must(err error) {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
}

// stand adds a four-high finishing stand.
func (w *works) stand(name string, order int) {
	w.t.Helper()
	_, err := w.CreateStand(w.ctx, engineer, mill.Stand{Name: name, Mill: "hot", Order: order, Arrangement: mill.FourHigh, MaxForceKN: 30000, MinRPM: 20, MaxRPM: 600})
	w.must(err)
}

// roll receives a ground roll that may serve the stands named, all when none is.
func (w *works) roll(number string, role mill.Role, mm float64, stands ...string) {
	w.t.Helper()
	r := roll.Roll{Number: number, Role: role, Grade: "steel", NewDiameter: quantity.Micrometre(mm * 1000), BarrelLength: 1_780_000,
		BearingSpan: 2_800_000, NeckDiameter: 400_000, Scrap: roll.ScrapLimits{Nominal: 640_000}}
	if role == mill.Backup {
		r.NeckDiameter, r.Scrap.Nominal = 900_000, 1_350_000
	}
	_, err := w.ReceiveRoll(w.ctx, engineer, w.clock.now, roll.Received{Roll: r, Mill: "hot", Stands: stands, Diameter: r.NewDiameter, Ground: true})
	w.must(err)
}

// set receives two rolls and builds them into a set.
func (w *works) set(name string, role mill.Role, mm float64, stands ...string) {
	w.t.Helper()
	w.roll(name+"-T", role, mm, stands...)
	w.roll(name+"-B", role, mm-0.05, stands...)
	_, err := w.BuildSet(w.ctx, engineer, record.SetInput{Name: name, At: w.clock.now, Top: name + "-T", Bottom: name + "-B"})
	w.must(err)
}

func (w *works) mount(stand string, role mill.Role, set string) {
	w.t.Helper()
	_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: stand, Role: role, At: w.clock.now, SetIn: set})
	w.must(err)
}

// coil is a piece of 20 t through the stands named, thinner at each.
func coil(id string, width float64, stands ...string) mill.Piece {
	p := mill.Piece{ID: id, Mill: "hot", MassT: 20, WidthMM: width, EntryThicknessMM: 36, Block: id[:1]}
	h := 36.0
	for _, s := range stands {
		h *= 0.7
		p.Passes = append(p.Passes, mill.Pass{Stand: s, ExitThicknessMM: h, ForceKN: 10 * width, TemperatureC: 950})
	}
	p.Passes[len(p.Passes)-1].SpeedMPerS = 8
	return p
}

// campaign loads a programme of n coils.
func (w *works) campaign(name string, n int, stops []mill.PlannedStop, stands ...string) {
	w.t.Helper()
	p := mill.Programme{Name: name, Mill: "hot", Stops: stops}
	for i := range n {
		p.Pieces = append(p.Pieces, coil(fmt.Sprintf("%c%03d", 'A'+i/25, i+1), 1500-20*float64(i/25), stands...))
	}
	_, err := w.LoadCampaign(w.ctx, engineer, p)
	w.must(err)
}

// roll pieces: n coils one every two minutes from now on, and the clock moves.
func (w *works) rollCoils(from, n int, stands ...string) []record.PieceAnswer {
	w.t.Helper()
	var pieces []mill.Piece
	for i := range n {
		w.clock.now = w.clock.now.Add(2 * time.Minute)
		p := coil(fmt.Sprintf("R%04d", from+i), 1400, stands...)
		p.Source, p.RolledAt = "mill", w.clock.now.Add(-time.Second) // before what is done next
		pieces = append(pieces, p)
	}
	answers, err := w.ImportPieces(w.ctx, engineer, pieces)
	w.must(err)
	for _, a := range answers {
		if a.Status != record.PieceStored {
			w.t.Fatalf("a piece was %s: %v", a.Status, a.Err)
		}
	}
	return answers
}
