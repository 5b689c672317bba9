package finish

import (
	"fmt"
	"sort"

	"barrelbook/domain/practice"
)

// programmesAhead is how often the programme is thought over again in search
// of the end of what a set can roll.
const programmesAhead = 10

// capacity is the reverse question. With every soft use growing with the
// pieces, the probability falls with them and a bisection finds the last one.
func (r *run) capacity(bars []bar) *Capacity {
	most := r.most(bars)
	count := sort.Search(most, func(i int) bool { return r.probability(both(r.first(i+1)...)) < r.in.YesFrom })
	times, rest := float64(count/r.n), count%r.n
	return &Capacity{Pieces: count, TonnageT: times*r.tonnes[r.n] + r.tonnes[rest], RolledKM: times*r.km[r.n] + r.km[rest], AtLeast: count == programmesAhead*r.n}
}

// most is how many pieces the bars leave.
func (r *run) most(bars []bar) int {
	most := programmesAhead * r.n
	for _, b := range bars {
		most = min(most, max(0, b.piece-1))
	}
	return most
}

// unknowns names what the answer would need and does not have.
func (r *run) unknowns() []string {
	var list []string
	for j, roll := range r.rolls() {
		for _, u := range roll.Unknowns {
			list = append(list, roll.Number+": "+u)
		}
		if len(roll.GrooveDepthMM) > 0 {
			continue // its grooves are followed by their tonnes
		}
		if !r.ahead.HasWear(j) && roll.Limit(practice.MaxWearUM).Set {
			list = append(list, roll.Number+": its wear is not computed, as no force is known")
		}
		if stations := r.ahead.WearStations(j); roll.WearUM() != nil && stations > 0 && len(roll.WearUM()) != stations {
			list = append(list, roll.Number+": its wear so far was kept at other places along the barrel and is left out")
		}
		if roll.WearUM() == nil && roll.Stay.RolledKM > 0 {
			list = append(list, roll.Number+": the wear of this campaign so far was not computed and is left out")
		}
	}
	if r.forceless > 0 {
		list = append(list, fmt.Sprintf("%d passes of the programme have no force: their wear, pressure and overload are left out", r.forceless))
	}
	list = append(list, r.predicted.Says(r.in.Stand)...)
	list = append(list, r.strengthUnknowns()...)
	if r.speedless > 0 && (r.in.Stand.MaxRPM > 0 || r.in.Stand.MinRPM > 0) {
		list = append(list, fmt.Sprintf("%d passes of the programme have no speed: the speed range is not checked for them", r.speedless))
	}
	if r.in.Stand.MaxForceKN == 0 {
		list = append(list, r.in.Stand.Name+" has no greatest force entered: overload is not checked")
	}
	return list
}
