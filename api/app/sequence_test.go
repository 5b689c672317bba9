package app_test

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/store"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// happening is one thing that happened in the works, at a moment.
type happening struct {
	name  string
	at    time.Time
	stand string // of a change
	set   string
	grind bool
	tell  func(w *works) error
	// slip tells it wrongly first, and rights it; nil where it is told right.
	slip func(w *works) error
}

// sequenceWorks has two stands with their backup rolls and four sets of work
// rolls. Without beams the load lies evenly, and nothing hangs on how pieces are
// grouped.
func sequenceWorks(w *works, beams bool) *works {
	w.practice("quick", practice.Scope{}, map[practice.Key]float64{practice.CoolingH: 0, practice.CampaignsBetweenGrind: 2})
	receive := func(set string, role mill.Role, mm float64) {
		for _, end := range []string{"-T", "-B"} {
			r := roll.Roll{Number: set + end, Role: role, Grade: "steel", NewDiameter: quantity.Micrometre(mm * 1000), BarrelLength: 1_780_000, Scrap: roll.ScrapLimits{Nominal: quantity.Micrometre(mm*1000) - 100_000}}
			if beams {
				r.BearingSpan, r.NeckDiameter = 2_800_000, quantity.Micrometre(mm*600)
			}
			w.must(second(w.ReceiveRoll(w.ctx, engineer, start, roll.Received{Roll: r, Mill: "hot", Diameter: r.NewDiameter, Ground: true})))
		}
		w.must(second(w.BuildSet(w.ctx, engineer, record.SetInput{Name: set, At: start, Top: set + "-T", Bottom: set + "-B"})))
	}
	for i, stand := range []string{"F5", "F6"} {
		w.stand(stand, 5+i)
		receive("BU"+stand, mill.Backup, 1480)
	}
	for i, set := range []string{"A", "B", "C", "D"} {
		receive(set, mill.Work, 720-float64(i))
	}
	w.pass(time.Hour)
	for _, stand := range []string{"F5", "F6"} {
		w.mount(stand, mill.Backup, "BU"+stand)
	}
	return w
}

// drawTruth draws what happens, one thing each half hour.
func drawTruth(t *rapid.T) []happening {
	in := map[string]string{}     // set by stand
	worn := map[string]int{}      // stays since ground
	out := map[string]time.Time{} // when it came out
	var truth []happening
	for i := range rapid.IntRange(6, 18).Draw(t, "happenings") {
		at := start.Add(time.Hour + time.Duration(i+1)*30*time.Minute)
		add := func(name string, tell func(w *works) error) {
			truth = append(truth, happening{name: name, at: at, tell: tell})
		}
		stand := rapid.SampledFrom([]string{"F5", "F6"}).Draw(t, "stand")
		switch rapid.SampledFrom([]string{"pieces", "pieces", "change", "change", "grind"}).Draw(t, "what") {
		case "pieces":
			var pieces []mill.Piece
			for k := range rapid.IntRange(1, 3).Draw(t, "pieces") {
				p := coil(fmt.Sprintf("P%d-%d", i, k), rapid.SampledFrom([]float64{1100, 1400}).Draw(t, "width"), "F5", "F6")
				p.Source, p.RolledAt = "mill", at.Add(time.Duration(k)*2*time.Minute)
				p.Passes[0].SpeedMPerS = 6
				pieces = append(pieces, p)
			}
			add("pieces", func(w *works) error { return second(w.ImportPieces(w.ctx, engineer, slices.Clone(pieces))) })
		case "change":
			var free []string
			for _, set := range []string{"A", "B", "C", "D"} {
				if in["F5"] != set && in["F6"] != set && worn[set] < 2 {
					free = append(free, set)
				}
			}
			if in[stand] != "" {
				free = append(free, "") // or none
			}
			if len(free) == 0 {
				continue
			}
			set := rapid.SampledFrom(free).Draw(t, "set")
			change := record.ChangeInput{Stand: stand, Role: mill.Work, SetIn: set, At: at}
			add("change of "+stand+" to "+set, func(w *works) error { return second(w.RecordChange(w.ctx, engineer, change)) })
			slip := rapid.IntRange(0, 3).Draw(t, "slip")
			truth[len(truth)-1].stand, truth[len(truth)-1].set = stand, set
			truth[len(truth)-1].slip = map[int]func(w *works) error{
				1: func(w *works) error { return slipOfMoment(w, change) },
				2: func(w *works) error { return slipOfSet(w, change) },
			}[slip]
			if old := in[stand]; old != "" {
				worn[old]++
				out[old] = at
			}
			in[stand] = set
		case "grind":
			for _, set := range []string{"A", "B", "C", "D"} {
				if in["F5"] == set || in["F6"] == set || worn[set] == 0 {
					continue
				}
				worn[set] = 0
				wear := rapid.IntRange(10, 60).Draw(t, "wear")
				round := len(truth)
				add("grind of "+set, func(w *works) error { return grindSet(w, set, at, wear, round, 0) })
				truth[round].grind = true
				if rapid.Bool().Draw(t, "misread") {
					truth[round].slip = func(w *works) error { return grindSet(w, set, at, wear, round, 150) }
				}
				break
			}
		}
	}
	return truth
}

// slipOfMoment tells a change at a wrong moment, and then when it was.
func slipOfMoment(w *works, in record.ChangeInput) error {
	truly := in.At
	in.At = truly.Add(-7 * time.Minute)
	v, err := w.RecordChange(w.ctx, engineer, in)
	if err != nil {
		return err
	}
	if _, err = w.CorrectChange(w.ctx, engineer, v.Name, truly, "read off the wrong line"); err != nil {
		w.must(second(w.UndoChange(w.ctx, engineer, v.Name, "not at that moment")))
	}
	return err
}

// slipOfSet tells of a change that never was, takes it back, and tells the right
// one.
func slipOfSet(w *works, in record.ChangeInput) error {
	wrong := in
	wrong.At = in.At.Add(11 * time.Minute)
	if wrong.SetIn = "D"; in.SetIn == "D" {
		wrong.SetIn = "C"
	}
	if v, err := w.RecordChange(w.ctx, engineer, wrong); err == nil {
		if _, err := w.UndoChange(w.ctx, engineer, v.Name, "it never was"); err != nil {
			return fmt.Errorf("taking back what was just told: %w", err)
		}
	}
	return second(w.RecordChange(w.ctx, engineer, in))
}

// grindSet grinds both rolls of a set; misread by so many micrometres first, and
// then corrected.
func grindSet(w *works, set string, at time.Time, wear, round, misread int) error {
	for _, end := range []string{"-T", "-B"} {
		if w.told[fmt.Sprint(set, end, at)] {
			continue
		}
		// Each grind has its own diameters, so that it does not hang on what was told
		// before.
		last := quantity.Micrometre(720_000 - 1000*(int(set[0])-'A') - 400*round)
		in := grind(last-quantity.Micrometre(wear), last-300)
		in.At = at
		if misread != 0 {
			in.Ground -= quantity.Micrometre(misread)
		}
		a, err := w.RecordRegrind(w.ctx, engineer, set+end, in)
		if err != nil {
			return err
		}
		w.told[fmt.Sprint(set, end, at)] = true
		if misread == 0 {
			continue
		}
		in.Ground += quantity.Micrometre(misread)
		if _, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: set + end, Entry: a.Entry, Reason: "misread", Regrind: instead(in)}); err != nil {
			return err
		}
	}
	return nil
}

// inTime tells everything when it happens.
func inTime(w *works, truth []happening) {
	w.t.Helper()
	for _, h := range truth {
		w.clock.now = h.at.Add(15 * time.Minute)
		if err := h.tell(w); err != nil {
			w.t.Fatalf("%s at %s, told in time: %v", h.name, h.at, err)
		}
	}
}

// inAnyOrder tells some things late and some wrongly at first. What the books do
// not bear yet waits for what it rests on.
func inAnyOrder(w *works, truth []happening, delays []int, slips bool) {
	w.t.Helper()
	type told struct {
		happening
		when int
	}
	queue := make([]told, len(truth))
	for i, h := range truth {
		queue[i] = told{h, i + delays[i]}
	}
	slices.SortStableFunc(queue, func(a, b told) int { return cmp.Compare(a.when, b.when) })
	latest := start.Add(time.Hour)
	var waiting []told
	var refusals []string
	// A roll is ground when the shop has it back: the changes before it are told by
	// then. That a stay was before a grind in the books cannot be told in two halves.
	untold := map[time.Time]bool{}
	for _, h := range truth {
		if h.stand != "" {
			untold[h.at] = true
		}
	}
	try := func(h told) bool {
		for at := range untold {
			if h.grind && at.Before(h.at) {
				return false
			}
		}
		if end := h.at.Add(15 * time.Minute); end.After(latest) {
			latest = end
		}
		w.clock.now = latest
		tell := h.tell
		if slips && h.slip != nil {
			tell = h.slip
		}
		err := tell(w)
		if err == nil {
			delete(untold, h.at)
			return true
		}
		refusals = append(refusals, fmt.Sprintf("%s at %s: %v", h.name, h.at, err))
		return false
	}
	settle := func() {
		for again := true; again; {
			again, refusals = false, nil
			waiting = slices.DeleteFunc(waiting, func(h told) bool {
				done := try(h)
				again = again || done
				return done
			})
		}
	}
	for _, h := range queue {
		waiting = append(waiting, h)
		settle()
	}
	// Two changes that only together fit before a third wait until it is undone.
	for len(waiting) > 0 {
		h := slices.MinFunc(waiting, func(a, b told) int { return a.at.Compare(b.at) })
		next, ok := w.changeAfter(h.happening)
		if !ok {
			break
		}
		w.must(second(w.UndoChange(w.ctx, engineer, next.Name, "told again after those before it")))
		i := slices.IndexFunc(truth, func(o happening) bool { return o.stand == next.Stand && o.at.Equal(next.At) })
		waiting = append(waiting, told{truth[i], 0})
		untold[next.At] = true
		if refusals = nil; try(h) {
			waiting = slices.DeleteFunc(waiting, func(o told) bool { return o.at.Equal(h.at) })
			slices.SortFunc(waiting, func(a, b told) int { return a.at.Compare(b.at) })
			settle()
		}
	}
	if len(waiting) > 0 {
		w.t.Fatalf("never taken: %s", strings.Join(refusals, "\n"))
	}
	w.clock.now = truth[len(truth)-1].at.Add(15 * time.Minute)
}

// changeAfter is the last change in the books at the stand of one that waits, or
// at one that its set went into later.
func (w *works) changeAfter(h happening) (port.ChangeRow, bool) {
	w.t.Helper()
	list, _, err := w.Changes(w.ctx, "", port.Page{Limit: 200})
	w.must(err)
	list = slices.DeleteFunc(list, func(c port.ChangeRow) bool {
		return h.stand == "" || c.Role != mill.Work || !c.UndoneAt.IsZero() || !c.At.After(h.at)
	})
	for _, c := range list { // newest first
		if c.Stand == h.stand || c.SetIn == h.set && h.set != "" {
			return list[slices.IndexFunc(list, func(newest port.ChangeRow) bool { return newest.Stand == c.Stand })], true
		}
	}
	return port.ChangeRow{}, false
}

// shopState is all that is derived from what was told, but for numbers of entries
// and moments of writing.
type shopState struct {
	Rolls   map[string]roll.State
	Borne   map[string][]stayState
	Totals  map[string]stayState
	Damage  map[string]float64
	Heat    map[string]float64 // crown of mounted rolls, µm
	Sets    map[string]string
	Changes []string
	Rates   map[string]float64
}

type stayState struct {
	Stand           string
	From, To        time.Time
	Diameter        quantity.Micrometre
	Pieces          int64
	T, KM, Turns    float64
	Exposure        float64
	Force, Pressure float64
	Deepest         float64
}

func (w *works) state() shopState {
	w.t.Helper()
	s := shopState{Rolls: map[string]roll.State{}, Borne: map[string][]stayState{}, Totals: map[string]stayState{}, Damage: map[string]float64{}, Heat: map[string]float64{}, Sets: map[string]string{}, Rates: map[string]float64{}}
	rolls, _, err := w.Rolls(w.ctx, port.RollFilter{}, port.Page{Limit: 100})
	w.must(err)
	for _, row := range rolls {
		state := row.State
		number := state.Roll.Number
		state.Entries, state.Marks, state.LastRegrind = 0, roll.Marks{}, nil
		for i := range state.Tested {
			state.Tested[i].Entry = 0
		}
		state.FireCracks = roll.FireCracks{}
		s.Rolls[number] = state
		s.Totals[number] = stayOf(port.Stay{Usage: row.Totals})
		mountings, _, err := w.Mountings(w.ctx, number, port.Page{Limit: 100})
		w.must(err)
		for _, m := range mountings {
			s.Borne[number] = append(s.Borne[number], stayOf(m))
		}
		if d := w.view(number).Damage; d != nil {
			s.Damage[number] = d.Worst
		}
	}
	w.must(w.store.Read(w.ctx, func(r port.Reader) error {
		for number, state := range s.Rolls {
			rows, err := r.Damage([]string{number})
			if err != nil {
				return err
			}
			if len(rows) > 0 && state.Stage == roll.StageMounted && rows[0].ThermalAt.After(state.MountedAt) {
				at := rows[0].ThermalAt.Format(" 15:04:05")
				if rows[0].Thermal.CrownUM() == 0 { // as cold at one moment as at another
					at = ""
				}
				s.Heat[number+at] = rows[0].Thermal.CrownUM()
			}
		}
		return nil
	}))
	sets, _, err := w.Sets(w.ctx, port.SetFilter{}, nil, port.Page{Limit: 100})
	w.must(err)
	for _, set := range sets {
		s.Sets[set.Name] = set.Stand
	}
	changes, _, err := w.Changes(w.ctx, "", port.Page{Limit: 200})
	w.must(err)
	for _, c := range changes {
		if c.UndoneAt.IsZero() {
			s.Changes = append(s.Changes, fmt.Sprintf("%s %s %s: %s to %s, %s", c.At, c.Stand, c.Role, c.SetOut, c.SetIn, c.Why))
		}
	}
	slices.Sort(s.Changes)
	rates, err := w.CurrentWearRates(w.ctx)
	w.must(err)
	for _, m := range rates.Mills {
		for _, c := range m.Cells {
			s.Rates[string(m.Role)+" "+c.Stand] = c.RateUMPerKM
		}
	}
	return s
}

func stayOf(m port.Stay) stayState {
	u := m.Usage
	return stayState{m.Stand, m.MountedAt, m.WithdrawnAt, m.Diameter, u.Pieces, u.TonnageT, u.RolledKM, u.Revolutions, u.ExposureKM, u.MaxForceKN, u.MaxPeakPressureMPa, u.DeepestWearUM()}
}

// near compares two states: counts and moments to the letter, sums to rounding,
// what hangs on the load along the barrels to its closeness, which groups of
// pieces move by, and damage by pieces that were told after a grind to a layer.
func near(closeness float64) gocmp.Options {
	const layer = 0.03
	loose := func(a, b float64) bool {
		return math.Abs(a-b) <= max(layer, closeness)*max(math.Abs(a), math.Abs(b))
	}
	warm := func(a, b float64) bool { return math.Abs(a-b) <= 0.01 || loose(a, b) }
	hangs := func(p gocmp.Path) bool {
		name := p.String()
		return strings.HasPrefix(name, "Damage") || strings.HasSuffix(name, "Pressure") || strings.HasSuffix(name, "Deepest")
	}
	heat := func(p gocmp.Path) bool { return strings.HasPrefix(p.String(), "Heat") }
	rates := func(p gocmp.Path) bool { return strings.HasPrefix(p.String(), "Rates") } // found by iteration, from one start or another
	return gocmp.Options{cmpopts.EquateEmpty(), gocmp.FilterPath(hangs, gocmp.Comparer(loose)), gocmp.FilterPath(rates, cmpopts.EquateApprox(1e-4, 1e-9)),
		gocmp.FilterPath(heat, gocmp.Comparer(warm)), gocmp.FilterPath(func(p gocmp.Path) bool { return !hangs(p) && !heat(p) && !rates(p) }, cmpopts.EquateApprox(1e-9, 1e-9))}
}

// TestAnyOrderOfTellingEndsAlike: changes told late, pieces told late, moments,
// sets and diameters told wrongly and righted leave the same rolls, stays, wear,
// damage and learned rates as telling everything in time.
func TestAnyOrderOfTellingEndsAlike(t *testing.T) {
	t.Parallel()
	run := func(t *testing.T, open func(t *testing.T) *works, checks int) {
		seen := 0
		rapid.Check(t, func(r *rapid.T) {
			if seen++; seen > checks {
				return
			}
			beams := rapid.Bool().Draw(r, "beams")
			truth := drawTruth(r)
			if len(truth) == 0 {
				return
			}
			delays := make([]int, len(truth))
			for i := range delays {
				delays[i] = rapid.SampledFrom([]int{0, 0, 1, 2, 5, 20}).Draw(r, "delay")
			}
			first := sequenceWorks(open(t), beams)
			inTime(first, truth)
			any := sequenceWorks(open(t), beams)
			inAnyOrder(any, truth, delays, true)
			closeness := 0.0
			if beams {
				closeness = 0.05
			}
			if diff := gocmp.Diff(first.state(), any.state(), near(closeness)); diff != "" {
				var told strings.Builder
				for i, h := range truth {
					fmt.Fprintf(&told, "%s %s, told %d later, slip %v\n", h.at.Format("15:04"), h.name, delays[i], h.slip != nil)
				}
				r.Fatalf("%sdiffers (-in time +in any order):\n%s", told.String(), diff)
			}
			any.sound()
			first.close()
			any.close()
		})
	}
	t.Run("file", func(t *testing.T) { run(t, func(t *testing.T) *works { return newWorks(t) }, *sequences) })
	t.Run("postgresql", func(t *testing.T) {
		run(t, func(t *testing.T) *works {
			s, err := store.OpenPostgres(context.Background(), pgtest.DSN(t), store.Options{MaxConns: 4})
			if err != nil {
				t.Fatal(err)
			}
			return worksOn(t, s, "")
		}, 2)
	})
}

// sequences bounds the orders tried on files; rapid tries no more than -rapid.checks.
var sequences = flag.Int("sequences", 6, "orders of telling to try")

func (w *works) close() { _ = w.store.Close() }
