package record

import (
	"context"
	"fmt"
	"sort"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// PieceStatus is what became of a piece sent.
type PieceStatus string

// The statuses.
const (
	PieceStored    PieceStatus = "stored"
	PieceDuplicate PieceStatus = "duplicate" // source and id were there: harmless
	PieceRefused   PieceStatus = "refused"
)

// PieceAnswer answers for one piece of a group.
type PieceAnswer struct {
	Status   PieceStatus
	Err      error // why it was refused
	Warnings []string
}

// Pieces lists rolled pieces, newest first.
func (a *Recorder) Pieces(ctx context.Context, millName string, p port.Page) (items []mill.Piece, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Pieces(millName, p)
		return err
	})
	return items, next, err
}

// ImportPieces keeps a group of rolled pieces in one transaction and books what
// they did to the rolls that were mounted at their time, late ones too. A piece
// that cannot be is refused by itself; the others stand.
func (a *Recorder) ImportPieces(ctx context.Context, call port.Call, pieces []mill.Piece) ([]PieceAnswer, error) {
	var answers []PieceAnswer
	err := a.store.Write(ctx, func(w port.Writer) error {
		now, err := a.clock.In(w)
		if err != nil {
			return err
		}
		answers = make([]PieceAnswer, len(pieces))
		in := &ingest{Stays: gather.NewStays(w, a.models, now), app: a, ctx: ctx, w: w, call: call, additions: map[int64]duty.Usage{}}
		good, err := in.sift(pieces, answers)
		if err != nil || len(good) == 0 {
			return err
		}
		if err := in.prepare(pieces, good); err != nil {
			return err
		}
		good = in.siftGrooves(pieces, good, answers)
		fresh, err := in.keep(pieces, good, answers)
		if err != nil {
			return err
		}
		return in.load(pieces, fresh, answers)
	})
	return answers, err
}

// ingest is the work on one group.
type ingest struct {
	*gather.Stays
	app       *Recorder
	ctx       context.Context
	w         port.Writer
	call      port.Call
	additions map[int64]duty.Usage
}

// sift checks each piece by itself and gives the indices of those that can be.
func (in *ingest) sift(pieces []mill.Piece, answers []PieceAnswer) ([]int, error) {
	var good []int
	for i := range pieces {
		p := &pieces[i]
		stands, err := in.StandsOf(p.Mill)
		if err != nil && !port.IsKind(err, port.NotFound) {
			return nil, err
		}
		if err == nil {
			p.Complete()
			if err = p.Check(stands); err == nil {
				err = p.CheckKind(in.Mills[p.Mill].Kind)
			}
		} else {
			err = refusal.One("mill", p.Mill, "is not a mill", "see the mills", next.ListMills())
		}
		if err == nil && !port.MayRecordIn(in.ctx, p.Mill) {
			err = port.Fail(port.Forbidden, "this token may not record in the mill %s", p.Mill)
		}
		if err == nil && p.RolledAt.After(in.Now.Add(port.ClockSkew)) {
			err = refusal.One("rolled_at", p.RolledAt.Format(time.RFC3339), "is in the future", "check the clock that wrote it")
		}
		if err != nil {
			if !port.IsKind(err, port.Forbidden) {
				err = port.Refused(err)
			}
			answers[i] = PieceAnswer{Status: PieceRefused, Err: err}
			continue
		}
		good = append(good, i)
	}
	return good, nil
}

// keep stores the good pieces and gives those that were new, by time.
func (in *ingest) keep(pieces []mill.Piece, good []int, answers []PieceAnswer) ([]int, error) {
	batch := make([]mill.Piece, len(good))
	for i, g := range good {
		batch[i] = pieces[g]
	}
	isNew, err := in.w.InsertPieces(batch)
	if err != nil {
		return nil, err
	}
	var fresh []int
	for i, g := range good {
		answers[g].Status = PieceDuplicate
		if isNew[i] {
			answers[g].Status = PieceStored
			fresh = append(fresh, g)
		}
	}
	sort.SliceStable(fresh, func(i, j int) bool { return pieces[fresh[i]].RolledAt.Before(pieces[fresh[j]].RolledAt) })
	return fresh, nil
}

// load books what the new pieces did.
func (in *ingest) load(pieces []mill.Piece, fresh []int, answers []PieceAnswer) error {
	if len(fresh) == 0 {
		return nil
	}
	var overloads []overload
	for _, i := range fresh {
		if err := in.w.Err(); err != nil { // whoever sent them has left
			return err
		}
		for k := range pieces[i].Passes {
			found, warnings, err := in.pass(pieces[i], k)
			if err != nil {
				return err
			}
			overloads = append(overloads, found...)
			answers[i].Warnings = append(answers[i].Warnings, warnings...)
		}
	}
	if err := in.w.AddUsage(in.additions); err != nil {
		return err
	}
	if err := in.Reheat(in.Now); err != nil {
		return err
	}
	if err := in.w.PutDamage(in.Settle()); err != nil {
		return err
	}
	if err := in.forgetTaken(); err != nil {
		return err
	}
	return in.enterOverloads(overloads)
}

// prepare locks the stands the pieces went through and reads who was in them.
func (in *ingest) prepare(pieces []mill.Piece, good []int) error {
	names := map[string]bool{}
	earliest, latest := pieces[good[0]].RolledAt, pieces[good[0]].RolledAt
	for _, i := range good {
		if pieces[i].RolledAt.Before(earliest) {
			earliest = pieces[i].RolledAt
		}
		if pieces[i].RolledAt.After(latest) {
			latest = pieces[i].RolledAt
		}
		for _, pass := range pieces[i].Passes {
			names[pass.Stand] = true
		}
	}
	stands := make([]string, 0, len(names))
	for name := range names {
		stands = append(stands, name)
	}
	sort.Strings(stands)
	if err := in.w.LockStands(stands); err != nil {
		return err
	}
	var err error
	if in.Mountings, err = in.w.MountingsBetween(stands, earliest, latest); err != nil {
		return err
	}
	if in.Practices, err = gather.AllPractices(in.w); err != nil {
		return err
	}
	var numbers []string
	for _, m := range in.Mountings {
		numbers = append(numbers, m.Roll)
	}
	// Their totals, their damage and their books are read, added to and written:
	// other stands may have had the same rolls, and others import for those.
	if err := in.w.LockRolls(numbers); err != nil {
		return err
	}
	rows, err := in.w.RollsByNumber(numbers)
	in.Rolls = map[string]port.RollRow{}
	for _, row := range rows {
		in.Rolls[row.State.Roll.Number] = row
	}
	if err != nil {
		return err
	}
	in.Damage, err = gather.ReadDamage(in.w, rows)
	return err
}

// overload is a force over the stand's limit and the rolls that bore it.
type overload struct {
	stand mill.Stand
	piece mill.Piece
	rolls []string
}

// pass books pass k of a piece on the rolls mounted at its time.
func (in *ingest) pass(piece mill.Piece, k int) ([]overload, []string, error) {
	pass := piece.Passes[k]
	taken, err := in.Take(piece, k)
	load, mounted := taken.Load, taken.Mounted
	switch {
	case err != nil:
		return nil, nil, err
	case len(mounted) == 0:
		return nil, []string{fmt.Sprintf("no roll was in %s on %s: its tonnes are booked to no roll", pass.Stand, piece.RolledAt.Format(time.RFC3339))}, nil
	case taken.Refused != nil:
		return nil, []string{fmt.Sprintf("%s: what this piece did to the rolls cannot be computed: %v", pass.Stand, taken.Refused)}, nil
	}
	for i, m := range mounted {
		u := in.additions[m.ID]
		u.Add(load.Rolls[i])
		in.additions[m.ID] = u
	}
	if !load.Overload {
		return nil, load.Warnings, nil
	}
	o := overload{stand: in.Stands[piece.Mill][pass.Stand], piece: piece}
	for _, m := range mounted {
		o.rolls = append(o.rolls, m.Roll)
	}
	return []overload{o}, load.Warnings, nil
}

// enterOverloads writes each force over the limit into the books of the rolls
// that bore it: an inspection is then owed.
func (in *ingest) enterOverloads(overloads []overload) error {
	for _, o := range overloads {
		note := overloadNote(o.stand, o.piece)
		incident := port.IncidentRow{Name: in.app.ids.Name("incident"), What: roll.Overload, Stand: o.stand.Name, At: o.piece.RolledAt, Rolls: o.rolls, By: in.call.Actor, Note: note}
		if err := in.w.LockRolls(o.rolls); err != nil {
			return err
		}
		for _, number := range o.rolls {
			row, err := in.w.Roll(number)
			if err != nil {
				return err
			}
			body := roll.Incident{Name: incident.Name, What: roll.Overload, Stand: o.stand.Name, Note: note}
			if _, err := in.app.enter(in.w, row, in.call, o.piece.RolledAt, in.Now, "", body); err != nil {
				return err
			}
		}
		if err := in.w.CreateIncident(incident); err != nil {
			return err
		}
	}
	return nil
}

// forgetTaken drops what rolls are known to have taken into stays after one that
// bore a piece late: it was more.
func (in *ingest) forgetTaken() error {
	for number, since := range in.Late() {
		took, err := in.w.StayDamage(number)
		if err != nil {
			return err
		}
		before := len(took)
		if before == 0 {
			continue
		}
		rows, err := gather.MountingsOf(in.w, number)
		if err != nil {
			return err
		}
		for _, m := range rows {
			if m.MountedAt.After(since) {
				delete(took, m.ID)
			}
		}
		if len(took) == before {
			continue
		}
		if err := in.w.PutStayDamage(number, took); err != nil {
			return err
		}
	}
	return nil
}
