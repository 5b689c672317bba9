// Package doubt holds what is asked before a record is taken that is plausible
// and may still be a slip of the hand: one file a question. Nothing is refused
// here for good; a question is answered by its name, and the answer stands in the
// book. What cannot be at all is refused by package roll.
package doubt

import (
	"slices"
	"strings"

	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
)

// Name is a question by the name that answers it.
type Name string

// The questions.
const (
	Wear          Name = "wear"           // far from what was rolled
	NothingRolled Name = "nothing_rolled" // ground again without having rolled
	Again         Name = "again"          // ground twice within minutes
	Stock         Name = "stock"          // far from what was advised and what is usual
	Pair          Name = "pair"           // unlike its partner, ground before it
	Stations      Name = "stations"       // unlike the diameters along the barrel
	Alike         Name = "alike"          // a number that looks like another roll's
	Hardness      Name = "hardness"       // far from what it was
)

// Names are all questions.
func Names() []Name {
	return []Name{Wear, NothingRolled, Again, Stock, Pair, Stations, Alike, Hardness}
}

// Question is one thing that is asked.
type Question struct {
	Name  Name
	Field string // that may be the slip, by the contract's name
	Says  string // what looks wrong, against what, in one sentence without its full stop
}

// namesOf are the names of the questions, each once.
func namesOf(asked []Question) []Name {
	var names []Name
	for _, q := range asked {
		if !slices.Contains(names, q.Name) {
			names = append(names, q.Name)
		}
	}
	return names
}

// Answered is what the book keeps of the answers given: the questions that were
// asked and answered. open are those that were not.
func Answered(asked []Question, given []Name) (answered []Name, open []Question) {
	for _, q := range asked {
		switch {
		case !slices.Contains(given, q.Name):
			open = append(open, q)
		case !slices.Contains(answered, q.Name):
			answered = append(answered, q.Name)
		}
	}
	return answered, open
}

// Open is an error that asks questions: nothing was recorded, and the same is
// taken with their names.
type Open struct {
	Questions []Question
	refusal   *refusal.Error
}

// Ask makes the error; nil where nothing is open.
func Ask(open []Question) error {
	if len(open) == 0 {
		return nil
	}
	names := namesOf(open)
	words := make([]string, len(names))
	for i, n := range names {
		words[i] = string(n)
	}
	e := &Open{Questions: open, refusal: &refusal.Error{}}
	for _, q := range open {
		e.refusal.Fields = append(e.refusal.Fields, refusal.Field{Path: q.Field, Limit: q.Says, Do: "if it is right, confirm it by the name " + string(q.Name),
			Next: []next.Step{next.Confirmed(strings.Join(words, ","))}})
	}
	return e
}

func (e *Open) Error() string {
	says := make([]string, len(e.Questions))
	for i, q := range e.Questions {
		says[i] = q.Says
	}
	return strings.Join(says, "; ")
}

// Unwrap gives the fields in question and the way on.
func (e *Open) Unwrap() error { return e.refusal }
