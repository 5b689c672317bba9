package finish

import (
	"fmt"

	"barrelbook/domain/mill"
)

// block is a stretch of pieces that stay together, from up to but not to.
type block struct {
	name     string
	from, to int
}

// blocks cuts the pieces asked about into their blocks. Pieces without a block
// make one of their own each time.
func (r *run) blocks() []block {
	var list []block
	for i, p := range r.pieces {
		if len(list) > 0 && list[len(list)-1].name == p.Block {
			list[len(list)-1].to = i + 1
			continue
		}
		list = append(list, block{name: p.Block, from: i, to: i + 1})
	}
	return list
}

// moveBlocks looks for a block that, moved behind a planned stop the set would
// not reach, lets it reach that stop, where another set goes in. What a block
// wears off is the same wherever it is rolled, so moving one helps by no other
// way.
func (r *run) moveBlocks(others []alternative, a *Answer) []Remedy {
	blocks := r.blocks()
	for i := range r.in.Stops {
		stop := r.in.Stops[i]
		k := stop.BeforePiece - r.in.FromPiece
		if k <= a.More.Pieces || k <= 0 || k >= r.n {
			continue
		}
		for b := len(blocks) - 1; b > 0; b-- {
			if blocks[b].name == "" || blocks[b].to > k {
				continue
			}
			behind := r.placeBehind(blocks, b, k)
			if behind < 0 {
				continue
			}
			if m, ok := r.moved(others, blocks[b], stop, k, behind, a); ok && m.Verdict == Yes {
				return []Remedy{m}
			}
		}
	}
	return nil
}

// moved checks the programme with the block behind the stop.
func (r *run) moved(others []alternative, b block, stop mill.PlannedStop, k, behind int, a *Answer) (Remedy, bool) {
	until := r.probability(both(span(0, b.from), span(b.to, k)))
	givenUp := a.More.RolledKM - (r.km[k] - (r.km[b.to] - r.km[b.from]))
	for _, o := range others {
		if blockedFrom(o.bars, 0) {
			continue
		}
		p := until * o.run.probability(both(span(k, r.n), span(b.from, b.to)))
		cost, _ := r.changeCost(r.current(o.set.Role), o.set, k, givenUp)
		place := "at the end"
		if behind < r.n {
			place = fmt.Sprintf("before piece %d (%s)", r.in.FromPiece+behind, r.pieces[behind].ID)
		}
		return Remedy{What: MoveBlock, Set: o.set.Name, BeforePiece: r.in.FromPiece + k, Probability: p, Verdict: r.in.verdictOf(p), Cost: money(cost),
			Sentence: fmt.Sprintf("%s: move block %s (%d pieces) behind the planned stop %s, %s, and change to set %s at that stop: %s sure to finish",
				r.in.Stand.Name, b.name, b.to-b.from, stop.Name, place, o.set.Name, atLeast(p))}, true
	}
	return Remedy{}, false
}

// placeBehind is the first place behind piece k, between two blocks, where the
// block may go: the warm-up stays first and no width rises more often than
// before. −1 where there is none.
func (r *run) placeBehind(blocks []block, b, k int) int {
	allowed := r.rises(blocks)
	for at := b + 1; at <= len(blocks); at++ {
		place := r.n
		if at < len(blocks) {
			place = blocks[at].from
		}
		if place < k {
			continue
		}
		order := make([]block, 0, len(blocks))
		order = append(append(order, blocks[:b]...), blocks[b+1:at]...)
		order = append(append(order, blocks[b]), blocks[at:]...)
		if r.rises(order) <= allowed {
			return place
		}
	}
	return -1
}

// rises counts the pieces that are wider than the one before, the first block,
// which warms the rolls up, left out.
func (r *run) rises(order []block) int {
	count, last := 0, 0.0
	for i, b := range order {
		if i == 0 {
			continue
		}
		for k := b.from; k < b.to; k++ {
			if w := r.pieces[k].WidthMM; last > 0 && w > last {
				count++
			}
			last = r.pieces[k].WidthMM
		}
	}
	return count
}
