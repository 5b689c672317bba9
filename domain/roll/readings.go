package roll

import (
	"fmt"
	"slices"

	"barrelbook/domain/refusal"
)

// Indication is what a reading shows.
type Indication string

// The indications. Hardness is that of a hardness test, whose readings need not
// name it.
const (
	IndicationCrack     Indication = "crack"
	IndicationBruise    Indication = "bruise"    // a local change of structure
	IndicationReflector Indication = "reflector" // what throws ultrasound back inside
	IndicationBond      Indication = "bond"      // where the shell meets the core: a depth, no defect
	IndicationHardness  Indication = "hardness"
)

// Indications are those that a kind of test can give, its usual one first; none
// where it gives no readings.
func (k TestKind) Indications() []Indication {
	switch k {
	case EddyCurrent:
		return []Indication{IndicationCrack, IndicationBruise}
	case Ultrasonic:
		return []Indication{IndicationReflector, IndicationCrack, IndicationBond}
	case MagneticParticle, DyePenetrant, Visual:
		return []Indication{IndicationCrack, IndicationBruise}
	case HardnessTest:
		return []Indication{IndicationHardness}
	}
	return nil
}

// IndicationOf is what a reading of the test shows: what it names, else the
// usual one of the test.
func (t Test) IndicationOf(r Reading) Indication {
	if usual := t.Kind.Indications(); r.Indication == "" && len(usual) > 0 {
		return usual[0]
	}
	return r.Indication
}

// Defect says whether the indication is of something that is to be ground out.
func (i Indication) Defect() bool { return i != IndicationBond && i != IndicationHardness }

// Above says whether the reading is above its threshold.
func (r Reading) Above() bool { return r.Threshold > 0 && r.Value > r.Threshold }

// Decided is the outcome by the readings. One above its threshold fails the test
// whatever it was called, except passed, which is a contradiction that CheckTests
// refuses. A test without a word is passed only where it read defects, each has a
// threshold and none is above it, or deeper than what is allowed; else it is
// unknown. A hardness test is a figure: it is passed by being there, and the
// release holds it against the lowest hardness allowed.
func (t Test) Decided() Outcome {
	above, held, open := false, false, false
	for _, r := range t.Readings {
		above = above || r.Above()
		if t.IndicationOf(r).Defect() {
			held, open = held || r.Threshold > 0, open || r.Threshold == 0
		}
	}
	switch {
	case t.Outcome == Passed, t.Outcome == Failed:
		return t.Outcome
	case above, t.Outcome == "" && t.DeepestUM() > t.AllowedUM:
		return Failed
	case t.Outcome == "" && held && !open:
		return Passed
	case t.Outcome == "" && t.Kind == HardnessTest && len(t.Readings) > 0:
		return Passed
	}
	return Unknown
}

// checkIndications refuses what a test cannot show.
func checkIndications(c *refusal.Check, i int, t Test) {
	can := t.Kind.Indications()
	for j, r := range t.Readings {
		if r.Indication != "" && !slices.Contains(can, r.Indication) {
			c.Add(fmt.Sprintf("tests/%d/readings/%d/indication", i, j), string(r.Indication), "is not what "+t.Kind.withArticle()+" test shows", "one of "+words(can))
		}
	}
}

func (k TestKind) withArticle() string {
	if slices.Contains([]byte("aeu"), k[0]) {
		return "an " + k.Words()
	}
	return "a " + k.Words()
}

func words(list []Indication) string {
	text := ""
	for i, x := range list {
		if i > 0 {
			text += ", "
		}
		text += string(x)
	}
	return text
}
