package record

import (
	"reflect"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

// CorrectionView is what a correction did: the entry before and after, and how
// each roll whose book it is in stood before and stands now.
type CorrectionView struct {
	Roll      RollView
	Entry     int64 // the correction
	Corrects  int64
	Kind      roll.Kind
	Said      string // by the entry it corrects, in one sentence
	Withdrawn bool
	// Of a regrind or a receipt: what it said, and what it says now.
	SaidAt, SaysAt           time.Time
	SaidRegrind, SaysRegrind *roll.Reground
	SaidReceipt, SaysReceipt *roll.Received
	Before, After            []RollStanding
	DryRun                   bool
}

// RollStanding is what is decided on by a roll.
type RollStanding struct {
	Roll          string
	Stage         roll.Stage
	Diameter      quantity.Micrometre
	ScrapAt       quantity.Micrometre
	ScrapLimit    string
	StockLeft     quantity.Micrometre
	RegrindsLeft  int64
	Fitness       release.Verdict
	Owed          []roll.Owed
	Partner       string
	Mismatch      quantity.Micrometre
	Tolerance     quantity.Micrometre
	CampaignsLeft float64   // in the median, 0 where no forecast is
	Scrap         time.Time // in the median, zero where no rhythm is known
}

// standings are those of rolls as the writer has them.
func (a *Recorder) standings(r port.Reader, now time.Time, numbers []string) ([]RollStanding, error) {
	shop, err := gather.OpenShop(r, now)
	if err != nil {
		return nil, err
	}
	ahead, err := a.planner.Ahead(r, now)
	if err != nil {
		return nil, err
	}
	list := make([]RollStanding, len(numbers))
	for i, number := range numbers {
		row, err := r.Roll(number)
		if err != nil {
			return nil, err
		}
		if list[i], err = standingOf(r, shop, row.State, now); err != nil {
			return nil, err
		}
		if list[i].CampaignsLeft, list[i].Scrap, err = ahead(row.State); err != nil {
			return nil, err
		}
	}
	return list, nil
}

func standingOf(r port.Reader, shop *gather.Shop, s roll.State, now time.Time) (RollStanding, error) {
	p := practice.Resolve(shop.Practices, gather.CaseOf(s))
	limit, name := s.ScrapLimit()
	one := RollStanding{Roll: s.Roll.Number, Stage: s.Stage, Diameter: s.Diameter, ScrapAt: limit, ScrapLimit: name, StockLeft: s.StockLeft(),
		RegrindsLeft: plan.RegrindsLeft(s.StockLeft(), p), Owed: s.Owed, Partner: s.Partner, Tolerance: p.Micrometres(practice.PairToleranceUM)}
	partner, err := gather.PartnerOf(r, s)
	if err != nil {
		return one, err
	}
	if partner != nil {
		one.Mismatch = roll.Mismatch(s, *partner)
	}
	one.Fitness, err = shop.Judge(s, partner, now)
	return one, err
}

// saysSo refuses a correction that changes nothing, so that one that is sent
// again is not entered twice.
func saysSo(number string, entry int64) error {
	return port.FailNext(next.ShowBook(number), port.Conflicting, "entry %d of roll %s says so already: nothing need be done", entry, number)
}

// sameRegrind says whether nothing was changed but what was confirmed.
func sameRegrind(in, said RegrindInput) bool {
	in.Confirm, in.Confirmed, said.Confirm, said.Confirmed = "", nil, "", nil
	return reflect.DeepEqual(in, said)
}

// said notes what an entry said that stood until now.
func (v *CorrectionView) said(book []roll.Entry, entry int64) {
	e, stood := standsIn(book, entry)
	if !stood {
		return
	}
	v.Said, v.SaidAt = roll.Sentence(e.Body), e.At
	switch b := e.Body.(type) {
	case roll.Reground:
		v.SaidRegrind = &b
	case roll.Received:
		v.SaidReceipt = &b
	}
}

// says notes what takes its place.
func (v *CorrectionView) says(c roll.Corrected) {
	v.SaysAt = c.At
	switch b := c.With.(type) {
	case roll.Reground:
		v.SaysRegrind = &b
	case roll.Received:
		v.SaysReceipt = &b
	}
}

// standsIn gives the entry of a book that stands under a number, false where it
// stands no more.
func standsIn(book []roll.Entry, entry int64) (roll.Entry, bool) {
	effective, err := roll.Effective(book)
	if err != nil {
		return roll.Entry{}, false
	}
	for _, e := range effective {
		if e.Number == entry {
			return e, true
		}
	}
	return roll.Entry{}, false
}
