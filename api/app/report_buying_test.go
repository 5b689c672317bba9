package app_test

import (
	"slices"
	"testing"
	"time"

	"barrelbook/api/app/report"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/purchase"
)

// TestBuyingCountsWhatIsThere: rolls without a scrap date are there and not
// missing, those whose stands overlap take one another's place, each stand needs
// what its practice says, and what is on order is taken off.
func TestBuyingCountsWhatIsThere(t *testing.T) {
	w := newWorks(t)
	for i, stand := range []string{"F1", "F2", "F3"} {
		w.stand(stand, i+1)
	}
	w.roll("A1", mill.Work, 720, "F1", "F2")
	w.roll("A2", mill.Work, 719, "F2")
	w.roll("A3", mill.Work, 718, "F1")
	w.roll("B1", mill.Work, 717, "F3")
	w.roll("U1", mill.Backup, 1500, "F3")
	w.practice("early", practice.Scope{Stand: "F1", Role: mill.Work}, map[practice.Key]float64{practice.NeededRolls: 2})
	w.practice("second", practice.Scope{Stand: "F2", Role: mill.Work}, map[practice.Key]float64{practice.NeededRolls: 3})
	ask := func() report.BuyingReport {
		t.Helper()
		r, err := w.ReportBuying(w.ctx, report.BuyingInput{Mill: "hot"})
		w.must(err)
		return r
	}
	r := ask()
	if len(r.Covers) != 3 || len(r.Unforecast) != 5 {
		t.Fatalf("%+v, without a date %q", r.Covers, r.Unforecast)
	}
	for i, want := range []struct {
		name                   string
		rolls, needed, missing int
	}{{"hot backup F3", 1, 1, 0}, {"hot work F1 F2", 3, 5, 2}, {"hot work F3", 1, 1, 0}} {
		c := r.Covers[i]
		if c.Name != want.name || c.Rolls != want.rolls || c.Needed != want.needed || c.Short != want.missing || c.Undated != want.rolls || len(c.Orders) != want.missing {
			t.Errorf("%+v, want %+v", c, want)
		}
	}
	if !slices.Equal(r.Covers[1].Stands, []string{"F1", "F2"}) {
		t.Errorf("group of %q", r.Covers[1].Stands)
	}
	_, err := w.PlaceOrder(w.ctx, engineer, purchase.Order{Name: "O-1", Mill: "hot", Role: mill.Work, Stands: []string{"F1"}, Grade: "steel", Rolls: 2, OrderedAt: w.clock.now, DueAt: w.clock.now.Add(90 * 24 * time.Hour)})
	w.must(err)
	if c := ask().Covers[1]; c.Due != 2 || c.Short != 2 || len(c.Orders) != 0 {
		t.Errorf("with two on order: %+v", c)
	}
}
