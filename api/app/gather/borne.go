package gather

import (
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/release"
	"barrelbook/domain/standing"
)

// Borne is what a roll has borne since its grind as a person wants to see it:
// one number for one thing on every screen.
type Borne struct {
	// WearUM is the deepest wear since the grind by the rate now known, UMPerKM at
	// 10 kN/mm from RateSource. Along is that along the barrel, nil where none was
	// computed.
	WearUM     float64
	UMPerKM    float64
	RateSource string
	Along      []float64
	// WearLimitUM is the limit of the practice on it, 0 where there is none.
	WearLimitUM float64
	TonnageT    float64
	RolledKM    float64
	// Past says which limits the roll is past, in the words of every answer.
	Past []string
}

// BorneBy shows a roll as it stands in a stand.
func BorneBy(r *standing.Roll, stand mill.Stand) *Borne {
	wear := r.Limit(practice.MaxWearUM)
	return &Borne{WearLimitUM: wear.Number, WearUM: r.SinceGrind.DeepestWearUM(), UMPerKM: r.Rate.UmPerKmAt10, RateSource: r.RateSource, Along: r.WearUM(),
		TonnageT: r.SinceGrind.TonnageT, RolledKM: r.SinceGrind.RolledKM, Past: limit.Past(r, stand)}
}

// Over is the fitness of a roll with the limits that it is past: one that is past
// a limit is not fit.
func (b *Borne) Over(f release.Verdict) release.Verdict {
	if b == nil || len(b.Past) == 0 {
		return f
	}
	f.Word = release.NotFit
	f.Reasons = append(append([]string(nil), b.Past...), f.Reasons...)
	return f
}
