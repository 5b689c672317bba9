package finish

import (
	"errors"
	"testing"
	"time"

	"barrelbook/domain/practice"
)

// TestCheckStops ends a check of a long programme, of which no set is a yes, at one
// asking after another, and wants the error of the check each time.
func TestCheckStops(t *testing.T) {
	in := input(1000)
	mechanics(&in)
	in.Models.Coefficients = remembered()
	for i := range in.Work.Rolls {
		lim(&in.Work.Rolls[i])[practice.MaxWearUM] = entered(400)
	}
	for range 6 {
		c := in.Work
		c.Name, c.Mounted = "other", false
		in.Candidates = append(in.Candidates, c)
	}
	left := errors.New("the caller left")
	for _, at := range []int{1, 500, 1001, 1010} {
		asked := 0
		var last time.Time
		var longest time.Duration
		in.Ask = func() error {
			if asked++; asked > 1 {
				longest = max(longest, time.Since(last))
			}
			last = time.Now()
			if asked == at {
				return left
			}
			return nil
		}
		if _, err := Check(in); !errors.Is(err, left) || asked != at {
			t.Errorf("at asking %d: %v after %d", at, err, asked)
		}
		t.Logf("at asking %d: at most %v between two", at, longest)
	}
}
