package rest

import (
	"fmt"
	"math"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
)

// The mappings between the wire and the domain lose nothing: what goes out
// comes back the same. Generators keep to what the contract takes.

func length(t *rapid.T, name string) quantity.Micrometre {
	return quantity.Micrometre(rapid.Int64Range(0, int64(quantity.MaxLength)).Draw(t, name))
}

func number(t *rapid.T, name string) float64 { return rapid.Float64Range(0, 1e5).Draw(t, name) }

func name(t *rapid.T, label string) string {
	return rapid.StringMatching(`[A-Za-z0-9][A-Za-z0-9._-]{0,9}`).Draw(t, label)
}

func same(t *rapid.T, want, got any) {
	if !reflect.DeepEqual(want, got) {
		t.Fatalf("went out as\n%+v\ncame back as\n%+v", want, got)
	}
}

func TestStandRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := mill.Stand{Name: name(t, "name"), Mill: name(t, "mill"), Order: rapid.IntRange(1, 99).Draw(t, "order"), Arrangement: mill.FourHigh,
			Vertical: rapid.Bool().Draw(t, "vertical"), Reversing: rapid.Bool().Draw(t, "reversing"), MaxForceKN: number(t, "force"), MaxTorqueKNM: number(t, "torque"),
			MinRPM: number(t, "min"), MaxRPM: number(t, "max"), MinStack: length(t, "least"), MaxStack: length(t, "most"), MaxShim: length(t, "shim"),
			ReferenceWork: length(t, "work"), ReferenceBackup: length(t, "backup"), BendingForceKN: number(t, "bending")}
		back, err := standFromWire(standToWire(s))
		if err != nil {
			t.Fatal(err)
		}
		same(t, s, back)
	})
}

func TestMillAndGradeRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := mill.Mill{Name: name(t, "name"), Kind: mill.Plate, Title: name(t, "title"), DensityKGPerM3: number(t, "density")}
		same(t, m, millFromWire(millToWire(m)))
		g := port.Grade{Name: name(t, "grade"), Family: "cast_steel", Title: name(t, "title"), ElasticModulusMPa: number(t, "E"), PoissonRatio: number(t, "nu"), DensityKGPerM3: number(t, "density"),
			ExpansionPerK: number(t, "expansion"), ConductivityWPerMK: number(t, "k"), SpecificHeatJPerKGK: number(t, "c"), AllowableStressMPa: number(t, "stress")}
		same(t, g, gradeFromWire(gradeToWire(g)))
	})
}

// TestPracticeRoundTrip draws every setting that there is, so that one that the
// contract does not know is found.
func TestPracticeRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := practice.Practice{Name: name(t, "name"), Scope: practice.Scope{Mill: name(t, "mill"), Role: mill.Backup}, Values: map[practice.Key]float64{}, Version: 3}
		for _, s := range practice.Settings() {
			// Whole numbers are taken by settings that count and by those that measure.
			p.Values[s.Key] = math.Round(rapid.Float64Range(s.Low, s.High).Draw(t, string(s.Key)))
		}
		w, err := practiceToWire(p)
		if err != nil {
			t.Fatal(err)
		}
		back, err := practiceFromWire(w)
		if err != nil {
			t.Fatal(err)
		}
		back.Version = given(w.Version)
		same(t, p, back)
	})
}

func TestPieceRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := mill.Piece{Source: "mes", ID: name(t, "id"), Mill: name(t, "mill"), RolledAt: time.UnixMicro(rapid.Int64Range(0, 4e15).Draw(t, "at")).UTC(), Material: name(t, "material"),
			MassT: number(t, "mass"), WidthMM: number(t, "width"), EntryThicknessMM: number(t, "entry")}
		for i := range rapid.IntRange(1, 4).Draw(t, "passes") {
			p.Passes = append(p.Passes, mill.Pass{Stand: fmt.Sprint("F", i), EntryThicknessMM: number(t, "in"), ExitThicknessMM: number(t, "out"), WidthMM: number(t, "w"), ForceKN: number(t, "f"),
				SpeedMPerS: number(t, "v"), TimeS: number(t, "s"), TemperatureC: number(t, "T"), LateralOffsetMM: -number(t, "x"), BendingForceKN: -number(t, "b"),
				WorkRollShiftMM: -number(t, "s1"), IntermediateRollShiftMM: number(t, "s2"), IntermediateBendingForceKN: number(t, "ib"), PairCrossDeg: number(t, "cross"),
				Groove: rapid.IntRange(0, 60).Draw(t, "groove"), Reverse: rapid.Bool().Draw(t, "reverse")})
		}
		same(t, p, pieceFromWire(pieceToWire(p)))
	})
}

// TestLengthsOfRecord: every micrometre goes out as a number of mm and comes
// back as the same micrometre.
func TestLengthsOfRecord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		um := length(t, "length")
		var l lengths
		if back := l.mm("x", um.MM()); back != um || l.err() != nil {
			t.Fatalf("%s came back as %s (%v)", um, back, l.err())
		}
	})
}

// TestVersionOfATag reads both forms of our tags and no other.
func TestVersionOfATag(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Int64Range(1, math.MaxInt64).Draw(t, "version")
		viewed, err := viewTag(v, "body")
		if err != nil {
			t.Fatal(err)
		}
		for _, tag := range []string{*etag(v), *viewed} {
			if got, err := versionOf(tag); err != nil || got != v {
				t.Fatalf("%s is read as %d (%v)", tag, got, err)
			}
		}
		odd := rapid.StringMatching(`[ "0-9*W/a-c+-]{0,8}`).Draw(t, "odd")
		if got, err := versionOf(odd); err == nil && got <= 0 {
			t.Fatalf("%q is read as %d", odd, got)
		}
	})
}
