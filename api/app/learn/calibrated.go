package learn

import (
	"encoding/json"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/score"
)

const (
	// calibratedFrom is how far back answers count: a shop changes.
	calibratedFrom = 180 * 24 * time.Hour
	// calibratedEvery is how long a calibration is used before it is learned again.
	calibratedEvery = time.Hour
)

// Recalibration is what the scored answers about finishing say of the next, those of
// half a year before a moment.
func (l *Learner) Recalibration(r port.Reader, now time.Time) (score.Recalibration, error) {
	l.calibrated.Lock()
	at, have := l.calibrated.at, l.calibrated.value
	l.calibrated.Unlock()
	if age := now.Sub(at); !at.IsZero() && age >= 0 && age < calibratedEvery {
		return have, nil
	}
	rows, err := port.Drain(func(p port.Page) ([]port.ForecastRow, string, error) {
		return r.Forecasts(port.ForecastFilter{Kind: port.ForecastFinish, From: now.Add(-calibratedFrom)}, p)
	})
	if err != nil {
		return have, err
	}
	var list []score.Chance
	for _, f := range rows {
		if f.Outcome == nil || f.Probability == nil || f.SettledAt.After(now) {
			continue
		}
		var in FinishBasis
		if err := json.Unmarshal([]byte(f.Input), &in); err != nil {
			return have, err
		}
		p := *f.Probability
		if in.Modelled != nil {
			p = *in.Modelled
		}
		list = append(list, score.Chance{Probability: p, Happened: *f.Outcome > 0})
	}
	have = score.Recalibrate(list)
	l.calibrated.Lock()
	defer l.calibrated.Unlock()
	l.calibrated.at, l.calibrated.value = now, have
	return have, nil
}
