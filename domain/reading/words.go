package reading

import (
	"fmt"
	"strings"
	"time"

	"barrelbook/domain/refusal"
)

// Named says whether the place is one to name: its defect came back, was not
// ground out, grew, or is above its threshold now.
func (p Place) Named() bool {
	switch p.Course {
	case CameBack, NotGroundOut, Grown:
		return true
	case Gone:
		return false
	}
	return p.Indication.Defect() && p.Last().Above()
}

// Last is the last reading of the place.
func (p Place) Last() Look { return p.Looks[len(p.Looks)-1] }

// Says is the place with its history, for a person: "eddy current bruise at
// 812 mm, 140°: 0.6, then 0.9, now 1.4 of 2 allowed; it came back".
func (p Place) Says() string {
	s := p.Where() + ": " + p.history()
	if words := p.course(); words != "" {
		s += "; " + words
	}
	return s
}

// Where is what the place is of and where it lies.
func (p Place) Where() string {
	s := p.Test.Words()
	if string(p.Indication) != s {
		s += " " + string(p.Indication)
	}
	s += " at " + refusal.Number(p.AtMM) + " mm"
	if p.AroundDeg != nil {
		s += ", " + refusal.Number(*p.AroundDeg) + "°"
	}
	return s
}

// longest is how many readings a sentence tells; the first and the last are
// always among them.
const longest = 5

func (p Place) history() string {
	var figures []string
	for _, l := range p.Looks {
		figures = append(figures, l.figure())
	}
	last := len(figures) - 1
	if last > 0 && p.Course != Gone {
		figures[last] = "now " + figures[last]
	} else if last > 0 {
		figures[last] = "then " + figures[last]
	}
	for i := 1; i < last; i++ {
		figures[i] = "then " + figures[i]
	}
	if len(figures) > longest {
		left := len(figures) - longest
		figures = append([]string{figures[0], fmt.Sprintf("%d more", left)}, figures[left+1:]...)
	}
	s := strings.Join(figures, ", ")
	if l := p.Last(); l.Threshold > 0 && l.Value != 0 {
		s += " of " + refusal.Number(l.Threshold) + " allowed"
	}
	return s
}

// figure is the value of the instrument, or the depth where it gave none.
func (l Look) figure() string {
	switch {
	case l.Value == 0 && l.DepthUM > 0:
		return refusal.Number(l.DepthUM) + " µm deep"
	case l.DepthUM > 0:
		return refusal.Number(l.Value) + " (" + refusal.Number(l.DepthUM) + " µm deep)"
	default:
		return refusal.Number(l.Value)
	}
}

func (p Place) course() string {
	grew := ""
	if p.Grew {
		grew = " and grew"
	}
	switch p.Course {
	case CameBack:
		return "it came back" + grew
	case NotGroundOut:
		return "the grind did not take it out" + strings.Replace(grew, "and", "and it", 1)
	case Grown:
		return "it grew"
	case Gone:
		return "nothing was read there at the passed test of " + p.ClearAt.UTC().Format(time.DateOnly)
	}
	return ""
}
