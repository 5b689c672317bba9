package storetest

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/spelling"
)

func testNames(t *testing.T, s Store) {
	m := mill.Mill{Name: "HSM", Kind: mill.HotStrip, Title: "Hot strip", DensityKGPerM3: 7801.5}
	g := port.Grade{Name: "HCR", Family: "high_chrome", Title: "High chromium iron", ElasticModulusMPa: 210000, PoissonRatio: 0.3, DensityKGPerM3: 7600,
		ExpansionPerK: 1.15e-5, ConductivityWPerMK: 21, SpecificHeatJPerKGK: 460, AllowableStressMPa: 120.5}
	write(t, s, func(w port.Writer) error { return errors.Join(w.CreateMill(m), w.CreateGrade(g)) })
	read(t, s, func(r port.Reader) error {
		gotM, err1 := r.Mill("HSM")
		gotG, err2 := r.Grade("HCR")
		same(t, "mill", gotM, m)
		same(t, "grade", gotG, g)
		return errors.Join(err1, err2)
	})
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateMill(m) })
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateGrade(g) })
	// A taken name leaves the transaction in order.
	write(t, s, func(w port.Writer) error {
		if err := w.CreateMill(m); !port.IsKind(err, port.Conflicting) {
			t.Errorf("a taken name: %v", err)
		}
		return w.CreateMill(mill.Mill{Name: "BAR", Kind: mill.Bar})
	})
	for what, look := range map[string]func(port.Reader) error{
		"mill":     func(r port.Reader) error { _, err := r.Mill("bar"); return err },
		"stand":    func(r port.Reader) error { _, err := r.Stand("X"); return err },
		"grade":    func(r port.Reader) error { _, err := r.Grade("X"); return err },
		"practice": func(r port.Reader) error { _, err := r.Practice("X"); return err },
		"roll":     func(r port.Reader) error { _, err := r.Roll("X"); return err },
		"book":     func(r port.Reader) error { _, err := r.Book("X"); return err },
		"set":      func(r port.Reader) error { _, err := r.Set("X"); return err },
		"campaign": func(r port.Reader) error { _, err := r.Campaign("X"); return err },
		"token":    func(r port.Reader) error { _, err := r.TokenByHash("X"); return err },
		"answer":   func(r port.Reader) error { _, err := r.Remembered("a", "b", "c"); return err },
	} {
		read(t, s, func(r port.Reader) error {
			if err := look(r); !port.IsKind(err, port.NotFound) {
				t.Errorf("%s that is not there: %v, want NotFound", what, err)
			}
			return nil
		})
	}
}

func testStands(t *testing.T, s Store) {
	works(t, s)
	refused(t, s, port.NotFound, func(w port.Writer) error {
		return w.CreateStand(mill.Stand{Name: "F9", Mill: "nowhere", Arrangement: mill.TwoHigh})
	})
	full := mill.Stand{Name: "F3", Mill: "HSM", Order: 3, Arrangement: mill.FourHigh, Vertical: true, Reversing: true, MaxForceKN: 42000.5, MaxTorqueKNM: 900,
		MinRPM: 20, MaxRPM: 400, MinStack: 1, MaxStack: 4_500_000, MaxShim: 120_000, ReferenceWork: 700_000, ReferenceBackup: 1_500_000, BendingForceKN: 800}
	write(t, s, func(w port.Writer) error { return w.CreateStand(full) })
	full.Version = 1
	read(t, s, func(r port.Reader) error {
		got, err := r.Stand("F3")
		same(t, "stand", got, full)
		return err
	})
	// Replacing clears what is zero now: a limit was taken away.
	bare := mill.Stand{Name: "F3", Mill: "HSM", Order: 4, Arrangement: mill.FourHigh, Version: 1}
	write(t, s, func(w port.Writer) error { return w.ReplaceStand(bare) })
	refused(t, s, port.Stale, func(w port.Writer) error { return w.ReplaceStand(bare) })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.ReplaceStand(mill.Stand{Name: "X", Mill: "HSM", Version: 1}) })
	bare.Version = 2
	read(t, s, func(r port.Reader) error {
		got, _, err := r.Stands("", port.Page{})
		var names []string
		for _, stand := range got {
			names = append(names, stand.Name)
		}
		same(t, "stands by mill and pass order", names, []string{"B1", "F1", "F2", "F3"})
		same(t, "replaced stand", got[3], bare)
		of, _, err2 := r.Stands("BAR", port.Page{})
		if len(of) != 1 || of[0].Name != "B1" {
			t.Errorf("stands of BAR: %v", of)
		}
		return errors.Join(err, err2)
	})
}

func testPractices(t *testing.T, s Store) {
	p := practice.Practice{Name: "finishing", Scope: practice.Scope{Mill: "HSM", Stand: "F1", Role: mill.Work, Grade: "HCR", Material: "S355"},
		Values: map[practice.Key]float64{practice.MarginStockUM: 50, practice.WearRateUMPerKM: 0.1}}
	write(t, s, func(w port.Writer) error {
		return errors.Join(w.CreatePractice(p), w.CreatePractice(practice.Practice{Name: "all", Values: map[practice.Key]float64{}}))
	})
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreatePractice(p) })
	p.Version = 1
	for v := int64(1); v <= 3; v++ {
		p.Values[practice.MarginStockUM] = float64(50 + v)
		write(t, s, func(w port.Writer) error { return w.ReplacePractice(p) })
		refused(t, s, port.Stale, func(w port.Writer) error { return w.ReplacePractice(p) })
		p.Version = v + 1
	}
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.ReplacePractice(practice.Practice{Name: "X", Version: 1}) })
	read(t, s, func(r port.Reader) error {
		got, err := r.Practice("finishing")
		same(t, "current version", got, p)
		all, _, err2 := r.Practices(port.Page{})
		if len(all) != 2 || all[0].Name != "all" || all[1].Version != 4 {
			t.Errorf("current versions by name: %+v", all)
		}
		return errors.Join(err, err2)
	})
}

// testPages walks lists with every small size of page and wants each item once
// and in order.
func testPages(t *testing.T, s Store) {
	want := []string{"B", "M1", "M10", "M2", "a", "b-1", "b.1", "b_1"} // by bytes, on both databases
	write(t, s, func(w port.Writer) error {
		for i := range want {
			if err := w.CreateMill(mill.Mill{Name: want[(i*3)%len(want)], Kind: mill.Bar}); err != nil {
				return err
			}
		}
		return nil
	})
	for limit := 1; limit <= len(want)+1; limit++ {
		var got []string
		for p := (port.Page{Limit: limit}); ; {
			var next string
			read(t, s, func(r port.Reader) error {
				items, n, err := r.Mills(p)
				if len(items) > limit {
					t.Errorf("a page of %d has %d items", limit, len(items))
				}
				for _, m := range items {
					got = append(got, m.Name)
				}
				next = n
				return err
			})
			if next == "" {
				break
			}
			p.After = next
		}
		same(t, fmt.Sprintf("names in pages of %d", limit), got, want)
	}
}

func testCursors(t *testing.T, s Store) {
	works(t, s)
	var stands string
	read(t, s, func(r port.Reader) (err error) {
		_, stands, err = r.Stands("", port.Page{Limit: 1})
		return err
	})
	for _, bad := range []string{"x", "%%%", stands, stands[:len(stands)-2], "W10", "WyJtaWxscyIsMV0"} { // the last: ["mills",1]
		read(t, s, func(r port.Reader) error {
			if _, _, err := r.Mills(port.Page{After: bad}); !port.IsKind(err, port.Malformed) {
				t.Errorf("cursor %q for mills: %v, want Malformed", bad, err)
			}
			return nil
		})
	}
}

// testNonFinite wants no number stored that cannot be read back.
func testNonFinite(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1")
	for _, v := range []float64{math.NaN(), math.Inf(1)} {
		for what, fn := range map[string]func(port.Writer) error{
			"stand": func(w port.Writer) error {
				return w.CreateStand(mill.Stand{Name: "N", Mill: "HSM", Arrangement: mill.TwoHigh, MaxForceKN: v})
			},
			"grade": func(w port.Writer) error { return w.CreateGrade(port.Grade{Name: "N", PoissonRatio: v}) },
			"practice": func(w port.Writer) error {
				return w.CreatePractice(practice.Practice{Name: "N", Values: map[practice.Key]float64{practice.CoolingH: v}})
			},
			"piece": func(w port.Writer) error {
				_, err := w.InsertPieces([]mill.Piece{{Source: "N", ID: "1", Mill: "HSM", RolledAt: day, MassT: v}})
				return err
			},
			"usage": func(w port.Writer) error {
				id, err := w.OpenMounting(port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, MountedAt: day})
				if err != nil {
					t.Error(err) // not the refusal that is looked for
				}
				return w.AddUsage(map[int64]duty.Usage{id: {TonnageT: v}})
			},
		} {
			if err := s.Write(t.Context(), fn); err == nil {
				t.Errorf("%s with %v was stored", what, v)
			}
		}
	}
}

// testNamesAlike: the names of a sort, and those that look like one, as
// spelling.Look has it, whatever a database thinks of capitals.
func testNamesAlike(t *testing.T, s Store) {
	numbers := []string{"CW-110", "CW-111", "cw110", "CW.11O", "cw_IlO", "HW-110", "SZB.1", "szb-1", "A", "z.9-_Q"}
	write(t, s, func(w port.Writer) error {
		for _, n := range numbers {
			if err := w.CreateMill(mill.Mill{Name: n, Kind: mill.Bar}); err != nil {
				return err
			}
		}
		return nil
	})
	slices.Sort(numbers)
	read(t, s, func(r port.Reader) error {
		all, err := r.Names(port.MillNames, "")
		slices.Sort(all) // databases differ in the order of capitals
		same(t, "all names", all, numbers)
		for _, like := range append(numbers, "cW-IIo", "582.1", "nothing") {
			var want []string
			for _, n := range numbers {
				if spelling.Look(n) == spelling.Look(like) {
					want = append(want, n)
				}
			}
			got, err := r.Names(port.MillNames, like)
			slices.Sort(got)
			same(t, "names like "+like, got, want)
			if err != nil {
				return err
			}
		}
		for _, of := range []port.Named{port.RollNames, port.SetNames, port.StandNames, port.GradeNames, port.ChockNames, port.CampaignNames} {
			if got, err := r.Names(of, "X"); err != nil || len(got) > 0 {
				t.Errorf("names of sort %s: %q, %v", of, got, err)
			}
		}
		return err
	})
}
