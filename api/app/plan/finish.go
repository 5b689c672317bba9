package plan

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
)

// FinishInput asks the third question.
type FinishInput struct {
	Campaign  string
	Stand     string    // empty for every stand of the campaign's mill
	WithSet   string    // to be looked at in place of the set of its role in the stand
	FromPiece int       // from 1; 0 for the first
	Explain   bool      // say of each number where it comes from
	Course    bool      // follow the nearest limits piece by piece
	AsOf      time.Time // zero for now
}

// FinishAnswer says for each stand whether its sets finish the campaign.
type FinishAnswer struct {
	Campaign string
	AskedAt  time.Time // the moment the answer holds for
	Model    string
	Verdict  finish.Verdict // the worst of the stands
	YesFrom  float64
	NoBelow  float64
	Stands   []finish.Answer
	Cautions []string
	Notes    []string
}

// CheckFinish answers whether the sets in the stands, or the one named, finish
// the campaign. NotFound for an unknown campaign, stand or set; Impossible when
// the stand is not of the campaign's mill, the set does not belong in the stand,
// or the piece to start from is not in the programme; Conflicting when the set
// was broken. It records nothing.
func (a *Planner) CheckFinish(ctx context.Context, in FinishInput) (FinishAnswer, error) {
	k, err := a.learner.Known(ctx)
	if err != nil {
		return FinishAnswer{}, err
	}
	var answer FinishAnswer
	err = a.store.Read(ctx, func(r port.Reader) error {
		c, err := a.newFinishCheck(r, in, k.Rates)
		if err != nil {
			return err
		}
		answer, err = c.answer()
		return err
	})
	return answer, err
}

func (c *finishCheck) answer() (FinishAnswer, error) {
	mostly := practice.Resolve(c.Practices, practice.Scope{Mill: c.mill.Name, Role: mill.Work})
	answer := FinishAnswer{Campaign: c.campaign.Name, AskedAt: c.Now, Model: finish.Model, Verdict: finish.Yes,
		YesFrom: mostly.Number(practice.FinishYesProbability), NoBelow: mostly.Number(practice.FinishNoProbability),
		Cautions: []string{caution.Limits}, Notes: c.notes()}
	owed := false
	for _, stand := range c.stands {
		if err := c.r.Err(); err != nil {
			return FinishAnswer{}, err
		}
		input, err := c.input(stand)
		if err != nil {
			return FinishAnswer{}, err
		}
		input.Ask = c.r.Err
		one, err := finish.Check(input)
		if err != nil {
			return FinishAnswer{}, port.Refused(err)
		}
		answer.Stands = append(answer.Stands, one)
		answer.Verdict = finish.Worse(answer.Verdict, one.Verdict)
		for _, b := range slices.Concat(input.Work.Blocks, input.Intermediate.Blocks, input.Backup.Blocks) {
			owed = owed || b.ByTest
		}
	}
	if owed {
		answer.Cautions = append(answer.Cautions, caution.Unknown)
	}
	if answer.Verdict != finish.Yes {
		answer.Cautions = append(answer.Cautions, caution.Stand)
	}
	return answer, nil
}

// notes say what the answer leaves out or takes for granted.
func (c *finishCheck) notes() []string {
	list := []string{
		"a limit counts as kept up to and including its value; tonnes are taken from the programme as exact, lengths and forces as uncertain by the practice, wear rates as far as the regrinds teach them",
		"the two rolls of a set share part of the doubt of their wear rate, all rolls of a stand that of length and force",
		"the load along the barrels is solved for crowns as ground, wear and the heat under the strip, anew where they, width or force have changed much; contact fatigue is counted by the mill's policy",
		"the change of the gap's profile is held against the limits that the practice has on it, with wear, heat, contour and bending at the planned figures",
	}
	if !c.in.AsOf.IsZero() {
		list = append(list, "as of "+port.Moment(c.Now)+": books, mountings and pieces as known then; stands, practices and the programme as they are today; contact fatigue is not followed back in time")
	}
	for _, stand := range c.stands {
		if t := learn.TroubleAt(c.rates, stand); t != nil {
			list = append(list, t.Says(stand.Name))
		}
	}
	if c.in.FromPiece > 1 {
		list = append(list, fmt.Sprintf("pieces before piece %d are taken as rolled and booked", c.in.FromPiece))
	}
	return list
}

// newFinishCheck reads what all stands have in common.
func (a *Planner) newFinishCheck(r port.Reader, in FinishInput, rates port.WearRates) (*finishCheck, error) {
	c, now := &finishCheck{r: r, in: in, rates: rates, ahead: ahead{r: r, learner: a.learner}}, a.clock.Now()
	if !in.AsOf.IsZero() {
		if in.AsOf.After(now.Add(port.ClockSkew)) {
			return nil, port.Refused(refusal.One("as_of", in.AsOf.Format(time.RFC3339), "is in the future; it is now "+now.Format(time.RFC3339), "leave it out for now"))
		}
		now = in.AsOf.UTC().Truncate(time.Microsecond)
	}
	var err error
	if c.campaign, err = r.Campaign(in.Campaign); err != nil {
		return nil, err
	}
	if c.in.FromPiece == 0 {
		c.in.FromPiece = 1
	}
	if c.in.FromPiece < 1 || c.in.FromPiece > len(c.campaign.Pieces) {
		return nil, port.Refused(refusal.One("from_piece", strconv.Itoa(c.in.FromPiece), fmt.Sprintf("must lie between 1 and the last piece, %d", len(c.campaign.Pieces)), ""))
	}
	if c.mill, err = r.Mill(c.campaign.Mill); err != nil {
		return nil, err
	}
	shop, err := gather.OpenShop(r, now)
	if err != nil {
		return nil, err
	}
	c.Standing = gather.NewStanding(r, a.models, learn.RatesIn(rates), c.mill, shop)
	if !in.AsOf.IsZero() {
		c.AsOf(now)
	}
	if err := c.chooseStands(); err != nil {
		return nil, err
	}
	return c, c.gather()
}

// chooseStands takes the stand named, the one the named set serves, or all of
// the mill.
func (c *finishCheck) chooseStands() error {
	all, err := port.Drain(func(p port.Page) ([]mill.Stand, string, error) { return c.r.Stands(c.mill.Name, p) })
	if err != nil {
		return err
	}
	c.stands = all
	if c.in.Stand != "" {
		stand, err := c.r.Stand(c.in.Stand)
		if err != nil {
			return err
		}
		if stand.Mill != c.mill.Name {
			return port.Refused(refusal.One("stand", stand.Name, fmt.Sprintf("is of mill %s; campaign %s is of mill %s", stand.Mill, c.campaign.Name, c.mill.Name), "see the stands", next.ListStands()))
		}
		c.stands = []mill.Stand{stand}
	}
	return nil
}
