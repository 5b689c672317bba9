package finish

import (
	"math"
	"testing"
)

// TestCourseLeadsToTheEnd: the course begins at what the roll bears now, ends at
// the figures told of the end, and passes the limit at the piece that is named.
func TestCourseLeadsToTheEnd(t *testing.T) {
	in := input(48)
	wearLimits(&in, 60)
	in.Course = true
	followed := 0
	for _, m := range check(t, in).Margins {
		if m.Course == nil {
			continue
		}
		followed++
		first, last := m.Course[0], m.Course[len(m.Course)-1]
		if first.Piece != 0 || math.Abs(first.Value-m.Now) > 1e-9 {
			t.Errorf("%s of %s begins at %+v, now is %g", m.Criterion, m.Roll, first, m.Now)
		}
		if last.Piece != 48 || last.Value != m.AtEnd || last.Low != m.AtEndLow || last.High != m.AtEndHigh {
			t.Errorf("%s of %s ends at %+v, the end is %g (%g to %g)", m.Criterion, m.Roll, last, m.AtEnd, m.AtEndLow, m.AtEndHigh)
		}
		for i, s := range m.Course {
			if s.Low > s.Value+1e-9 || s.High < s.Value-1e-9 {
				t.Errorf("%s of %s: %+v lies outside its band", m.Criterion, m.Roll, s)
			}
			if m.Reached != nil && s.Piece < m.Reached.Piece && s.Value > m.Limit+1e-9 {
				t.Errorf("%s of %s is past its limit after piece %d, which step %d has it reach at %d", m.Criterion, m.Roll, s.Piece, i, m.Reached.Piece)
			}
		}
	}
	if followed == 0 || followed > courses {
		t.Errorf("%d limits are followed, want 1 to %d", followed, courses)
	}
	in.Course = false
	for _, m := range check(t, in).Margins {
		if m.Course != nil {
			t.Fatalf("%s of %s is followed unasked", m.Criterion, m.Roll)
		}
	}
}
