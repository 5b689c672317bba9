package record

import (
	"context"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/domain/doubt"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/spelling"
)

// askedOfGrind are the questions that the figures of a regrind raise.
func (a *Recorder) askedOfGrind(r port.Reader, before roll.State, body roll.Reground, at time.Time, advice plan.Advice, practices []practice.Practice) ([]doubt.Question, error) {
	partner, err := gather.PartnerOf(r, before)
	if err != nil {
		return nil, err
	}
	if partner != nil {
		then, err := stateBefore(r, *partner, at)
		if err != nil {
			return nil, err
		}
		partner = &then
	}
	return doubt.Grind{Before: before, Body: body, At: at, Practice: practice.Resolve(practices, gather.CaseOf(before)),
		Ran: len(advice.Stays) > 0, WornUM: advice.WearUM, Advised: advice.Stock, Partner: partner}.Questions(), nil
}

// settle puts the questions that were asked and answered into a regrind, and
// gives those that are open. A reason answers them all.
func settle(body *roll.Reground, asked []doubt.Question) (open []doubt.Question) {
	given := namesOf(body.Confirmed)
	if body.Confirm != "" {
		given = doubt.Names()
	}
	var answered []doubt.Name
	answered, open = doubt.Answered(asked, given)
	body.Confirmed = textsOf(answered)
	return open
}

func namesOf(texts []string) []doubt.Name {
	names := make([]doubt.Name, len(texts))
	for i, t := range texts {
		names[i] = doubt.Name(t)
	}
	return names
}

func textsOf(names []doubt.Name) []string {
	var texts []string
	for _, n := range names {
		texts = append(texts, string(n))
	}
	return texts
}

// newNumber refuses a number that is in the books, whatever its case, and asks of
// one that looks like another.
func (a *Recorder) newNumber(r port.Reader, receipt *roll.Received) error {
	number := receipt.Roll.Number
	alike, err := r.Names(port.RollNames, number)
	if err != nil {
		return err
	}
	for _, other := range alike {
		if spelling.Same(other, number) {
			return port.FailNext(next.ShowBook(other), port.Conflicting, "there is a book of roll %s already; roll numbers are never used again, so receive it under another number", other)
		}
	}
	answered, open := doubt.Answered(doubt.Receipt(number, alike), namesOf(receipt.Confirmed))
	receipt.Confirmed = textsOf(answered)
	return port.Asked(open)
}

// settleTests puts the questions that the tests of an inspection raise and that
// were answered into it, and gives those that are open.
func settleTests(s roll.State, body *roll.Body) []doubt.Question {
	b, is := (*body).(roll.Inspected)
	if !is {
		return nil
	}
	answered, open := doubt.Answered(doubt.Tests(s, b.Tests, "tests"), namesOf(b.Confirmed))
	b.Confirmed = textsOf(answered)
	*body = b
	return open
}

// NamesLike are the names of a sort that look like one, or with "" all.
func (a *Recorder) NamesLike(ctx context.Context, of port.Named, alike string) (names []string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		names, err = r.Names(of, alike)
		return err
	})
	return names, err
}
