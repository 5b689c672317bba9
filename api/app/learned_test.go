package app_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// TestProgrammesAreTakenAsTheyWereRolled: of six programmes every piece was rolled
// with 15 % more force at F6 and as written at F5. The wear that the seventh is
// expected to bring is more by about as much at F6 alone, and the answer says why.
func TestProgrammesAreTakenAsTheyWereRolled(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.practice("wear", practice.Scope{Role: mill.Work}, map[practice.Key]float64{practice.MaxWearUM: 4000})
	programme := func(n int) mill.Programme {
		p := mill.Programme{Name: fmt.Sprintf("P%d", n), Mill: "hot"}
		for i := range 20 {
			p.Pieces = append(p.Pieces, coil(fmt.Sprintf("P%d-%02d", n, i), 1400, "F5", "F6"))
		}
		return p
	}
	added := func(name string) map[string]float64 {
		t.Helper()
		_, err := w.LoadCampaign(w.ctx, engineer, programme(len(name)))
		w.must(err)
		um := map[string]float64{}
		for _, s := range w.finish(plan.FinishInput{Campaign: fmt.Sprintf("P%d", len(name))}).Stands {
			for _, m := range s.Margins {
				if m.Criterion == "wear" {
					um[s.Stand] = m.AtEnd - m.Now
				}
			}
		}
		return um
	}
	before := added(strings.Repeat("x", 1))
	for n := 2; n < 8; n++ {
		p := programme(n)
		_, err := w.LoadCampaign(w.ctx, engineer, p)
		w.must(err)
		rolled := p.Pieces
		for i := range rolled {
			w.clock.now = w.clock.now.Add(2 * time.Minute)
			rolled[i].Source, rolled[i].RolledAt = "mill", w.clock.now.Add(-time.Second)
			rolled[i].Passes[1].ForceKN *= 1.15
		}
		answers, err := w.ImportPieces(w.ctx, engineer, rolled)
		w.must(err)
		for _, a := range answers {
			if a.Status != record.PieceStored {
				t.Fatalf("a piece was %s: %v", a.Status, a.Err)
			}
		}
		w.clock.now = w.clock.now.Add(time.Hour)
	}
	after := added(strings.Repeat("x", 8))
	if f5, f6 := after["F5"]/before["F5"], after["F6"]/before["F6"]; f5 < 0.98 || f5 > 1.02 || f6 < 1.10 || f6 > 1.16 {
		t.Errorf("%.3f times the wear at F5, %.3f at F6, where 1 and 1.15 are rolled", f5, f6)
	}
	told := false
	for _, s := range w.finish(plan.FinishInput{Campaign: "P8"}).Stands {
		for _, note := range s.Notes {
			told = told || strings.HasPrefix(note, "F6: of what a programme says") && strings.Contains(note, "last 6 programmes")
		}
	}
	if !told {
		t.Error("no answer says how programmes are rolled at F6")
	}
}

// TestTroubleIsNamed: after sixteen changes as usual, the rolls of F1 wear 45 % more.
// Within four changes that is said, in the stand's own view as well, and the rate has
// followed.
func TestTroubleIsNamed(t *testing.T) {
	t.Parallel()
	w := newWorks(t)
	w.stand("F1", 1)
	var sets []string
	for i := range 4 {
		name := fmt.Sprintf("S%d", i)
		w.set(name, mill.Work, 700-float64(i), "F1")
		sets = append(sets, name)
	}
	w.mount("F1", mill.Work, sets[0])
	diameter := map[string]float64{}
	change := func(n int, times float64) {
		t.Helper()
		w.clock.now = w.clock.now.Add(20 * time.Hour)
		out, in := sets[n%4], sets[(n+1)%4]
		_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F1", Role: mill.Work, At: w.clock.now, SetIn: in, Why: roll.Planned, StatedT: 1600, StatedKM: 60, StatedSpecificKNPerMM: 10})
		w.must(err)
		for i, number := range []string{out + "-T", out + "-B"} {
			w.clock.now = w.clock.now.Add(2 * time.Hour)
			row, err := w.Roll(w.ctx, number)
			w.must(err)
			// 3 µm a km, a few per cent and micrometres off in turn.
			wear := 180*times*(1+0.04*float64(n%3-1)) + float64((7*n+5*i)%11-5)
			diameter[number] = float64(row.State.Diameter) - wear
			found := quantity.Micrometre(diameter[number])
			_, err = w.RecordRegrind(w.ctx, engineer, number, record.RegrindInput{At: w.clock.now, Found: found, Ground: found - 120, For: roll.ForWear})
			w.must(err)
		}
	}
	for n := range 16 {
		change(n, 1)
	}
	usual := w.rateAt("F1")
	if v, err := w.Stand(w.ctx, "F1"); err != nil || v.Trouble != nil {
		t.Errorf("trouble before there is any: %+v, %v", v.Trouble, err)
	}
	for n := 16; n < 20; n++ {
		change(n, 1.45)
	}
	v, err := w.Stand(w.ctx, "F1")
	w.must(err)
	if v.Trouble == nil {
		t.Fatal("trouble is not named")
	}
	if says := v.Trouble.Says("F1"); v.Trouble.Factor < 1.3 || v.Trouble.Factor > 1.6 || !strings.HasPrefix(says, "F1 has worn ") || !strings.Contains(says, "look at its cooling") {
		t.Errorf("%s: %+v", says, v.Trouble)
	}
	if f := w.rateAt("F1") / usual; f < 1.3 || f > 1.55 {
		t.Errorf("the rate is %.2f times the usual one, 1.45 is true", f)
	}
	w.campaign("C1", 10, nil, "F1")
	if notes := strings.Join(w.finish(plan.FinishInput{Campaign: "C1"}).Notes, "\n"); !strings.Contains(notes, "F1 has worn ") {
		t.Errorf("the finish check does not say it: %s", notes)
	}
}

// rateAt is the learned rate of the only grade at a stand.
func (w *works) rateAt(stand string) float64 {
	w.t.Helper()
	rates, err := w.CurrentWearRates(w.ctx)
	w.must(err)
	for _, m := range rates.Mills {
		for _, c := range m.Cells {
			if c.Stand == stand {
				return c.RateUMPerKM
			}
		}
	}
	w.t.Fatalf("no rate at %s", stand)
	return 0
}
