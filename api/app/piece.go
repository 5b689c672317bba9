package app

import (
	"context"
	"fmt"
	"sort"
	"time"

	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
	"barrelbook/domain/wear"
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
func (a *App) Pieces(ctx context.Context, millName string, p Page) (items []mill.Piece, next string, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		items, next, err = r.Pieces(millName, p)
		return err
	})
	return items, next, err
}

// ImportPieces keeps a group of rolled pieces in one transaction and books what
// they did to the rolls that were mounted at their time, late ones too. A piece
// that cannot be is refused by itself; the others stand.
func (a *App) ImportPieces(ctx context.Context, call Call, pieces []mill.Piece) ([]PieceAnswer, error) {
	var answers []PieceAnswer
	err := a.store.Write(ctx, func(w Writer) error {
		now := a.clock.Now()
		answers = make([]PieceAnswer, len(pieces))
		in := &ingest{app: a, w: w, r: w, call: call, now: now, stands: map[string]map[string]mill.Stand{}, grades: map[string]Grade{}, setups: map[string]*duty.Stand{}, additions: map[int64]duty.Usage{}, inside: map[int64]*inside{}}
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
	app       *App
	w         Writer
	r         Reader // w, where there is one
	call      Call
	now       time.Time
	stands    map[string]map[string]mill.Stand // by mill, by name
	mills     map[string]mill.Mill
	practices []practice.Practice
	grades    map[string]Grade
	rolls     map[string]RollRow
	mountings []MountingRow
	setups    map[string]*duty.Stand
	additions map[int64]duty.Usage
	damage    map[string]*DamageRow // by roll
	inside    map[int64]*inside     // by mounting
}

// sift checks each piece by itself and gives the indices of those that can be.
func (in *ingest) sift(pieces []mill.Piece, answers []PieceAnswer) ([]int, error) {
	var good []int
	for i := range pieces {
		p := &pieces[i]
		stands, err := in.standsOf(p.Mill)
		if err != nil && !IsKind(err, NotFound) {
			return nil, err
		}
		if err == nil {
			p.Complete()
			if err = p.Check(stands); err == nil {
				err = p.CheckKind(in.mills[p.Mill].Kind)
			}
		} else {
			err = refusal.One("mill", p.Mill, "is not a mill", "see the mills with: barrelbook mill list")
		}
		if err == nil && p.RolledAt.After(in.now.Add(clockSkew)) {
			err = refusal.One("rolled_at", p.RolledAt.Format(time.RFC3339), "is in the future", "check the clock that wrote it")
		}
		if err != nil {
			answers[i] = PieceAnswer{Status: PieceRefused, Err: impossible(err)}
			continue
		}
		good = append(good, i)
	}
	return good, nil
}

func (in *ingest) standsOf(millName string) (map[string]mill.Stand, error) {
	if known, ok := in.stands[millName]; ok {
		return known, nil
	}
	m, err := in.w.Mill(millName)
	if err != nil {
		return nil, err
	}
	list, err := drain(func(p Page) ([]mill.Stand, string, error) { return in.w.Stands(millName, p) })
	if err != nil {
		return nil, err
	}
	byName := map[string]mill.Stand{}
	for _, s := range list {
		byName[s.Name] = s
	}
	if in.mills == nil {
		in.mills = map[string]mill.Mill{}
	}
	in.mills[millName], in.stands[millName] = m, byName
	return byName, nil
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
	if err := in.keepDamage(); err != nil {
		return err
	}
	return in.enterOverloads(overloads)
}

// prepare locks the stands the pieces went through and reads who was in them.
func (in *ingest) prepare(pieces []mill.Piece, good []int) error {
	names := map[string]bool{}
	earliest := pieces[good[0]].RolledAt
	for _, i := range good {
		if pieces[i].RolledAt.Before(earliest) {
			earliest = pieces[i].RolledAt
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
	if in.mountings, err = in.w.MountingsSince(stands, earliest); err != nil {
		return err
	}
	if in.practices, err = allPractices(in.w); err != nil {
		return err
	}
	var numbers []string
	for _, m := range in.mountings {
		numbers = append(numbers, m.Roll)
	}
	rows, err := in.w.RollsByNumber(numbers)
	in.rolls = map[string]RollRow{}
	for _, row := range rows {
		in.rolls[row.State.Roll.Number] = row
	}
	if err != nil {
		return err
	}
	in.damage, err = readDamage(in.w, rows)
	return err
}

// overload is a force over the stand's limit and the rolls that bore it.
type overload struct {
	stand mill.Stand
	piece mill.Piece
	force float64
	rolls []string
}

// pass books pass k of a piece on the rolls mounted at its time.
func (in *ingest) pass(piece mill.Piece, k int) ([]overload, []string, error) {
	pass := piece.Passes[k]
	mounted := in.mountedAt(pass.Stand, piece.RolledAt)
	if len(mounted) == 0 {
		return nil, []string{fmt.Sprintf("no roll was in %s on %s: its tonnes are booked to no roll", pass.Stand, piece.RolledAt.Format(time.RFC3339))}, nil
	}
	setup, err := in.setup(piece.Mill, pass.Stand, mounted)
	if err != nil {
		return nil, nil, err
	}
	in.rest(setup, mounted, piece.RolledAt)
	load, err := setup.Take(piece, k)
	if err != nil {
		// The piece was rolled and is kept; what it did cannot be computed.
		return nil, []string{fmt.Sprintf("%s: what this piece did to the rolls cannot be computed: %v", pass.Stand, err)}, nil
	}
	in.rolled(mounted, piece.RolledAt, duty.RollingMin(pass, load.Rolls[0].RolledKM))
	for i, m := range mounted {
		u := in.additions[m.ID]
		u.Add(load.Rolls[i])
		in.additions[m.ID] = u
	}
	if !load.Overload {
		return nil, load.Warnings, nil
	}
	o := overload{stand: in.stands[piece.Mill][pass.Stand], piece: piece, force: pass.ForceKN}
	for _, m := range mounted {
		o.rolls = append(o.rolls, m.Roll)
	}
	return []overload{o}, load.Warnings, nil
}

// mountedAt gives the mountings of the stand that cover the moment, by place.
func (in *ingest) mountedAt(stand string, at time.Time) []MountingRow {
	var covering []MountingRow
	for _, m := range in.mountings {
		if m.Stand == stand && !at.Before(m.MountedAt) && (m.WithdrawnAt.IsZero() || at.Before(m.WithdrawnAt)) {
			covering = append(covering, m)
		}
	}
	sort.Slice(covering, func(i, j int) bool { return covering[i].Position < covering[j].Position })
	return covering
}

// setup prepares the models for the rolls that are together in a stand, once
// for as long as they are.
func (in *ingest) setup(millName, standName string, mounted []MountingRow) (*duty.Stand, error) {
	key := standName
	for _, m := range mounted {
		key += fmt.Sprintf("/%d", m.ID)
	}
	if s, ok := in.setups[key]; ok {
		return s, nil
	}
	stand := in.stands[millName][standName]
	rolls := make([]duty.Roll, len(mounted))
	for i, m := range mounted {
		grade, err := in.grade(in.rolls[m.Roll].State.Roll.Grade)
		if err != nil {
			return nil, err
		}
		rolls[i] = dutyRoll(in.rolls[m.Roll].State, m, grade, practice.Resolve(in.practices, caseIn(in.rolls[m.Roll].State, stand)))
	}
	s, err := duty.NewStand(stand, in.mills[millName].Density(), rolls)
	if err != nil {
		return nil, err
	}
	in.setups[key] = s
	return s, in.useModels(s, millName, stand, mounted)
}

func (in *ingest) grade(name string) (Grade, error) {
	if g, ok := in.grades[name]; ok {
		return g, nil
	}
	g, err := in.r.Grade(name)
	in.grades[name] = g
	return g, err
}

// dutyRoll is a mounted roll as the models need it.
func dutyRoll(s roll.State, m MountingRow, grade Grade, p practice.InForce) duty.Roll {
	shape := wear.PlainShape()
	if rise := p.Number(practice.EdgeWearFactor) - 1; rise > 0 {
		shape = wear.HotStripShape()
		shape.EdgeRise = rise
	}
	return duty.Roll{
		Number: m.Roll, Position: m.Position, DiameterMM: m.Diameter.MM(), BarrelLengthMM: s.Roll.BarrelLength.MM(),
		ElasticModulusMPa: grade.Modulus(), PoissonRatio: grade.Poisson(),
		GrooveDepthMM: depthsOf(s.Roll.Grooves), GrooveUMPerKT: p.Number(practice.GrooveWearUMPerKT),
		Rate: wear.Rate{UmPerKmAt10: p.Number(practice.WearRateUMPerKM), Exponent: p.Number(practice.WearForceExponent), Shape: shape},
	}
}

// enterOverloads writes each force over the limit into the books of the rolls
// that bore it: an inspection is then owed.
func (in *ingest) enterOverloads(overloads []overload) error {
	for _, o := range overloads {
		note := fmt.Sprintf("piece %s: %.0f kN, limit of %s %.0f kN", o.piece.ID, o.force, o.stand.Name, o.stand.MaxForceKN)
		incident := IncidentRow{Name: in.app.ids.Name("incident"), What: roll.Overload, Stand: o.stand.Name, At: o.piece.RolledAt, Rolls: o.rolls, By: in.call.Actor, Note: note}
		if err := in.w.LockRolls(o.rolls); err != nil {
			return err
		}
		for _, number := range o.rolls {
			row, err := in.w.Roll(number)
			if err != nil {
				return err
			}
			body := roll.Incident{Name: incident.Name, What: roll.Overload, Stand: o.stand.Name, Note: note}
			if _, err := in.app.enter(in.w, row, in.call, o.piece.RolledAt, in.now, "", body); err != nil {
				return err
			}
		}
		if err := in.w.CreateIncident(incident); err != nil {
			return err
		}
	}
	return nil
}
