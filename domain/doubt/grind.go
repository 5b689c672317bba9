package doubt

import (
	"time"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// Grind is a regrind about to be recorded and what its figures are held against.
type Grind struct {
	Before   roll.State // of the roll, before the grind
	Body     roll.Reground
	At       time.Time
	Practice practice.InForce
	// Ran is whether the roll was in a stand since its last grind, and WornUM the
	// wear computed of that, on diameter: 0 where no rate is known or nothing was
	// counted.
	Ran    bool
	WornUM float64
	// Advised is the stock advised for the diameter found.
	Advised quantity.Micrometre
	Partner *roll.State // of its set at the time; nil without one
}

// Questions are those to be asked of a regrind, found first: where that is the
// slip, what follows looks wrong and is not.
func (g Grind) Questions() []Question {
	var asked []Question
	for _, ask := range []func() (Question, bool){g.nothingRolled, g.again, g.foundStations, g.wear, g.groundStations, g.pair, g.stock} {
		if q, doubtful := ask(); doubtful {
			asked = append(asked, q)
		}
	}
	return asked
}

// gauge is how far two measurements of one diameter may differ.
func (g Grind) gauge() quantity.Micrometre { return g.Body.GaugeUncertainty }

func (g Grind) found() quantity.Micrometre { return g.Before.Diameter - g.Body.Found }

func apart(a, b quantity.Micrometre) quantity.Micrometre { return max(a-b, b-a) }
