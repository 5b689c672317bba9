package doubt

import (
	"fmt"
	"math"

	"barrelbook/domain/roll"
)

// hardnessShoreC is how far a hardness may lie from the one before: work
// hardening and scatter of the instrument stay well below it. Common practice, no
// source.
const hardnessShoreC = 15

// Tests asks of readings of hardness far from what the roll had. field names the
// place of the tests in what is recorded.
func Tests(s roll.State, tests []roll.Test, field string) []Question {
	var asked []Question
	for i, t := range tests {
		if t.Kind != roll.HardnessTest {
			continue
		}
		if t.Hardness != 0 && unlike(s.Hardness, t.Hardness) {
			asked = append(asked, Question{Hardness, fmt.Sprintf("%s/%d/hardness_shore_c", field, i), unlikeWords("", t.Hardness, s.Hardness)})
		}
		for j, r := range t.Readings {
			if unlike(s.Hardness, r.Value) {
				asked = append(asked, Question{Hardness, fmt.Sprintf("%s/%d/readings/%d/value", field, i, j), unlikeWords(fmt.Sprintf(" at %g mm", r.AtMM), r.Value, s.Hardness)})
				break // one says it
			}
		}
	}
	return asked
}

func unlike(before, now float64) bool {
	return before != 0 && math.Abs(now-before) > hardnessShoreC
}

func unlikeWords(where string, now, before float64) string {
	return fmt.Sprintf("hardness %g Shore C%s is far from the %g that the roll had", now, where, before)
}
