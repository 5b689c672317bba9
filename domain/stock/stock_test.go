package stock_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
	"barrelbook/domain/stock"
)

var day = time.Date(2030, 5, 6, 8, 0, 0, 0, time.UTC)

func inForce(role mill.Role, values map[practice.Key]float64) practice.InForce {
	return practice.Resolve([]practice.Practice{{Name: "p", Version: 1, Values: values}}, practice.Scope{Role: role})
}

func state(diameter quantity.Micrometre) roll.State {
	return roll.State{Roll: roll.Roll{Number: "W-101", Role: mill.Work, Scrap: roll.ScrapLimits{Nominal: 640_000}}, Stage: roll.StageWorn, Diameter: diameter}
}

func readings(values ...float64) []roll.Reading {
	list := make([]roll.Reading, len(values))
	for i, v := range values {
		list[i] = roll.Reading{AtMM: 100 + 400*float64(i), Value: v}
	}
	return list
}

// TestTheLargestPartRules: each part by hand, on diameter, and the margin on top
// of the largest only.
func TestTheLargestPartRules(t *testing.T) {
	for _, c := range []struct {
		name   string
		role   mill.Role
		values map[practice.Key]float64
		change func(*stock.Input)
		rules  stock.Kind
		um     quantity.Micrometre
	}{
		// 300 µm worn at the deepest, 120 of it found already: 180, and 50.
		{"wear", mill.Work, nil, func(in *stock.Input) { in.WearUM, in.Found = 300, 699_880 }, stock.Wear, 230},
		// 0.4 mm on radius is 800 on diameter, 100 of its own, and 50.
		{"crack told", mill.Work, nil, func(in *stock.Input) { in.CrackUM = 400 }, stock.Crack, 950},
		{"crack in the book", mill.Work, nil, func(in *stock.Input) {
			in.State.Defects = []roll.Defect{{Kind: roll.EddyCurrent, DepthUM: 200, At: day}, {Kind: roll.Ultrasonic, DepthUM: 400, At: day}}
			in.CrackUM = 100
		}, stock.Crack, 950},
		// Handbook's cogging roll: 28 µm on radius for each of 90 pieces is 2520, doubled 5040, and 500.
		{"fire cracks", mill.Work, map[practice.Key]float64{practice.FireCrackUMPerPiece: 28, practice.MarginStockUM: 500}, func(in *stock.Input) { in.FireCrackPieces = 90 }, stock.FireCrack, 5540},
		// 300 left by the last grind and 2520 grown.
		{"fire cracks left and grown", mill.Work, map[practice.Key]float64{practice.FireCrackUMPerPiece: 28}, func(in *stock.Input) { in.FireCrackPieces, in.State.FireCracks.LeftUM = 90, 300 }, stock.FireCrack, 5690},
		{"fire cracks measured", mill.Work, nil, func(in *stock.Input) {
			in.State.FireCracks = roll.FireCracks{LeftUM: 1200, MeasuredAt: day}
		}, stock.FireCrack, 2450},
		// 0.7 mm on radius below the last ground surface, 400 µm of diameter gone.
		{"fatigue", mill.Work, nil, func(in *stock.Input) { in.Fatigue, in.Found = &stock.Fatigue{RadialMM: 0.7}, 699_600 }, stock.Damage, 1050},
		// 4 Shore C above new at 500 µm each is 2000, and the backup's margin of 300.
		{"hardness risen 4", mill.Backup, nil, func(in *stock.Input) {
			in.State.NewHardness, in.State.HardnessAlong = readings(64, 65, 66), readings(66, 69, 67)
		}, stock.Hardness, 2300},
		{"hardness risen 3 is within the step", mill.Backup, nil, func(in *stock.Input) {
			in.State.NewHardness, in.State.HardnessAlong = readings(64, 65, 66), readings(66, 68, 67)
		}, stock.Least, 1300},
		{"least of a backup roll", mill.Backup, nil, func(*stock.Input) {}, stock.Least, 1300},
		{"contour", mill.Work, nil, func(in *stock.Input) { in.State.CrownUM, in.AimCrownUM = 80, -40 }, stock.Contour, 170},
		{"nothing asks", mill.Work, nil, func(*stock.Input) {}, stock.Margin, 50},
		{"groove", mill.Work, nil, func(in *stock.Input) {
			in.State.Roll.Grooves, in.GrooveWorn = []roll.Groove{{Number: 1, Depth: 8000}}, 900
		}, stock.Groove, 1200},
	} {
		in := stock.Input{State: state(700_000), Practice: inForce(c.role, c.values), Found: 700_000}
		in.State.Roll.Role = c.role
		c.change(&in)
		a := stock.Advise(in)
		if a.Rules != c.rules || a.Stock != c.um || a.Aim != a.Found-c.um || a.Left != a.Aim-640_000 {
			t.Errorf("%s: %s rules and %d µm, want %s and %d: %+v", c.name, a.Rules, a.Stock, c.rules, c.um, a.Parts)
		}
	}
}

// TestComparison says so where the advice is further than a fifth from what the
// shop took in the last five grinds, in their median.
func TestComparison(t *testing.T) {
	for _, c := range []struct {
		taken []quantity.Micrometre
		want  quantity.Micrometre
		says  string
	}{
		{nil, 0, ""},
		{[]quantity.Micrometre{950}, 950, ""},
		{[]quantity.Micrometre{9000, 700, 800, 790, 795, 810}, 795, ""}, // the first is the sixth last
		{[]quantity.Micrometre{790}, 790, "20 % more than the 0.790 mm taken in the median of this roll's last grind: it is set by the deepest defect found"},
		{[]quantity.Micrometre{1900, 2000}, 1950, "51 % less than the 1.950 mm taken in the median of this roll's last 2 grinds"},
	} {
		a := stock.Advise(stock.Input{State: state(700_000), Practice: inForce(mill.Work, nil), Found: 700_000, CrackUM: 400, Taken: c.taken})
		if a.Comparison.Taken != c.want || !strings.Contains(a.Comparison.Says, c.says) || (c.says == "") != (a.Comparison.Says == "") {
			t.Errorf("%v: %+v", c.taken, a.Comparison)
		}
	}
}

func TestOutlook(t *testing.T) {
	p := inForce(mill.Work, map[practice.Key]float64{practice.NormalStockMM: 0.45})
	for _, c := range []struct {
		round, left quantity.Micrometre
		word        stock.OutlookWord
		more        int64
	}{
		{450, 32_400, stock.GoesOn, 72}, // which binary floats of (712.4-680.0)/0.45 call 71
		{100, 32_400, stock.GoesOn, 72}, // less than normal counts as normal
		{900, 900, stock.GoesOn, 1},
		{900, 899, stock.LastCampaign, 0},
		{450, 0, stock.LastCampaign, 0},
		{450, -1, stock.Scrap, 0},
	} {
		if o := stock.Next(c.round, c.left, p); o.Word != c.word || o.More != c.more {
			t.Errorf("%d of %d: %+v", c.round, c.left, o)
		}
	}
}

// TestNoDefectKnownIsLeft: whatever was found, where and how often, after the
// advised grind no defect known to the book is deeper than what was taken, and no
// fire crack is left by the balance.
func TestNoDefectKnownIsLeft(t *testing.T) {
	kinds := []roll.TestKind{roll.EddyCurrent, roll.Ultrasonic, roll.MagneticParticle, roll.DyePenetrant}
	rapid.Check(t, func(t *rapid.T) {
		var book []roll.Entry
		write := func(body roll.Body) {
			n := int64(len(book) + 1)
			book = append(book, roll.Entry{Roll: "W-101", Number: n, At: day.Add(time.Duration(n) * time.Hour), RecordedAt: day.Add(time.Duration(n) * time.Hour), Body: body})
		}
		now := func() roll.State {
			s, err := roll.Replay(book)
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		tests := func() (list []roll.Test) {
			for range rapid.IntRange(0, 3).Draw(t, "tests") {
				list = append(list, roll.Test{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), Outcome: roll.Failed, CrackDepthUM: rapid.Float64Range(0, 4000).Draw(t, "depth")})
			}
			return list
		}
		write(roll.Received{Roll: roll.Roll{Number: "W-101", Role: mill.Work, NewDiameter: 800_000, Scrap: roll.ScrapLimits{Nominal: 640_000}}, Diameter: 800_000, Ground: true, Tests: tests()})
		for range rapid.IntRange(0, 3).Draw(t, "grinds before") {
			before := now()
			found := before.Diameter - quantity.Micrometre(rapid.IntRange(0, 600).Draw(t, "wear"))
			write(roll.Reground{Found: found, FoundAsRead: found, Ground: found - quantity.Micrometre(rapid.IntRange(1, 5000).Draw(t, "stock")), MaxPlausible: 50_000, For: roll.ForWear,
				FireCrackUM: rapid.Float64Range(0, 2000).Draw(t, "grown"), Tests: tests()})
			write(roll.Inspected{Tests: tests()})
		}
		s := now()
		pieces, rate := rapid.Int64Range(0, 200).Draw(t, "pieces"), rapid.Float64Range(0, 30).Draw(t, "rate")
		found := s.Diameter - quantity.Micrometre(rapid.IntRange(0, 600).Draw(t, "last wear"))
		a := stock.Advise(stock.Input{State: s, Practice: inForce(mill.Work, map[practice.Key]float64{practice.FireCrackUMPerPiece: rate, practice.CrackMarginUM: 0, practice.MarginStockUM: 0}),
			Found: found, FireCrackPieces: pieces})
		if a.Stock == 0 {
			return
		}
		write(roll.Reground{Found: found, FoundAsRead: found, Ground: a.Aim, MaxPlausible: 1_000_000, For: roll.ForWear, FireCrackUM: rate * float64(pieces)})
		after := now()
		if len(after.Defects) > 0 || after.FireCracks.LeftUM > 1e-9 {
			t.Fatalf("%v and %v left after taking %d µm for %v and %v", after.Defects, after.FireCracks, a.Stock, s.Defects, s.FireCracks)
		}
		if d, known := s.DeepestDefect(); known && float64(a.Stock) < 2*d.DepthUM {
			t.Fatalf("%d µm off for a defect %g µm deep on radius", a.Stock, d.DepthUM)
		}
	})
}

// The stock is no less than any part asks for, whatever is asked.
func TestStockCoversEveryPart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := state(700_000)
		s.CrownUM = rapid.Float64Range(-300, 300).Draw(t, "crown")
		in := stock.Input{State: s, Practice: inForce(mill.Work, map[practice.Key]float64{practice.LeastStockMM: rapid.Float64Range(0, 3).Draw(t, "least")}),
			Found: 700_000 - quantity.Micrometre(rapid.IntRange(0, 900).Draw(t, "lost")), WearUM: rapid.Float64Range(0, 2000).Draw(t, "wear"),
			CrackUM: rapid.Float64Range(0, 3000).Draw(t, "crack")}
		a := stock.Advise(in)
		margin := 0.0
		for _, p := range a.Parts {
			if p.Kind == stock.Margin {
				margin = p.UM
			}
		}
		for _, p := range a.Parts {
			if p.Kind != stock.Margin && float64(a.Stock) < p.UM+margin {
				t.Fatalf("%d µm does not cover %s %g and %g", a.Stock, p.Kind, p.UM, margin)
			}
		}
	})
}

func Example() {
	s := roll.State{Roll: roll.Roll{Role: mill.Work, Scrap: roll.ScrapLimits{Nominal: 940_000}}, Diameter: 968_258, Taken: []quantity.Micrometre{6_900, 7_000}}
	p := practice.Resolve([]practice.Practice{{Name: "cogging", Version: 1, Values: map[practice.Key]float64{practice.FireCrackUMPerPiece: 28, practice.MarginStockUM: 500, practice.NormalStockMM: 6.5}}},
		practice.Scope{Role: mill.Work})
	a := stock.Advise(stock.Input{State: s, Practice: p, Found: 968_000, FireCrackPieces: 90})
	fmt.Printf("%s: %s\n%s\n", a.Stock, a.Rule, a.Outlook.Says)
	// Output:
	// 5.540 mm: fire cracks by the mill's policy; the margin comes on top
	// 3 more rounds of wear and grind like this, 6.500 mm each
}
