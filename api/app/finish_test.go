package app_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// finishing sets up two finishing stands with rolls in both.
func finishing(t testing.TB) *works {
	w := newWorks(t)
	w.stand("F5", 5)
	w.stand("F6", 6)
	for i, s := range []string{"F5", "F6"} {
		w.set("B"+s, mill.Backup, 1480)
		w.mount(s, mill.Backup, "B"+s)
		w.set("W"+s, mill.Work, 720-float64(i))
		w.mount(s, mill.Work, "W"+s)
	}
	return w
}

func (w *works) finish(in plan.FinishInput) plan.FinishAnswer {
	w.t.Helper()
	answer, err := w.CheckFinish(w.ctx, in)
	w.must(err)
	return answer
}

func (w *works) practice(name string, scope practice.Scope, values map[practice.Key]float64) {
	w.t.Helper()
	_, err := w.CreatePractice(w.ctx, engineer, practice.Practice{Name: name, Scope: scope, Values: values})
	w.must(err)
}

func TestFinishFollowsWhatIsRolled(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.campaign("C1", 100, nil, "F5", "F6")
	before := w.finish(plan.FinishInput{Campaign: "C1"})
	if len(before.Stands) != 2 || before.Verdict != finish.Yes || before.Model == "" || len(before.Cautions) == 0 {
		t.Fatalf("verdict %s of %d stands, want yes of 2: %+v", before.Verdict, len(before.Stands), before)
	}
	w.rollCoils(1, 60, "F5", "F6")
	after := w.finish(plan.FinishInput{Campaign: "C1"})
	at := func(a plan.FinishAnswer, stand int, c finish.Criterion) finish.Margin {
		for _, m := range a.Stands[stand].Margins {
			if m.Criterion == c {
				return m
			}
		}
		t.Fatalf("no margin %s in %+v", c, a.Stands[stand].Margins)
		return finish.Margin{}
	}
	state, err := w.Stand(w.ctx, "F6")
	w.must(err)
	booked := state.Positions[1].Mounting.Usage.DeepestWearUM()
	if m := at(after, 1, "wear"); booked == 0 || math.Abs(m.Now-booked) > 1e-9 {
		t.Errorf("wear now %.4f µm, booked %.4f", m.Now, booked)
	}
	if a, b := at(before, 1, "wear").AtEnd, at(after, 1, "wear").AtEnd; b <= a {
		t.Errorf("wear at the end %.3f µm after 60 coils more, %.3f before", b, a)
	}
	// A coil is longer where it is thinner.
	if a, b := after.Stands[0].More.RolledKM/float64(after.Stands[0].More.Pieces), after.Stands[1].More.RolledKM/float64(after.Stands[1].More.Pieces); b <= a {
		t.Errorf("km per piece %.4f at F5, %.4f at F6", a, b)
	}
	// As of the start the answer is the one given then.
	then := w.finish(plan.FinishInput{Campaign: "C1", AsOf: start})
	for i := range then.Stands {
		if math.Abs(then.Stands[i].Probability-before.Stands[i].Probability) > 1e-12 || then.Stands[i].Sentence != before.Stands[i].Sentence {
			t.Errorf("as of the start:\n%s\nwas then:\n%s", then.Stands[i].Sentence, before.Stands[i].Sentence)
		}
	}
	// As of a moment half way the pieces rolled by then are booked again.
	half := w.finish(plan.FinishInput{Campaign: "C1", AsOf: start.Add(60 * time.Minute)})
	if m := at(half, 1, "wear"); math.Abs(m.Now-booked/2) > 1e-6 {
		t.Errorf("wear half way %.6f µm, want half of %.6f", m.Now, booked)
	}
}

func TestFinishSaysWhatWouldHelp(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.practice("tight", practice.Scope{Stand: "F6", Role: mill.Work}, map[practice.Key]float64{practice.MaxCampaignKM: 6})
	w.set("SPARE", mill.Work, 715, "F6")
	w.set("OTHER", mill.Work, 715, "F5")
	w.campaign("C1", 100, []mill.PlannedStop{{BeforePiece: 50, Name: "shift", Minutes: 20}}, "F5", "F6")
	a := w.finish(plan.FinishInput{Campaign: "C1", Explain: true})
	f5, f6 := a.Stands[0], a.Stands[1]
	if f5.Verdict != finish.Yes || f6.Verdict != finish.No || a.Verdict != finish.No {
		t.Fatalf("verdicts %s and %s, together %s; want yes, no, no", f5.Verdict, f6.Verdict, a.Verdict)
	}
	if f6.Limiting.Criterion != "campaign_km" || !strings.Contains(f6.Limiting.Source, "practice tight v1") {
		t.Errorf("limiting %+v, want kilometres by practice tight v1", f6.Limiting)
	}
	found := false
	for _, r := range f6.Remedies {
		found = found || r.What == finish.ChangeAtStop && r.Set == "SPARE" && r.BeforePiece == 50 && r.Verdict == finish.Yes
		if r.Set == "OTHER" {
			t.Errorf("a set that serves F5 only is offered for F6: %s", r.Sentence)
		}
	}
	if !found {
		t.Errorf("remedies %+v, want SPARE at the stop before piece 50", f6.Remedies)
	}
	// The spare set alone, not mounted yet.
	with := w.finish(plan.FinishInput{Campaign: "C1", WithSet: "SPARE"})
	if len(with.Stands) != 1 || with.Stands[0].Set != "SPARE" || with.Stands[0].BackupSet != "BF6" {
		t.Errorf("with SPARE: %+v", with.Stands)
	}
}

func TestFinishBlocks(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.set("OWED", mill.Work, 715, "F6")
	w.campaign("C1", 20, nil, "F5", "F6")
	_, err := w.RecordIncident(w.ctx, engineer, record.IncidentInput{What: roll.Cobble, Stand: "F6", At: w.clock.now})
	w.must(err)
	a := w.finish(plan.FinishInput{Campaign: "C1", Stand: "F6"})
	if len(a.Stands) != 1 || a.Verdict != finish.Blocked || !strings.Contains(a.Stands[0].Sentence, "eddy current test is owed") {
		t.Fatalf("after a cobble: %s %+v", a.Verdict, a.Stands)
	}
	testFirst := false
	for _, r := range a.Stands[0].Remedies {
		testFirst = testFirst || r.What == finish.TestFirst && r.Verdict == finish.Yes
	}
	if !testFirst {
		t.Errorf("remedies %+v, want the test first", a.Stands[0].Remedies)
	}
	// A stand without a set.
	w.clock.now = w.clock.now.Add(time.Minute)
	_, err = w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F5", Role: mill.Work, At: w.clock.now})
	w.must(err)
	if a := w.finish(plan.FinishInput{Campaign: "C1", Stand: "F5"}); a.Verdict != finish.Blocked || !strings.Contains(a.Stands[0].Sentence, "F5 has no work set in it") {
		t.Errorf("an empty stand: %s", a.Stands[0].Sentence)
	}
	// No reading of the hardness is named, not assumed.
	named := false
	for _, u := range a.Stands[0].Unknowns {
		named = named || u == "WF6-T: no hardness reading"
	}
	if !named {
		t.Errorf("unknowns %q, want the hardness of WF6-T", a.Stands[0].Unknowns)
	}
}

func TestFinishRefusals(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.set("ONLY5", mill.Work, 715, "F5")
	w.set("BOTH", mill.Work, 715)
	w.campaign("C1", 20, nil, "F5", "F6")
	_, err := w.CreateMill(w.ctx, engineer, mill.Mill{Name: "plate", Kind: mill.Plate})
	w.must(err)
	_, err = w.CreateStand(w.ctx, engineer, mill.Stand{Name: "P1", Mill: "plate", Order: 1, Arrangement: mill.FourHigh})
	w.must(err)
	for _, c := range []struct {
		name string
		in   plan.FinishInput
		kind port.Kind
	}{
		{"unknown campaign", plan.FinishInput{Campaign: "NONE"}, port.NotFound},
		{"unknown stand", plan.FinishInput{Campaign: "C1", Stand: "F9"}, port.NotFound},
		{"stand of another mill", plan.FinishInput{Campaign: "C1", Stand: "P1"}, port.Impossible},
		{"unknown set", plan.FinishInput{Campaign: "C1", WithSet: "NONE"}, port.NotFound},
		{"set for another stand", plan.FinishInput{Campaign: "C1", Stand: "F6", WithSet: "ONLY5"}, port.Impossible},
		{"set for several stands", plan.FinishInput{Campaign: "C1", WithSet: "BOTH"}, port.Impossible},
		{"from beyond the end", plan.FinishInput{Campaign: "C1", FromPiece: 21}, port.Impossible},
		{"from before the start", plan.FinishInput{Campaign: "C1", FromPiece: -1}, port.Impossible},
		{"as of the future", plan.FinishInput{Campaign: "C1", AsOf: start.Add(time.Hour)}, port.Impossible},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := w.CheckFinish(w.ctx, c.in); !port.IsKind(err, c.kind) {
				t.Errorf("%+v: error %v, want kind %s", c.in, err, c.kind)
			}
		})
	}
}

// BenchmarkCheckFinish is one check of seven stands with 300 pieces through the
// use case, database and all.
func BenchmarkCheckFinish(b *testing.B) {
	for _, n := range []int{75, 150, 300} {
		b.Run(fmt.Sprintf("7x%d", n), func(b *testing.B) {
			w := newWorks(b)
			var stands []string
			for i := range 7 {
				s := fmt.Sprintf("F%d", i+1)
				stands = append(stands, s)
				w.stand(s, i+1)
				w.set("B"+s, mill.Backup, 1480)
				w.mount(s, mill.Backup, "B"+s)
				for k := range 5 {
					w.set(fmt.Sprintf("W%s-%d", s, k), mill.Work, 720-float64(k), s)
				}
				w.mount(s, mill.Work, "W"+s+"-0")
			}
			w.practice("km", practice.Scope{Mill: "hot", Role: mill.Work}, map[practice.Key]float64{practice.MaxCampaignKM: 90})
			w.campaign("C1", n, []mill.PlannedStop{{BeforePiece: n / 2, Name: "shift", Minutes: 20}}, stands...)
			for b.Loop() {
				w.finish(plan.FinishInput{Campaign: "C1"})
			}
		})
	}
}
