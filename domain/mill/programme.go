package mill

import "time"

// DefaultMinutesPerPiece is the rolling rhythm taken where none is given.
const DefaultMinutesPerPiece = 2.5

// PieceTime is when a piece of the programme is expected to be rolled, planned
// stops before it included. number is from 1.
func (p Programme) PieceTime(number int) time.Time {
	minutes := float64(number-1) * p.MinutesPerPiece
	for _, s := range p.Stops {
		if s.BeforePiece <= number {
			minutes += s.Minutes
		}
	}
	return p.StartsAt.Add(time.Duration(minutes * float64(time.Minute)))
}
