package board

import (
	"fmt"
	"net/url"
	"sort"
	"time"

	"barrelbook/api/oapi"
)

// wallRefresh is how often a wall asks for itself anew; an answer is shared by
// all walls for wallKept.
const (
	wallRefresh = 15 * time.Second
	wallKept    = 10 * time.Second
)

// wallData is the board of a mill: its stands in order against one line of time.
type wallData struct {
	Mill     oapi.Mill
	Campaign *oapi.Campaign
	Check    *oapi.FinishCheck
	Plan     *oapi.ChangePlan
	Line     *timeLine
	Rows     []standRow
	Grinders []grinderRow
	NextStop *oapi.PlanStop
	Held     []oapi.Roll
	Owing    []oapi.Roll
	Warm     []oapi.Roll
	Missing  []string // what could not be asked, in the service's words
	AskedAt  time.Time
}

// Many says that the stands need narrow rows to stand on one screen.
func (d *wallData) Many() bool { return len(d.Rows) > 9 }

// standRow is one stand on the wall.
type standRow struct {
	Stand    oapi.Stand
	Finish   *oapi.StandFinish
	Capacity string
	// Reach is where on the line the set is expected to stop, and Sure up to where
	// it surely goes on; both in percent, 100 for the whole programme.
	Reach, Sure float64
	Start       float64 // of the programme, where its first piece is rolled
	Ends        bool
	Changes     []changeMark
}

// Way is what would let the stand finish where no change of it is planned, as
// the next groove.
func (r standRow) Way() string {
	if r.Finish == nil || r.Finish.Verdict == oapi.FinishVerdictYes || len(r.Changes) > 0 {
		return ""
	}
	for _, way := range opt(r.Finish.Remedies) {
		return way.Sentence
	}
	return ""
}

type changeMark struct {
	At            float64 // percent of the line
	Piece         int64
	SetIn, SetOut string
}

type grinderRow struct {
	Number int64
	Jobs   []grinderMark
}

type grinderMark struct {
	From, Width float64
	Set         string
	Late        bool
	Job         oapi.GrinderJob
}

func (b *Board) wall(v *visit) (answer, error) {
	name := v.PathValue("mill")
	// Whoever looks must be let in, also when the answer is at hand.
	mill, err := millNamed(v.asker, name)
	if err != nil {
		return answer{}, err
	}
	kept, err := b.walls.get(name, func() (any, error) { return makeWall(v.asker, mill) })
	if err != nil {
		return answer{}, err
	}
	return answer{template: "wall.html", title: millTitle(mill), data: kept.value, made: kept.at, refresh: wallRefresh}, nil
}

func millNamed(a asker, name string) (oapi.Mill, error) {
	mills, err := everything[oapi.Mill](a, "/v1/mills?")
	if err != nil {
		return oapi.Mill{}, err
	}
	for _, m := range mills {
		if m.Name == name {
			return m, nil
		}
	}
	return oapi.Mill{}, &refused{status: 404, title: "Not found", detail: "There is no mill " + name + "."}
}

func millTitle(m oapi.Mill) string {
	if t := opt(m.Title); t != "" {
		return t
	}
	return m.Name
}

// everything reads all pages of a list. path ends where parameters may be
// added.
func everything[T any](a asker, path string) (items []T, err error) {
	for cursor := ""; ; {
		page, err := read[struct {
			Items []T     `json:"items"`
			Next  *string `json:"next"`
		}](a, path+"&limit=500&cursor="+url.QueryEscape(cursor))
		if err != nil {
			return nil, err
		}
		items = append(items, page.Items...)
		if page.Next == nil {
			return items, nil
		}
		cursor = *page.Next
	}
}

func makeWall(a asker, mill oapi.Mill) (*wallData, error) {
	d := &wallData{Mill: mill}
	stands, err := everything[oapi.Stand](a, "/v1/stands?mill="+url.QueryEscape(mill.Name))
	if err != nil {
		return nil, err
	}
	sort.SliceStable(stands, func(i, j int) bool { return stands[i].Order < stands[j].Order })
	for _, s := range stands {
		d.Rows = append(d.Rows, standRow{Stand: s, Reach: 100, Sure: 100})
	}
	if err := d.readShop(a); err != nil {
		return nil, err
	}
	return d, d.readProgramme(a)
}

// readProgramme asks what ends when, and what is planned for it.
func (d *wallData) readProgramme(a asker) error {
	newest, err := newestProgramme(a, d.Mill.Name)
	if err != nil || newest == nil {
		return err
	}
	d.Campaign = newest
	check, plan, noCheck, noPlan := checkAndPlan(a, newest.Name, false)
	if d.note("The programme could not be checked", noCheck) {
		d.Check, d.AskedAt = &check, check.AskedAt
	}
	if d.note("No plan could be made", noPlan) {
		d.Plan, d.AskedAt = &plan, plan.AskedAt
	}
	if d.Check == nil && d.Plan == nil {
		return nil
	}
	d.Line = newTimeLine(*d.Campaign, d.Plan, d.AskedAt)
	d.placeFinish()
	d.placePlan()
	return nil
}

// note keeps what was refused so that it is shown, and says whether nothing was.
func (d *wallData) note(what string, err error) bool {
	if err != nil {
		d.Missing = append(d.Missing, fmt.Sprintf("%s: %v", what, err))
	}
	return err == nil
}

func (d *wallData) placeFinish() {
	if d.Check == nil {
		return
	}
	for i := range d.Check.Stands {
		one := &d.Check.Stands[i]
		for k := range d.Rows {
			row := &d.Rows[k]
			if row.Stand.Name != one.Stand {
				continue
			}
			row.Start = d.Line.atPiece(1)
			row.Finish, row.Capacity = one, capacity(one.More, *d.Campaign)
			if one.Verdict == oapi.FinishVerdictBlocked {
				row.Reach, row.Sure, row.Ends = row.Start, row.Start, true
			}
			if m := one.Limiting; m != nil && one.Verdict != oapi.FinishVerdictBlocked {
				if m.Reached != nil {
					row.Reach, row.Ends = d.Line.atPiece(m.Reached.Piece), true
				}
				row.Sure = row.Reach
				if m.ReachedP10 != nil {
					row.Sure = d.Line.atPiece(m.ReachedP10.Piece)
				}
			}
		}
	}
}

// capacity says how much more a set can roll.
func capacity(more *oapi.Capacity, c oapi.Campaign) string {
	if more == nil {
		return ""
	}
	if more.PieceCount == 0 {
		return "not one more piece"
	}
	least := ""
	if opt(more.AtLeast) {
		least = "at least "
	}
	text := fmt.Sprintf("goes on for %s%s pieces, %s t", least, whole(float64(more.PieceCount)), whole(more.TonnageT))
	if c.MinutesPerPiece != nil {
		text += ", " + hours(float64(more.PieceCount)**c.MinutesPerPiece/60)
	}
	return text
}

func (d *wallData) placePlan() {
	if d.Plan == nil {
		return
	}
	for i := range d.Plan.Stops {
		stop := &d.Plan.Stops[i]
		if d.NextStop == nil {
			d.NextStop = stop
		}
		for _, c := range stop.Changes {
			for k := range d.Rows {
				if d.Rows[k].Stand.Name == c.Stand {
					d.Rows[k].Changes = append(d.Rows[k].Changes, changeMark{At: d.Line.at(stop.At), Piece: stop.BeforePiece, SetIn: opt(c.SetIn), SetOut: opt(c.SetOut)})
				}
			}
		}
	}
	for _, job := range d.Plan.GrinderQueue {
		k := sort.Search(len(d.Grinders), func(i int) bool { return d.Grinders[i].Number >= job.Grinder })
		if k == len(d.Grinders) || d.Grinders[k].Number != job.Grinder {
			d.Grinders = append(d.Grinders[:k], append([]grinderRow{{Number: job.Grinder}}, d.Grinders[k:]...)...)
		}
		from, to := d.Line.at(job.StartAt), d.Line.at(job.FinishAt)
		if to > from {
			d.Grinders[k].Jobs = append(d.Grinders[k].Jobs, grinderMark{From: from, Width: to - from, Set: job.Set, Late: opt(job.LateMin) > 0, Job: job})
		}
	}
}

// readShop finds the rolls that somebody must see to.
func (d *wallData) readShop(a asker) error {
	rolls := "/v1/rolls?mill=" + url.QueryEscape(d.Mill.Name)
	var err error
	if d.Held, err = everything[oapi.Roll](a, rolls+"&held=true"); err != nil {
		return err
	}
	for _, stage := range []string{"mounted", "worn"} {
		list, err := everything[oapi.Roll](a, rolls+"&stage="+stage)
		if err != nil {
			return err
		}
		for _, r := range list {
			if r.State.Owed != nil && len(*r.State.Owed) > 0 {
				d.Owing = append(d.Owing, r)
			}
			if stage == "worn" && r.State.CoolAt != nil {
				d.Warm = append(d.Warm, r)
			}
		}
	}
	sort.SliceStable(d.Warm, func(i, j int) bool { return d.Warm[i].State.CoolAt.Before(*d.Warm[j].State.CoolAt) })
	return nil
}
