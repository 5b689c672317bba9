package changeplan

import (
	"fmt"

	"barrelbook/domain/refusal"
	"barrelbook/domain/stop"
)

// Placement is what goes into one slot.
type Placement struct {
	Slot string
	// Candidate is empty where nothing may go in; the reasons then say, for
	// each candidate, which limit it breaks or where it is needed more.
	Candidate string
	Cost      float64
	Reasons   []Reason
	// Second is what the slot would get if its candidate were barred from it,
	// everything else placed anew. SecondEmpty counts the slots then left
	// empty in all and SecondTotal is the cost of all of them. Second is
	// empty where nothing else may go in.
	Second      string
	SecondTotal float64
	SecondEmpty int
}

// Assignment is the best use of the candidates.
type Assignment struct {
	Placements []Placement
	// Empty is the number of slots that no candidate can serve: as few as can
	// be, whatever the others then cost.
	Empty int
	Total float64
}

// Assign places the candidates, each at most once, so that as few slots as
// possible stay empty and, among those ways, the cost by Judge is least.
// Exact, by the Hungarian method. Tested equal to trying every way
// (assign_test.go).
//
// Refuses a slot or candidate named twice or not at all, and whatever Judge
// refuses. Ends with the error of ask where that gives one.
func Assign(slots []Slot, candidates []Candidate, w Weights, ask stop.Check) (Assignment, error) {
	if err := checkNames(slots, candidates); err != nil {
		return Assignment{}, err
	}
	verdicts := make([][]Verdict, len(slots))
	for i, s := range slots {
		if err := ask.Err(); err != nil {
			return Assignment{}, err
		}
		verdicts[i] = make([]Verdict, len(candidates))
		for j, c := range candidates {
			v, err := judge(c, s, w, fmt.Sprintf("candidates/%d", j), fmt.Sprintf("slots/%d", i))
			if err != nil {
				return Assignment{}, err
			}
			verdicts[i][j] = v
		}
	}
	table := weigh(verdicts)
	chosen, err := hungarian(table, ask)
	if err != nil {
		return Assignment{}, err
	}
	sum := total(table, chosen)
	out := Assignment{Empty: sum.empty, Total: sum.cost}
	for i, s := range slots {
		p := Placement{Slot: s.ID}
		j := chosen[i]
		if j < len(candidates) {
			p.Candidate, p.Cost = candidates[j].ID, verdicts[i][j].Cost
			p.Reasons = append(verdicts[i][j].Reasons, whyChosen(i, chosen, verdicts, slots, candidates))
			if p.Second, p.SecondEmpty, p.SecondTotal, err = second(table, i, j, candidates, ask); err != nil {
				return Assignment{}, err
			}
		} else {
			p.Reasons = whyEmpty(i, chosen, verdicts, slots, candidates)
		}
		out.Placements = append(out.Placements, p)
	}
	return out, nil
}

// weigh puts, behind the candidates, a column for each slot to stay empty in.
func weigh(verdicts [][]Verdict) [][]weight {
	n := len(verdicts)
	table := make([][]weight, n)
	for i, row := range verdicts {
		for _, v := range row {
			if v.Forbidden {
				table[i] = append(table[i], never)
			} else {
				table[i] = append(table[i], weight{cost: v.Cost})
			}
		}
		for k := range n {
			if k == i {
				table[i] = append(table[i], weight{empty: 1})
			} else {
				table[i] = append(table[i], never)
			}
		}
	}
	return table
}

func total(table [][]weight, chosen []int) weight {
	var sum weight
	for i, j := range chosen {
		sum = sum.plus(table[i][j])
	}
	return sum
}

// second places all anew with candidate j barred from slot i.
func second(table [][]weight, i, j int, candidates []Candidate, ask stop.Check) (id string, empty int, cost float64, err error) {
	was := table[i][j]
	table[i][j] = never
	chosen, err := hungarian(table, ask)
	if err != nil {
		return "", 0, 0, err
	}
	sum := total(table, chosen)
	table[i][j] = was
	if k := chosen[i]; k < len(candidates) {
		id = candidates[k].ID
	}
	return id, sum.empty, sum.cost, nil
}

// whyChosen says how the choice stands among what else may go into the slot.
func whyChosen(i int, chosen []int, verdicts [][]Verdict, slots []Slot, candidates []Candidate) Reason {
	cost, others := verdicts[i][chosen[i]].Cost, 0
	for j, v := range verdicts[i] {
		if v.Forbidden || j == chosen[i] {
			continue
		}
		others++
		if v.Cost < cost {
			return Reason{CodeElsewhere, fmt.Sprintf("set %s would suit better here and serves %s", candidates[j].ID, placeOf(j, chosen, slots))}
		}
	}
	if others == 0 {
		return Reason{CodeOnlyOne, "the only set that may go in"}
	}
	return Reason{CodeCheapest, fmt.Sprintf("best of %d sets that may go in", others+1)}
}

// whyEmpty gathers what keeps each candidate out.
func whyEmpty(i int, chosen []int, verdicts [][]Verdict, slots []Slot, candidates []Candidate) []Reason {
	if len(candidates) == 0 {
		return []Reason{{CodeNoCandidate, "no set is ready or in work"}}
	}
	var out []Reason
	for j, v := range verdicts[i] {
		if !v.Forbidden {
			out = append(out, Reason{CodeElsewhere, "set " + candidates[j].ID + " serves " + placeOf(j, chosen, slots)})
			continue
		}
		for _, r := range v.Reasons {
			switch r.Code {
			case CodeLate, CodeTooGood, CodeTooPoor: // these alone forbid nothing
			case CodeBarred:
				out = append(out, r)
			default:
				out = append(out, Reason{r.Code, "set " + candidates[j].ID + ": " + r.Text})
			}
		}
	}
	return out
}

func placeOf(j int, chosen []int, slots []Slot) string {
	for i, c := range chosen {
		if c == j {
			return slots[i].ID
		}
	}
	return "no other slot"
}

func checkNames(slots []Slot, candidates []Candidate) error {
	var c refusal.Check
	once := func(kind string, id func(int) string, n int) {
		seen := make(map[string]bool, n)
		for i := range n {
			switch name := id(i); {
			case name == "":
				c.Add(fmt.Sprintf("%s/%d/id", kind, i), "", "must not be empty", "")
			case seen[name]:
				c.Add(fmt.Sprintf("%s/%d/id", kind, i), name, "is named twice", "name each once")
			default:
				seen[name] = true
			}
		}
	}
	once("slots", func(i int) string { return slots[i].ID }, len(slots))
	once("candidates", func(i int) string { return candidates[i].ID }, len(candidates))
	return c.Err()
}
