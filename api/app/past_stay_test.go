package app_test

import (
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// card is a line of a roll's card, in at days and hours before the start.
func card(number string, at time.Time, found, ground quantity.Micrometre) record.PastStay {
	return record.PastStay{Roll: number, WithdrawnAt: at.Add(6 * time.Hour), PastStay: roll.PastStay{Stand: "F1", Position: mill.TopWork, From: at, Why: roll.Planned, TonnageT: 2000, RolledKM: 50, SpecificForceKNPerMM: 12},
		Regrind: &record.RegrindInput{At: at.Add(30 * time.Hour), Found: found, Ground: ground, For: roll.ForWear}}
}

// A works that takes over from paper has what its rolls bore in the books, for
// learning and totals, as if it had been recorded then.
func TestPastStays(t *testing.T) {
	w := newWorks(t)
	w.stand("F1", 1)
	opened := w.clock.now
	w.roll("A", mill.Work, 700)
	w.clock.now = opened.Add(60 * 24 * time.Hour)
	lines := []record.PastStay{card("A", opened.Add(24*time.Hour), 699_820, 699_600), card("A", opened.Add(72*time.Hour), 699_430, 699_200)}
	answer, err := w.RecordPastStays(w.ctx, engineer, lines)
	w.must(err)
	if answer != (record.PastStaysAnswer{Rolls: 1, Stays: 2, Regrinds: 2}) {
		t.Errorf("answer %+v", answer)
	}
	again, err := w.RecordPastStays(w.ctx, engineer, lines)
	w.must(err)
	if again != (record.PastStaysAnswer{Known: 2}) {
		t.Errorf("sent again: %+v", again)
	}
	v, err := w.Roll(w.ctx, "A")
	w.must(err)
	if v.Totals.TonnageT != 4000 || v.Totals.RolledKM != 100 || v.Totals.ExposureKM != 120 || !v.Totals.Stated || v.State.Campaigns != 2 || v.State.Regrinds != 2 || v.State.Diameter != 699_200 || v.State.Stage != roll.StageGround {
		t.Errorf("the roll has %+v in state %s at %s after %d campaigns", v.Totals, v.State.Stage, v.State.Diameter, v.State.Campaigns)
	}
	w.must(w.store.Read(w.ctx, func(r port.Reader) error {
		grinds, _, err := r.Grinds(port.GrindFilter{Roll: "A"}, port.Page{Limit: 10})
		if err == nil && (len(grinds) != 2 || len(grinds[1].Uses) != 1 || grinds[1].Uses[0].ExposureKM != 60 || grinds[1].Wear() != 170) {
			t.Errorf("grinds to learn from: %+v", grinds)
		}
		return err
	}))
	// A grind of the card that is corrected leaves what the stays bore.
	_, err = w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "A", Entry: 3, Reason: "misread the card", Regrind: func(in *record.RegrindInput) { in.Ground = 699_610 }})
	w.must(err)
	if v, err = w.Roll(w.ctx, "A"); err != nil || v.Totals.TonnageT != 4000 || v.Totals.ExposureKM != 120 {
		t.Errorf("after a correction the roll has borne %+v (%v)", v.Totals, err)
	}
	// A line that is withdrawn takes its stay with it.
	_, err = w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "A", Entry: 4, Reason: "was another roll"})
	w.must(err)
	if v, err = w.Roll(w.ctx, "A"); err != nil || v.Totals.TonnageT != 2000 || v.State.Campaigns != 1 {
		t.Errorf("after a withdrawal the roll has borne %+v in %d campaigns (%v)", v.Totals, v.State.Campaigns, err)
	}
	w.must(w.store.Verify(w.ctx))
}

func TestPastStaysThatCannotBe(t *testing.T) {
	w := newWorks(t)
	w.stand("F1", 1)
	opened := w.clock.now
	w.roll("A", mill.Work, 700)
	w.roll("B", mill.Work, 700)
	w.set("S", mill.Work, 700)
	w.clock.now = opened.Add(60 * 24 * time.Hour)
	day := func(n int) time.Time { return opened.Add(time.Duration(n) * 24 * time.Hour) }
	with := func(l record.PastStay, change func(*record.PastStay)) record.PastStay { change(&l); return l }
	for name, one := range map[string]struct {
		lines []record.PastStay
		want  string
	}{
		"no book":            {[]record.PastStay{card("A", day(2), 699_820, 699_600), card("X", day(2), 1, 1)}, "stays/1/roll"},
		"two in one place":   {[]record.PastStay{card("A", day(2), 699_820, 699_600), card("B", day(2).Add(time.Hour), 699_820, 699_600)}, "stays/1/mounted_at"},
		"two at a time":      {[]record.PastStay{card("A", day(2), 699_820, 699_600), card("A", day(2).Add(time.Hour), 699_820, 699_600)}, "in the shop on"},
		"before the receipt": {[]record.PastStay{card("A", day(-2), 699_820, 699_600)}, "receipt"},
		"in the future":      {[]record.PastStay{card("A", day(70), 699_820, 699_600)}, "stays/0/withdrawn_at"},
		"in a set":           {[]record.PastStay{card("S-T", day(2), 699_820, 699_600)}, "in set S"},
		"larger than before": {[]record.PastStay{card("A", day(2), 701_000, 699_600)}, "stays/0/regrind/found_mm"},
		"ends first":         {[]record.PastStay{with(card("A", day(2), 699_820, 699_600), func(l *record.PastStay) { l.WithdrawnAt = l.From })}, "stays/0/mounted_at"},
		"a bottom backup":    {[]record.PastStay{with(card("A", day(2), 699_820, 699_600), func(l *record.PastStay) { l.Position = mill.BottomBackup })}, "stays/0/position"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := w.RecordPastStays(w.ctx, engineer, one.lines)
			if err == nil {
				t.Fatal("carried over")
			}
			said := err.Error()
			for _, f := range refusal.FieldsOf(err) {
				said += " " + f.Path
			}
			if !strings.Contains(said, one.want) {
				t.Errorf("refused with %q, want %q in it", said, one.want)
			}
			for _, number := range []string{"A", "B"} {
				if v, err := w.Roll(w.ctx, number); err != nil || v.State.Entries != 1 {
					t.Errorf("roll %s has %d entries (%v); nothing was to be kept", number, v.State.Entries, err)
				}
			}
		})
	}
}
