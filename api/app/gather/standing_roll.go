package gather

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/standing"
	"barrelbook/domain/wear"
)

// Roll is a roll as it stands in a place of a stand, or would stand there.
func (g *Standing) Roll(m port.Stay, stand mill.Stand) (standing.Roll, error) {
	state := g.States[m.Roll]
	grade, err := g.grade(state.Roll.Grade)
	if err != nil {
		return standing.Roll{}, err
	}
	p := practice.Resolve(g.Practices, CaseIn(state, stand))
	rate := g.rates(state, stand, p)
	scrap, by := state.ScrapLimit()
	one := standing.Roll{Roll: DutyRoll(state, m, grade, p), Stay: m.Usage, SharedCV: rate.SharedCV, OwnCV: rate.OwnCV, RateSource: rate.Source, Effect: rate.Effect,
		Limits: p, Unknowns: rollUnknowns(state, p), ScrapDiameterMM: scrap.MM(), ScrapLimit: by,
		Condition: ConditionOf(state, grade, nil, p),
		Roughness: wear.Roughness{StartUM: state.RoughnessUM, FloorUM: p.Number(practice.RoughnessFloorUM), ScaleKM: p.Number(practice.RoughnessScaleKM)}}
	one.Rate.UmPerKmAt10 = rate.UMPerKM
	if one.SinceGrind, err = g.sinceGrind(state, m, stand); err != nil {
		return standing.Roll{}, err
	}
	if times := rate.Effect.Factor(one.SinceGrind.RolledKM, one.SinceGrind.ExposureKM); times != 1 {
		for i := range one.SinceGrind.WearUM {
			one.SinceGrind.WearUM[i] *= times
		}
	}
	if one.FireCracks, err = g.fireCracks(state, one.SinceGrind); err != nil {
		return standing.Roll{}, err
	}
	if state.Roll.Grooved() && one.SinceGrind.Stated {
		one.Unknowns = append(one.Unknowns, "tonnes stated by hand are in none of its grooves")
	}
	return one, g.inside(&one, state, stand)
}

// fireCracks is the balance of a roll's fire cracks as it stands.
func (g *Standing) fireCracks(state roll.State, since duty.Usage) (standing.FireCracks, error) {
	f := standing.FireCracks{LeftUM: state.FireCracks.LeftUM}
	if !state.FireCracks.MeasuredAt.After(state.GroundAt) {
		return f, nil
	}
	stays, err := StaysSinceGrind(g.r, state)
	f.Counted = since.Pieces - FireCrackPieces(state, stays)
	return f, err
}

// sinceGrind is what a roll has borne since its last grind, with its wear at the
// rates now known: in this stay and, where it goes back without a grind, in those
// before.
func (g *Standing) sinceGrind(state roll.State, m port.Stay, stand mill.Stand) (duty.Usage, error) {
	var list []standing.Stay
	var stays []port.Stay
	if state.CampaignsSinceGrind > 0 || m.ID == 0 {
		var err error
		if stays, err = StaysSinceGrind(g.r, state); err != nil {
			return duty.Usage{}, err
		}
	}
	if m.ID != 0 {
		list = append(list, standing.Stay{Usage: m.Usage, Times: g.overBooked(state, stand)})
	}
	for _, before := range stays {
		if before.ID == m.ID || before.MountedAt.After(g.Now) || g.past && (before.WithdrawnAt.IsZero() || before.WithdrawnAt.After(g.Now)) {
			continue
		}
		in, err := g.standNamed(before.Stand)
		if err != nil {
			return duty.Usage{}, err
		}
		list = append(list, standing.Stay{Usage: before.Usage, Times: g.overBooked(state, in)})
	}
	return standing.SinceGrind(list), nil
}

// overBooked is the rate now known over the one at which wear is booked.
func (g *Standing) overBooked(state roll.State, stand mill.Stand) float64 {
	p := practice.Resolve(g.Practices, CaseIn(state, stand))
	return g.rates(state, stand, p).OverBooked(p)
}

// inside is what the models start from: heat and fatigue.
func (g *Standing) inside(one *standing.Roll, state roll.State, stand mill.Stand) error {
	row := g.damage[state.Roll.Number]
	if row == nil {
		return nil
	}
	one.Damage = &row.Field
	if state.Stage != roll.StageMounted || state.Stand != stand.Name || row.ThermalAt.IsZero() {
		return nil
	}
	models, err := g.models.Of(g.mill, stand, g.Practices)
	if err != nil {
		return err
	}
	one.Condition.Thermal = CooledTo(g.StartsAt, row, state, models)
	return nil
}
