package main

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"os"
	"runtime/debug"
	"sync"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/config"
	"barrelbook/api/embedded"
	"barrelbook/api/rest"
)

// serve answers until ctx ends, then lets what is under way finish.
func serve(ctx context.Context, s config.Settings, log *slog.Logger) error {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(int64(s.MemoryMB) << 20)
	}
	service, err := embedded.Open(ctx, options(s, log))
	if err != nil {
		return err
	}
	defer service.Close()
	open, err := s.OpenNetworks()
	if err != nil {
		return err
	}
	handler, err := service.Board(open)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", s.Listen)
	if err != nil {
		return err
	}
	server := &http.Server{
		Handler: handler, ConnContext: rest.ConnContext,
		// Nothing of this is bounded by default. Streams of pieces move their own
		// deadlines on.
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: time.Minute, WriteTimeout: 2 * time.Minute, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 32 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	failed := make(chan error, 1)
	go func() {
		if s.TLSCert != "" {
			failed <- server.ServeTLS(listener, s.TLSCert, s.TLSKey)
			return
		}
		failed <- server.Serve(listener)
	}()
	log.Info("serving", "address", listener.Addr().String(), "database", config.Shown("database", s.Database), "version", version)
	warnWithoutTokens(ctx, service, log)
	var beside sync.WaitGroup
	defer beside.Wait()
	beside.Go(func() { keepForecasts(ctx, service, log) })
	if s.Webhooks {
		beside.Go(func() {
			service.Deliver(ctx, func(err error) { log.Warn("webhooks are held up; they are tried again", "error", err) })
		})
	}
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	return shutDown(service, server, s, log)
}

// shutDown says that no more work is taken, goes on for a while so that this is
// heard, stops listening, and waits for requests under way.
func shutDown(service *embedded.Service, server *http.Server, s config.Settings, log *slog.Logger) error {
	log.Info("stopping")
	service.Drain()
	time.Sleep(s.DrainDelay)
	ctx, cancel := context.WithTimeout(context.Background(), s.ShutdownTimeout)
	defer cancel()
	if err := server.Shutdown(ctx); err != nil {
		_ = server.Close()
		return errors.New("requests under way did not end within shutdown-timeout and were cut off")
	}
	log.Info("stopped")
	return nil
}

// keepForecasts makes the forecasts of the day that will be scored, and signs the
// works off once a day, now and each hour, until ctx ends. Daemons on one database
// find what the others have made.
func keepForecasts(ctx context.Context, service *embedded.Service, log *slog.Logger) {
	hourly := time.NewTicker(time.Hour)
	defer hourly.Stop()
	for {
		if made, err := service.App().KeepForecasts(ctx); err != nil && ctx.Err() == nil {
			log.Warn("the forecasts of the day were not made; they are tried again in an hour", "error", err)
		} else if made > 0 {
			log.Info("forecasts of the day", "made", made)
		}
		if err := service.App().KeepScrapDates(ctx); err != nil && ctx.Err() == nil {
			log.Warn("the scrap dates of all rolls were not made; the first who asks for them waits", "error", err)
		}
		if err := service.App().SignOffDaily(ctx); err != nil && ctx.Err() == nil {
			log.Warn("the works was not signed off; it is tried again in an hour", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-hourly.C:
		}
	}
}

func warnWithoutTokens(ctx context.Context, service *embedded.Service, log *slog.Logger) {
	if tokens, _, err := service.App().Tokens(ctx, port.Page{Limit: 1}); err == nil && len(tokens) == 0 {
		log.Warn("there is no token yet, so nobody can come in; make the first: barrelbookd token create --name NAME --role admin, with the same database")
	}
}
