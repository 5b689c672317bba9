package record

import (
	"context"
	"reflect"
	"slices"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/doubt"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// Correction names an entry that is wrong, and what it should have said; without
// Regrind and Receipt it withdraws the entry. What they do not name stays as it
// was said.
type Correction struct {
	Number string
	Entry  int64
	Reason string
	// Regrind changes what the regrind said, Receipt what the receipt said.
	Regrind func(*RegrindInput)
	Receipt func(*roll.Received)
	// ReceivedAt is the corrected moment of the receipt, zero to keep it.
	ReceivedAt time.Time
}

// CorrectEntry writes a correction, and says what it changes. Entries that bind
// two rolls or a stand (paired, unpaired, mounted, withdrawn) are not withdrawn one
// book at a time, and the receipt not at all: Conflicting, as is what changes
// nothing. An incident is taken out of all books that it is in. Forbidden to
// whoever might not have written the entry; see CorrectionRole. Doubtful when a new
// figure looks like a slip and was not confirmed.
func (a *Recorder) CorrectEntry(ctx context.Context, call port.Call, c Correction) (CorrectionView, error) {
	return record(ctx, a, call, "corrected an entry of roll "+c.Number, func(w port.Writer, _ time.Time) (CorrectionView, error) {
		incident, err := incidentOf(w, c)
		if err != nil {
			return CorrectionView{}, err
		}
		rolls := incident.rollsWith(c.Number)
		if err := w.LockRolls(rolls); err != nil {
			return CorrectionView{}, err
		}
		row, err := a.lockRoll(w, c.Number, call)
		if err != nil {
			return CorrectionView{}, err
		}
		_, now, err := a.dated(w, time.Time{}, row.State.LastAt)
		if err != nil {
			return CorrectionView{}, err
		}
		book, err := w.Book(c.Number)
		if err != nil {
			return CorrectionView{}, err
		}
		if err := correctable(book, c); err != nil {
			return CorrectionView{}, err
		}
		if err := mayCorrect(call.Role, book, c.Entry); err != nil {
			return CorrectionView{}, err
		}
		view := CorrectionView{Corrects: c.Entry, Kind: kindOf(book[c.Entry-1]), Withdrawn: c.Regrind == nil && c.Receipt == nil, DryRun: call.DryRun}
		if view.Before, err = a.standings(w, now, rolls); err != nil {
			return CorrectionView{}, err
		}
		if incident.stands() {
			err = a.takeIncidentBack(w, call, now, c.Reason, incident.IncidentRow)
			view.said(book, c.Entry)
		} else {
			err = a.correct(w, call, row, book, c, now, &view)
		}
		if err != nil {
			return CorrectionView{}, err
		}
		if row, err = w.Roll(c.Number); err != nil { // with what it has borne by now
			return CorrectionView{}, err
		}
		if row.State.Stage != roll.StageScrapped && view.Before[0].Stage == roll.StageScrapped && !call.Role.May(CorrectionRole(roll.KindScrapped)) {
			return CorrectionView{}, notTheirs(call.Role, roll.KindScrapped, "what scrapped the roll")
		}
		if view.Roll, err = a.viewNow(w, row, now); err != nil {
			return CorrectionView{}, err
		}
		view.Entry = row.Version()
		view.After, err = a.standings(w, now, rolls)
		return view, err
	})
}

// correct writes what the entry should have said, or that it does not stand.
func (a *Recorder) correct(w port.Writer, call port.Call, row port.RollRow, book []roll.Entry, c Correction, now time.Time, view *CorrectionView) error {
	body, part := roll.Corrected{Entry: c.Entry}, "regrind/"
	var open []doubt.Question
	var err error
	switch {
	case c.Regrind != nil:
		body, open, err = a.correctedRegrind(w, book, row.State, c, now)
	case c.Receipt != nil:
		part = "receipt/"
		body, err = correctedReceipt(w, book, c, now)
	}
	if err != nil {
		return inPart(part, err)
	}
	if _, err = a.enter(w, row, call, now, now, c.Reason, body); err != nil {
		return inPart(part, err)
	}
	if err := port.Asked(open); err != nil { // after the book has refused what cannot be
		return inPart(part, err)
	}
	view.said(book, c.Entry)
	view.says(body)
	return a.groundOtherwise(w, now, c.Number, book)
}

// inPart names the fields of a refused correction where the correction has
// them: all but its reason are the regrind's or the receipt's.
func inPart(part string, err error) error {
	fields := refusal.FieldsOf(err)
	for i := range fields {
		switch {
		case fields[i].Path == "reason":
		case fields[i].Path == "at" && part == "receipt/":
			fields[i].Path = "receipt/received_at"
		default:
			fields[i].Path = part + fields[i].Path
		}
	}
	return err
}

// correctedReceipt is a correction by what the receipt should have said. What
// sets and stands keep of the roll beside its book was taken from the receipt:
// its role and mill stay once it was in a set, and its diameter once it went into
// a stand at it.
func correctedReceipt(r port.Reader, book []roll.Entry, c Correction, now time.Time) (roll.Corrected, error) {
	effective, err := roll.Effective(book)
	if err != nil {
		return roll.Corrected{}, port.BookError(err)
	}
	body := roll.Corrected{Entry: c.Entry, At: effective[0].At}
	said, ok := effective[0].Body.(roll.Received)
	if !ok || effective[0].Number != c.Entry {
		return roll.Corrected{Entry: c.Entry, With: roll.Received{}}, nil // it does not stand any more, and the book will say why
	}
	if !c.ReceivedAt.IsZero() {
		if body.At, err = resolveMoment(c.ReceivedAt, now); err != nil {
			return roll.Corrected{}, err
		}
	}
	receipt := said
	c.Receipt(&receipt)
	if reflect.DeepEqual(receipt, said) && body.At.Equal(effective[0].At) {
		return roll.Corrected{}, saysSo(c.Number, c.Entry)
	}
	if receipt, err = checkedReceipt(r, receipt); err != nil {
		return roll.Corrected{}, err
	}
	body.With = receipt
	asReceived := true // no grind has given it another diameter yet
	for _, e := range effective {
		switch e.Body.(type) {
		case roll.Reground:
			asReceived = false
		case roll.Paired:
			if receipt.Roll.Role != said.Roll.Role || receipt.Mill != said.Mill {
				return roll.Corrected{}, port.Fail(port.Conflicting, "entry %d paired roll %s, and sets are of one role and mill: these cannot be corrected any more; regrade the roll, or receive it under another number", e.Number, c.Number)
			}
		case roll.Mounted:
			if asReceived && receipt.Diameter != said.Diameter {
				return roll.Corrected{}, port.FailNext(next.ListChanges(""), port.Conflicting, "entry %d put roll %s into a stand at %s, and what it has borne was computed with that; undo that roll change first", e.Number, c.Number, said.Diameter)
			}
		}
	}
	return body, nil
}

// correctedRegrind is a correction by what the regrind should have said, and the
// questions that its new figures leave open. Its moment is the one given, or that
// of what it replaces.
func (a *Recorder) correctedRegrind(r port.Reader, book []roll.Entry, s roll.State, c Correction, now time.Time) (_ roll.Corrected, open []doubt.Question, err error) {
	effective, err := roll.Effective(book)
	if err != nil {
		return roll.Corrected{}, nil, port.BookError(err)
	}
	i := slices.IndexFunc(effective, func(e roll.Entry) bool { return e.Number == c.Entry })
	if i < 0 {
		// It does not stand any more, and the book will say why.
		return roll.Corrected{Entry: c.Entry, With: roll.Reground{}}, nil, nil
	}
	body := roll.Corrected{Entry: c.Entry, At: effective[i].At}
	in, said := regrindSaid(effective[i])
	in.Confirmed = nil
	c.Regrind(&in)
	if in.Confirm == said.Confirm && (in.Found != said.Found || in.Ground != said.Ground) {
		in.Confirm = "" // it was for the other figures
	}
	if sameRegrind(in, said) {
		return roll.Corrected{}, nil, saysSo(c.Number, c.Entry)
	}
	if body.At, err = resolveMoment(in.At, now); err != nil {
		return roll.Corrected{}, nil, err
	}
	practices, err := gather.AllPractices(r)
	if err != nil {
		return roll.Corrected{}, nil, err
	}
	// What had worn and cracked by then is of the state before the grind.
	if before, err := roll.ReplayUntil(book, effective[i].At.Add(-time.Microsecond)); err != nil {
		return roll.Corrected{}, nil, port.BookError(err)
	} else if before.Stage != "" {
		s = before
	}
	with, err := a.regrindBody(r, s, in, practices)
	if err == nil {
		open, err = a.settleCorrected(r, s, &with, said, body.At, practices)
	}
	body.With = with
	return body, open, err
}

// settleCorrected asks of a regrind that is put right: of what it changes. What
// was said before, and asked of or not, stands as it was.
func (a *Recorder) settleCorrected(r port.Reader, before roll.State, body *roll.Reground, said RegrindInput, at time.Time, practices []practice.Practice) ([]doubt.Question, error) {
	advice, err := a.planner.Advise(r, before, adviceFor(*body), practices)
	if err != nil {
		return nil, err
	}
	raised, err := a.askedOfGrind(r, before, *body, at, advice, practices)
	found := body.FoundAsRead != said.Found
	changed := map[string]bool{"found_mm": found || body.For != said.For, "ground_mm": found || body.Ground != said.Ground, "purpose": body.For != said.For, "at": !at.Equal(said.At)}
	var asked []doubt.Question
	var kept []string
	for _, q := range raised {
		switch name := string(q.Name); {
		case changed[q.Field]:
			asked = append(asked, q)
		case slices.Contains(said.Confirmed, name):
			kept = append(kept, name)
		}
	}
	open := settle(body, asked)
	body.Confirmed = append(kept, body.Confirmed...)
	return open, err
}

// regrindSaid is a regrind of the book as it was given, twice: one to be
// changed.
func regrindSaid(e roll.Entry) (to, said RegrindInput) {
	b, _ := e.Body.(roll.Reground) // correctable has seen to it
	said = RegrindInput{At: e.At, Found: b.FoundAsRead, Ground: b.Ground, For: b.For, AboveShopK: b.AboveShopK, Measures: b.Measures, FoundStations: asRead(b),
		Grinder: b.Grinder, Tests: b.Tests, Confirm: b.Confirm, Confirmed: b.Confirmed, Note: b.Note}
	if b.GrooveWorn > 0 {
		worn := float64(b.GrooveWorn)
		said.GrooveWornUM = &worn
	}
	return said, said
}

func correctable(book []roll.Entry, c Correction) error {
	if c.Receipt != nil && c.Regrind != nil {
		return port.Refused(refusal.One("receipt", "", "must not be given with regrind", "an entry is one or the other"))
	}
	if c.Entry < 1 || c.Entry > int64(len(book)) {
		return port.FailNext(next.ShowBook(c.Number), port.NotFound, "roll %s has no entry %d; its book has %d", c.Number, c.Entry, len(book))
	}
	kind := kindOf(book[c.Entry-1])
	switch kind {
	case roll.KindMounted, roll.KindWithdrawn:
		return port.FailNext(next.ListChanges(""), port.Conflicting, "entry %d (%s) is of a roll change and stands in the books of all its rolls; undo the change", c.Entry, kind)
	case roll.KindReceived:
		if c.Receipt == nil {
			return port.FailNext(next.CorrectReceipt(c.Number), port.Conflicting, "entry %d (%s) opens the book and is not withdrawn; say what it should have said", c.Entry, kind)
		}
		return nil
	case roll.KindPaired, roll.KindUnpaired:
		return port.Fail(port.Conflicting, "entry %d (%s) binds more than this one book and is not corrected here; record what really happened as a new entry", c.Entry, kind)
	case roll.KindCorrected:
		return port.Fail(port.Conflicting, "entry %d withdrew another entry; record that again as a new entry", c.Entry)
	}
	if c.Receipt != nil {
		return port.Fail(port.Conflicting, "entry %d is %q, not the receipt", c.Entry, kind)
	}
	if c.Regrind != nil && kind != roll.KindReground {
		return port.Fail(port.Conflicting, "entry %d is %q, not a regrind", c.Entry, kind)
	}
	return nil
}

// asRead are the stations as found at the temperature they were read at.
func asRead(b roll.Reground) []roll.Station {
	stations := slices.Clone(b.FoundStations)
	for i := range stations {
		stations[i].Diameter += b.FoundAsRead - b.Found
	}
	return stations
}
