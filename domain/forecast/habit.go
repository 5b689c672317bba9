package forecast

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"sort"

	"barrelbook/domain/duty"
	"barrelbook/domain/life"
	"barrelbook/domain/mill"
	"barrelbook/domain/standing"
)

// Estimate is a mean with its spread from one cycle to the next and the
// standard error of the mean itself.
type Estimate struct {
	Mean, SD, SE float64
	Count        int
}

// cv is the spread over the mean, 0 where there is no mean.
func (e Estimate) cv() float64 {
	if e.Mean <= 0 {
		return 0
	}
	return math.Min(e.SD/e.Mean, 2)
}

// Habit is what the shop does with rolls of one sort. All amounts are of one
// cycle, from grind to grind.
type Habit struct {
	Source    string // "34 grinds of hss in F2"
	Grinds    int
	WearUM    Estimate // of normal cycles, as measured
	StockUM   Estimate // of normal grinds: what the wheel takes on top of the wear
	Incidents int
	// Incident is what a cycle that ends in a crack or incident costs on top of a
	// normal one; ExtraSE is the standard error of its mean per cycle, mm.
	Incident   life.Incident
	ExtraSE    float64
	Campaigns  float64
	TonnageT   Estimate
	RolledKM   Estimate
	ExposureKM Estimate
	// Removal is what a normal cycle takes altogether, Rhythm how long one takes now.
	Removal Removal
	Rhythm  Rhythm
	// TonnagePerDay is the rhythm of a roll while it is in the stand.
	TonnagePerDay Estimate
	// CampaignT and CampaignKM are the tonnes and the kilometres of the last single
	// campaigns, sorted.
	CampaignT, CampaignKM []float64
}

// Campaign is what a usual campaign of the sort does to a roll at its wear rate,
// deepest under the edges of the strip by the factor.
func (h *Habit) Campaign(r *standing.Roll, edge float64) duty.Usage {
	u := duty.Usage{TonnageT: h.TonnageT.Mean, RolledKM: h.RolledKM.Mean, ExposureKM: h.ExposureKM.Mean}
	if um := r.Rate.UmPerKmAt10 * edge * u.ExposureKM; um > 0 {
		u.WearUM = []float64{um}
		if worn := r.WearUM(); len(worn) > 0 {
			u.WearUM = make([]float64, len(worn))
			for i := range u.WearUM {
				u.WearUM[i] = um
			}
		}
	}
	return u
}

// Defaults stand where the shop has too few regrinds of its own.
type Defaults struct {
	// NormalStockUM is wear and grind of a normal cycle together.
	NormalStockUM float64
}

// enough is how many grinds a sort of rolls needs to speak for itself. Fewer
// leave the mean stock uncertain by more than a third of its spread.
const enough = 8

// The incidents a shop is taken to have before its own are known: common
// practice, no source. They count as much as priorCycles cycles of its own.
const (
	priorIncident = 0.03
	priorCycles   = 20
	// enoughIncidents is how many make their size known.
	enoughIncidents = 5
)

// key sorts cycles. Empty parts stand for any.
type key struct {
	grade, stand string
	role         mill.Role
}

// Habits are those of all sorts of rolls.
type Habits struct {
	byKey    map[key]Habit
	defaults Defaults
}

// LearnHabits reads the habits out of the cycles. A sort is grade, stand and
// role; one of fewer than 8 grinds is answered for by its grade in all stands,
// then by all rolls of the role. Probability of an incident is a Beta mean that
// starts from the wider sort's:
//
//	p = (k + 20·p_wider) / (n + 20),  p of all = 0.03 before any
//
// Grinds of incidents are kept out of every other figure. Cycles in any order.
func LearnHabits(cycles []Run, d Defaults) Habits {
	h := Habits{byKey: map[key]Habit{}, defaults: d}
	groups := map[key][]*Run{}
	for i := range cycles {
		c := &cycles[i]
		for _, k := range chain(c.Grade, c.Stand, c.Role) {
			groups[k] = append(groups[k], c)
		}
	}
	keys := make([]key, 0, len(groups))
	for k := range groups {
		keys = append(keys, k)
	}
	// The wider first, as the narrower start from them.
	sort.Slice(keys, func(i, j int) bool { return keys[i].width() > keys[j].width() })
	for _, k := range keys {
		wider := h.wider(k)
		if len(groups[k]) >= enough {
			h.byKey[k] = learn(k, groups[k], wider)
		}
	}
	return h
}

// chain lists the sorts that speak for a roll, the particular one first.
func chain(grade, stand string, role mill.Role) []key {
	list := []key{{grade, stand, role}, {grade, "", role}, {"", "", role}}
	if stand == "" {
		list = list[1:]
	}
	return list
}

func (k key) width() int {
	switch {
	case k.grade == "":
		return 2
	case k.stand == "":
		return 1
	}
	return 0
}

func (k key) words() string {
	switch {
	case k.grade == "":
		return "all " + string(k.role) + " rolls"
	case k.stand == "":
		return k.grade + " in all stands"
	}
	return k.grade + " in " + k.stand
}

func (h Habits) wider(k key) Habit {
	for _, w := range chain(k.grade, k.stand, k.role) {
		if w.width() > k.width() {
			if habit, ok := h.byKey[w]; ok {
				return habit
			}
		}
	}
	return h.unknown()
}

// Of is the habit for a roll of the grade and role in the stand, from the
// narrowest sort with enough grinds.
func (h Habits) Of(grade, stand string, role mill.Role) Habit {
	for _, k := range chain(grade, stand, role) {
		if habit, ok := h.byKey[k]; ok {
			return habit
		}
	}
	return h.unknown()
}

// unknown is the habit before there is anything to learn from: a normal cycle
// takes the practice's normal stock, half of it wear; common practice, no source.
func (h Habits) unknown() Habit {
	half := h.defaults.NormalStockUM / 2
	return Habit{
		Source:  "defaults, as there are fewer than 8 regrinds to learn from",
		WearUM:  Estimate{Mean: half, SD: 0.3 * half, SE: 0.3 * half},
		StockUM: Estimate{Mean: half, SD: 0.3 * half, SE: 0.3 * half},
		Removal: Removal{UM: Estimate{Mean: 2 * half, SD: 0.45 * half, SE: 0.45 * half}},
		Incident: life.Incident{Probability: priorIncident, MinimumMM: h.defaults.NormalStockUM / 1000,
			MeanExcessMM: 2 * h.defaults.NormalStockUM / 1000},
		ExtraSE:   priorIncident * 2 * h.defaults.NormalStockUM / 1000,
		Campaigns: 1,
	}
}

func learn(k key, cycles []*Run, wider Habit) Habit {
	sort.SliceStable(cycles, func(i, j int) bool { return cycles[i].At.Before(cycles[j].At) })
	h := Habit{Source: fmt.Sprintf("%d grinds of %s", len(cycles), k.words()), Grinds: len(cycles)}
	var wear, stock, extra, tonnes, km, exposure []float64
	var pace []ratio
	var normal []*Run
	for _, c := range cycles {
		tonnes, km, exposure = append(tonnes, c.TonnageT), append(km, c.RolledKM), append(exposure, c.ExposureKM)
		h.Campaigns += float64(c.Campaigns) / float64(len(cycles))
		if in := c.inStand(); in > 0 && c.TonnageT > 0 {
			pace = append(pace, ratio{c.TonnageT, in})
		}
		if c.Campaigns > 0 && c.TonnageT > 0 {
			h.CampaignT = append(h.CampaignT, c.TonnageT/float64(c.Campaigns))
			h.CampaignKM = append(h.CampaignKM, c.RolledKM/float64(c.Campaigns))
		}
		if c.Normal {
			normal = append(normal, c)
			wear, stock = append(wear, c.WearUM), append(stock, c.StockUM)
		} else {
			extra = append(extra, c.WearUM+c.StockUM)
		}
	}
	h.CampaignT, h.CampaignKM = lately(h.CampaignT), lately(h.CampaignKM)
	h.WearUM, h.StockUM = estimate(wear), estimate(stock)
	h.Removal = removalOf(normal)
	if len(stock) < enough { // nothing but incidents
		h.WearUM, h.StockUM, h.Removal = wider.WearUM, wider.StockUM, wider.Removal
	}
	h.TonnageT, h.RolledKM, h.ExposureKM = estimate(tonnes), estimate(km), estimate(exposure)
	h.TonnagePerDay = pooled(pace[max(0, len(pace)-recentCampaigns):])
	h.Rhythm = rhythmOf(cycles)
	h.Incidents = len(extra)
	h.incidents(extra, wider)
	return h
}

// ratio is what was rolled in so many days.
type ratio struct{ tonnes, days float64 }

// pooled is the pace of all together, as the mean of the single ones is too high,
// with the spread of the single ones about it.
func pooled(v []ratio) Estimate {
	var single []float64
	tonnes, days := 0.0, 0.0
	for _, r := range v {
		single = append(single, r.tonnes/r.days)
		tonnes, days = tonnes+r.tonnes, days+r.days
	}
	e := estimate(single)
	if days > 0 {
		e.Mean = tonnes / days
	}
	return e
}

// recentCampaigns are as many past ones as tell how long a campaign is now.
const recentCampaigns = 80

// lately is the last of them, sorted.
func lately(v []float64) []float64 {
	v = v[max(0, len(v)-recentCampaigns):]
	slices.Sort(v)
	return v
}

// incidents fits the shifted exponential to what incidents took beyond a normal
// cycle. With minimum m and mean x̄ of n: excess = (x̄ − m)·n/(n−1), minimum =
// m − excess/n, at least 0: unbiased (Johnson, Kotz and Balakrishnan, Continuous
// Univariate Distributions 1, ch. 19, quoted from memory).
func (h *Habit) incidents(took []float64, wider Habit) {
	n, k := float64(h.Grinds), float64(len(took))
	p := (k + priorCycles*wider.Incident.Probability) / (n + priorCycles)
	h.Incident = wider.Incident
	h.Incident.Probability = p
	size := wider.Incident.MinimumMM + wider.Incident.MeanExcessMM
	sizeSE := size / math.Sqrt(enoughIncidents)
	if len(took) >= enoughIncidents {
		normal := h.WearUM.Mean + h.StockUM.Mean
		least, mean := math.Inf(1), 0.0
		for _, t := range took {
			beyond := math.Max(0, t-normal) / 1000
			least = math.Min(least, beyond)
			mean += beyond / k
		}
		excess := (mean - least) * k / (k - 1)
		h.Incident.MinimumMM = math.Max(0, least-excess/k)
		h.Incident.MeanExcessMM = mean - h.Incident.MinimumMM
		size, sizeSE = mean, excess/math.Sqrt(k)
	}
	h.ExtraSE = math.Hypot(size*math.Sqrt(p*(1-p)/(n+priorCycles)), p*sizeSE)
}

// estimate gives mean, standard deviation and standard error; zero for none.
func estimate(v []float64) Estimate {
	n := float64(len(v))
	if n == 0 {
		return Estimate{}
	}
	e := Estimate{Count: len(v)}
	for _, x := range v {
		e.Mean += x / n
	}
	for _, x := range v {
		e.SD += (x - e.Mean) * (x - e.Mean)
	}
	if n > 1 {
		e.SD = math.Sqrt(e.SD / (n - 1))
		e.SE = e.SD / math.Sqrt(n)
	} else {
		e.SD = 0
	}
	return e
}

// between estimates the spread of the rolls' own mean cycle.
func between(cycles []*Run, sd float64) float64 {
	byRoll := map[string][]float64{}
	for _, c := range cycles {
		byRoll[c.Roll] = append(byRoll[c.Roll], c.days())
	}
	return spreadOfMeans(byRoll, sd)
}

// spreadOfMeans is τ² = var(means) − sd²·mean(1/n), at least 0, by the method of
// moments. Rolls of one cycle say nothing of it.
func spreadOfMeans(byRoll map[string][]float64, sd float64) float64 {
	var means []float64
	noise := 0.0
	for _, r := range slices.Sorted(maps.Keys(byRoll)) {
		if n := len(byRoll[r]); n > 1 {
			means = append(means, estimate(byRoll[r]).Mean)
			noise += sd * sd / float64(n)
		}
	}
	if len(means) < 3 {
		return 0
	}
	v := estimate(means).SD
	return math.Sqrt(math.Max(0, v*v-noise/float64(len(means))))
}
