package finish

// Step is where a limit stands once the pieces up to one are rolled: expected,
// and what 5 and 95 in a hundred stay below.
type Step struct {
	Piece            int // the last one rolled, from 1 in the whole programme; FromPiece−1 for none
	Value, Low, High float64
}

const (
	// courses is how many limits of a stand are followed through the programme,
	// the nearest, and courseSteps in how many steps.
	courses     = 4
	courseSteps = 24
)

// follow fills the course of the nearest margins that fill as pieces are rolled:
// what the heaviest piece alone decides does not.
func (r *run) follow(margins []Margin) {
	left := courses
	for i := range margins {
		m := &margins[i]
		if left == 0 || m.watch == nil || m.watch.w.Peaks() || m.watch.use(r.n) == m.watch.use(0) {
			continue
		}
		m.Course = m.watch.course()
		left--
	}
}

func (s *soft) course() []Step {
	steps := min(courseSteps, s.n)
	list := make([]Step, 0, steps+1)
	for k := range steps + 1 {
		after := k * s.n / steps
		at := Step{Piece: s.in.FromPiece - 1 + after, Value: s.w.Shown(s.use(after))}
		at.Low, at.High = s.band(after)
		list = append(list, at)
	}
	return list
}

// band is P5 and P95 of the figure told after the first m pieces.
func (s *soft) band(m int) (low, high float64) {
	low, high = s.w.Shown(s.at(m, 0.05)), s.w.Shown(s.at(m, 0.95))
	if s.w.Falls {
		return high, low
	}
	return low, high
}
