package storetest

import (
	"errors"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// life is entries of every kind, each with all its fields, in an order that a
// book may have.
func life(number string) []roll.Body {
	um := func(v float64) *float64 { return &v }
	r := receipt(number)
	r.Stands, r.CrownUM, r.Hardness, r.Note = []string{"F1", "F2"}, -40.5, 78, "on the truck"
	r.Roll.Supplier, r.Roll.Certificate, r.Roll.BearingSpan, r.Roll.NeckDiameter, r.Roll.NeckRadius, r.Roll.Price = "Foundry", "C-1", 3_000_000, 450_000, 60_000, 1_250_000
	r.Roll.Scrap = roll.ScrapLimits{Nominal: 660_000, ShellDepth: 655_000, HardenedDepth: 1, StackHeight: 2, NeckFillet: 3, DriveAngle: 4, SpeedRange: 5}
	test := roll.Test{Kind: roll.EddyCurrent, Outcome: roll.Passed, CrackDepthUM: 12.5, Hardness: 77, Note: "near the drive end"}
	r.Measures = roll.Measures{CrownUM: um(-40.5), RoughnessUM: um(0.9)}
	r.Tests = []roll.Test{{Kind: roll.HardnessTest, Outcome: roll.Passed, Readings: []roll.Reading{{AtMM: 100, AroundDeg: um(90), Value: 78}, {AtMM: 1700, Value: 79, Threshold: 95, DepthUM: 1, Indication: roll.IndicationHardness, File: "left.png"}},
		Instrument: "H-2", CalibrationPiece: "block 70", CalibratedAt: hours(-30), Operator: "shift 2"}}
	test.AllowedUM = 20
	visual := roll.Test{Kind: roll.Visual, Outcome: roll.Passed}
	return []roll.Body{
		r,
		roll.PastStay{Stand: "F1", Position: mill.TopWork, From: hours(1.5), Why: roll.Wear, Pieces: 90, TonnageT: 2100.5, RolledKM: 40.25, SpecificForceKNPerMM: 11.5},
		roll.Inspected{Tests: []roll.Test{test}, Note: "as received"},
		roll.Reground{Found: 739_950, FoundAsRead: 739_950, Ground: 739_920, GaugeUncertainty: 20, MaxPlausible: 8000, For: roll.ForWear, Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}},
		roll.Held{},
		roll.Released{},
		roll.Paired{Set: "S1", Partner: number + "b", Top: true},
		roll.Mounted{Stand: "F1", Position: mill.TopWork, Set: "S1", Change: "change-1", Cooling: time.Hour, CampaignsBetweenGrinds: 2},
		roll.Incident{Name: "incident-1", What: roll.Bruise, Stand: "F1", Asks: []roll.AskedTest{{Kind: roll.Visual, Campaigns: 1}}, Note: "bar end"},
		roll.Withdrawn{Stand: "F1", Position: mill.TopWork, Set: "S1", Change: "change-2", Why: roll.Mishap},
		roll.Reground{Found: 739_900, FoundAsRead: 739_950, AboveShopK: 5.5, Ground: 739_500, GaugeUncertainty: 20, MaxPlausible: 8000, For: roll.ForIncident,
			Measures: roll.Measures{CrownUM: um(-50), TaperUM: um(3), RunoutUM: um(0), RoundnessUM: um(2), RoughnessUM: um(0.8),
				Stations: []roll.Station{{AtMM: 100, Diameter: 739_490}, {AtMM: 900, Diameter: 739_500}, {AtMM: 1700, Diameter: 739_492}}},
			FoundStations: []roll.Station{{AtMM: 900, Diameter: 739_880}}, FireCrackUM: 14, Grinder: "G2", Tests: []roll.Test{visual, test}, Confirm: "looked twice", Note: "wheel 5"},
		roll.Corrected{Entry: 11, At: hours(11.5), With: roll.Reground{Found: 739_900, FoundAsRead: 739_950, Ground: 739_400, GaugeUncertainty: 20, MaxPlausible: 8000, For: roll.ForIncident, Tests: []roll.Test{visual}}},
		roll.Corrected{Entry: 3},
		roll.Conceded{Missing: []string{"test ultrasonic"}},
		roll.Unpaired{Set: "S1"},
		roll.Regraded{Mill: "HSM", Stands: []string{"F2"}},
		roll.Scrapped{Why: roll.ByEconomy},
	}
}

func testBooks(t *testing.T, s Store) {
	works(t, s)
	var rows []port.RollRow
	bodies := life("W1")
	for i, body := range bodies {
		write(t, s, func(w port.Writer) error {
			row, err := enter(w, "W1", hours(float64(i+1)), body)
			rows = append(rows, row)
			return errors.Join(err, keepStay(w, "W1", body, hours(float64(i+1))))
		})
		read(t, s, func(r port.Reader) error {
			got, err := r.Roll("W1")
			same(t, "projection after "+string(body.Kind()), got, rows[i])
			return err
		})
	}
	read(t, s, func(r port.Reader) error {
		book, err := r.Book("W1")
		if err != nil {
			return err
		}
		if len(book) != len(bodies) {
			t.Fatalf("%d entries in the book, want %d", len(book), len(bodies))
		}
		for i, e := range book {
			same(t, "entry", e, roll.Entry{Roll: "W1", Number: int64(i + 1), At: hours(float64(i + 1)), RecordedAt: hours(float64(i + 1)).Add(time.Minute),
				By: "A. Grinder", Reason: "test \"ö\"", Body: bodies[i], Hash: rows[i].Hash})
		}
		state, err := roll.Replay(book)
		same(t, "replayed state", state, rows[len(rows)-1].State)
		page, next, err2 := r.Entries("W1", port.Page{Limit: 5})
		same(t, "page of entries", page, book[:5])
		page, _, err3 := r.Entries("W1", port.Page{Limit: 50, After: next})
		same(t, "rest of the entries", page, book[5:])
		corrected := map[int64]int64{}
		for _, e := range book {
			if c, ok := e.Body.(roll.Corrected); ok {
				corrected[c.Entry] = e.Number
			}
		}
		if len(corrected) == 0 {
			t.Fatal("nothing in the book is corrected")
		}
		all, err4 := r.Corrections("W1", 1, int64(len(book)))
		same(t, "corrections", all, corrected)
		for entry, by := range corrected {
			one, err := r.Corrections("W1", entry, entry)
			same(t, "one correction", one, map[int64]int64{entry: by})
			err4 = errors.Join(err4, err)
		}
		none, err5 := r.Corrections("W2", 1, 1000)
		same(t, "corrections of another book", none, map[int64]int64{})
		return errors.Join(err, err2, err3, err4, err5)
	})
	if err := s.Verify(t.Context()); err != nil {
		t.Errorf("the books do not verify: %v", err)
	}
}

// keepStay keeps the mounting that belongs to an entry of the book.
func keepStay(w port.Writer, number string, body roll.Body, at time.Time) error {
	switch b := body.(type) {
	case roll.Mounted:
		_, err := w.OpenMounting(port.Stay{Roll: number, Stand: b.Stand, Position: b.Position, Set: b.Set, MountedAt: at})
		return err
	case roll.PastStay:
		return w.AddPastStays([]port.Stay{{Roll: number, Stand: b.Stand, Position: b.Position, MountedAt: b.From, WithdrawnAt: at}})
	case roll.Withdrawn:
		stays, err := w.MountingsAt([]string{b.Stand}, at)
		for _, m := range stays {
			if m.Roll == number {
				m.WithdrawnAt = at
				err = errors.Join(err, w.MoveMounting(m))
			}
		}
		return err
	}
	return nil
}

func testAppend(t *testing.T, s Store) {
	works(t, s)
	refused(t, s, port.NotFound, func(w port.Writer) error { // the mill is not there
		r := receipt("W0")
		r.Mill = "nowhere"
		_, err := enter(w, "W0", day, r)
		return err
	})
	received(t, s, "W1", "W2")
	var old port.RollRow
	read(t, s, func(r port.Reader) (err error) { old, err = r.Roll("W1"); return err })
	write(t, s, func(w port.Writer) error { _, err := enter(w, "W1", hours(1), looked()); return err })
	refused(t, s, port.Stale, func(w port.Writer) error { _, err := follow(w, old, "W1", hours(2), looked()); return err })
	// A number that is used is not received again.
	refused(t, s, port.Conflicting, func(w port.Writer) error {
		_, err := follow(w, port.RollRow{}, "W1", hours(2), receipt("W1"))
		return err
	})
	refused(t, s, port.Stale, func(w port.Writer) error { // the number of the entry is not the next
		row, err := w.Roll("W2")
		if err != nil {
			return err
		}
		after := row.State
		after.Entries = 3
		_, err = w.Append(row, roll.Entry{Roll: "W2", Number: 3, At: hours(1), RecordedAt: hours(1), Body: looked()}, after)
		return err
	})
	refused(t, s, port.NotFound, func(w port.Writer) error { // no such book
		row := old
		row.State.Roll.Number = "W9"
		_, err := follow(w, row, "W9", hours(2), looked())
		return err
	})
	read(t, s, func(r port.Reader) error {
		book, err := r.Book("W1")
		if len(book) != 2 {
			t.Errorf("%d entries after one was refused, want 2", len(book))
		}
		c, err2 := r.Counts()
		same(t, "counts", c, port.Counts{Rolls: 2, Entries: 3})
		some, err3 := r.RollsByNumber([]string{"W2", "W1", "W2", "W7"})
		if len(some) != 2 {
			t.Errorf("rolls that exist of four names with one twice: %d, want 2", len(some))
		}
		none, err4 := r.RollsByNumber(nil)
		if len(none) != 0 {
			t.Errorf("rolls of no names: %d", len(none))
		}
		return errors.Join(err, err2, err3, err4)
	})
}

func testFilters(t *testing.T, s Store) {
	works(t, s)
	write(t, s, func(w port.Writer) error {
		if err := w.CreateGrade(port.Grade{Name: "ICDP"}); err != nil {
			return err
		}
		backup := receipt("B1")
		backup.Roll.Role, backup.Roll.Grade = mill.Backup, "ICDP"
		bar := receipt("R1")
		bar.Mill = "BAR"
		fresh := receipt("W3")
		fresh.Ground = false
		for number, bodies := range map[string][]roll.Body{
			"B1": {backup}, "R1": {bar}, "W3": {fresh},
			"W1": {receipt("W1"), roll.Paired{Set: "S1", Partner: "W2", Top: true}, roll.Mounted{Stand: "F1", Position: mill.TopWork, Set: "S1"}},
			"W2": {receipt("W2"), roll.Held{}},
		} {
			for i, b := range bodies {
				if _, err := enter(w, number, hours(float64(i)), b); err != nil {
					return err
				}
			}
		}
		return nil
	})
	yes, no := true, false
	for _, c := range []struct {
		name string
		f    port.RollFilter
		want []string
	}{
		{"all", port.RollFilter{}, []string{"B1", "R1", "W1", "W2", "W3"}},
		{"stage", port.RollFilter{Stage: roll.StageNew}, []string{"W3"}},
		{"role", port.RollFilter{Role: mill.Backup}, []string{"B1"}},
		{"mill", port.RollFilter{Mill: "BAR"}, []string{"R1"}},
		{"stand", port.RollFilter{Stand: "F1"}, []string{"W1"}},
		{"grade", port.RollFilter{Grade: "HCR"}, []string{"R1", "W1", "W2", "W3"}},
		{"held", port.RollFilter{Held: &yes}, []string{"W2"}},
		{"not held", port.RollFilter{Held: &no, Mill: "HSM"}, []string{"B1", "W1", "W3"}},
		{"set", port.RollFilter{Set: "S1"}, []string{"W1"}},
		{"none", port.RollFilter{Set: "S1", Stage: roll.StageNew}, nil},
	} {
		read(t, s, func(r port.Reader) error {
			rows, _, err := r.Rolls(c.f, port.Page{})
			var got []string
			for _, row := range rows {
				got = append(got, row.State.Roll.Number)
			}
			same(t, "rolls by "+c.name, got, c.want)
			return err
		})
	}
	read(t, s, func(r port.Reader) error {
		names, err := r.RollNames()
		if err != nil {
			return err
		}
		var got []string
		for _, n := range names {
			row, err := r.Roll(n.Number)
			if err != nil {
				return err
			}
			st := row.State
			same(t, "roll "+n.Number+" by name", n, port.RollName{Number: st.Roll.Number, Mill: st.Mill, Role: st.Roll.Role, Grade: st.Roll.Grade, Stage: st.Stage})
			got = append(got, n.Number)
		}
		same(t, "names of rolls", got, []string{"B1", "R1", "W1", "W2", "W3"})
		cut, err := r.RollCut()
		same(t, "rolls and those scrapped", cut, port.RollCut{Count: 5})
		return err
	})
}

func testVerify(t *testing.T, s Store) {
	if err := s.Verify(t.Context()); err != nil {
		t.Errorf("an empty store: %v", err)
	}
	works(t, s)
	var numbers []string
	for i := range 450 { // more than two groups of rolls
		numbers = append(numbers, "W"+string(rune('A'+i%26))+string(rune('A'+i/26)))
	}
	received(t, s, numbers...)
	if err := s.Verify(t.Context()); err != nil {
		t.Errorf("%d books: %v", len(numbers), err)
	}
}
