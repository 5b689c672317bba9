package limit_test

import (
	"math"
	"slices"
	"testing"

	"barrelbook/domain/duty"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
	"barrelbook/domain/wear"
)

// TestKindsAreWhole: no kind lacks what an engine or a sentence asks of it, and
// the setting it names is one.
func TestKindsAreWhole(t *testing.T) {
	settings := map[practice.Key]bool{}
	for _, s := range practice.Settings() {
		settings[s.Key] = true
	}
	seen := map[limit.Criterion]bool{}
	for _, k := range limit.Kinds() {
		if k.Criterion == "" || seen[k.Criterion] || k.Unit == "" || k.Words == "" || k.Noun == "" {
			t.Errorf("%+v: it is named twice, or lacks a name, a unit or words", k)
		}
		seen[k.Criterion] = true
		if (k.Watch == nil) == (k.Fixed == nil) {
			t.Errorf("%s: is either watched or known beforehand", k.Criterion)
		}
		if k.Key != "" && !settings[k.Key] {
			t.Errorf("%s: %s is not a setting", k.Criterion, k.Key)
		}
	}
}

func given(values map[practice.Key]float64) standing.Given {
	g := standing.Given{}
	for k, v := range values {
		g[k] = practice.Value{Number: v, Set: true, Source: "practice test v1"}
	}
	return g
}

// named is the one watch of a criterion, nil where there is none.
func named(list []limit.Watch, c limit.Criterion) *limit.Watch {
	for i := range list {
		if list[i].Criterion == c {
			return &list[i]
		}
	}
	return nil
}

// A roll of 720 mm turns 10⁶/(π·720) = 442.097 times a kilometre: 2 km are 884.194
// turns. Of 2000 turns, 1000 borne, such a stretch can be done 1.130974 times.
func TestRevolutionsByHand(t *testing.T) {
	turns, err := wear.Revolutions(2, 720)
	if err != nil {
		t.Fatal(err)
	}
	r := standing.Roll{Stay: duty.Usage{Revolutions: 1000}, Limits: given(map[practice.Key]float64{practice.MaxCampaignRevolutions: 2000})}
	w := named(limit.Again(&r, mill.Stand{}, duty.Usage{RolledKM: 2, Revolutions: turns}), "campaign_revolutions")
	if w == nil || w.Now() != 1000 || math.Abs(w.Times(1)-1.130974) > 1e-6 {
		t.Fatalf("%+v", w)
	}
	if said := w.Reaches("W", w.Limit, 0); said != "W reaches the 2,000 revolutions of its campaign" {
		t.Errorf("said %q", said)
	}
}

// 3 km on 1200 mm, 2 on 1208 and 1 on 1215 are 6 km within 10 mm of 1208; 4 km on
// 1230 stand alone. What is to come on 1225 adds to 1215 and 1230 alike: 1 and 4
// km, and 2 km of it take the latter to 6.
func TestKilometresOnOneWidthByHand(t *testing.T) {
	var borne duty.Usage
	for _, u := range []duty.WidthUse{{WidthMM: 1230, RolledKM: 4}, {WidthMM: 1200, RolledKM: 3}, {WidthMM: 1215, RolledKM: 0.4}, {WidthMM: 1208, RolledKM: 2}, {WidthMM: 1215, RolledKM: 0.6}} {
		borne.Add(duty.Usage{Widths: []duty.WidthUse{u}})
	}
	if !slices.IsSortedFunc(borne.Widths, func(a, b duty.WidthUse) int { return a.WidthMM - b.WidthMM }) || len(borne.Widths) != 4 {
		t.Fatalf("widths %+v", borne.Widths)
	}
	r := standing.Roll{SinceGrind: borne, Limits: given(map[practice.Key]float64{practice.MaxSameWidthKM: 7})}
	w := named(limit.Again(&r, mill.Stand{}, duty.Usage{RolledKM: 2, Widths: []duty.WidthUse{{WidthMM: 1225, RolledKM: 2}}}), "same_width_km")
	if w == nil || math.Abs(w.Now()-6) > 1e-12 {
		t.Fatalf("now %+v", w)
	}
	// 1225 with 1215 and 1230: 1 + 4 borne, 2 km a time: once more is 7.
	if got := w.Times(1); math.Abs(got-1) > 1e-12 {
		t.Errorf("can be done %g times, want 1", got)
	}
}

// A limit that is past is said with what it stands at, in one form everywhere.
func TestPastIsSaid(t *testing.T) {
	r := standing.Roll{Roll: duty.Roll{Number: "HW-202", GrooveDepthMM: []float64{8, 8}}, Stay: duty.Usage{RolledKM: 111.04},
		SinceGrind: duty.Usage{WearUM: []float64{100, 402.3}, RolledKM: 40, Grooves: []duty.GrooveUse{{Number: 2, TonnageT: 130}}},
		Roughness:  wear.Roughness{StartUM: 2.5, FloorUM: 0.8, ScaleKM: 300},
		Limits:     given(map[practice.Key]float64{practice.MaxWearUM: 320, practice.MaxCampaignKM: 110, practice.MaxGrooveT: 120, practice.RoughnessLimitUM: 2.9, practice.MaxCampaignT: 1e6})}
	want := []string{
		"HW-202 is already past its 110.0 km campaign limit: 111.0 km",
		"groove 2 of HW-202 is already past its 120 t groove limit: 130 t",
		"HW-202 is already past its Ra 2.90 µm roughness limit: Ra 2.29 µm",
		"HW-202 is already past its 320 µm wear limit: 402 µm",
	}
	if said := limit.Past(&r, mill.Stand{}); !slices.Equal(said, want) {
		t.Errorf("said %q\nwant %q", said, want)
	}
	r.Limits = given(map[practice.Key]float64{practice.MaxWearUM: 402.3})
	if said := limit.Past(&r, mill.Stand{}); len(said) != 0 {
		t.Errorf("at its limit exactly: said %q", said)
	}
}
