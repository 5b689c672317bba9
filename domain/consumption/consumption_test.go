package consumption_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/consumption"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

var march = time.Date(2026, 3, 31, 23, 30, 0, 0, time.FixedZone("", -3600))

// rolled is a product of one mill.
func rolled(t float64) consumption.Product {
	return consumption.Product{"hot": {"2026-04": t}}
}

func workCut(name string, from, to quantity.Micrometre, tonnes float64) consumption.Cut {
	return consumption.Cut{Roll: name, Mill: "hot", Role: mill.Work, Grade: "hss", Supplier: "A", At: march, For: roll.ForWear, From: from, To: to,
		New: 740_000, Scrap: 680_000, BarrelLength: 1_780_000, DensityKGPerM3: 7600, Price: 60_000_00, Stays: []consumption.Stay{{Stand: "F2", TonnageT: tonnes}}}
}

// 4000 t went through a pair; each roll lost 0.5 mm. Derived by an independent
// program: 700 to 699.5 mm over 1.78 m at 7600 kg/m³ are 7.43475 kg.
func Example() {
	cuts := []consumption.Cut{workCut("W1", 700_000, 699_500, 4000), workCut("W2", 700_000, 699_500, 4000)}
	report, _ := consumption.Add(consumption.ByStand, cuts, rolled(4000))
	r := report.Rows[0]
	um, _ := r.UMPerKT()
	kg, _ := r.KGPerT()
	cost, _ := r.CostPerT()
	fmt.Printf("%s: %.0f t, %.0f µm/kt on both rolls, %.5f kg/t, %.2f a tonne\n", r.Key, r.TonnageT, um, kg, cost/100)
	// Output: F2: 4000 t, 250 µm/kt on both rolls, 0.00372 kg/t, 0.25 a tonne
}

func TestMassOfARegrind(t *testing.T) {
	report, err := consumption.Add(consumption.ByGrade, []consumption.Cut{workCut("W1", 700_000, 699_500, 0)}, rolled(4000))
	if err != nil {
		t.Fatal(err)
	}
	if kg := report.Rows[0].RemovedKG; math.Abs(kg-7.43475) > 5e-6 {
		t.Errorf("%.6f kg, want 7.43475", kg)
	}
}

func TestZeroTonnesGiveNoRate(t *testing.T) {
	report, err := consumption.Add(consumption.ByGrade, []consumption.Cut{workCut("W1", 700_000, 699_500, 0)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := report.Rows[0]
	_, um := r.UMPerKT()
	_, kg := r.KGPerT()
	_, cost := r.CostPerT()
	if um || kg || cost || r.Removed != 500 {
		t.Errorf("rates %v %v %v without tonnes: %+v", um, kg, cost, r)
	}
}

func TestKeysAndShares(t *testing.T) {
	incident := workCut("W3", 700_000, 698_000, 1000)
	incident.For = roll.ForIncident
	incident.Stays = nil
	unpriced := workCut("W4", 700_000, 699_900, 500)
	unpriced.Price = 0
	backup := workCut("B1", 1_500_000, 1_498_000, 90_000)
	backup.Role, backup.Price = mill.Backup, 0
	lost := workCut("W5", 690_000, 680_000, 0)
	lost.Lost = true
	cuts := []consumption.Cut{workCut("W1", 700_000, 699_500, 4000), incident, unpriced, backup, lost}
	for by, want := range map[consumption.By]map[string]int{
		consumption.ByGrade:    {"hss work": 3, "hss backup": 1},
		consumption.BySupplier: {"A work": 3, "A backup": 1},
		consumption.ByPurpose:  {"wear work": 2, "incident work": 1, "wear backup": 1, "scrapped work": 0},
		consumption.ByStand:    {"F2 work": 2, " work": 1, "F2 backup": 1},
		consumption.ByMonth:    {"2026-04 work": 3, "2026-04 backup": 1}, // 23:30 an hour west is April in UTC
		consumption.ByRole:     {"work work": 3, "backup backup": 1},
		consumption.ByMill:     {"hot work": 3, "hot backup": 1},
	} {
		report, err := consumption.Add(by, cuts, rolled(4000))
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]int{}
		for _, r := range report.Rows {
			got[r.Key+" "+string(r.Role)] = r.Grinds
			if by == consumption.ByStand && r.Key == "F2" && r.Role == mill.Work {
				if r.Lost != 10_000 {
					t.Errorf("lost %s", r.Lost)
				}
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("by %s: %v, want %v", by, got, want)
		}
		for _, r := range report.Totals {
			if r.Role == mill.Work && (r.Removed != 2600 || r.Incident != 2000 || r.Unpriced != 1 || r.TonnageT != 2250 || r.Cost() != 5_000_00/10+20_000_00/10+10*1_000_00) {
				t.Errorf("by %s: total %+v", by, r)
			}
		}
	}
}

// Shared out among stands or sorted in any way, whole micrometres and money add
// up to the same totals, mass and tonnes to within rounding; each figure per tonne
// of product is the sum of its parts'; and the price of all rolls is what was used,
// lost, given back and left, to the last unit.
func TestSumsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		product := consumption.Product{"hot": {}, "cold": {"2026-04": 900}}
		for m := range 4 {
			product["hot"][fmt.Sprintf("2026-%02d", 4+m)] = float64(rapid.IntRange(1, 300_000).Draw(t, "product"))
		}
		var cuts []consumption.Cut
		var lives []consumption.Life
		var removed quantity.Micrometre
		for i := range rapid.IntRange(1, 4).Draw(t, "rolls") {
			life := consumption.Life{New: 740_000, Scrap: 680_000, Price: int64(rapid.IntRange(1, 60_000_00).Draw(t, "price"))}
			life.Received = quantity.Micrometre(rapid.IntRange(681_000, 740_000).Draw(t, "received"))
			life.Now = life.Received
			for range rapid.IntRange(0, 12).Draw(t, "grinds") {
				to := max(680_000, life.Now-quantity.Micrometre(rapid.IntRange(1, 20_000).Draw(t, "removed")))
				c := workCut(fmt.Sprint(i), life.Now, to, 0)
				c.Stays, c.Price, c.WholeKG = nil, life.Price, 9000
				c.At = march.AddDate(0, rapid.IntRange(0, 3).Draw(t, "month"), 1)
				for range rapid.IntRange(0, 3).Draw(t, "stays") {
					c.Stays = append(c.Stays, consumption.Stay{Stand: rapid.SampledFrom([]string{"F1", "F2", "F3"}).Draw(t, "stand"), TonnageT: float64(rapid.IntRange(0, 3000).Draw(t, "tonnes"))})
				}
				c.For = rapid.SampledFrom([]roll.Purpose{roll.ForWear, roll.ForCrack}).Draw(t, "for")
				cuts, removed, life.Now = append(cuts, c), removed+life.Now-to, to
			}
			if life.Scrapped = rapid.Bool().Draw(t, "scrapped"); life.Scrapped {
				lost := workCut(fmt.Sprint(i), life.Now, 680_000, 0)
				lost.Lost, lost.Price, lost.WholeKG = true, life.Price, 9000
				credit := lost
				credit.Lost, credit.Credited = false, int64(rapid.IntRange(0, int(life.Price)).Draw(t, "credited"))
				life.Credited = credit.Credited
				cuts = append(cuts, lost, credit)
				if credit.Credited == 0 {
					cuts = cuts[:len(cuts)-1]
				}
			}
			lives = append(lives, life)
		}
		b := consumption.Account(lives)
		if b.Price != b.Before+b.Used+b.Lost+b.Credited+b.Left {
			t.Fatalf("price %d is not the sum of its parts: %+v", b.Price, b)
		}
		if len(cuts) == 0 {
			return
		}
		for _, by := range consumption.Ways() {
			report, err := consumption.Add(by, cuts, product)
			if err != nil {
				t.Fatal(err)
			}
			var sum consumption.Row
			kgPerT, months := 0.0, 0.0
			for _, r := range report.Rows {
				sum.Removed += r.Removed
				sum.Incident += r.Incident
				sum.Lost += r.Lost
				sum.UsedMinor += r.UsedMinor
				sum.LostMinor += r.LostMinor
				sum.CreditedMinor += r.CreditedMinor
				sum.RemovedKG += r.RemovedKG
				sum.UsedUpKG += r.UsedUpKG
				sum.WholeKG += r.WholeKG
				sum.TonnageT += r.TonnageT
				one, _ := r.KGPerT()
				kgPerT += one
				months += one * r.ProductT
			}
			total := report.Totals[0]
			if sum.Removed != removed || total.Removed != removed || sum.Incident != total.Incident || sum.Lost != total.Lost || sum.UsedMinor != total.UsedMinor || sum.LostMinor != total.LostMinor || sum.CreditedMinor != total.CreditedMinor {
				t.Fatalf("by %s: rows %+v, total %+v, removed %s", by, sum, total, removed)
			}
			if total.UsedMinor != b.Used || total.LostMinor-total.CreditedMinor != b.Lost || total.CreditedMinor != b.Credited {
				t.Fatalf("by %s: total %+v, the rolls' own balance %+v", by, total, b)
			}
			near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*(1+math.Abs(b)) }
			if !near(sum.RemovedKG, total.RemovedKG) || !near(sum.UsedUpKG, total.UsedUpKG) || !near(sum.WholeKG, total.WholeKG) || !near(sum.TonnageT, total.TonnageT) {
				t.Fatalf("by %s: rows %+v, total %+v", by, sum, total)
			}
			of, _ := total.KGPerT()
			switch by {
			case consumption.ByMonth: // each month against its own product
				if !near(months, total.RemovedKG) {
					t.Fatalf("the months remove %g kg, all of it is %g", months, total.RemovedKG)
				}
			case consumption.ByMill:
			default:
				if !near(kgPerT, of) {
					t.Fatalf("by %s: the rows sum to %g kg/t, the total is %g", by, kgPerT, of)
				}
			}
		}
	})
}

func TestConsumptionRefusals(t *testing.T) {
	bad := workCut("W1", 700_000, 700_100, -1)
	bad.Scrap = 740_000
	_, err := consumption.Add(consumption.ByGrade, []consumption.Cut{bad}, rolled(4000))
	if n := len(refusal.FieldsOf(err)); n != 3 {
		t.Errorf("%d refusals: %v", n, err)
	}
	if _, err := consumption.Add("colour", nil, rolled(4000)); err == nil {
		t.Error("an unknown way was taken")
	}
}
