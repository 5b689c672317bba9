package kit

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/oapi"
)

// TestKinds are the tests a roll can be given.
var TestKinds = []oapi.TestKind{oapi.TestKindVisual, oapi.TestKindEddyCurrent, oapi.TestKindUltrasonic, oapi.TestKindHardness,
	oapi.TestKindMagneticParticle, oapi.TestKindDyePenetrant}

// TestFlag adds --test, which may be given again for each test.
func TestFlag(cmd *cobra.Command, target *[]string) {
	cmd.Flags().StringArrayVar(target, "test", nil,
		"a test and its outcome, again for each (`TEST`: eddy_current:passed, ultrasonic:failed:crack=0.4mm, hardness:passed:shore=74, hardness:passed:shore@100=74:shore@900=75)")
	must(cmd.RegisterFlagCompletionFunc("test", cobra.FixedCompletions(testWords(), cobra.ShellCompDirectiveNoFileComp)))
}

func testWords() []string {
	var words []string
	for _, kind := range TestKinds {
		for _, outcome := range []oapi.TestResultOutcome{oapi.TestResultOutcomePassed, oapi.TestResultOutcomeFailed, oapi.TestResultOutcomeUnknown} {
			words = append(words, string(kind)+":"+string(outcome))
		}
	}
	return words
}

// Tests reads the --test flags. A crack's depth is on radius.
func (e *Entry) Tests(texts []string) ([]oapi.TestResult, error) {
	var results []oapi.TestResult
	for _, text := range texts {
		parts := strings.Split(text, ":")
		kind, err := TestKindOf(parts[0])
		if err != nil {
			return nil, badTest(text, err.Error())
		}
		r := oapi.TestResult{Test: kind}
		if len(parts) < 2 {
			return nil, badTest(text, "it does not say passed, failed or unknown")
		}
		outcome := oapi.TestResultOutcome(strings.ToLower(parts[1]))
		if r.Outcome = &outcome; !outcome.Valid() {
			return nil, badTest(text, fmt.Sprintf("%q is not passed, failed or unknown", parts[1]))
		}
		for _, more := range parts[2:] {
			name, value, _ := strings.Cut(more, "=")
			name, place, placed := strings.Cut(name, "@")
			switch {
			case placed && name == "shore":
				reading, err := e.hardnessAt(place, value)
				if err != nil {
					return nil, badTest(text, err.Error())
				}
				if r.Readings == nil {
					r.Readings = &[]oapi.Reading{}
				}
				*r.Readings = append(*r.Readings, reading)
			case name == "crack" && !placed:
				r.CrackDepthUm = e.OptCrack("--test "+parts[0]+" crack", value)
			case name == "shore":
				var n OptNumber
				if err := n.Set(value); err != nil {
					return nil, badTest(text, err.Error())
				}
				r.HardnessShoreC = n.Value
			default:
				return nil, badTest(text, fmt.Sprintf("%q is none of crack=DEPTH, shore=NUMBER and shore@PLACE=NUMBER", more))
			}
		}
		results = append(results, r)
	}
	return results, nil
}

// hardnessAt is a reading of hardness at a place along the barrel.
func (e *Entry) hardnessAt(place, value string) (oapi.Reading, error) {
	var n OptNumber
	if err := n.Set(value); err != nil {
		return oapi.Reading{}, err
	}
	return oapi.Reading{AtMm: e.Length("--test hardness place", place), Value: n.Value}, nil
}

func badTest(text, why string) error {
	return &UsageError{Err: fmt.Errorf("--test %q: %s; write it like eddy_current:passed", text, why)}
}

func kindNames() []string {
	names := make([]string, len(TestKinds))
	for i, k := range TestKinds {
		names[i] = string(k)
	}
	return names
}
