// Package standing says how things stand now: which rolls are in a stand or in
// the shop, what each has borne since its grind by the wear rate now known, its
// damage, its heat, and what the books hold against it. Every answer starts
// from these values, so that two answers cannot start from different ones.
package standing

import (
	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/heat"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/wear"
	"barrelbook/domain/wearrate"
)

// Stand is a stand with the sets in it. A place without rolls is empty.
type Stand struct {
	mill.Stand
	// Intermediate has rolls in a six-high stand only.
	Work, Intermediate, Backup Set
	// Drive is nil where the stand has a motor of its own.
	Drive *Drive
	// Limits are the settings of the stand and its work rolls.
	Limits Limits
}

// Rolls are those in the stand, from the strip outward.
func (s *Stand) Rolls() []*Roll {
	list := make([]*Roll, 0, len(s.Work.Rolls)+len(s.Intermediate.Rolls)+len(s.Backup.Rolls))
	for _, set := range []*Set{&s.Work, &s.Intermediate, &s.Backup} {
		for i := range set.Rolls {
			list = append(list, &set.Rolls[i])
		}
	}
	return list
}

// Drive is the block of stands on one motor that a stand belongs to.
type Drive struct {
	Block string
	// Neighbours are the stands next to it in the block and the mean diameter of
	// the work rolls in them, 0 where there are none.
	Neighbours []Neighbour
}

// Neighbour is a stand beside another on one drive.
type Neighbour struct {
	Stand      mill.Stand
	DiameterMM float64
}

// Set is two rolls, in a stand or not.
type Set struct {
	Name    string
	Role    mill.Role
	Mounted bool
	Rolls   []Roll
	// MismatchUM is the difference of the two diameters as they are now.
	MismatchUM float64
	Blocks     []Block
	Costs      Costs
}

// Block is a reason why a set cannot run at all.
type Block struct {
	Why string
	// ByTest is true where a passed test would lift it.
	ByTest bool
}

// Costs are what a change is priced by, minor units of money.
type Costs struct {
	Stop, PlannedStop, Change, UnusedPerKM float64
}

// Roll is one roll as it stands at a moment.
type Roll struct {
	// Roll is the roll as the models need it; its rate is the one now known.
	duty.Roll
	// SharedCV is the spread of the wear rate that both rolls of a set have in
	// common, OwnCV what each has by itself. RateSource names where both and the
	// mean come from.
	SharedCV, OwnCV float64
	RateSource      string
	// Effect is what the length and force of a whole campaign make of the rate. What
	// SinceGrind says of wear is of a campaign that ended now.
	Effect wearrate.CampaignEffect

	// Stay is what it has borne since it went in; zero for a roll in the shop.
	Stay duty.Usage
	// SinceGrind is what it has borne since its last grind, with its wear at the
	// rate now known. Its wear is nil where none was computed.
	SinceGrind duty.Usage

	// Condition is the roll as a beam, its crown and its heat. Its wear and damage
	// are SinceGrind's and Damage.
	Condition duty.Condition
	// FireCracks is the balance that the growth of fire cracks starts from.
	FireCracks FireCracks
	// Damage is the contact fatigue so far; nil for none counted yet.
	Damage *fatigue.Field
	// Roughness is that of the last grind and how it falls; not followed without a
	// reading and a scale.
	Roughness wear.Roughness

	ScrapDiameterMM float64
	ScrapLimit      string // which limit it is
	// Limits are the settings for this roll in this stand.
	Limits   Limits
	Unknowns []string
}

// FireCracks is the depth on radius that the last grind left, or a test measured
// after it; Counted are the pieces since the grind that were rolled before that
// test and are in it.
type FireCracks struct {
	LeftUM  float64
	Counted int64
}

// WearTimes is what the wear borne, and what is added at the usual rate, are to be
// multiplied by where a campaign goes on for so many km and so much exposure.
func (r *Roll) WearTimes(moreKM, moreExposureKM float64) (borne, added float64) {
	if r.Effect == (wearrate.CampaignEffect{}) {
		return 1, 1
	}
	u := &r.SinceGrind
	added = r.Effect.Factor(u.RolledKM+moreKM, u.ExposureKM+moreExposureKM)
	return added / r.Effect.Factor(u.RolledKM, u.ExposureKM), added
}

// Limits gives the settings in force for one case; practice.InForce does.
type Limits interface {
	Value(practice.Key) practice.Value
}

// Given are settings by name, for a question that comes without practices.
type Given map[practice.Key]practice.Value

// Value is the setting k, not set where it is not given.
func (g Given) Value(k practice.Key) practice.Value { return g[k] }

// Limit is the setting k in force for the roll, not set where it has no
// settings.
func (r *Roll) Limit(k practice.Key) practice.Value { return limitOf(r.Limits, k) }

// Limit is the setting k in force for the stand.
func (s *Stand) Limit(k practice.Key) practice.Value { return limitOf(s.Limits, k) }

func limitOf(l Limits, k practice.Key) practice.Value {
	if l == nil {
		return practice.Value{}
	}
	return l.Value(k)
}

// WearUM is the wear along the barrel since the last grind at the rate now
// known; nil where none was computed.
func (r *Roll) WearUM() []float64 { return r.SinceGrind.WearUM }

// GrooveT is what went through groove n, from 1, since the grooves were turned.
func (r *Roll) GrooveT(n int) float64 {
	for _, g := range r.SinceGrind.Grooves {
		if g.Number == n {
			return g.TonnageT
		}
	}
	return 0
}

// WearExponent is the exponent of force in the roll's wear, 1 where it is not
// given.
func (r *Roll) WearExponent() float64 {
	if r.Rate.Exponent == 0 {
		return 1
	}
	return r.Rate.Exponent
}

// Bottom is the bottom roll of the set, nil where there is none.
func (s *Set) Bottom() *Roll {
	for i := range s.Rolls {
		if p := s.Rolls[i].Position; p == mill.BottomWork || p == mill.BottomBackup {
			return &s.Rolls[i]
		}
	}
	return nil
}

// AfterGrind is the set as the grinder would make it now: nothing borne, cold,
// of no damage, as rough as it was last ground, and a pair again.
func (s Set) AfterGrind() Set {
	s.Mounted, s.Blocks, s.MismatchUM = false, nil, 0
	rolls := make([]Roll, len(s.Rolls))
	for i, r := range s.Rolls {
		rolls[i] = r.AfterGrind()
	}
	s.Rolls = rolls
	return s
}

// AfterGrind is the roll as the grinder would make it now.
func (r Roll) AfterGrind() Roll {
	r.Stay, r.SinceGrind, r.Damage, r.Unknowns = duty.Usage{}, duty.Usage{}, nil, nil
	r.FireCracks = FireCracks{}
	r.Condition.Thermal = heat.Growth{}
	return r
}

// StayNow is what the roll has borne since it went in, with its wear at the rate
// now known in place of the one it was booked at.
func (r *Roll) StayNow(bookedUMPerKM float64) duty.Usage {
	times := 1.0
	if bookedUMPerKM > 0 {
		times = r.Rate.UmPerKmAt10 / bookedUMPerKM
	}
	return SinceGrind([]Stay{{Usage: r.Stay, Times: times}})
}
