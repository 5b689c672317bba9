package main

import (
	"flag"
	"fmt"
	"log/slog"
	"os"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"barrelbook/api/config"
	"barrelbook/api/embedded"
	"barrelbook/api/rest"
)

func newRoot() *cobra.Command {
	settings := config.Default()
	flags := settings.Flags()
	root := &cobra.Command{
		Use:   "barrelbookd",
		Short: "Serve the books of a roll shop over HTTP",
		Long: `Serve the books of a roll shop over HTTP, on a data file or on PostgreSQL.

Every setting is a flag or an environment variable, BARRELBOOK_ and the flag's
name in capitals; the flag wins. Every request needs a token; make the first one
beside the running or stopped daemon, on the same database:

  barrelbookd token create --name NAME --role admin --database FILE-OR-URL`,
		Example: `  barrelbookd --database shop.db
  barrelbookd --database postgres://barrelbook@db.example/barrelbook --listen 0.0.0.0:8642 --tls-cert cert.pem --tls-key key.pem`,
		Args: cobra.NoArgs, SilenceUsage: true, SilenceErrors: true, Version: version,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if _, err := resolve(cmd, flags); err != nil {
				return err
			}
			if err := settings.Check(); err != nil {
				return err
			}
			return serve(cmd.Context(), settings, newLog(settings))
		},
	}
	root.Flags().AddGoFlagSet(flags)
	root.AddCommand(newSettings(), newToken(), newMigrate(), newVerify())
	return root
}

func resolve(cmd *cobra.Command, flags *flag.FlagSet) ([]config.Origin, error) {
	return config.Resolve(flags, cmd.Flags().Changed, os.Getenv)
}

func newLog(s config.Settings) *slog.Logger {
	if s.LogFormat == "json" {
		return slog.New(slog.NewJSONHandler(os.Stderr, nil))
	}
	return slog.New(slog.NewTextHandler(os.Stderr, nil))
}

// options are what the settings ask of the service.
func options(s config.Settings, log *slog.Logger) embedded.Options {
	networks, _ := s.SentNetworks() // checked with the settings
	return embedded.Options{
		Path: s.Database, Volatile: s.Volatile, Version: version, Tokens: true, KeepSchema: !s.Migrate, MaxConns: s.DatabaseConns, Keep: s.KeepAnswers, KeepEvents: s.KeepEvents,
		LongestToken: s.TokenLongest, Webhooks: s.Webhooks, WebhookNetworks: networks,
		Edge: rest.Options{Log: log, Requests: s.LogRequests, PerSecond: s.RequestsPerSecond, Burst: s.Burst, Timeout: s.RequestTimeout, StreamIdle: s.StreamIdle, Places: s.Places, BehindProxy: s.BehindProxy, EventSource: s.EventSource},
	}
}

func newSettings() *cobra.Command {
	settings := config.Default()
	flags := settings.Flags()
	cmd := &cobra.Command{
		Use: "settings", Short: "Print every setting and where it comes from", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			origins, err := resolve(cmd, flags)
			if err != nil {
				return err
			}
			out := tabwriter.NewWriter(cmd.OutOrStdout(), 0, 0, 2, ' ', 0)
			for _, o := range origins {
				fmt.Fprintf(out, "%s\t%s\t%s\n", o.Name, o.Value, o.From)
			}
			if err := out.Flush(); err != nil {
				return err
			}
			return settings.Check()
		},
	}
	cmd.Flags().AddGoFlagSet(flags)
	return cmd
}
