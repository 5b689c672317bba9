package app

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
)

// LoadCampaign keeps a programme, as Recorder.LoadCampaign does. Of one that is about
// to begin it is asked at once whether the sets in the stands finish it, so that the
// answer can be scored though the hour in which the service asks by itself has not come
// round. The programme stands whatever becomes of that question.
func (a *App) LoadCampaign(ctx context.Context, call port.Call, programme mill.Programme) (port.ProgrammeSummary, error) {
	summary, err := a.Recorder.LoadCampaign(ctx, call, programme)
	if err == nil && !call.DryRun {
		_ = a.KeepFinishAnswers(ctx)
	}
	return summary, err
}
