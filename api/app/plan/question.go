package plan

import (
	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
)

// question is what the finish check and the plan of changes ask of one stand:
// the sets in it as they stand now and the programme ahead.
func question(now *gather.Standing, m mill.Mill, stand mill.Stand, campaign port.ProgrammeRow) (finish.Input, error) {
	limits := now.Limits(stand)
	in := finish.Input{Stand: stand, DensityKGPerM3: m.Density(), Pieces: campaign.Pieces, FromPiece: 1, Stops: campaign.Stops, MinutesPerPiece: campaign.MinutesPerPiece, Limits: limits,
		LengthCV: limits.Number(practice.LengthCV), ForceCV: limits.Number(practice.ForceCV),
		YesFrom: limits.Number(practice.FinishYesProbability), NoBelow: limits.Number(practice.FinishNoProbability)}
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
