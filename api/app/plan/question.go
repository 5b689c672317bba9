package plan

import (
	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/offplan"
	"barrelbook/domain/practice"
)

// ahead is what has been learned of what is ahead, for all stands of one question.
type ahead struct {
	r       port.Reader
	learner *learn.Learner
	off     map[string]offplan.Expected // by stand, nil until it is asked for
}

// offPlan takes lengths and forces of the programme as its stand's were rolled, and
// probabilities as those said before came true.
func (a *ahead) offPlan(in *finish.Input, now *gather.Standing, m mill.Mill) (err error) {
	if a.off == nil {
		if a.off, err = a.learner.OffPlan(a.r, m, now.Now, offplan.Prior{LengthCV: in.LengthCV, ForceCV: in.ForceCV}); err != nil {
			return err
		}
	}
	if in.Recalibration, err = a.learner.Recalibration(a.r, now.Now); err != nil {
		return err
	}
	if e, known := a.off[in.Stand.Name]; known {
		in.LengthFactor, in.ForceFactor, in.LengthCV, in.ForceCV = e.Length, e.Force, e.LengthCV, e.ForceCV
		in.OffPlan = learn.OffPlanWords(in.Stand.Name, e)
	}
	return nil
}

// question is what the finish check and the plan of changes ask of one stand:
// the sets in it as they stand now and the programme ahead.
func (a *ahead) question(now *gather.Standing, m mill.Mill, stand mill.Stand, campaign port.ProgrammeRow) (finish.Input, error) {
	limits := now.Limits(stand)
	in := finish.Input{Stand: stand, DensityKGPerM3: m.Density(), Pieces: campaign.Pieces, FromPiece: 1, Stops: campaign.Stops, MinutesPerPiece: campaign.MinutesPerPiece, Limits: limits,
		LengthCV: limits.Number(practice.LengthCV), ForceCV: limits.Number(practice.ForceCV),
		YesFrom: limits.Number(practice.FinishYesProbability), NoBelow: limits.Number(practice.FinishNoProbability)}
	if err := a.offPlan(&in, now, m); err != nil {
		return in, err
	}
	var err error
	if in.Models, err = now.Models(stand); err != nil {
		return in, err
	}
	if in.Work, in.Backup, in.Drive, err = now.InStand(stand); err != nil {
		return in, err
	}
	if stand.Arrangement.Takes(mill.Intermediate) {
		in.Intermediate, err = now.InPlace(stand, mill.Intermediate)
	}
	return in, err
}
