package forecast

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"barrelbook/domain/limit"
	"barrelbook/domain/refusal"
)

// ChangeInput is a roll in a stand, or about to go in, and what limits its
// campaign.
type ChangeInput struct {
	Now time.Time
	// In is false for a roll in the shop: tonnes and kilometres are then those of
	// its whole next campaign and there is no date.
	In bool
	// UsedT and UsedKM are what the campaign has rolled so far.
	UsedT, UsedKM float64
	// Limits are what can end it where OnceT tonnes, and OnceKM kilometres, are
	// rolled as before over and over (limit.Again).
	Limits        []limit.Watch
	OnceT, OnceKM float64
	// RateCV is how well the rate is known.
	RateCV float64
	// PastT and PastKM are the tonnes and the kilometres of past campaigns of the
	// sort, sorted.
	PastT, PastKM []float64
	// Ahead is the programme that comes; nil where none is loaded.
	Ahead *Ahead
	// PerDay is the tonnes a roll in the stand rolls in a day.
	PerDay Estimate
}

// Change is when a campaign is expected to end.
type Change struct {
	TonnageT, RolledKM Quantiles // still to be rolled
	Dates              bool
	At                 Dates
	// Limit is what most likely ends it, in short, or "habit".
	Limit string
	Notes []string
}

// parts is how many parts the past campaigns and the rhythm are read in.
const parts = 20

// NextChange forecasts the end of the campaign: the first of its limits, or the
// length at which the shop usually changes.
//
//	R = min(over limits of (bound − borne)/added·T₁, H − T | H > T)
//
// in tonnes, with borne and added those of the limit, wear times the factor by
// which its rate may be off (lognormal, CV as given), T₁ the tonnes that add it
// and H a past campaign, all equally likely.
// Where a programme is loaded the habit is to change between programmes, before the
// one that would be too long (see between); it counts tonnes or kilometres, whichever
// past campaigns differ less in.
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
	if in.OnceT > 0 {
		out.RolledKM = scaled(out.TonnageT, in.OnceKM/in.OnceT)
	}
	for _, name := range slices.Sorted(maps.Keys(votes)) {
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
		{"used_t", in.UsedT}, {"once_t", in.OnceT}, {"once_km", in.OnceKM}, {"rate_cv", in.RateCV}, {"tonnage_per_day_t", in.PerDay.Mean},
	} {
		c.NotNegative(f.path, f.value)
	}
	return c.Err()
}

// habit is the tonnes after which the shop changes by itself; one point at infinity
// where no past campaign tells.
func (in ChangeInput) habit(out *Change) []point {
	used, past, perT := in.counted()
	if in.Ahead != nil && len(past) >= enough {
		others := slices.Sorted(slices.Values(in.Ahead.OthersT))
		if len(others) == 0 {
			others = []float64{in.Ahead.TonnageT}
		}
		ahead := in.Ahead.TonnageT
		if perT != 1 {
			ahead = in.Ahead.RolledKM
		}
		points := in.between(used, past, ahead, scaledBy(thinned(others), perT))
		for i := range points {
			points[i].value /= perT
			if points[i].value*perT >= ahead && points[i].value < in.Ahead.TonnageT {
				points[i].value = in.Ahead.TonnageT // the end of the programme, in either count
			}
		}
		return points
	}
	var beyond []float64
	for _, x := range past {
		if x > used {
			beyond = append(beyond, (x-used)/perT)
		}
	}
	if len(beyond) == 0 {
		if len(past) > 0 {
			out.Notes = append(out.Notes, fmt.Sprintf("the campaign is longer than all %d past ones of its sort", len(past)))
		}
		return []point{{math.Inf(1), 1}}
	}
	n := min(parts, len(beyond))
	points := make([]point, n)
	for i := range points {
		points[i] = point{beyond[(2*i+1)*len(beyond)/(2*n)], 1 / float64(n)}
	}
	return points
}

// counted is what the shop seems to count its campaigns in: tonnes, or kilometres
// where their lengths differ less in these. perT is how many of the unit a tonne is.
func (in ChangeInput) counted() (used float64, past []float64, perT float64) {
	if len(in.PastKM) >= enough && in.OnceT > 0 && in.OnceKM > 0 && estimate(in.PastKM).cv() < estimate(in.PastT).cv() {
		perT = in.OnceKM / in.OnceT
		if in.Ahead != nil && in.Ahead.TonnageT > 0 {
			perT = in.Ahead.RolledKM / in.Ahead.TonnageT
		}
		if perT > 0 {
			return in.UsedKM, in.PastKM, perT
		}
	}
	return in.UsedT, in.PastT, 1
}

func scaledBy(v []float64, f float64) []float64 {
	list := make([]float64, len(v))
	for i, x := range v {
		list[i] = f * x
	}
	return list
}

// limit is the first limit in tonnes still to be rolled when the rate is off by
// the factor.
func (in ChangeInput) limit(factor float64) (tonnes float64, by string) {
	tonnes = math.Inf(1)
	for i := range in.Limits {
		w := &in.Limits[i]
		if left := in.OnceT * w.Times(factor); left < tonnes {
			tonnes, by = left, w.InShort()
		}
	}
	return tonnes, by
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
			days = append(days, point{in.days(p.value, f.value), p.weight * f.weight})
		}
	}
	q := discrete(merged(days))
	at := func(d float64) time.Time {
		return in.Now.Add(time.Duration(math.Min(d, 36500) * 24 * float64(time.Hour))).Truncate(time.Second)
	}
	out.Dates, out.At = true, Dates{at(q.P5), at(q.P10), at(q.P50), at(q.P90), at(q.P95)}
}

// days is when so many tonnes more are rolled, at a pace off by a factor: in the
// programme ahead as it is planned, after it in the rhythm of the stand.
func (in ChangeInput) days(tonnes, factor float64) float64 {
	paced := tonnes / in.PerDay.Mean * factor
	a := in.Ahead
	if a == nil || a.TonnageT <= 0 {
		return paced
	}
	starts, ends := math.Max(0, a.StartsAt.Sub(in.Now).Hours()/24), math.Max(0, a.EndsAt.Sub(in.Now).Hours()/24)
	if tonnes < a.TonnageT {
		return starts + (ends-starts)*tonnes/a.TonnageT
	}
	return math.Max(ends, starts+paced)
}

func scaled(q Quantiles, f float64) Quantiles {
	return Quantiles{q.P5 * f, q.P10 * f, q.P50 * f, q.P90 * f, q.P95 * f, q.Mean * f}
}
