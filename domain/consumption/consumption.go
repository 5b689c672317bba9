// Package consumption adds up what the roll shop takes off its rolls and what it
// loses, and sets it against the product of the mill: micrometres per thousand
// tonnes, kilograms and money per tonne, by stand, role, grade, supplier, purpose,
// month or mill. Every figure is per tonne of product, so that those of the stands
// sum to that of the mill.
package consumption

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// Cut is what one regrind took off one roll, wear and grind together, and the
// stays in stands that it ended.
type Cut struct {
	Roll     string
	Mill     string
	Role     mill.Role
	Grade    string
	Supplier string
	At       time.Time
	For      roll.Purpose
	From, To quantity.Micrometre // diameter after the grind before, and after this one
	// New and Scrap are the diameters between which the price is used up.
	New, Scrap     quantity.Micrometre
	BarrelLength   quantity.Micrometre
	DensityKGPerM3 float64
	WholeKG        float64 // of the new roll with its necks, 0 when not known
	Price          int64   // minor units, 0 when not known
	Stays          []Stay
	// Lost marks what a roll still had above its limit when it was scrapped for
	// another cause: its money is gone, nothing was ground.
	Lost bool
	// Credited is what a supplier gave back for the roll; nothing was cut then.
	Credited int64
}

// Stay is one stay in a stand and the tonnes that went through it meanwhile.
type Stay struct {
	Stand    string
	TonnageT float64
}

// By is what the rows are made by.
type By string

// The ways to sort it.
const (
	ByGrade    By = "grade"
	BySupplier By = "supplier"
	ByStand    By = "stand"
	ByPurpose  By = "purpose"
	ByMonth    By = "month"
	ByRole     By = "role"
	ByMill     By = "mill"
)

// Ways lists them.
func Ways() []By { return []By{ByGrade, BySupplier, ByStand, ByPurpose, ByMonth, ByRole, ByMill} }

// Row is the sum of one key and one role. Work and backup rolls are never added
// up: the same tonnes went through both.
type Row struct {
	Key    string // empty where it is not known
	Role   mill.Role
	Grinds int
	// Removed is of all rolls, on diameter; Incident the part after cracks and
	// incidents, Lost what was scrapped unused.
	Removed, Incident, Lost quantity.Micrometre
	// RemovedKG is ground and worn off. UsedUpKG is with what was left on rolls that
	// were lost. WholeKG counts the rolls with core and necks, by the share of their
	// life that is used up, as the trade does.
	RemovedKG, UsedUpKG, WholeKG float64
	// TonnageT is the tonnes through the pairs that these rolls were half of: a
	// tonne counts once for a pair, and once more in the next stand.
	TonnageT float64
	// ProductT is what the mill rolled in the time that the row is of.
	ProductT float64
	// Used, Lost and Credited are money, minor units, of the rolls whose price is
	// known: ground off, gone with rolls that were lost, given back by suppliers.
	UsedMinor, LostMinor, CreditedMinor int64
	Unpriced                            int // grinds of rolls without a price
}

// Cost is what the rolls cost: used and lost, less what was given back.
func (r Row) Cost() int64 { return r.UsedMinor + r.LostMinor - r.CreditedMinor }

// UMPerKT is the diameter taken off these rolls per thousand tonnes of product.
// False without product.
func (r Row) UMPerKT() (float64, bool) { return r.per(float64(r.Removed) * 1000) }

// KGPerT is the mass ground and worn off per tonne of product.
func (r Row) KGPerT() (float64, bool) { return r.per(r.RemovedKG) }

// UsedUpKGPerT is with what went with lost rolls.
func (r Row) UsedUpKGPerT() (float64, bool) { return r.per(r.UsedUpKG) }

// WholeKGPerT is of whole rolls. False where the mass of none is known.
func (r Row) WholeKGPerT() (float64, bool) {
	if r.WholeKG == 0 && r.UsedUpKG > 0 {
		return 0, false
	}
	return r.per(r.WholeKG)
}

// CostPerT is minor units per tonne of product. False without product, or without
// a price.
func (r Row) CostPerT() (float64, bool) {
	if r.Cost() == 0 && r.Unpriced > 0 {
		return 0, false
	}
	return r.per(float64(r.Cost()))
}

// IncidentShare is the part of what was removed that cracks and incidents took.
func (r Row) IncidentShare() float64 {
	if r.Removed == 0 {
		return 0
	}
	return float64(r.Incident) / float64(r.Removed)
}

func (r Row) per(v float64) (float64, bool) {
	if r.ProductT <= 0 {
		return 0, false
	}
	return v / r.ProductT, true
}

// Report is the rows by key, then role, and their totals by role.
type Report struct {
	By     By
	Rows   []Row
	Totals []Row
}

// Add sums the cuts. A cut whose roll was in several stands since its last grind
// is shared out by tonnes, in whole micrometres that add up to it.
//
//	removed = Σ (from − to),  mass = Σ ρ L π (from² − to²)/4
//	cost    = Σ price · (from − to)/(new − scrap), in whole minor units that add
//	          up to the price over a roll's whole life
//	whole   = Σ mass of the new roll · (from − to)/(new − scrap)
//	tonnes  = Σ tonnes of a roll / 2, for the two rolls of a pair share them
//
// Sums of lengths and money are integers and do not depend on the order of the
// cuts. Refused: to above from, tonnes below 0, scrap not below new.
func Add(by By, cuts []Cut, product Product) (Report, error) {
	if !slices.Contains(Ways(), by) {
		return Report{}, refusal.One("by", string(by), "is not a way to sort consumption", "one of grade, supplier, stand, purpose, month, role, mill")
	}
	if err := check(cuts); err != nil {
		return Report{}, err
	}
	rows, totals := map[[2]string]*Row{}, map[[2]string]*Row{}
	for _, c := range cuts {
		for _, part := range c.parts(by == ByStand) {
			row(rows, part.key(by), part.Role).add(part)
		}
		row(totals, "total", c.Role).add(c)
	}
	for _, r := range rows {
		r.ProductT = product.of(by, r.Key)
	}
	for _, r := range totals {
		r.ProductT = product.of("", "")
	}
	return Report{By: by, Rows: ordered(rows), Totals: ordered(totals)}, nil
}

// Product is what was rolled, in tonnes: by mill, then by month as ByMonth has it.
type Product map[string]map[string]float64

// of is the product that a row is held against: that of its month or its mill,
// else all of it.
func (p Product) of(by By, key string) float64 {
	sum := 0.0
	for _, name := range slices.Sorted(maps.Keys(p)) {
		for _, month := range slices.Sorted(maps.Keys(p[name])) {
			if (by != ByMonth || key == month) && (by != ByMill || key == name) {
				sum += p[name][month]
			}
		}
	}
	return sum
}

// Month is the key of a month.
func Month(t time.Time) string { return t.UTC().Format("2006-01") }

func check(cuts []Cut) error {
	var c refusal.Check
	for i, cut := range cuts {
		path := fmt.Sprintf("cuts/%d", i)
		if cut.To > cut.From {
			c.Add(path+"/to_mm", cut.To.String(), "is above the diameter before, "+cut.From.String(), "")
		}
		if cut.Price > 0 && cut.Scrap >= cut.New {
			c.Add(path+"/scrap_mm", cut.Scrap.String(), "is not below the new diameter, "+cut.New.String(), "")
		}
		c.NotNegative(path+"/density_kg_per_m3", cut.DensityKGPerM3)
		for j, s := range cut.Stays {
			c.NotNegative(fmt.Sprintf("%s/stays/%d/tonnage_t", path, j), s.TonnageT)
		}
	}
	return c.Err()
}

func row(rows map[[2]string]*Row, key string, role mill.Role) *Row {
	at := [2]string{key, string(role)}
	if rows[at] == nil {
		rows[at] = &Row{Key: key, Role: role}
	}
	return rows[at]
}

func ordered(rows map[[2]string]*Row) []Row {
	list := make([]Row, 0, len(rows))
	for _, r := range rows {
		list = append(list, *r)
	}
	sort.Slice(list, func(i, j int) bool {
		if d := strings.Compare(list[i].Key, list[j].Key); d != 0 {
			return d < 0
		}
		return list[i].Role < list[j].Role
	})
	return list
}

func (c Cut) key(by By) string {
	switch by {
	case ByGrade:
		return c.Grade
	case BySupplier:
		return c.Supplier
	case ByRole:
		return string(c.Role)
	case ByMill:
		return c.Mill
	case ByPurpose:
		switch {
		case c.Lost:
			return "scrapped"
		case c.Credited != 0:
			return "credited"
		}
		return string(c.For)
	case ByMonth:
		return Month(c.At)
	default:
		if len(c.Stays) == 0 {
			return ""
		}
		return c.Stays[0].Stand
	}
}

// parts shares a cut out among the stands it was in; else it is one part. The
// parts lie under one another, so that lengths, mass and money add up exactly.
func (c Cut) parts(byStand bool) []Cut {
	stays := map[string]float64{}
	all := 0.0
	for _, s := range c.Stays {
		stays[s.Stand] += s.TonnageT
		all += s.TonnageT
	}
	if !byStand || len(stays) < 2 {
		return []Cut{c}
	}
	names := make([]string, 0, len(stays))
	for name := range stays {
		names = append(names, name)
	}
	sort.Strings(names)
	parts := make([]Cut, len(names))
	from, share := c.From, 0.0
	for i, name := range names {
		if all > 0 {
			share += stays[name] / all
		} else {
			share += 1 / float64(len(names))
		}
		parts[i] = c
		parts[i].From, parts[i].Stays = from, []Stay{{name, stays[name]}}
		parts[i].To = c.From - quantity.Micrometre(math.Round(share*float64(c.From-c.To)))
		if i == len(names)-1 {
			parts[i].To = c.To
		}
		from = parts[i].To
	}
	return parts
}

func (r *Row) add(c Cut) {
	r.CreditedMinor += c.Credited
	if c.Credited != 0 {
		return
	}
	cost, priced := c.cost()
	d1, d2 := c.From.MM()/1000, c.To.MM()/1000
	kg := c.DensityKGPerM3 * c.BarrelLength.MM() / 1000 * math.Pi * (d1 - d2) * (d1 + d2) / 4
	r.UsedUpKG += kg
	if c.New > c.Scrap {
		r.WholeKG += c.WholeKG * float64(c.From-c.To) / float64(c.New-c.Scrap)
	}
	if c.Lost {
		r.LostMinor += cost
		r.Lost += c.From - c.To
		return
	}
	r.UsedMinor += cost
	r.Grinds++
	r.Removed += c.From - c.To
	r.RemovedKG += kg
	if !c.For.Normal() {
		r.Incident += c.From - c.To
	}
	if !priced {
		r.Unpriced++
	}
	for _, s := range c.Stays {
		r.TonnageT += s.TonnageT / 2
	}
}

// cost is the share of the price between the two diameters. What is used up at a
// diameter is rounded, not the difference, so that a life adds up to the price.
func (c Cut) cost() (int64, bool) {
	if c.Price <= 0 {
		return 0, false
	}
	life := Life{New: c.New, Scrap: c.Scrap, Price: c.Price}
	return life.used(c.To) - life.used(c.From), true
}
