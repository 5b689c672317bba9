package rollforce

import (
	"fmt"

	"barrelbook/domain/refusal"
)

// ForceLaw gives the pass at a temperature of the stock, in °C.
type ForceLaw func(temperatureC float64) (Result, error)

// EkelundLaw is Ekelund's formula with everything held but the temperature,
// friction included.
func EkelundLaw(in Input) ForceLaw {
	in.Method = Ekelund
	return func(temperatureC float64) (Result, error) {
		in.TemperatureC = temperatureC
		return Predict(in)
	}
}

// ColdLimit says at which temperature of the falling stock a roll has no
// margin left.
type ColdLimit struct {
	// Reached is false when the margin lasts down to the lowest temperature
	// asked about; the other fields then describe that temperature.
	Reached      bool
	TemperatureC float64
	// Pass and Strength are those at that temperature; Pass.Warnings says
	// when it lies outside what the force law was made for.
	Pass     Result
	Strength Strength
	// MarginAtStart is the margin at the temperature the stock starts at.
	MarginAtStart float64
}

// coldSteps is how finely the fall is looked at for the first loss of margin
// before bisection: a law that rises and falls again within one step could
// hide it. Ekelund's only rises.
const coldSteps = 64

// TemperatureAtZeroMargin lets the stock cool from startC to lowestC and gives
// the first temperature at which the margin is gone, to 1e-6 K, on the side
// where it is gone. When it is gone at startC already, that is the answer.
//
// strength turns a pass into a margin, usually TwoHighStrength or
// WorkRollStrength with the roll at hand. An error of the law or of the
// strength is returned with the temperature it came at. Both must be pure.
func TemperatureAtZeroMargin(law ForceLaw, strength func(Result) (Strength, error), startC, lowestC float64) (ColdLimit, error) {
	var c refusal.Check
	if c.Finite("start_c", startC) && c.Finite("lowest_c", lowestC) && lowestC >= startC {
		c.Add("lowest_c", refusal.Number(lowestC), "must be below start_c "+refusal.Number(startC), "")
	}
	if err := c.Err(); err != nil {
		return ColdLimit{}, err
	}
	at := func(t float64) (ColdLimit, error) {
		pass, err := law(t)
		if err != nil {
			return ColdLimit{}, fmt.Errorf("at %.4g °C: %w", t, err)
		}
		s, err := strength(pass)
		if err != nil {
			return ColdLimit{}, fmt.Errorf("at %.4g °C: %w", t, err)
		}
		return ColdLimit{Reached: s.Margin <= 0, TemperatureC: t, Pass: pass, Strength: s}, nil
	}
	start, err := at(startC)
	if err != nil {
		return ColdLimit{}, err
	}
	found, warm := start, startC
	for i := 1; i <= coldSteps && !found.Reached; i++ {
		warm = found.TemperatureC
		if found, err = at(startC + (lowestC-startC)*float64(i)/coldSteps); err != nil {
			return ColdLimit{}, err
		}
	}
	for found.Reached && warm-found.TemperatureC > 1e-6 {
		middle, err := at(found.TemperatureC + (warm-found.TemperatureC)/2)
		if err != nil {
			return ColdLimit{}, err
		}
		if middle.Reached {
			found = middle
		} else {
			warm = middle.TemperatureC
		}
	}
	found.MarginAtStart = start.Strength.Margin
	return found, nil
}
