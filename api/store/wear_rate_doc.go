package store

import (
	"barrelbook/domain/score"
	"barrelbook/domain/wearrate"
)

// The documents of the parts of the wear rates. Names of mill, grade and stand
// are in the columns beside them.
type (
	rateDefaultsDoc struct {
		RateUMPerKM    float64 `json:"rate_um_per_km"`
		RateCV         float64 `json:"rate_cv"`
		StandCV        float64 `json:"stand_cv"`
		RollCV         float64 `json:"roll_cv"`
		NoiseUM        float64 `json:"noise_um"`
		GaugeSDUM      float64 `json:"gauge_sd_um"`
		IncidentShare  float64 `json:"incident_share"`
		IncidentSpanUM float64 `json:"incident_span_um"`
		LoadExponent   float64 `json:"load_exponent"`
		SetAside       int     `json:"set_aside"`
		SpreadAnswers  int     `json:"spread_answers,omitempty"`
		SpreadLog      float64 `json:"spread_log,omitempty"`
	}
	gradeRateDoc struct {
		RateUMPerKM   float64 `json:"rate_um_per_km"`
		RateSD        float64 `json:"rate_sd"`
		StandCV       float64 `json:"stand_cv"`
		RollCV        float64 `json:"roll_cv"`
		NoiseUM       float64 `json:"noise_um"`
		ScatterCV     float64 `json:"scatter_cv"`
		SharedCV      float64 `json:"shared_cv,omitempty"`
		IncidentShare float64 `json:"incident_share"`
		Cells         int     `json:"cells"`
		Rolls         int     `json:"rolls"`
		Campaigns     int     `json:"campaigns"`
		DiameterMM    float64 `json:"diameter_mm,omitempty"`
		PerTenMM      float64 `json:"per_ten_mm,omitempty"`
		PerTenMMSD    float64 `json:"per_ten_mm_sd,omitempty"`
		Force         float64 `json:"force,omitempty"`
		ForceMore     float64 `json:"force_more,omitempty"`
		ForceMoreSD   float64 `json:"force_more_sd,omitempty"`
		Freshness     float64 `json:"freshness,omitempty"`
		FreshMore     float64 `json:"fresh_more,omitempty"`
		FreshMoreSD   float64 `json:"fresh_more_sd,omitempty"`
	}
	cellRateDoc struct {
		RateUMPerKM   float64         `json:"rate_um_per_km"`
		RateSD        float64         `json:"rate_sd"`
		BetweenRollSD float64         `json:"between_roll_sd"`
		NoiseUM       float64         `json:"noise_um"`
		IncidentShare float64         `json:"incident_share"`
		Rolls         int             `json:"rolls"`
		Campaigns     int             `json:"campaigns"`
		Source        wearrate.Source `json:"source"`
		DiameterMM    float64         `json:"diameter_mm,omitempty"`
		Trouble       *troubleDoc     `json:"trouble,omitempty"`
		ByRoll        []rollRateDoc   `json:"by_roll"`
	}
	troubleDoc struct {
		Since     int64   `json:"since"`
		Campaigns int     `json:"campaigns"`
		Factor    float64 `json:"factor"`
		Low       float64 `json:"low"`
		High      float64 `json:"high"`
	}
	rollRateDoc struct {
		Roll        string  `json:"roll"`
		RateUMPerKM float64 `json:"rate_um_per_km"`
		RateSD      float64 `json:"rate_sd"`
		Campaigns   int     `json:"campaigns"`
		Incidents   float64 `json:"incidents"`
		SharedSD    float64 `json:"shared_sd,omitempty"`
		DiameterMM  float64 `json:"diameter_mm,omitempty"`
		Log         float64 `json:"log,omitempty"`
		LogSD       float64 `json:"log_sd,omitempty"`
	}
)

func newRateDefaultsDoc(r wearrate.Rates) rateDefaultsDoc {
	d := r.Defaults
	return rateDefaultsDoc{RateUMPerKM: d.RateUMPerKM, RateCV: d.RateCV, StandCV: d.StandCV, RollCV: d.RollCV, NoiseUM: d.NoiseUM, GaugeSDUM: d.GaugeSDUM, IncidentShare: d.IncidentShare,
		IncidentSpanUM: d.IncidentSpanUM, LoadExponent: d.LoadExponent, SetAside: r.SetAside, SpreadAnswers: r.Spread.Answers, SpreadLog: r.Spread.Log}
}

func (d rateDefaultsDoc) into(r *wearrate.Rates) {
	r.Defaults = wearrate.Defaults{RateUMPerKM: d.RateUMPerKM, RateCV: d.RateCV, StandCV: d.StandCV, RollCV: d.RollCV, NoiseUM: d.NoiseUM, GaugeSDUM: d.GaugeSDUM,
		IncidentShare: d.IncidentShare, IncidentSpanUM: d.IncidentSpanUM, LoadExponent: d.LoadExponent}
	r.SetAside, r.Spread = d.SetAside, score.Spread{Answers: d.SpreadAnswers, Log: d.SpreadLog}
}

func newGradeRateDoc(g wearrate.GradeRate) gradeRateDoc {
	return gradeRateDoc{RateUMPerKM: g.RateUMPerKM, RateSD: g.RateSD, StandCV: g.StandCV, RollCV: g.RollCV, NoiseUM: g.NoiseUM, ScatterCV: g.ScatterCV, SharedCV: g.SharedCV, IncidentShare: g.IncidentShare,
		Cells: g.Cells, Rolls: g.Rolls, Campaigns: g.Campaigns, DiameterMM: g.DiameterMM, PerTenMM: g.PerTenMM, PerTenMMSD: g.PerTenMMSD, Force: g.Force, ForceMore: g.ForceMore, ForceMoreSD: g.ForceMoreSD,
		Freshness: g.Freshness, FreshMore: g.FreshMore, FreshMoreSD: g.FreshMoreSD}
}

func (d gradeRateDoc) grade(name string) wearrate.GradeRate {
	return wearrate.GradeRate{Grade: name, RateUMPerKM: d.RateUMPerKM, RateSD: d.RateSD, StandCV: d.StandCV, RollCV: d.RollCV, NoiseUM: d.NoiseUM, ScatterCV: d.ScatterCV, SharedCV: d.SharedCV,
		IncidentShare: d.IncidentShare, Cells: d.Cells, Rolls: d.Rolls, Campaigns: d.Campaigns, DiameterMM: d.DiameterMM, PerTenMM: d.PerTenMM, PerTenMMSD: d.PerTenMMSD, Force: d.Force,
		ForceMore: d.ForceMore, ForceMoreSD: d.ForceMoreSD, Freshness: d.Freshness, FreshMore: d.FreshMore, FreshMoreSD: d.FreshMoreSD}
}

func newCellRateDoc(c wearrate.CellRate, rolls []rollRateDoc) cellRateDoc {
	d := cellRateDoc{RateUMPerKM: c.RateUMPerKM, RateSD: c.RateSD, BetweenRollSD: c.BetweenRollSD, NoiseUM: c.NoiseUM, IncidentShare: c.IncidentShare, Rolls: c.Rolls, Campaigns: c.Campaigns, Source: c.Source,
		DiameterMM: c.DiameterMM, ByRoll: rolls}
	if t := c.Trouble; t != nil {
		d.Trouble = &troubleDoc{Since: micros(t.Since), Campaigns: t.Campaigns, Factor: t.Factor, Low: t.Low, High: t.High}
	}
	return d
}

func newRollRateDoc(r wearrate.RollRate) rollRateDoc {
	return rollRateDoc{Roll: r.Roll, RateUMPerKM: r.RateUMPerKM, RateSD: r.RateSD, SharedSD: r.SharedSD, Campaigns: r.Campaigns, Incidents: r.Incidents, DiameterMM: r.DiameterMM, Log: r.Log, LogSD: r.LogSD}
}

func (d cellRateDoc) cell(at wearrate.Cell) (wearrate.CellRate, []wearrate.RollRate) {
	rolls := make([]wearrate.RollRate, len(d.ByRoll))
	for i, r := range d.ByRoll {
		rolls[i] = wearrate.RollRate{Roll: r.Roll, Cell: at, RateUMPerKM: r.RateUMPerKM, RateSD: r.RateSD, SharedSD: r.SharedSD, Campaigns: r.Campaigns, Incidents: r.Incidents, DiameterMM: r.DiameterMM,
			Log: r.Log, LogSD: r.LogSD}
	}
	c := wearrate.CellRate{Cell: at, RateUMPerKM: d.RateUMPerKM, RateSD: d.RateSD, BetweenRollSD: d.BetweenRollSD, NoiseUM: d.NoiseUM,
		IncidentShare: d.IncidentShare, Rolls: d.Rolls, Campaigns: d.Campaigns, Source: d.Source, DiameterMM: d.DiameterMM}
	if t := d.Trouble; t != nil {
		c.Trouble = &wearrate.Trouble{Since: moment(t.Since), Campaigns: t.Campaigns, Factor: t.Factor, Low: t.Low, High: t.High}
	}
	return c, rolls
}
