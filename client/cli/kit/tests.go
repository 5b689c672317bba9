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
		"a test and its outcome, again for each (`TEST`: eddy_current:passed, ultrasonic:failed:crack=0.4mm, hardness:passed:shore=74)")
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
		r := oapi.TestResult{Test: oapi.TestKind(strings.ReplaceAll(strings.ToLower(parts[0]), "-", "_"))}
		if !r.Test.Valid() {
			return nil, badTest(text, fmt.Sprintf("%q is no test here (%s)%s", parts[0], strings.Join(kindNames(), ", "), DidYouMean(string(r.Test), kindNames())))
		}
		if len(parts) < 2 {
			return nil, badTest(text, "it does not say passed, failed or unknown")
		}
		if r.Outcome = oapi.TestResultOutcome(strings.ToLower(parts[1])); !r.Outcome.Valid() {
			return nil, badTest(text, fmt.Sprintf("%q is not passed, failed or unknown", parts[1]))
		}
		for _, more := range parts[2:] {
			name, value, _ := strings.Cut(more, "=")
			switch name {
			case "crack":
				r.CrackDepthUm = e.OptSmall("--test "+parts[0]+" crack", value)
			case "shore":
				var n OptNumber
				if err := n.Set(value); err != nil {
					return nil, badTest(text, err.Error())
				}
				r.HardnessShoreC = n.Value
			default:
				return nil, badTest(text, fmt.Sprintf("%q is neither crack=DEPTH nor shore=NUMBER", more))
			}
		}
		results = append(results, r)
	}
	return results, nil
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
