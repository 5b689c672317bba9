package mill

import (
	"fmt"
	"time"

	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
)

// Pass is one passage of a piece through a stand. Zero stands for "not
// given" where the field is optional.
type Pass struct {
	Stand            string
	EntryThicknessMM float64 // Defaults to the exit thickness of the pass before
	ExitThicknessMM  float64
	WidthMM          float64 // Defaults to the piece's
	ForceKN          float64 // measured; 0 when not given, then it is predicted
	SpeedMPerS       float64
	TimeS            float64
	TemperatureC     float64
	LateralOffsetMM  float64 // strip's middle from the mill's centre line, towards the operator side
	BendingForceKN   float64 // per chock
	// WorkRollShiftMM moves the top work roll towards the drive side and the
	// bottom one the opposite way by as much; IntermediateRollShiftMM does the same
	// with the intermediate rolls of a six-high stand.
	WorkRollShiftMM            float64
	IntermediateRollShiftMM    float64
	IntermediateBendingForceKN float64 // per chock of the intermediate rolls
	PairCrossDeg               float64 // of each work roll, one each way
	Groove                     int     // from 1; 0 on a plain barrel
	Reverse                    bool
}

// Piece is a coil, plate, bloom, billet or bar: rolled, or still ahead in a
// programme (then Source and RolledAt are empty).
type Piece struct {
	Source           string
	ID               string
	Mill             string
	RolledAt         time.Time
	Material         string
	Block            string // pieces of one block of a programme stay together
	Demand           Demand // empty for an ordinary piece
	MassT            float64
	WidthMM          float64
	EntryThicknessMM float64
	Passes           []Pass
}

// Complete fills the defaults of the passes in place: entry thickness from
// the pass before, width from the piece.
func (p *Piece) Complete() {
	entry := p.EntryThicknessMM
	for i := range p.Passes {
		if p.Passes[i].EntryThicknessMM == 0 {
			p.Passes[i].EntryThicknessMM = entry
		}
		if p.Passes[i].WidthMM == 0 {
			p.Passes[i].WidthMM = p.WidthMM
		}
		entry = p.Passes[i].ExitThicknessMM
	}
}

// Check refuses a piece that cannot have been rolled: no mass, no thickness,
// thicker out than in, a stand twice in one groove where it does not reverse,
// passes against the pass order, or a stand that is not of the piece's mill.
// stands holds the stands of the piece's mill by name. The piece must be
// complete.
func (p Piece) Check(stands map[string]Stand) error {
	var c refusal.Check
	c.Positive("mass_t", p.MassT)
	c.Positive("width_mm", p.WidthMM)
	c.Positive("entry_thickness_mm", p.EntryThicknessMM)
	if len(p.Passes) == 0 {
		c.Add("passes", "", "must have at least one pass", "name the stands the piece went through")
	}
	var last Stand
	for i, pass := range p.Passes {
		path := fmt.Sprintf("passes/%d", i)
		stand, known := stands[pass.Stand]
		if !known {
			c.Add(path+"/stand", pass.Stand, "is not a stand of mill "+p.Mill, "see the stands", next.ListStands())
			continue
		}
		if stand.Order < last.Order {
			c.Add(path+"/stand", pass.Stand, "comes before "+last.Name+", the stand of the pass before it", "give the passes in rolling order")
		}
		if !stand.Reversing {
			p.checkOnce(&c, i)
		}
		last = stand
		pass.check(&c, path)
	}
	return c.Err()
}

func (p Pass) check(c *refusal.Check, path string) {
	okIn := c.Positive(path+"/entry_thickness_mm", p.EntryThicknessMM)
	okOut := c.Positive(path+"/exit_thickness_mm", p.ExitThicknessMM)
	if okIn && okOut && p.ExitThicknessMM > p.EntryThicknessMM {
		c.Add(path+"/exit_thickness_mm", refusal.Number(p.ExitThicknessMM),
			"must not be thicker than it went in, "+refusal.Number(p.EntryThicknessMM)+" mm", "check entry and exit of this pass")
	}
	c.Positive(path+"/width_mm", p.WidthMM)
	c.NotNegative(path+"/force_kn", p.ForceKN)
	c.NotNegative(path+"/speed_m_per_s", p.SpeedMPerS)
	c.NotNegative(path+"/time_s", p.TimeS)
	c.Finite(path+"/temperature_c", p.TemperatureC)
	c.Finite(path+"/lateral_offset_mm", p.LateralOffsetMM)
	c.Finite(path+"/bending_force_kn", p.BendingForceKN)
	c.Finite(path+"/work_roll_shift_mm", p.WorkRollShiftMM)
	c.Finite(path+"/intermediate_roll_shift_mm", p.IntermediateRollShiftMM)
	c.Finite(path+"/intermediate_bending_force_kn", p.IntermediateBendingForceKN)
	c.NotNegative(path+"/pair_cross_deg", p.PairCrossDeg)
}

// RollOffsetMM is where the middle of the roll at a position lies in a pass, from
// the mill's centre line towards the operator side: a top roll shifted by s lies
// at −s, a bottom roll at +s.
func (p Pass) RollOffsetMM(at Position) float64 {
	switch at {
	case TopWork:
		return -p.WorkRollShiftMM
	case BottomWork:
		return p.WorkRollShiftMM
	case TopIntermediate:
		return -p.IntermediateRollShiftMM
	case BottomIntermediate:
		return p.IntermediateRollShiftMM
	}
	return 0
}

// Programme is the pieces ahead of a mill in rolling order.
type Programme struct {
	Name            string
	Mill            string
	StartsAt        time.Time
	MinutesPerPiece float64
	Stops           []PlannedStop
	Pieces          []Piece
}

// PlannedStop is a stop that comes anyway.
type PlannedStop struct {
	BeforePiece int // the piece rolled after it, from 1
	Name        string
	Minutes     float64
}

// TonnageT is the mass of the whole programme.
func (p Programme) TonnageT() float64 {
	sum := 0.0
	for _, piece := range p.Pieces {
		sum += piece.MassT
	}
	return sum
}

// Check refuses a programme that cannot be rolled: empty, a piece that cannot
// be or is named twice, a planned stop beyond it. The pieces are completed in
// place first.
func (p *Programme) Check(stands map[string]Stand) error {
	var c refusal.Check
	if len(p.Pieces) == 0 {
		c.Add("pieces", "", "must have at least one piece", "there is nothing to plan for in an empty programme")
	}
	seen := map[string]int{}
	for i := range p.Pieces {
		path := fmt.Sprintf("pieces/%d", i)
		piece := &p.Pieces[i]
		if first, twice := seen[piece.ID]; twice {
			c.Add(path+"/id", piece.ID, fmt.Sprintf("is piece %d already", first+1), "give each piece its own id")
		}
		seen[piece.ID] = i
		piece.Mill = p.Mill
		piece.Complete()
		for _, f := range refusal.FieldsOf(piece.Check(stands)) {
			c.Add(path+"/"+f.Path, f.Value, f.Limit, f.Do)
		}
	}
	for i, stop := range p.Stops {
		if stop.BeforePiece < 1 || stop.BeforePiece > max(1, len(p.Pieces)) {
			c.Add(fmt.Sprintf("planned_stops/%d/before_piece", i), fmt.Sprint(stop.BeforePiece),
				fmt.Sprintf("must lie between 1 and the last piece, %d", len(p.Pieces)), "")
		}
	}
	return c.Err()
}
