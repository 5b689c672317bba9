package record

import (
	"context"
	"fmt"
	"strings"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/reading"
	"barrelbook/domain/refusal"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

// ConcedeRoll releases a roll of which something asked is missing, with the
// reason. Conflicting when nothing is missing, or when something was found
// wrong or is not known, which no concession covers.
func (a *Recorder) ConcedeRoll(ctx context.Context, call port.Call, number string, at time.Time, reason string) (RollView, error) {
	return record(ctx, a, call, "conceded roll "+number, func(w port.Writer, now time.Time) (RollView, error) {
		at, err := resolveMoment(at, now)
		if err != nil {
			return RollView{}, err
		}
		row, err := a.lockRoll(w, number, call)
		if err != nil {
			return RollView{}, err
		}
		before, err := a.viewNow(w, row, now)
		if err != nil {
			return RollView{}, err
		}
		missing := before.Fitness.Concedable()
		if len(missing) == 0 {
			return RollView{}, notConcedable(number, before.Fitness)
		}
		if row, err = a.enter(w, row, call, at, now, reason, roll.Conceded{Missing: missing}); err != nil {
			return RollView{}, err
		}
		return a.viewNow(w, row, now)
	})
}

func notConcedable(number string, v release.Verdict) error {
	switch v.Word {
	case release.Fit:
		return port.FailNext(next.ShowRoll(number), port.Conflicting, "roll %s is fit: nothing asked of it is missing, and there is nothing to concede", number)
	case release.NotFit:
		return port.FailNext(next.ShowRoll(number), port.Conflicting, "roll %s is not fit, and what was found wrong or is owed after a mishap cannot be conceded: %s", number, strings.Join(v.Reasons, "; "))
	default:
		return port.FailNext(next.ShowRoll(number), port.Conflicting, "of roll %s a result is not known, which is not a pass and cannot be conceded: %s", number, strings.Join(v.MissingReasons, "; "))
	}
}

// judgedBy puts what the practice allows into tests, lets their readings decide,
// and refuses those that contradict it.
func judgedBy(p practice.InForce, tests []roll.Test) ([]roll.Test, error) {
	judged := make([]roll.Test, len(tests))
	for i, t := range tests {
		if t.Kind.FindsCracks() {
			t.AllowedUM = p.Number(practice.MaxCrackUM)
		}
		judged[i] = reading.Judge(p, t)
	}
	if len(judged) == 0 {
		return tests, nil
	}
	return judged, port.Refused(roll.CheckTests(judged))
}

// onBarrel refuses places that do not lie on the barrel.
func onBarrel(r roll.Roll, m roll.Measures, tests []roll.Test) error {
	var c refusal.Check
	length := r.BarrelLength.MM()
	place := func(path string, at float64) {
		if at > length {
			c.Add(path, refusal.Number(at), fmt.Sprintf("lies beyond the end of the barrel, %s from the drive side", r.BarrelLength), "give millimetres from the drive-side end of the barrel")
		}
	}
	for i, s := range m.Stations {
		place(fmt.Sprintf("stations/%d/at_mm", i), s.AtMM)
	}
	for i, t := range tests {
		for j, r := range t.Readings {
			place(fmt.Sprintf("tests/%d/readings/%d/at_mm", i, j), r.AtMM)
		}
	}
	return port.Refused(c.Err())
}

// fireCrackGrown is what the mill's policy says fire cracks grew on radius since
// the last grind, or since a test measured them after it.
func fireCrackGrown(r port.Reader, s roll.State, p practice.InForce) (float64, error) {
	rate := p.Value(practice.FireCrackUMPerPiece)
	if !rate.Set || s.CampaignsSinceGrind == 0 {
		return 0, nil
	}
	stays, err := gather.StaysSinceGrind(r, s)
	if err != nil {
		return 0, err
	}
	return rate.Number * float64(gather.FireCrackPieces(s, stays)), nil
}
