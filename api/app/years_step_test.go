package app_test

import (
	"fmt"
	"slices"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// step lets something happen at a stand, and holds what the books must hold.
func (y *years) step(stand string) {
	y.faults.lost = func(what string) { y.said[what]++ }
	switch what := y.random.IntN(20); {
	case what < 7:
		y.rollSome(stand)
	case what < 13:
		y.changeLater(stand)
	case what < 14:
		_, err := send(y, "incident", func(c port.Call) (any, error) {
			return y.RecordIncident(y.ctx, c, record.IncidentInput{What: roll.Bruise, Stand: stand})
		})
		y.must(err)
	case what < 15:
		y.wrongChange(stand)
	case what < 17 && len(y.ready[stand]) > 0:
		y.grindSet(stand, y.ready[stand][len(y.ready[stand])-1])
	case what < 18:
		_, err := send(y, "inspection", func(c port.Call) (any, error) {
			return y.RecordHappening(y.ctx, c, record.Happening{Number: y.in[stand] + "-T", Body: roll.Inspected{Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}}})
		})
		y.must(err)
	default:
		y.replay()
	}
	y.heldAt(stand)
}

// rollSome rolls pieces in both stands within the last hours and sends them in
// any order, some twice.
func (y *years) rollSome(stand string) {
	var group []mill.Piece
	for range 1 + y.random.IntN(4) {
		at := y.clock.now.Add(-time.Duration(y.random.IntN(3600)) * time.Second)
		y.sent++
		p := rolled(fmt.Sprintf("P%06d", y.sent), at, y.stands...)
		p.MassT = 10 + float64(y.random.IntN(20))
		group = append(group, p)
	}
	y.pieces = append(y.pieces, group...)
	if y.random.IntN(4) == 0 {
		group = append(group, y.pieces[y.random.IntN(len(y.pieces))])
		y.said["piece twice"]++
	}
	y.random.Shuffle(len(group), func(i, j int) { group[i], group[j] = group[j], group[i] })
	for {
		answers, err := y.ImportPieces(y.ctx, engineer, slices.Clone(group))
		if port.IsKind(err, port.Unavailable) {
			continue
		}
		y.must(err)
		for i, a := range answers {
			if a.Status != record.PieceStored && a.Status != record.PieceDuplicate {
				y.t.Fatalf("piece %+v was %s: %v", group[i], a.Status, a.Err)
			}
		}
		y.said["piece"] += len(group)
		return
	}
}

// changeLater changes the set. Some changes are recorded hours after, when
// pieces rolled since are in already.
func (y *years) changeLater(stand string) {
	late := time.Duration(0)
	if y.random.IntN(3) == 0 {
		late = time.Duration(1+y.random.IntN(7)) * time.Hour
	}
	last := y.truth[stand][len(y.truth[stand])-1]
	if late > 0 && !last.from.Add(late).Before(y.clock.now.Add(-time.Minute)) {
		late = 0
	}
	y.change(stand, late)
}

// change puts the set that has waited longest in. It happened so long ago.
func (y *years) change(stand string, late time.Duration) {
	for len(y.ready[stand]) == 0 || y.view(y.ready[stand][0]+"-T").State.Stage == roll.StageScrapped {
		if len(y.ready[stand]) > 0 {
			y.ready[stand] = y.ready[stand][1:] // its last grind was too much
		}
		y.buy(stand)
	}
	set := y.ready[stand][0]
	what := "change"
	in := record.ChangeInput{Stand: stand, Role: mill.Work, SetIn: set}
	if late > 0 {
		at := y.clock.now.Add(-late)
		what = "late change"
		in.At = at
		if y.builtOrGroundAfter(set, at) {
			return
		}
	}
	view, err := send(y, what, func(c port.Call) (record.ChangeView, error) { return y.RecordChange(y.ctx, c, in) })
	if port.IsKind(err, port.Conflicting) && y.mustGrind(set) {
		y.ready[stand] = append(y.ready[stand][1:], set)
		y.grindSet(stand, set)
		return
	}
	y.must(err)
	stays := y.truth[stand]
	if out := y.in[stand]; out != "" {
		stays[len(stays)-1].to = view.At
		y.ready[stand] = append(y.ready[stand], out)
	}
	y.ready[stand] = y.ready[stand][1:]
	y.truth[stand], y.in[stand] = append(stays, stay{set: set, from: view.At}), set
}

// builtOrGroundAfter says whether the set was not yet as it is at a moment.
func (y *years) builtOrGroundAfter(set string, at time.Time) bool {
	return !y.view(set+"-T").State.LastAt.Before(at) || !y.view(set+"-B").State.LastAt.Before(at)
}

// mustGrind says whether a set may not go in as it is.
func (y *years) mustGrind(set string) bool {
	s := y.view(set + "-T").State
	return s.CampaignsSinceGrind > 0 || len(s.Owed) > 0
}

// wrongChange records a change that did not happen, and undoes it.
func (y *years) wrongChange(stand string) {
	view, err := send(y, "wrong change", func(c port.Call) (record.ChangeView, error) {
		return y.RecordChange(y.ctx, c, record.ChangeInput{Stand: stand, Role: mill.Work})
	})
	y.must(err)
	_, err = send(y, "undo", func(c port.Call) (record.ChangeView, error) {
		return y.UndoChange(y.ctx, c, view.Name, "another stand")
	})
	y.must(err)
}

// grindSet grinds both rolls, some with a slip that is corrected, some recorded
// after an inspection that followed.
func (y *years) grindSet(stand, set string) {
	for _, number := range []string{set + "-T", set + "-B"} {
		if y.view(number).State.Stage == roll.StageScrapped {
			return
		}
		in, _ := y.grindOf(number)
		in.Tests = []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}, {Kind: roll.EddyCurrent, Outcome: roll.Passed}}
		in.Confirm = "it is so"
		what := "regrind"
		if y.random.IntN(6) == 0 && in.Ground > 701_000 { // nothing follows the grind that scraps a roll
			in.At, what = y.clock.now.Add(-time.Minute), "late regrind"
			if y.view(number).State.LastAt.Before(in.At) {
				_, err := send(y, "inspection", func(c port.Call) (any, error) {
					return y.RecordHappening(y.ctx, c, record.Happening{Number: number, Body: roll.Inspected{Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}}})
				})
				y.must(err)
			} else {
				in.At, what = time.Time{}, "regrind"
			}
		}
		answer, err := send(y, what, func(c port.Call) (record.RegrindAnswer, error) { return y.RecordRegrind(y.ctx, c, number, in) })
		y.must(err)
		if y.random.IntN(8) == 0 && y.view(number).State.Stage != roll.StageScrapped {
			in.Ground -= 10
			_, err := send(y, "correction", func(c port.Call) (any, error) {
				return y.CorrectEntry(y.ctx, c, record.Correction{Number: number, Entry: answer.Entry, Reason: "misread", Regrind: func(r *record.RegrindInput) { r.Ground = in.Ground }})
			})
			y.must(err)
		}
	}
}

// heldAt holds what must be so at a stand after each step: the set that is in is
// in, alone, by the books, the stays and the sets; and the books of its rolls
// replay to what is read of them.
func (y *years) heldAt(stand string) {
	y.t.Helper()
	set := y.in[stand]
	v := answered(y, func() (plan.StandView, error) { return y.Stand(y.ctx, stand) })
	for _, p := range v.Positions {
		if p.Position.Role() == mill.Work && (p.Mounting == nil || p.Mounting.Set != set) {
			y.t.Fatalf("in %s (%s) is %+v, and set %s really", stand, p.Position, p.Mounting, set)
		}
	}
	held := []string{set}
	if n := len(y.ready[stand]); n > 0 { // the one that came out last, and any
		held = append(held, y.ready[stand][n-1], y.ready[stand][y.random.IntN(n)])
	}
	for _, other := range held {
		for _, end := range []string{"-T", "-B"} {
			y.replays(other+end, other == set, stand)
		}
	}
}

// replays compares a book with what is read of its roll.
func (y *years) replays(number string, in bool, stand string) {
	y.t.Helper()
	y.must(y.store.Read(y.ctx, func(r port.Reader) error {
		row, err := r.Roll(number)
		if err != nil {
			return err
		}
		book, err := r.Book(number)
		if err != nil {
			return err
		}
		s, err := roll.Replay(book)
		if err != nil {
			return err
		}
		if diff := cmp.Diff(s, row.State, cmpopts.EquateEmpty()); diff != "" {
			y.t.Fatalf("roll %s: the book replays otherwise (-book +read):\n%s", number, diff)
		}
		if in != (s.Stage == roll.StageMounted) || in && s.Stand != stand {
			y.t.Fatalf("roll %s is %s in %q by its book; in %s: %v", number, s.Stage, s.Stand, stand, in)
		}
		last := time.Time{}
		for _, e := range book {
			if e.RecordedAt.Before(last) || e.At.After(e.RecordedAt) {
				y.t.Fatalf("roll %s: entry %d of %s was recorded on %s, the one before on %s", number, e.Number, e.At, e.RecordedAt, last)
			}
			last = e.RecordedAt
		}
		return nil
	}))
}

// everyBook verifies all that is kept, and holds what each roll bore against the
// pieces that were rolled and who was really in.
func (y *years) everyBook() {
	y.t.Helper()
	y.must(y.store.Verify(y.ctx))
	pieces, tonnes := map[string]int64{}, map[string]float64{}
	for _, p := range y.pieces {
		for _, stand := range y.stands {
			for _, s := range y.truth[stand] {
				if !p.RolledAt.Before(s.from) && (s.to.IsZero() || p.RolledAt.Before(s.to)) {
					pieces[s.set]++
					tonnes[s.set] += p.MassT
				}
			}
		}
	}
	for i := range y.bought {
		set := fmt.Sprintf("S%03d", i+1)
		for _, end := range []string{"-T", "-B"} {
			got := y.view(set + end).Totals
			if got.Pieces != pieces[set] || !sameSum(got.TonnageT, tonnes[set]) {
				y.t.Fatalf("roll %s bore %d pieces and %.3f t by its totals, and %d and %.3f really", set+end, got.Pieces, got.TonnageT, pieces[set], tonnes[set])
			}
		}
	}
	y.said["verified"]++
}
