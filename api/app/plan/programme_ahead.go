package plan

import (
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/wear"
)

// programmeAhead is what a mill rolls next, and the sizes it rolls in; nil where no
// programme is loaded for now or the next day.
type programmeAhead struct {
	pieces       []mill.Piece // still to come
	density      float64
	starts, ends time.Time
	begun        bool
	othersT      []float64
}

// programmesRead is how many of the newest programmes tell the size of one.
const programmesRead = 30

// programmeOf reads the programme that the mill is at, or the next within a day.
// What of it is rolled is told by its times.
func (o *Outlook) programmeOf(millName string) (*programmeAhead, error) {
	if a, read := o.ahead[millName]; read {
		return a, nil
	}
	list, _, err := o.r.Campaigns(millName, port.Page{Limit: programmesRead})
	if err != nil {
		return nil, err
	}
	var next *port.ProgrammeSummary
	var sizes []float64
	for i := range list { // the newest first
		c := &list[i]
		sizes = append(sizes, c.TonnageT)
		if !c.StartsAt.After(o.now.Add(24*time.Hour)) && endOf(c).After(o.now) {
			next = c
		}
	}
	var a *programmeAhead
	if next != nil {
		if a, err = o.readProgramme(next.Name); err != nil {
			return nil, err
		}
		slices.Sort(sizes)
		a.othersT = sizes
	}
	if o.ahead == nil {
		o.ahead = map[string]*programmeAhead{}
	}
	o.ahead[millName] = a
	return a, nil
}

// endOf is when a programme is over as planned.
func endOf(c *port.ProgrammeSummary) time.Time {
	return mill.Programme{StartsAt: c.StartsAt, MinutesPerPiece: c.MinutesPerPiece, Stops: c.Stops}.PieceTime(int(c.Pieces) + 1)
}

func (o *Outlook) readProgramme(name string) (*programmeAhead, error) {
	c, err := o.r.Campaign(name)
	if err != nil {
		return nil, err
	}
	m, err := o.r.Mill(c.Mill)
	if err != nil {
		return nil, err
	}
	first := 0
	for first < len(c.Pieces) && c.PieceTime(first+2).Before(o.now) {
		first++ // it is through
	}
	a := &programmeAhead{pieces: c.Pieces[first:], density: m.Density(), starts: c.StartsAt, ends: c.PieceTime(len(c.Pieces) + 1), begun: first > 0}
	if a.begun {
		a.starts = o.now
	}
	return a, nil
}

// at is the programme as a stand meets it; nil where it passes the stand by.
func (a *programmeAhead) at(stand string) *forecast.Ahead {
	if a == nil {
		return nil
	}
	f := &forecast.Ahead{StartsAt: a.starts, EndsAt: a.ends, Begun: a.begun, OthersT: a.othersT}
	for i := range a.pieces {
		p := &a.pieces[i]
		for _, pass := range p.Passes {
			if pass.Stand != stand {
				continue
			}
			f.TonnageT += p.MassT
			if km, err := wear.RolledKM(p.MassT, pass.WidthMM, pass.ExitThicknessMM, a.density); err == nil {
				f.RolledKM += km
			}
		}
	}
	if f.TonnageT <= 0 {
		return nil
	}
	return f
}
