package finish

import "math"

// fireCracks is the depth of fire cracks by the mill's policy: so much for each
// piece that heated the roll since it was ground. It is a rule, not a law of
// nature, and is taken as exact.
func (r *run) fireCracks(roll *Roll) (soft, bool) {
	if !roll.MaxFireCrackUM.Set || !roll.FireCrackUMPerPiece.Set {
		return soft{}, false
	}
	rate, limit := roll.FireCrackUMPerPiece.Number, roll.MaxFireCrackUM.Number
	use := func(m int) float64 { return rate * (roll.SinceGrind.Pieces + r.gather(r.first(m)...).pieces) }
	return soft{
		margin: Margin{Roll: roll.Number, Criterion: FireCrack, Unit: "µm", Limit: limit, Now: use(0),
			Source: "limit: " + roll.MaxFireCrackUM.Source + "; use: " + number(rate) + " µm on radius per piece since the last grind, a policy (" + roll.FireCrackUMPerPiece.Source + ")"},
		use:   use,
		holds: func(m int) float64 { return certain(use(m) <= limit) },
		at:    func(m int, _ float64) float64 { return use(m) },
	}, true
}

func (roll *Roll) cracksPassed(u *usage) bool {
	return roll.MaxFireCrackUM.Set && roll.FireCrackUMPerPiece.Set && u.pieces > 0 &&
		roll.FireCrackUMPerPiece.Number*(roll.SinceGrind.Pieces+u.pieces) > roll.MaxFireCrackUM.Number
}

// roughKM is how many kilometres after the grind Ra comes down to the limit;
// +Inf where it never does or is not followed.
func (roll *Roll) roughKM() float64 {
	if !roll.RoughnessLimitUM.Set || roll.Roughness.ScaleKM <= 0 || roll.Roughness.StartUM <= 0 {
		return math.Inf(1)
	}
	if roll.Roughness.StartUM < roll.RoughnessLimitUM.Number {
		return 0
	}
	km, never, err := roll.Roughness.KMUntil(roll.RoughnessLimitUM.Number)
	if err != nil || never {
		return math.Inf(1)
	}
	return km
}

// rough is the decay of the surface (package wear, Roughness): doubtful by the
// length rolled only, as the scale is the mill's own.
func (r *run) rough(roll *Roll) (soft, bool) {
	if !roll.RoughnessLimitUM.Set || roll.Roughness.ScaleKM <= 0 || roll.Roughness.StartUM <= 0 {
		return soft{}, false
	}
	s := spread(r.in.LengthCV)
	ahead := func(m int) float64 { return r.gather(r.first(m)...).km }
	ra := func(km float64) float64 {
		v, err := roll.Roughness.At(km)
		if err != nil {
			return roll.Roughness.StartUM // checked with the input
		}
		return v
	}
	return soft{
		margin: Margin{Roll: roll.Number, Criterion: Roughness, Unit: "µm Ra", Limit: roll.RoughnessLimitUM.Number, Now: ra(roll.SinceGrind.RolledKM),
			Source: "limit: " + roll.RoughnessLimitUM.Source + "; use: Ra " + number(roll.Roughness.StartUM) + " µm of the last grind, tending to " + number(roll.Roughness.FloorUM) +
				" µm over " + number(roll.Roughness.ScaleKM) + " km" + cvSource("length_cv", r.in.LengthCV)},
		use:   func(m int) float64 { return ra(roll.SinceGrind.RolledKM + ahead(m)) },
		holds: func(m int) float64 { return cdf(deviations(roll.roughKM()-roll.SinceGrind.RolledKM, ahead(m), s)) },
		at: func(m int, p float64) float64 {
			return ra(roll.SinceGrind.RolledKM + ahead(m)*math.Exp(s*quantile(1-p)))
		},
		falls: true,
	}, true
}

// SinceGrind is what a roll has borne since it was ground last.
type SinceGrind struct {
	RolledKM float64
	Pieces   float64
}
