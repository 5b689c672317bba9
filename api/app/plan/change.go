package plan

import (
	"context"
	"fmt"
	"sort"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/changeplan"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
)

// planModel names the models an answer comes from.
const planModel = "change-plan 1: label dynamic programming, exact assignment, grinder queue"

// planLabels bounds the proof of one plan, so that an answer comes within
// seconds; where it runs out the gap is stated.
const planLabels = 1_500_000

// PlanInput asks for a plan of roll changes.
type PlanInput struct {
	Campaign   string
	Confidence float64 // that no limit is passed between changes; 0 for 0.95
	Stands     []string
	Grinders   int // 0 for as many as the practice says
	Explain    bool
}

// Plan answers the second question: which stands change before which piece,
// with which ready set, and what the grinders do for it. What cannot be met
// comes first.
type Plan struct {
	Campaign      string
	AskedAt       time.Time
	Model         string
	Feasible      bool
	Optimal       bool
	Cost          float64
	Gap           float64
	CannotMeet    []string
	Stops         []PlanStop
	WithoutChange []string
	Grinders      []PlanGrind
	Cautions      []string
	Notes         []string
}

// PlanStop is one stop with the changes made in it.
type PlanStop struct {
	BeforePiece int // from 1
	PieceID     string
	PlannedStop string // its name; empty for a stop made for the changes
	Planned     bool
	At          time.Time
	Changes     []PlanChange
}

// PlanChange is one stand's change.
type PlanChange struct {
	Stand      string
	Role       mill.Role
	SetOut     string
	SetIn      string
	Why        string
	ReadyAt    time.Time // zero when it stands ready now or no set was found
	SecondBest string
}

// PlanGrind is one job of a grinder.
type PlanGrind struct {
	Set      string
	Rolls    []string
	Grinder  int
	StartAt  time.Time
	FinishAt time.Time
	DueAt    time.Time // zero when nothing of the programme waits for it
	LateMin  float64
	ForStand string
}

// PlanChanges plans the changes of a campaign. NotFound for an unknown campaign
// or stand; Impossible for a programme without pieces.
func (a *Planner) PlanChanges(ctx context.Context, in PlanInput) (Plan, error) {
	if in.Confidence == 0 {
		in.Confidence = 0.95
	}
	k, err := a.learner.Known(ctx)
	if err != nil {
		return Plan{}, err
	}
	var plan Plan
	err = a.store.Read(ctx, func(r port.Reader) error {
		p, err := a.newPlanner(r, in, k.Rates)
		if err != nil {
			return err
		}
		plan, err = p.plan()
		return err
	})
	return plan, err
}

// changePlanner gathers what a plan needs from the store.
type changePlanner struct {
	*gather.Standing
	ahead    ahead
	r        port.Reader
	in       PlanInput
	campaign port.ProgrammeRow
	mill     mill.Mill
	stands   []mill.Stand
	shop     map[mill.Role][]gather.SetView // sets of the mill that are not in a stand
	places   []place
}

// place is one stand and role that the plan keeps in rolls.
type place struct {
	stand  mill.Stand
	role   mill.Role
	set    *gather.SetView // in it now; nil when empty
	limits practice.InForce
	// holding is how long sets last in it.
	holding *finish.Holding
	asked   *standQuestion
}

func (p place) name() string {
	if p.role == mill.Work {
		return p.stand.Name
	}
	return p.stand.Name + " " + string(p.role)
}

func (a *Planner) newPlanner(r port.Reader, in PlanInput, rates port.WearRates) (*changePlanner, error) {
	p := &changePlanner{r: r, in: in, ahead: ahead{r: r, learner: a.learner}, shop: map[mill.Role][]gather.SetView{}}
	var err error
	if p.campaign, err = r.Campaign(in.Campaign); err != nil {
		return nil, err
	}
	if p.mill, err = r.Mill(p.campaign.Mill); err != nil {
		return nil, err
	}
	shop, err := gather.OpenShop(r, a.clock.Now())
	if err != nil {
		return nil, err
	}
	if p.in.Grinders == 0 {
		p.in.Grinders = int(practice.Resolve(shop.Practices, practice.Scope{Mill: p.mill.Name, Role: mill.Work}).Number(practice.Grinders))
	}
	p.Standing = gather.NewStanding(r, a.models, learn.RatesIn(rates), p.mill, shop)
	if at := p.campaign.PieceTime(1); at.After(p.Now) {
		p.StartsAt = at
	}
	if err := p.chooseStands(); err != nil {
		return nil, err
	}
	return p, p.gatherSets()
}

// chooseStands takes the stands named, or all that the programme runs through.
func (p *changePlanner) chooseStands() error {
	all, err := port.Drain(func(page port.Page) ([]mill.Stand, string, error) { return p.r.Stands(p.campaign.Mill, page) })
	if err != nil {
		return err
	}
	used := map[string]bool{}
	for _, piece := range p.campaign.Pieces {
		for _, pass := range piece.Passes {
			used[pass.Stand] = true
		}
	}
	wanted := map[string]bool{}
	for i, name := range p.in.Stands {
		if wanted[name] {
			return port.Refused(refusal.One(fmt.Sprintf("stands/%d", i), name, "is named twice", ""))
		}
		wanted[name] = true
	}
	for _, s := range all {
		if wanted[s.Name] || len(p.in.Stands) == 0 && used[s.Name] {
			p.stands = append(p.stands, s)
			delete(wanted, s.Name)
		}
	}
	for name := range wanted {
		return port.FailNext(next.ListStands(), port.NotFound, "%s is not a stand of mill %s; see the stands", name, p.campaign.Mill)
	}
	return nil
}

// gatherSets reads the standing sets of the mill, those in the stands and those
// in the shop.
func (p *changePlanner) gatherSets() error {
	rows, err := port.Drain(func(page port.Page) ([]port.SetRow, string, error) {
		return p.r.Sets(port.SetFilter{Mill: p.campaign.Mill}, page)
	})
	if err != nil {
		return err
	}
	views, err := p.Shop.ReadSets(rows, p.Now)
	if err != nil {
		return err
	}
	in := map[string]*gather.SetView{}
	for i, v := range views {
		if v.Stand == "" {
			p.shop[v.Role] = append(p.shop[v.Role], v)
			continue
		}
		in[v.Stand+"/"+string(v.Role)] = &views[i]
	}
	var numbers []string
	for _, row := range rows {
		numbers = append(numbers, row.Top, row.Bottom)
	}
	if err := p.Read(p.stands, numbers...); err != nil {
		return err
	}
	for _, s := range p.stands {
		for _, role := range []mill.Role{mill.Work, mill.Intermediate, mill.Backup} {
			if !s.Arrangement.Takes(role) {
				continue
			}
			p.places = append(p.places, place{stand: s, role: role, set: in[s.Name+"/"+string(role)]})
		}
	}
	return nil
}

// plan puts the parts together.
func (p *changePlanner) plan() (Plan, error) {
	plan := Plan{Campaign: p.campaign.Name, AskedAt: p.Now, Model: planModel, Feasible: true,
		Cautions: []string{caution.Limits, caution.Stand, caution.Warm, caution.Necks, caution.WarmUp}}
	problem, err := p.problem(&plan)
	if err != nil {
		return Plan{}, err
	}
	if !plan.Feasible {
		return plan, nil
	}
	result, err := changeplan.Plan(problem, changeplan.Options{MaxLabels: planLabels, Stop: p.r.Err})
	if err != nil {
		return Plan{}, port.Refused(err)
	}
	for _, m := range result.Infeasible {
		plan.cannot(fmt.Sprintf("%s: no set can roll piece %d (%s) in its turn; take it out of the programme or change the limit", m.Stand, m.Piece+1, p.campaign.Pieces[m.Piece].ID))
	}
	if !plan.Feasible {
		return plan, nil
	}
	plan.Optimal, plan.Cost, plan.Gap = result.Optimal, result.Cost, result.Gap
	p.layOut(&plan, result)
	if err := p.equip(&plan); err != nil {
		return Plan{}, err
	}
	if err := p.lasts(&plan); err != nil {
		return Plan{}, err
	}
	plan.nameSetsOut()
	if err := p.grooveNotes(&plan); err != nil {
		return Plan{}, err
	}
	plan.Notes = append(plan.Notes, p.coldNotes(&plan)...)
	plan.Notes = append(plan.Notes,
		fmt.Sprintf("the sets in a stand keep within all limits together with probability %g, as the finish check reckons it", p.in.Confidence),
		"a set that goes in is taken to wear at the rate of its grade in that stand")
	if !result.Optimal {
		plan.Notes = append(plan.Notes, fmt.Sprintf("the plan is not proved the cheapest: no plan is cheaper by more than %.2g %%", 100*result.Gap))
	}
	if p.in.Explain {
		said, err := p.explain()
		if err != nil {
			return Plan{}, err
		}
		plan.Notes = append(plan.Notes, said...)
	}
	return plan, nil
}

// layOut turns the planner's result into stops with times.
func (p *changePlanner) layOut(plan *Plan, result changeplan.Result) {
	since := map[string]int{} // where a place was changed last, from 1
	byName := map[string]place{}
	for _, at := range p.places {
		byName[at.name()] = at
	}
	for _, stop := range result.Stops {
		number := stop.BeforePiece + 1
		out := PlanStop{BeforePiece: number, PieceID: p.campaign.Pieces[stop.BeforePiece].ID, Planned: stop.Planned, At: p.campaign.PieceTime(number)}
		if stop.Planned {
			out.PlannedStop = p.stopName(number)
		}
		for _, c := range stop.Changes {
			at := byName[c.Stand]
			change := PlanChange{Stand: at.stand.Name, Role: at.role, Why: p.whyChange(c, at, since[c.Stand]-1)}
			if since[c.Stand] == 0 && at.set != nil {
				change.SetOut = at.set.Name
			}
			since[c.Stand] = number
			out.Changes = append(out.Changes, change)
		}
		plan.Stops = append(plan.Stops, out)
	}
	for _, at := range p.places {
		if since[at.name()] == 0 && at.role == mill.Work {
			plan.WithoutChange = append(plan.WithoutChange, at.stand.Name)
		}
	}
	sort.Strings(plan.WithoutChange)
}

// nameSetsOut says what a second change of a place takes out: what the one before
// it put in.
func (plan *Plan) nameSetsOut() {
	in := map[string]string{}
	for i := range plan.Stops {
		for j := range plan.Stops[i].Changes {
			c := &plan.Stops[i].Changes[j]
			at := c.Stand + "/" + string(c.Role)
			if before, ok := in[at]; ok {
				c.SetOut = before
			}
			in[at] = c.SetIn
		}
	}
}

func (p *changePlanner) stopName(number int) string {
	for _, s := range p.campaign.Stops {
		if s.BeforePiece == number {
			if s.Name == "" {
				return "planned stop"
			}
			return s.Name
		}
	}
	return "before the first piece"
}

// whyChange is the reason for a change of what went in before piece since, from
// 0; −1 for the set that is in the place now.
func (p *changePlanner) whyChange(c changeplan.Change, at place, since int) string {
	switch {
	case !c.Forced:
		return "it is cheaper now, together with this stop, than in a stop of its own later"
	case at.set == nil && since < 0:
		return "no set is in it"
	case since < 0 && len(at.holding.Out) > 0:
		return "the set in it may not run: " + whyOut(at.holding)
	}
	why := fmt.Sprintf("the set passes a limit on the next piece (%g %% confidence)", 100*p.in.Confidence)
	if which := at.holding.Ends(since); which != "" {
		why += ": " + which
	}
	return why
}
