package app

import (
	"context"
	"time"

	"barrelbook/api/app/port"
)

// Works is what the service keeps and who is asking.
type Works struct {
	Version string
	Now     time.Time
	Counts  port.Counts
	Mills   []string
}

// Works describes the service.
func (a *App) Works(ctx context.Context) (Works, error) {
	works := Works{Version: a.version, Now: a.clock.Now()}
	err := a.store.Read(ctx, func(r port.Reader) error {
		var err error
		if works.Counts, err = r.Counts(); err != nil {
			return err
		}
		mills, err := port.Drain(r.Mills)
		for _, m := range mills {
			works.Mills = append(works.Mills, m.Name)
		}
		return err
	})
	return works, err
}

// Ready answers whether the service can serve.
func (a *App) Ready(ctx context.Context) error { return a.store.Ping(ctx) }
