// Package finish answers whether the sets in a stand can finish a programme:
// every criterion of every roll over the pieces in order, with its uncertainty,
// what runs out first and where, how much more the sets can roll, and what
// would make it a yes.
//
// The answer is about the limits entered, and as good as the rates, forces and
// practices it is given. It is the same for the same input.
package finish

import (
	"fmt"
	"math"
	"sort"

	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/stop"
)

// Model names what Check computes and its version, to be kept with answers.
const Model = "finish 3: one list of limits; wear, load along the barrel, heat, fatigue; joint probability by quadrature"

// Check answers for one stand. It refuses input that nothing can be computed
// from; a stand without rolls, a piece that does not fit and a set that may not
// run are answers, not errors.
func Check(in Input) (Answer, error) {
	if in.FromPiece == 0 {
		in.FromPiece = 1
	}
	if err := in.check(); err != nil {
		return Answer{}, err
	}
	in.watch = stop.Watch{Check: in.Ask}
	r, err := newRun(&in, &in.Work, &in.Backup)
	if err != nil {
		return Answer{}, err
	}
	a := Answer{Stand: in.Stand.Name, Set: in.Work.Name, BackupSet: in.Backup.Name, IntermediateSet: in.Intermediate.Name}
	margins, bars := r.checkBeforehand()
	for i := range r.watches {
		margins = append(margins, r.soft(i).judge())
	}
	a.Margins = byUrgency(margins)
	if in.Course {
		r.follow(a.Margins)
	}
	if len(a.Margins) > 0 && !a.Margins[0].kind.Informs {
		a.Limiting = &a.Margins[0]
	}
	a.Probability, a.Verdict = r.verdict(bars, r.all())
	if a.Verdict != Blocked {
		a.Modelled = r.modelled(r.all())
	}
	for _, b := range bars {
		a.Blocks = append(a.Blocks, b.why)
	}
	a.Unknowns = r.unknowns()
	a.Notes = lastCampaigns(margins)
	if in.OffPlan != "" {
		a.Notes = append(a.Notes, in.OffPlan)
	}
	if n := in.Recalibration.Answers; n > 0 {
		a.Notes = append(a.Notes, fmt.Sprintf("%s: probabilities are calibrated on %d scored answers, by which the model's log odds are taken × %.2f %+.2f", in.Stand.Name, n, in.Recalibration.Slope, in.Recalibration.Intercept))
	}
	if in.Stand.Arrangement == mill.SixHigh {
		a.Notes = append(a.Notes, in.Stand.Name+": its drive is taken to be at the work rolls")
	}
	a.More = r.capacity(bars)
	a.Sentence = a.sentence(r, bars)
	if a.Verdict != Yes {
		if a.Remedies, err = r.remedies(bars, &a); err != nil {
			return Answer{}, err
		}
	}
	if err := in.watch.Err(); err != nil {
		return Answer{}, err // what is left out is not known
	}
	return a, nil
}

// verdict is the answer for a part of the programme.
func (r *run) verdict(bars []bar, at stretch) (float64, Verdict) {
	if len(bars) > 0 || r.in.watch.Ended() {
		return 0, Blocked
	}
	p := r.probability(at)
	return p, r.in.verdictOf(p)
}

func (in *Input) verdictOf(p float64) Verdict {
	switch {
	case p >= in.YesFrom:
		return Yes
	case p < in.NoBelow:
		return No
	}
	return Marginal
}

// byUrgency orders margins: hard ones that are passed, then those that are past
// already, then other soft ones, then hard ones that hold, then what stops nobody.
// Within each it goes by the probability to hold, by where the limit is reached,
// and by how much of the limit is used. Of those that are all but sure to hold,
// how sure says less than how much is used.
func byUrgency(list []Margin) []Margin {
	rank := func(m Margin) int {
		switch {
		case m.Hard && m.Probability == 0:
			return 0
		case m.Past:
			return 1
		case m.kind.Informs:
			return 4
		case m.Hard:
			return 3
		}
		return 2
	}
	sort.SliceStable(list, func(i, j int) bool {
		a, b := list[i], list[j]
		if ra, rb := rank(a), rank(b); ra != rb {
			return ra < rb
		}
		if a.Probability != b.Probability && min(a.Probability, b.Probability) < allButSure {
			return a.Probability < b.Probability
		}
		if pa, pb := a.pieceReached(), b.pieceReached(); pa != pb {
			return pa < pb
		}
		if a.peaks() != b.peaks() { // what the heaviest piece decides does not run out
			return b.peaks()
		}
		return a.used() > b.used()
	})
	return list
}

func (m Margin) peaks() bool { return m.watch != nil && m.watch.w.Peaks() }

// allButSure is a probability that is told as over 99.9 %.
const allButSure = 0.999

func (m Margin) pieceReached() int {
	if m.Reached == nil {
		return math.MaxInt
	}
	return m.Reached.Piece
}

// used is how much of the limit is used up at the end.
func (m Margin) used() float64 {
	switch {
	case m.Criterion == limit.ScrapDiameter && m.Now > m.Limit:
		return (m.Now - m.AtEnd) / (m.Now - m.Limit)
	case m.kind.Falls && m.AtEnd > 0:
		return m.Limit / m.AtEnd
	}
	if m.Limit > 0 {
		return m.AtEnd / m.Limit
	}
	return 0
}

// lastCampaigns names the rolls that have no normal grind left.
func lastCampaigns(margins []Margin) []string {
	var list []string
	for _, m := range margins {
		if m.Criterion == limit.NextGrind && m.Probability == 0 {
			list = append(list, m.Roll+" has no normal grind left above its scrap limit: this is its last campaign")
		}
	}
	return list
}
