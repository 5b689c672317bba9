package app_test

import (
	"testing"
	"time"

	"barrelbook/api/app/record"
	"barrelbook/api/app/report"
	"barrelbook/domain/consumption"
	"barrelbook/domain/mill"
	"barrelbook/domain/purchase"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// TestMoneyIsConserved takes two rolls over half used, wears and grinds them in two
// stands and two months, loses one to a spall and has the supplier give something
// back: the price of both is what was used before, used, lost, given back and left,
// to the last unit, and the stands and the months sum to the mill.
func TestMoneyIsConserved(t *testing.T) {
	w := newWorks(t)
	w.stand("F1", 1)
	w.stand("F2", 2)
	opened := w.clock.now
	for _, number := range []string{"A", "B"} {
		r := roll.Roll{Number: number, Role: mill.Work, Grade: "steel", Supplier: "Foundry", NewDiameter: 740_000, BarrelLength: 1_780_000, BearingSpan: 2_800_000, NeckDiameter: 400_000, Scrap: roll.ScrapLimits{Nominal: 640_000}, Price: 3_333_331}
		_, err := w.ReceiveRoll(w.ctx, engineer, opened, roll.Received{Roll: r, Mill: "hot", Diameter: 700_000, Ground: true})
		w.must(err)
	}
	_, err := w.PlaceOrder(w.ctx, engineer, purchase.Order{Name: "PO", Mill: "hot", Role: mill.Work, Rolls: 2, OrderedAt: opened.Add(-time.Hour), DueAt: opened, Warranty: purchase.Warranty{TonnageT: 5000}})
	w.must(err)
	w.clock.now = opened.Add(70 * 24 * time.Hour)
	order, err := w.RecordArrival(w.ctx, engineer, "PO", []string{"A", "B"})
	w.must(err)
	if order.ToCome() != 0 {
		t.Errorf("%d rolls to come, all came", order.ToCome())
	}
	var lines []record.PastStay
	for i, at := range []int{2, 40} {
		for k, number := range []string{"A", "B"} {
			l := card(number, opened.Add(time.Duration(24*at)*time.Hour), 699_900-quantity.Micrometre(i)*700, 699_500-quantity.Micrometre(i)*701)
			l.Stand = []string{"F1", "F2"}[i]
			l.Position = []mill.Position{mill.TopWork, mill.BottomWork}[k]
			lines = append(lines, l)
		}
	}
	_, err = w.RecordPastStays(w.ctx, engineer, lines)
	w.must(err)
	_, err = w.RecordHappening(w.ctx, engineer, record.Happening{Number: "B", At: w.clock.now, Reason: "spall", Body: roll.Scrapped{Why: roll.BySpall}})
	w.must(err)
	claim, err := w.MakeClaim(w.ctx, engineer, purchase.Claim{Name: "C", Roll: "B", What: "spall at the edge", Claimed: 1_500_000})
	w.must(err)
	if claim.Warranty != purchase.Covered || claim.Supplier != "Foundry" {
		t.Errorf("claim %+v", claim)
	}
	if _, err := w.SettleClaim(w.ctx, engineer, "C", 9_999_999, time.Time{}, ""); err == nil {
		t.Error("more was credited than the roll cost")
	}
	_, err = w.SettleClaim(w.ctx, engineer, "C", 1_000_003, time.Time{}, "")
	w.must(err)
	if _, err := w.SettleClaim(w.ctx, engineer, "C", 1, time.Time{}, ""); err == nil {
		t.Error("a claim was settled twice")
	}
	for _, by := range consumption.Ways() {
		a, err := w.ReportConsumption(w.ctx, report.ConsumptionInput{By: by})
		w.must(err)
		b, total := a.Balance, a.Totals[0]
		if b.Price != 2*3_333_331 || b.Price != b.Before+b.Used+b.Lost+b.Credited+b.Left || b.Before == 0 || b.Lost <= 0 || b.Left <= 0 || b.Credited != 1_000_003 {
			t.Fatalf("by %s: balance %+v", by, b)
		}
		var sum consumption.Row
		perT := 0.0
		for _, r := range a.Rows {
			sum.UsedMinor, sum.LostMinor, sum.CreditedMinor = sum.UsedMinor+r.UsedMinor, sum.LostMinor+r.LostMinor, sum.CreditedMinor+r.CreditedMinor
			sum.ProductT += r.ProductT
			one, _ := r.KGPerT()
			perT += one
		}
		if sum.UsedMinor != total.UsedMinor || sum.LostMinor != total.LostMinor || sum.CreditedMinor != total.CreditedMinor || total.UsedMinor != b.Used || total.LostMinor-total.CreditedMinor != b.Lost {
			t.Errorf("by %s: rows %+v, total %+v, balance %+v", by, sum, total, b)
		}
		whole, _ := total.KGPerT()
		if by == consumption.ByStand && (perT < whole-1e-12 || perT > whole+1e-12) {
			t.Errorf("the stands sum to %g kg/t, the mill to %g", perT, whole)
		}
		// One stand alone rolled in each month; the busier of the two is the mill's.
		if total.ProductT != 2000 {
			t.Errorf("by %s: %g t of product, want 2000", by, total.ProductT)
		}
	}
}
