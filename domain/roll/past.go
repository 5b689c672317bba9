package roll

import (
	"fmt"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/next"
)

// PastStay is a stay in a stand from before the book was kept, carried over from
// the roll's card with its totals: no change, no set and no pieces tell of it.
// The moment of its entry is that at which the roll came out.
type PastStay struct {
	Stand                string
	Position             mill.Position
	From                 time.Time
	Why                  Why
	Pieces               int64 // 0 when not known
	TonnageT             float64
	RolledKM             float64
	SpecificForceKNPerMM float64 // mean over the kilometres, 0 when not known
}

// Kind names the body.
func (PastStay) Kind() Kind { return KindPastStay }

// carryOver applies a past stay. Only a roll that is in no set and no stand has
// one: whoever built the set knew the roll as it is after its past.
func carryOver(s State, e Entry, b PastStay) (State, error) {
	switch {
	case s.Stage == StageMounted:
		return s, conflict(s.Marks.Mounted, s, e, s.whereMounted(), "give the moments of the past stay")
	case s.Set != "":
		return s, conflict(s.Marks.Paired, s, e, fmt.Sprintf("the roll was in set %s then, and what a set bore is in its roll changes", s.Set), "record the change, or break the set first", next.BreakSet(s.Set))
	case !b.From.Before(e.At):
		return s, cannotBe("mounted_at", s, e, fmt.Sprintf("the roll went in on %s, which is not before it came out on %s", moment(b.From), moment(e.At)), "check the two moments")
	case b.From.Before(s.LastAt):
		return s, conflict(max(s.Marks.Received, s.Marks.Ground, s.Marks.Withdrawn), s, e, fmt.Sprintf("the roll went in on %s, and the book has it in the shop on %s", moment(b.From), moment(s.LastAt)), "check the moments; carry a roll's stays over one after the other")
	}
	s.Stage, s.MountedAt, s.WithdrawnAt, s.Marks.Withdrawn = StageWorn, b.From, e.At, e.Number
	s.Campaigns++
	s.CampaignsSinceGrind++
	s.Concession = nil
	s.campaignOver()
	return s, nil
}
