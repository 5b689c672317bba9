package drawing

import (
	"math"
	"strconv"
)

// Ticks gives round values that cover from low to high with about n steps: the
// step is 1, 2 or 5 times a power of ten (Heckbert, "Nice Numbers for Graph
// Labels", Graphics Gems 1990, from memory). The first lies at or below low and
// the last at or above high. Equal ends are spread by one step.
func Ticks(low, high float64, n int) []float64 {
	if high < low {
		low, high = high, low
	}
	if high == low {
		spread := math.Max(math.Abs(low)*0.01, 0.5)
		low, high = low-spread, high+spread
	}
	step := roundStep((high - low) / float64(max(n, 1)))
	first, last := math.Floor(low/step+1e-9), math.Ceil(high/step-1e-9)
	ticks := make([]float64, 0, int(last-first)+1)
	for k := first; k <= last; k++ {
		ticks = append(ticks, k*step)
	}
	return ticks
}

// roundStep is the round step next to a raw one.
func roundStep(raw float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	switch m := raw / power; {
	case m < 1.5:
		return power
	case m < 3.5:
		return 2 * power
	case m < 7.5:
		return 5 * power
	}
	return 10 * power
}

// label prints a tick with the digits its step needs, thousands parted by a
// comma.
func label(v, step float64) string {
	digits := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	text := strconv.FormatFloat(v, 'f', digits, 64)
	if text == "-0" {
		text = "0"
	}
	return thousands(text)
}

func thousands(text string) string {
	start, end := 0, len(text)
	if end > 0 && text[0] == '-' {
		start = 1
	}
	for i, r := range text {
		if r == '.' {
			end = i
			break
		}
	}
	if end-start < 5 { // 4500 reads well without
		return text
	}
	for i := end - 3; i > start; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return text
}
