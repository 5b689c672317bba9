package changeplan

import (
	"math"

	"barrelbook/domain/stop"
)

// weight is a cost in two ranks: first how many slots stay empty, then the
// cost of the others. Kept apart, so that no penalty large enough to stand
// for the first swallows the digits of the second.
type weight struct {
	empty int
	cost  float64
}

func (a weight) plus(b weight) weight  { return weight{a.empty + b.empty, a.cost + b.cost} }
func (a weight) minus(b weight) weight { return weight{a.empty - b.empty, a.cost - b.cost} }
func (a weight) below(b weight) bool {
	return a.empty < b.empty || a.empty == b.empty && a.cost < b.cost
}

// never marks a pair that is forbidden, unreached a column without a path; the
// latter is above every weight that can occur.
var (
	never     = weight{cost: inf}
	unreached = weight{empty: math.MaxInt32, cost: inf}
)

func (a weight) possible() bool { return a.cost < inf }

// hungarian assigns each row a column of its own at the least total weight
// and returns the columns. w has at least as many columns as rows and an
// assignment must exist; impossible pairs are never.
//
// The shortest augmenting path form with potentials, O(rows²·columns): Kuhn,
// The Hungarian method for the assignment problem, 1955, as improved by
// Munkres 1957 and Tomizawa 1971 (quoted from memory). Potentials and
// distances only add and compare, which weight does as well as a number.
func hungarian(w [][]weight, ask stop.Check) ([]int, error) {
	rows := len(w)
	if rows == 0 {
		return nil, nil
	}
	cols := len(w[0])
	// Rows and columns count from 1; row 0 is the one being placed's origin.
	byRow, byCol := make([]weight, rows+1), make([]weight, cols+1)
	rowOf, from := make([]int, cols+1), make([]int, cols+1)
	for row := 1; row <= rows; row++ {
		rowOf[0] = row
		col := 0
		dist, done := make([]weight, cols+1), make([]bool, cols+1)
		for j := range dist {
			dist[j] = unreached
		}
		if err := ask.Err(); err != nil {
			return nil, err
		}
		for rowOf[col] != 0 {
			done[col] = true
			i, next, step := rowOf[col], 0, unreached
			for j := 1; j <= cols; j++ {
				if done[j] {
					continue
				}
				if c := w[i-1][j-1]; c.possible() {
					if d := c.minus(byRow[i]).minus(byCol[j]); d.below(dist[j]) {
						dist[j], from[j] = d, col
					}
				}
				if dist[j].possible() && dist[j].below(step) {
					step, next = dist[j], j
				}
			}
			for j := 0; j <= cols; j++ {
				if done[j] {
					byRow[rowOf[j]] = byRow[rowOf[j]].plus(step)
					byCol[j] = byCol[j].minus(step)
				} else if dist[j].possible() {
					dist[j] = dist[j].minus(step)
				}
			}
			col = next
		}
		for col != 0 {
			rowOf[col] = rowOf[from[col]]
			col = from[col]
		}
	}
	out := make([]int, rows)
	for j := 1; j <= cols; j++ {
		if rowOf[j] > 0 {
			out[rowOf[j]-1] = j - 1
		}
	}
	return out, nil
}
