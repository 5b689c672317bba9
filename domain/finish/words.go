package finish

import (
	"fmt"
	"math"
	"strconv"

	"barrelbook/domain/limit"
)

// percent prints a probability. No model is ever certain, so none is printed
// as 100.
func percent(p float64) string {
	switch {
	case p > 0.999:
		return "over 99.9 %"
	case p < 0.001:
		return "under 0.1 %"
	}
	return strconv.FormatFloat(math.Round(1000*p)/10, 'f', -1, 64) + " %"
}

// atLeast prints a probability that is a lower bound.
func atLeast(p float64) string {
	if p > 0.999 {
		return percent(p) // "over" says it
	}
	return "at least " + percent(p)
}

// sentence is the answer in words. No word of it says that anything is without
// danger: it is about the limits entered.
func (a *Answer) sentence(r *run, bars []bar) string {
	total := len(r.in.Pieces)
	if len(bars) > 0 {
		also := ""
		if len(bars) > 1 {
			also = fmt.Sprintf(" (and %d more)", len(bars)-1)
		}
		if bars[0].piece > 1 {
			return fmt.Sprintf("%s cannot roll this programme: %s%s", a.Stand, bars[0].why, also)
		}
		return fmt.Sprintf("%s cannot run: %s%s", a.Stand, bars[0].why, also)
	}
	m := a.Limiting
	if m == nil {
		return fmt.Sprintf("%s will finish all %d pieces: no limit entered applies", a.Stand, total)
	}
	switch a.Verdict {
	case Yes:
		return fmt.Sprintf("%s will finish within the limits entered (%s sure): nearest is %s of %s, %s after piece %d, limit %s",
			a.Stand, percent(a.Probability), m.kind.Words, m.Roll, m.kind.Value(m.AtEnd), total, m.kind.Value(m.Limit))
	case Marginal:
		return fmt.Sprintf("%s may not finish (%s likely to): %s", a.Stand, percent(a.Probability), m.place(total))
	}
	return fmt.Sprintf("%s will not finish: %s", a.Stand, m.place(total))
}

// place says where a limit is reached, expected and at the earliest.
func (m Margin) place(total int) string {
	switch {
	case m.Past:
		return m.kind.IsPast(m.Roll, m.Limit, m.Now, m.Groove)
	case m.Reached != nil && m.ReachedP10 != nil && m.ReachedP10.Piece < m.Reached.Piece:
		return fmt.Sprintf("%s at piece %d of %d, after %s t and %s km (90 %% sure not before piece %d)", m.kind.Reaches(m.Roll, m.Limit, m.Groove),
			m.Reached.Piece, total, limit.Grouped(m.Reached.TonnageT, 0), limit.Grouped(m.Reached.RolledKM, 1), m.ReachedP10.Piece)
	case m.Reached != nil:
		return fmt.Sprintf("%s at piece %d of %d, after %s t and %s km", m.kind.Reaches(m.Roll, m.Limit, m.Groove),
			m.Reached.Piece, total, limit.Grouped(m.Reached.TonnageT, 0), limit.Grouped(m.Reached.RolledKM, 1))
	case m.ReachedP10 != nil:
		return fmt.Sprintf("%s is expected at %s after piece %d, limit %s, but is 90 %% sure not to pass it only up to piece %d", m.kind.Words+" of "+m.Roll,
			m.kind.Value(m.AtEnd), total, m.kind.Value(m.Limit), m.ReachedP10.Piece-1)
	}
	return fmt.Sprintf("%s of %s is expected at %s after piece %d, limit %s", m.kind.Words, m.Roll, m.kind.Value(m.AtEnd), total, m.kind.Value(m.Limit))
}
