package forecast

import (
	"fmt"
	"math"
	"time"

	"barrelbook/domain/refusal"
)

// ChangeInput is a roll in a stand, or about to go in, and what limits its
// campaign.
type ChangeInput struct {
	Now time.Time
	// In is false for a roll in the shop: tonnes and kilometres are then those of
	// its whole next campaign and there is no date.
	In bool
	// UsedT, UsedKM and WearUM are of the campaign so far; WearUM is the deepest
	// computed wear since the last grind at the mean rate.
	UsedT, UsedKM, WearUM float64
	// Limits; 0 stands for none.
	MaxT, MaxKM, MaxWearUM float64
	// KMPerT and WearUMPerT are what a tonne at this stand does, at the mean rate.
	KMPerT, WearUMPerT float64
	// RateCV is how well the rate is known.
	RateCV float64
	// PastT is the tonnes of past campaigns of the sort, sorted.
	PastT []float64
	// PerDay is the tonnes a roll in the stand rolls in a day.
	PerDay Estimate
}

// Change is when a campaign is expected to end.
type Change struct {
	TonnageT, RolledKM Quantiles // still to be rolled
	Dates              bool
	At                 Dates
	// Limit is what most likely ends it: "tonnes", "km", "wear" or "habit".
	Limit string
	Notes []string
}

// slices is how many parts the past campaigns and the rhythm are read in.
const slices = 20

// NextChange forecasts the end of the campaign: the first of its limits, or the
// length at which the shop usually changes.
//
//	R = min(Tmax − T, (kmmax − km)/κm, (wmax − w·f)/(w'·f), H − T | H > T)
//
// in tonnes, with f the factor by which the wear rate may be off (lognormal, CV
// as given), w' the wear per tonne and H a past campaign, all equally likely.
// A campaign longer than all past ones has no H left. R is at least 0; dates are R
// over the rhythm of the stand. Refused: figures below 0.
func NextChange(in ChangeInput) (Change, error) {
	if err := in.check(); err != nil {
		return Change{}, err
	}
	var out Change
	habits := in.habit(&out)
	var points []point
	votes := map[string]float64{}
	for _, f := range factors(in.RateCV) {
		limit, by := in.limit(f.value)
		for _, h := range habits {
			r, name := limit, by
			if h.value < r {
				r, name = h.value, "habit"
			}
			if math.IsInf(r, 1) {
				continue
			}
			points = append(points, point{r, f.weight * h.weight})
			votes[name] += f.weight * h.weight
		}
	}
	if len(points) == 0 {
		out.Notes = append(out.Notes, "no end of the campaign is in sight: no limit is entered that this roll's figures can be held against, and there is no past campaign")
		return out, nil
	}
	points = merged(points)
	out.TonnageT = discrete(points)
	out.RolledKM = scaled(out.TonnageT, in.KMPerT)
	for _, name := range []string{"tonnes", "km", "wear", "habit"} {
		if votes[name] > votes[out.Limit] {
			out.Limit = name
		}
	}
	in.dates(points, &out)
	return out, nil
}

func (in ChangeInput) check() error {
	var c refusal.Check
	for _, f := range []struct {
		path  string
		value float64
	}{
		{"used_t", in.UsedT}, {"used_km", in.UsedKM}, {"wear_um", in.WearUM}, {"max_campaign_t", in.MaxT}, {"max_campaign_km", in.MaxKM},
		{"max_wear_um", in.MaxWearUM}, {"km_per_t", in.KMPerT}, {"wear_um_per_t", in.WearUMPerT}, {"rate_cv", in.RateCV}, {"tonnage_per_day_t", in.PerDay.Mean},
	} {
		c.NotNegative(f.path, f.value)
	}
	return c.Err()
}

// habit is what past campaigns that got beyond this one's tonnes leave, in equal
// parts; one point at infinity where there is none.
func (in ChangeInput) habit(out *Change) []point {
	var beyond []float64
	for _, t := range in.PastT {
		if t > in.UsedT {
			beyond = append(beyond, t-in.UsedT)
		}
	}
	if len(beyond) == 0 {
		if len(in.PastT) > 0 {
			out.Notes = append(out.Notes, fmt.Sprintf("the campaign is longer than all %d past ones of its sort", len(in.PastT)))
		}
		return []point{{math.Inf(1), 1}}
	}
	n := min(slices, len(beyond))
	points := make([]point, n)
	for i := range points {
		points[i] = point{beyond[(2*i+1)*len(beyond)/(2*n)], 1 / float64(n)}
	}
	return points
}

// limit is the first limit in tonnes still to be rolled when the rate is off by
// the factor.
func (in ChangeInput) limit(factor float64) (tonnes float64, by string) {
	tonnes = math.Inf(1)
	take := func(left, perT float64, name string) {
		if perT > 0 && left/perT < tonnes {
			tonnes, by = left/perT, name
		}
	}
	if in.MaxT > 0 {
		take(in.MaxT-in.UsedT, 1, "tonnes")
	}
	if in.MaxKM > 0 {
		take(in.MaxKM-in.UsedKM, in.KMPerT, "km")
	}
	if in.MaxWearUM > 0 {
		take(in.MaxWearUM-in.WearUM*factor, in.WearUMPerT*factor, "wear")
	}
	return math.Max(0, tonnes), by
}

func (in ChangeInput) dates(points []point, out *Change) {
	switch {
	case !in.In:
		out.Notes = append(out.Notes, "no date: the roll is in the shop, and when it goes in is not planned")
		return
	case in.PerDay.Mean <= 0:
		out.Notes = append(out.Notes, "no date: no rhythm of the stand is known")
		return
	}
	var days []point
	for _, f := range factors(math.Min(in.PerDay.cv(), 1)) {
		for _, p := range points {
			days = append(days, point{p.value / in.PerDay.Mean * f.value, p.weight * f.weight})
		}
	}
	q := discrete(merged(days))
	at := func(d float64) time.Time {
		return in.Now.Add(time.Duration(math.Min(d, 36500) * 24 * float64(time.Hour))).Truncate(time.Second)
	}
	out.Dates, out.At = true, Dates{at(q.P5), at(q.P10), at(q.P50), at(q.P90), at(q.P95)}
}

func scaled(q Quantiles, f float64) Quantiles {
	return Quantiles{q.P5 * f, q.P10 * f, q.P50 * f, q.P90 * f, q.P95 * f, q.Mean * f}
}
