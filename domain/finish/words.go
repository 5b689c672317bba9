package finish

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// number prints a figure with four significant digits.
func number(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// grouped prints a figure with so many decimals and commas at thousands.
func grouped(v float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, rest, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if rest != "" {
		whole += "." + rest
	}
	if v < 0 {
		return "-" + whole
	}
	return whole
}

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

func cvSource(key string, cv float64) string {
	return fmt.Sprintf("; %s %s", key, number(cv))
}

// words names a criterion for a person.
func (c Criterion) words() string {
	switch c {
	case CampaignTonnage:
		return "tonnes of the campaign"
	case CampaignKM:
		return "kilometres of the campaign"
	case Wear:
		return "deepest wear"
	case PeakPressure:
		return "peak contact pressure"
	case ScrapDiameter:
		return "diameter"
	case NextGrind:
		return "diameter after the next normal grind"
	case Force:
		return "force"
	case SpeedHigh, SpeedLow:
		return "roll speed"
	case PairMismatch:
		return "difference to its partner"
	case StackHigh, StackLow:
		return "stack height"
	case PassLineShim:
		return "shim to the pass line"
	case GrooveTonnage:
		return "tonnes of the groove"
	case FireCrack:
		return "fire-crack depth"
	case Roughness:
		return "roughness"
	case Reduction:
		return "reduction"
	case Fatigue:
		return "contact fatigue"
	case Strength:
		return "margin of strength"
	case DriveRatio:
		return "deviation from the drive's diameter ratio"
	}
	return string(c)
}

// value prints a figure of the margin with its unit.
func (m Margin) value(v float64) string {
	switch m.Unit {
	case "mm":
		return grouped(v, 3) + " mm"
	case "km":
		return grouped(v, 1) + " km"
	case "of 1":
		return grouped(v, 3)
	case "%", "µm Ra":
		return grouped(v, 2) + " " + m.Unit
	}
	return grouped(v, 0) + " " + m.Unit
}

// passed says in words that the limit is passed.
func (m Margin) passed() string {
	way := "above"
	if m.AtEnd < m.Limit {
		way = "below"
	}
	return fmt.Sprintf("%s %s is %s the limit %s", m.Criterion.words(), m.value(m.AtEnd), way, m.value(m.Limit))
}

// reaches says what a roll does to its limit.
func (m Margin) reaches() string {
	switch m.Criterion {
	case Wear:
		return m.Roll + " reaches " + m.value(m.Limit) + " wear"
	case GrooveTonnage:
		return fmt.Sprintf("groove %d of %s reaches its %s", m.Groove, m.Roll, m.value(m.Limit))
	case Roughness:
		return m.Roll + " smooths down to " + m.value(m.Limit)
	case CampaignKM, CampaignTonnage:
		return m.Roll + " reaches the " + m.value(m.Limit) + " of its campaign"
	case ScrapDiameter:
		return m.Roll + " wears down to its scrap limit " + m.value(m.Limit)
	}
	return m.Roll + " reaches " + m.value(m.Limit) + " " + m.Criterion.words()
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
			a.Stand, percent(a.Probability), m.Criterion.words(), m.Roll, m.value(m.AtEnd), total, m.value(m.Limit))
	case Marginal:
		return fmt.Sprintf("%s may not finish (%s likely to): %s", a.Stand, percent(a.Probability), m.place(total))
	}
	return fmt.Sprintf("%s will not finish: %s", a.Stand, m.place(total))
}

// place says where a limit is reached, expected and at the earliest.
func (m Margin) place(total int) string {
	switch {
	case m.Reached != nil && m.ReachedP10 != nil && m.ReachedP10.Piece < m.Reached.Piece:
		return fmt.Sprintf("%s at piece %d of %d, after %s t and %s km (90 %% sure not before piece %d)", m.reaches(),
			m.Reached.Piece, total, grouped(m.Reached.TonnageT, 0), grouped(m.Reached.RolledKM, 1), m.ReachedP10.Piece)
	case m.Reached != nil:
		return fmt.Sprintf("%s at piece %d of %d, after %s t and %s km", m.reaches(),
			m.Reached.Piece, total, grouped(m.Reached.TonnageT, 0), grouped(m.Reached.RolledKM, 1))
	case m.ReachedP10 != nil:
		return fmt.Sprintf("%s is expected at %s after piece %d, limit %s, but is 90 %% sure not to pass it only up to piece %d", m.Criterion.words()+" of "+m.Roll,
			m.value(m.AtEnd), total, m.value(m.Limit), m.ReachedP10.Piece-1)
	}
	return fmt.Sprintf("%s of %s is expected at %s after piece %d, limit %s", m.Criterion.words(), m.Roll, m.value(m.AtEnd), total, m.value(m.Limit))
}
