package board

import (
	"time"

	"barrelbook/api/oapi"
)

// timeLine lays time and the pieces of a programme along a line from 0 to 100
// percent: from now, or where the programme has begun from its first piece, to
// its end.
type timeLine struct {
	From, To time.Time
	pieces   []pieceAt // in order; straight between them
	Ticks    []tick
	Stops    []stopMark
}

type pieceAt struct {
	piece float64
	at    time.Time
}

// tick is an hour on the line.
type tick struct {
	At   float64
	When time.Time
}

// stopMark is a stop on the line, planned by the mill or by the change plan.
type stopMark struct {
	At    float64
	Piece int64
	When  time.Time
	Name  string
}

// newTimeLine places the pieces by the programme's start, pace and stops, and
// where the plan has moved a stop by the plan.
func newTimeLine(c oapi.Campaign, plan *oapi.ChangePlan, now time.Time) *timeLine {
	start := c.StartsAt
	if start.Before(now) {
		start = now
	}
	l := &timeLine{From: now, pieces: []pieceAt{{1, start}}}
	pace := time.Duration(opt(c.MinutesPerPiece) * float64(time.Minute))
	at, piece := start, int64(1)
	for _, s := range c.PlannedStops {
		if s.BeforePiece <= piece || s.BeforePiece > c.PieceCount {
			continue
		}
		at, piece = at.Add(time.Duration(s.BeforePiece-piece)*pace), s.BeforePiece
		l.pieces = append(l.pieces, pieceAt{float64(piece), at})
		l.Stops = append(l.Stops, stopMark{Piece: piece, When: at, Name: opt(s.Name)})
		at = at.Add(time.Duration(opt(s.Minutes) * float64(time.Minute)))
		l.pieces = append(l.pieces, pieceAt{float64(piece), at})
	}
	l.To = at.Add(time.Duration(c.PieceCount-piece+1) * pace)
	if plan != nil {
		for _, s := range plan.Stops {
			if s.At.After(l.To) {
				l.To = s.At.Add(pace)
			}
			if opt(s.PlannedStop) == "" {
				l.Stops = append(l.Stops, stopMark{Piece: s.BeforePiece, When: s.At, Name: "stop for the change"})
			}
		}
	}
	if !l.To.After(l.From) {
		l.To = l.From.Add(time.Hour)
	}
	l.pieces = append(l.pieces, pieceAt{float64(c.PieceCount), l.To})
	for i := range l.Stops {
		l.Stops[i].At = l.at(l.Stops[i].When)
	}
	l.addTicks()
	return l
}

// addTicks marks whole hours, about eight of them.
func (l *timeLine) addTicks() {
	step := time.Hour
	for _, wider := range []time.Duration{2, 3, 4, 6, 12, 24, 48, 168} {
		if l.To.Sub(l.From) > 9*step {
			step = wider * time.Hour
		}
	}
	for at := l.From.Truncate(step).Add(step); at.Before(l.To); at = at.Add(step) {
		if p := l.at(at); p > 4 && p < 94 {
			l.Ticks = append(l.Ticks, tick{At: p, When: at})
		}
	}
}

// at is where a moment lies, kept within the line.
func (l *timeLine) at(t time.Time) float64 {
	share := 100 * float64(t.Sub(l.From)) / float64(l.To.Sub(l.From))
	return min(100, max(0, share))
}

// atPiece is where a piece of the programme is rolled.
func (l *timeLine) atPiece(piece int64) float64 {
	p := float64(piece)
	for i := 1; i < len(l.pieces); i++ {
		a, b := l.pieces[i-1], l.pieces[i]
		if p > b.piece || b.piece == a.piece {
			continue
		}
		share := (p - a.piece) / (b.piece - a.piece)
		return l.at(a.at.Add(time.Duration(share * float64(b.at.Sub(a.at)))))
	}
	return 100
}
