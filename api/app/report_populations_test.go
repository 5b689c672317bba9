package app_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/app/report"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
	"barrelbook/domain/survival"
)

// lived receives a roll and a partner that bear a campaign of so many tonnes, and
// takes both out and apart.
func (w *works) lived(name string, tonnes float64) {
	w.t.Helper()
	w.set(name, mill.Work, 720, "F6")
	w.mount("F6", mill.Work, name)
	w.pass(time.Hour)
	w.change(record.ChangeInput{Stand: "F6", Role: mill.Work, At: w.clock.now, StatedT: tonnes, StatedKM: tonnes / 40, StatedSpecificKNPerMM: 10})
	w.breakSet(name)
}

// TestPopulations has rolls of one grade that lasted 1000 to 5000 t. What failed,
// what was planned and what lives is told apart, and the fit is that of the ages
// typed in here.
func TestPopulations(t *testing.T) {
	t.Parallel()
	w := newWorks(t)
	w.stand("F6", 6)
	ask := func(in report.PopulationsInput) report.PopulationsReport {
		t.Helper()
		r, err := w.ReportPopulations(w.ctx, in)
		w.must(err)
		return r
	}
	if r := ask(report.PopulationsInput{}); len(r.Groups) != 0 || r.By != "grade" || r.Age != report.AgeTonnes {
		t.Errorf("of no rolls: %+v", r)
	}
	w.roll("NEW", mill.Work, 720)
	w.lived("A", 2500)
	w.lived("B", 4000)
	w.lived("C", 5000)
	none := ask(report.PopulationsInput{})
	if g := none.Groups[0]; g.Fit != nil || g.Lives != 6 || g.Unused != 1 || g.Living != 7 || !strings.Contains(strings.Join(none.Notes, "\n"), "none of those with an age has failed") {
		t.Errorf("nothing failed: %+v %q", g, none.Notes)
	}
	w.happens("C-T", "spall", roll.Scrapped{Why: roll.BySpall})
	equal := ask(report.PopulationsInput{Mill: "hot"})
	if g := equal.Groups[0]; g.Fit != nil || len(g.Steps) != 1 || g.Steps[0].AtRisk != 2 || !strings.Contains(strings.Join(equal.Notes, "\n"), "every failure has the greatest age") {
		t.Errorf("the oldest failed: %+v %q", g, equal.Notes)
	}
	w.happens("A-T", "neck crack", roll.Scrapped{Why: roll.ByNeck})
	w.happens("B-B", "fire cracks too deep", roll.Scrapped{Why: roll.ByCrack})
	w.happens("A-B", "no orders for it", roll.Scrapped{Why: roll.ByEconomy})
	last := grind(719_900, 639_500)
	last.Confirm = "turned down for good"
	_, err := w.RecordRegrind(w.ctx, engineer, "B-T", last)
	w.must(err)
	w.happens("NEW", "spall in store", roll.Scrapped{Why: roll.BySpall})
	r := ask(report.PopulationsInput{})
	lives := []survival.Observation{{Value: 2500, Failed: true}, {Value: 2500}, {Value: 4000}, {Value: 4000, Failed: true}, {Value: 5000, Failed: true}, {Value: 5000}}
	fit, err := survival.FitWeibull(lives, nil)
	w.must(err)
	g := r.Groups[0]
	if len(r.Groups) != 1 || g.Key != "steel" || g.Role != mill.Work || g.Rolls != 7 || g.Failed[roll.BySpall] != 2 || g.Failed[roll.ByNeck] != 1 || g.Failed[roll.ByCrack] != 1 ||
		g.Planned != 1 || g.Economic != 1 || g.Living != 1 || g.Failures != 3 || g.Age != 23000 {
		t.Errorf("%+v", g)
	}
	// Lives come in another order, so the sums differ in their last digits.
	if g.Fit == nil || math.Abs(g.Fit.Shape/fit.Shape-1) > 1e-9 || math.Abs(g.Fit.Scale/fit.Scale-1) > 1e-9 || g.Tenth <= 0 || g.Half <= g.Tenth || g.Half >= 2*g.Fit.Scale {
		t.Errorf("fit %+v, want %+v", g.Fit, fit)
	}
	if len(g.Steps) != 3 || g.Steps[0] != (survival.Step{Age: 2500, AtRisk: 6, Failed: 1, Survival: 5. / 6, StandardError: g.Steps[0].StandardError}) {
		t.Errorf("steps %+v", g.Steps)
	}
	if !strings.Contains(strings.Join(r.Notes, "\n"), "only 3 failed") {
		t.Errorf("notes %q", r.Notes)
	}
	km := ask(report.PopulationsInput{By: "supplier", Age: report.AgeKM})
	if got := km.Groups[0]; got.Key != "" || math.Abs(got.Fit.Scale*40/fit.Scale-1) > 1e-9 || math.Abs(got.Fit.Shape/fit.Shape-1) > 1e-9 {
		t.Errorf("by km: %+v", got.Fit)
	}
	for in, kind := range map[report.PopulationsInput]port.Kind{{By: "colour"}: port.Impossible, {Age: "years"}: port.Impossible, {Mill: "nowhere"}: port.NotFound} {
		if _, err := w.ReportPopulations(w.ctx, in); !port.IsKind(err, kind) {
			t.Errorf("%+v: %v", in, err)
		}
	}
}

// TestPartWornRollsHaveNoAge: a roll bought with two thirds of its life gone is no
// young one.
func TestPartWornRollsHaveNoAge(t *testing.T) {
	t.Parallel()
	w := newWorks(t)
	r := roll.Roll{Number: "USED", Role: mill.Work, Grade: "steel", Supplier: "Foundry", NewDiameter: 720_000, BarrelLength: 1_780_000, Scrap: roll.ScrapLimits{Nominal: 640_000}}
	_, err := w.ReceiveRoll(w.ctx, engineer, w.clock.now, roll.Received{Roll: r, Mill: "hot", Diameter: 660_000, Ground: true})
	w.must(err)
	answer, err := w.ReportPopulations(w.ctx, report.PopulationsInput{By: "supplier"})
	w.must(err)
	g := answer.Groups[0]
	if g.Key != "Foundry" || g.PartWorn != 1 || g.Unused != 0 || g.Lives != 0 || g.Rolls != 1 || !strings.Contains(strings.Join(answer.Notes, "\n"), "received part worn") {
		t.Errorf("%+v %q", g, answer.Notes)
	}
}
