package plan

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/changeplan"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// equip chooses the set for every change and lays out the grinders' work. The
// grinders are asked twice: first for when each worn set could be ready at the
// soonest, then, once it is known which set is wanted when, in the order that
// serves the changes.
func (p *changePlanner) equip(plan *Plan) error {
	jobs := p.jobs()
	first, err := p.queue(jobs, nil)
	if err != nil {
		return err
	}
	ready := map[string]float64{}
	for _, g := range first.Grinds {
		ready[g.Job] = g.SetReadyMin
	}
	due := map[string]slotOf{}
	for _, role := range []mill.Role{mill.Work, mill.Intermediate, mill.Backup} {
		if err := p.assign(plan, role, ready, due); err != nil {
			return err
		}
	}
	queue, err := p.queue(jobs, due)
	if err != nil {
		return err
	}
	p.reportGrinders(plan, queue, jobs, due)
	return nil
}

// slotOf is where and when a set is wanted.
type slotOf struct {
	stand string
	at    time.Time
}

// minutes counts from the moment of asking.
func (p *changePlanner) minutes(t time.Time) float64 { return t.Sub(p.Now).Minutes() }

func (p *changePlanner) moment(minutes float64) time.Time {
	return p.Now.Add(time.Duration(minutes * float64(time.Minute))).Truncate(time.Minute)
}

// horizon is later than anything a plan waits for, minutes.
const horizon = 60 * 24 * 60

// jobs are the worn sets of the shop that a grinder could make ready.
func (p *changePlanner) jobs() map[string]changeplan.GrindJob {
	jobs := map[string]changeplan.GrindJob{}
	for _, sets := range p.shop {
		for _, v := range sets {
			worn := 0
			back := time.Time{}
			for _, s := range []roll.State{v.TopState, v.BottomState} {
				if s.Stage == roll.StageWorn || s.Stage == roll.StageNew {
					worn++
				}
				if s.WithdrawnAt.After(back) {
					back = s.WithdrawnAt
				}
			}
			if worn == 0 || v.TopState.HeldFor != "" || v.BottomState.HeldFor != "" {
				continue
			}
			in := practice.Resolve(p.Practices, gather.CaseOf(v.TopState))
			jobs[v.Name] = changeplan.GrindJob{ID: v.Name, GrindMin: float64(worn) * in.Number(practice.GrindMin), AssemblyMin: in.Number(practice.AssemblyMin),
				ReadyMin: max(0, p.minutes(back.Add(in.Hours(practice.CoolingH)))), DueMin: horizon}
		}
	}
	return jobs
}

func (p *changePlanner) queue(jobs map[string]changeplan.GrindJob, due map[string]slotOf) (changeplan.Schedule, error) {
	list := make([]changeplan.GrindJob, 0, len(jobs))
	for _, j := range jobs {
		if wanted, ok := due[j.ID]; ok {
			j.DueMin = p.minutes(wanted.at)
		}
		if j.GrindMin > 0 {
			list = append(list, j)
		}
	}
	sort.Slice(list, func(i, k int) bool { return list[i].ID < list[k].ID })
	grinders := make([]changeplan.Grinder, p.in.Grinders)
	for i := range grinders {
		grinders[i].ID = strconv.Itoa(i + 1)
	}
	return changeplan.Queue(list, grinders, changeplan.QueueOptions{MaxNodes: 50_000, Stop: p.r.Err})
}

// assign chooses sets for the changes of one role.
func (p *changePlanner) assign(plan *Plan, role mill.Role, ready map[string]float64, due map[string]slotOf) error {
	var slots []changeplan.Slot
	var targets []*PlanChange
	for i := range plan.Stops {
		for j := range plan.Stops[i].Changes {
			c := &plan.Stops[i].Changes[j]
			if c.Role != role {
				continue
			}
			slots = append(slots, p.slot(fmt.Sprintf("%d/%s", plan.Stops[i].BeforePiece, c.Stand), c.Stand, role, plan.Stops[i].At))
			targets = append(targets, c)
		}
	}
	if len(slots) == 0 {
		return nil
	}
	var candidates []changeplan.Candidate
	for _, v := range p.shop[role] {
		one, err := p.candidate(v, ready)
		if err != nil {
			return err
		}
		candidates = append(candidates, one)
	}
	// Of sets that suit alike the one that stands ready goes in, not one that the grinders still have to do.
	sort.SliceStable(candidates, func(i, j int) bool { return candidates[i].ReadyMin < candidates[j].ReadyMin })
	late := practice.Resolve(p.Practices, practice.Scope{Mill: p.campaign.Mill, Role: role}).Number(practice.StopCost) / 60
	result, err := changeplan.Assign(slots, candidates, changeplan.Weights{LatePerMin: late, TooGoodPerRank: late / 10, TooPoorPerRank: late / 2}, p.r.Err)
	if err != nil {
		return port.Refused(err)
	}
	for i, placed := range result.Placements {
		p.place(plan, targets[i], slots[i], placed, ready, due)
	}
	return nil
}

// place writes one choice into the plan.
func (p *changePlanner) place(plan *Plan, c *PlanChange, slot changeplan.Slot, placed changeplan.Placement, ready map[string]float64, due map[string]slotOf) {
	reasons := make([]string, len(placed.Reasons))
	for i, r := range placed.Reasons {
		reasons[i] = r.Text
	}
	if placed.Candidate == "" {
		plan.CannotMeet = append(plan.CannotMeet, fmt.Sprintf("no set can go into %s (%s) at %s: %s", c.Stand, c.Role, port.Moment(p.moment(slot.DueMin)), strings.Join(shortest(reasons, 4), "; ")))
		return
	}
	c.SetIn = placed.Candidate
	if len(reasons) > 0 {
		c.Why += "; " + c.SetIn + ": " + strings.Join(shortest(reasons, 2), "; ")
	}
	if placed.Second != "" {
		c.SecondBest = placed.Second
	}
	if at, grinding := ready[placed.Candidate]; grinding {
		c.ReadyAt = p.moment(at)
		if at > slot.DueMin {
			plan.CannotMeet = append(plan.CannotMeet, fmt.Sprintf("%s for %s is ready %.0f min after the change is due", c.SetIn, c.Stand, at-slot.DueMin))
		}
	}
	due[placed.Candidate] = slotOf{stand: c.Stand, at: p.moment(slot.DueMin)}
}

func shortest(list []string, n int) []string { return list[:min(n, len(list))] }

// slot is what a change asks of a set.
func (p *changePlanner) slot(id, standName string, role mill.Role, at time.Time) changeplan.Slot {
	stand := p.standNamed(standName)
	s := changeplan.Slot{ID: id, Stand: standName, DueMin: p.minutes(at), Demand: 2}
	if stand.Order >= p.stands[len(p.stands)-1].Order-1 {
		s.Demand = 1 // the last two stands make the surface
	}
	for _, place := range p.places {
		if place.stand.Name == standName && place.role == role {
			tolerance := int64(place.limits.Micrometres(practice.PairToleranceUM))
			s.PairToleranceUM = &tolerance
		}
	}
	if role != mill.Work {
		return s
	}
	s.DriveRPM = changeplan.Range{Low: stand.MinRPM, High: stand.MaxRPM}
	if stand.MaxRPM == 0 {
		s.DriveRPM = changeplan.Range{}
	} else {
		s.StripSpeedMPerS = p.speeds(standName)
	}
	for _, m := range p.Mounted[standName] {
		switch m.Position {
		case mill.TopBackup:
			s.TopBackupUM = int64(m.Diameter)
		case mill.BottomBackup:
			s.BottomBackupUM = int64(m.Diameter)
		case mill.TopIntermediate, mill.BottomIntermediate:
			s.IntermediatesUM += int64(m.Diameter)
		}
	}
	if stand.MaxStack > 0 && s.TopBackupUM > 0 && s.BottomBackupUM > 0 && (s.IntermediatesUM > 0 || !stand.Arrangement.Takes(mill.Intermediate)) {
		s.StackMM = changeplan.Range{Low: stand.MinStack.MM(), High: stand.MaxStack.MM()}
	}
	if stand.MaxShim > 0 && s.BottomBackupUM > 0 && stand.ReferenceWork > 0 && stand.ReferenceBackup > 0 {
		s.ShimMM = changeplan.Range{Low: 0, High: stand.MaxShim.MM()}
		s.WorkRefMM, s.BackupRefMM = stand.ReferenceWork.MM(), stand.ReferenceBackup.MM()
	}
	return s
}

func (p *changePlanner) standNamed(name string) mill.Stand {
	for _, s := range p.stands {
		if s.Name == name {
			return s
		}
	}
	return mill.Stand{}
}

// speeds is the range of surface speeds that the programme asks of a stand.
func (p *changePlanner) speeds(stand string) changeplan.Range {
	r := changeplan.Range{}
	for _, piece := range p.campaign.Pieces {
		for _, pass := range piece.Passes {
			if pass.Stand != stand || pass.SpeedMPerS == 0 {
				continue
			}
			if r.Low == 0 || pass.SpeedMPerS < r.Low {
				r.Low = pass.SpeedMPerS
			}
			r.High = max(r.High, pass.SpeedMPerS)
		}
	}
	return r
}

// candidate is a set of the shop for the assignment. What only grinding and
// cooling stand in the way of is a matter of time; anything else bars it.
func (p *changePlanner) candidate(v gather.SetView, ready map[string]float64) (changeplan.Candidate, error) {
	c := changeplan.Candidate{ID: v.Name, TopDiameterUM: int64(v.TopState.Diameter), BottomDiameterUM: int64(v.BottomState.Diameter), Quality: p.quality(v), Stands: p.served(v)}
	at, grinding := ready[v.Name]
	switch {
	case grinding:
		c.ReadyMin = at
		// The grinder makes a pair of it again, by the smaller of the two.
		c.TopDiameterUM = min(c.TopDiameterUM, c.BottomDiameterUM)
		c.BottomDiameterUM = c.TopDiameterUM
		c.Bars = bars(v.TopState, v.BottomState)
	case !v.Fitness.MayGoIn():
		var err error
		if c.Bars, err = cooled(v, &c, p); err != nil {
			return c, err
		}
	}
	return c, nil
}

// served lists the planned stands that both rolls of a set may go into. A set
// that serves none of them is barred by an empty name.
func (p *changePlanner) served(v gather.SetView) []string {
	names := []string{""}
	for _, s := range p.stands {
		if gather.Misfit(v, s) == "" {
			names = append(names, s.Name)
		}
	}
	return names
}

// bars are what grinding does not mend.
func bars(states ...roll.State) []string {
	var list []string
	for _, s := range states {
		if s.HeldFor != "" {
			list = append(list, s.Roll.Number+" is held: "+s.HeldFor)
		}
		limit, name := s.ScrapLimit()
		if s.Diameter <= limit {
			list = append(list, s.Roll.Number+" is at its scrap limit ("+name+")")
		}
	}
	return list
}

// cooled takes a set that is ground but still warm as ready when it has
// cooled; every other reason against it bars it.
func cooled(v gather.SetView, c *changeplan.Candidate, p *changePlanner) ([]string, error) {
	later := p.Now
	for _, s := range []roll.State{v.TopState, v.BottomState} {
		if s.WithdrawnAt.IsZero() {
			continue
		}
		if at := s.WithdrawnAt.Add(practice.Resolve(p.Practices, gather.CaseOf(s)).Hours(practice.CoolingH)); at.After(later) {
			later = at
		}
	}
	then, err := p.Shop.ViewSet(v.SetRow, v.TopState, v.BottomState, later)
	if err != nil {
		return nil, err
	}
	if then.Fitness.MayGoIn() {
		c.ReadyMin = p.minutes(later)
		return nil, nil
	}
	return then.Fitness.Reasons, nil
}

// quality ranks a set by how close its pair is: within a third of the
// tolerance 1, within two thirds 2, else 3.
func (p *changePlanner) quality(v gather.SetView) int {
	switch {
	case 3*v.Mismatch <= v.Tolerance:
		return 1
	case 3*v.Mismatch <= 2*v.Tolerance:
		return 2
	default:
		return 3
	}
}

func (p *changePlanner) reportGrinders(plan *Plan, queue changeplan.Schedule, jobs map[string]changeplan.GrindJob, due map[string]slotOf) {
	for _, g := range queue.Grinds {
		grinder, err := strconv.Atoi(g.Grinder)
		if err != nil {
			panic("grinders are numbered by queue: " + g.Grinder)
		}
		grind := PlanGrind{Set: g.Job, Grinder: grinder, StartAt: p.moment(g.StartMin), FinishAt: p.moment(g.FinishMin)}
		if wanted, ok := due[g.Job]; ok {
			grind.DueAt, grind.ForStand, grind.LateMin = wanted.at, wanted.stand, max(0, g.LatenessMin)
		}
		for _, sets := range p.shop {
			for _, v := range sets {
				if v.Name == g.Job {
					grind.Rolls = []string{v.Top, v.Bottom}
				}
			}
		}
		plan.Grinders = append(plan.Grinders, grind)
	}
	if len(queue.Grinds) > 0 {
		plan.Notes = append(plan.Notes, fmt.Sprintf("grinder queue for %s; worn sets nobody waits for come last", many(p.in.Grinders, "grinder")))
	}
}

// many is a count with its noun.
func many(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}
