package main

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/config"
	"barrelbook/api/embedded"
)

// withBooks adds the flags of the database to a command that works on it beside
// the daemon.
func withBooks(cmd *cobra.Command, run func(ctx context.Context, s *embedded.Service) error) *cobra.Command {
	settings := config.Default()
	flags := settings.DatabaseFlags()
	cmd.Flags().AddGoFlagSet(flags)
	cmd.Args = cobra.NoArgs
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		if _, err := resolve(cmd, flags); err != nil {
			return err
		}
		service, err := embedded.Open(cmd.Context(), options(settings, newLog(settings)))
		if err != nil {
			return err
		}
		defer service.Close()
		return run(cmd.Context(), service)
	}
	return cmd
}

func newToken() *cobra.Command {
	token := &cobra.Command{Use: "token", Short: "Make a token without one"}
	in := record.TokenInput{}
	var role string
	var days int
	create := &cobra.Command{
		Use: "create", Short: "Make a token and print its secret, this once",
		Long: `Make a token on the daemon's database and print its secret, this once. Whoever may
open the database may do this: it is how the first admin comes in. Later tokens
are better made through the API, which needs an admin's.`,
		Example: "  barrelbookd token create --name chief --role admin --database shop.db",
	}
	create.Flags().StringVar(&in.Name, "name", "", "of the token's holder; required")
	create.Flags().StringVar(&role, "role", string(port.Admin), "feeder, viewer, grinder, shift, engineer or admin")
	create.Flags().StringSliceVar(&in.Mills, "mills", nil, "that it may record in, parted by commas; all when left out")
	create.Flags().IntVar(&days, "days", 365, "until it expires")
	_ = create.MarkFlagRequired("name")
	token.AddCommand(withBooks(create, func(ctx context.Context, s *embedded.Service) error {
		in.Role = port.Role(role)
		if !slices.Contains(port.Roles(), in.Role) {
			return fmt.Errorf("role %q is none of feeder, viewer, grinder, shift, engineer, admin", role)
		}
		if days < 1 {
			return fmt.Errorf("days %d must be at least 1", days)
		}
		in.ExpiresAt = time.Now().UTC().AddDate(0, 0, days)
		row, secret, err := s.App().CreateToken(ctx, port.Call{Actor: embedded.UserName(), Role: port.Admin, Operation: "createToken"}, in)
		if err != nil {
			return err
		}
		fmt.Fprintf(create.ErrOrStderr(), "token %s, role %s, until %s; it is shown this once:\n", row.Name, row.Role, row.ExpiresAt.Format(time.DateOnly))
		fmt.Fprintln(create.OutOrStdout(), secret)
		return nil
	}))
	return token
}

func newMigrate() *cobra.Command {
	migrate := &cobra.Command{Use: "migrate", Short: "Work on the schema of the database"}
	migrate.AddCommand(withBooks(&cobra.Command{Use: "up", Short: "Bring the schema up to date"},
		func(ctx context.Context, s *embedded.Service) error { return s.App().Ready(ctx) }))
	return migrate
}

func newVerify() *cobra.Command {
	settings := config.Default()
	flags := settings.DatabaseFlags()
	var signed string
	verify := &cobra.Command{
		Use: "verify", Short: "Read everything that is kept and check it; change nothing", Args: cobra.NoArgs,
		Long: `Read everything that is kept and check it: the pages and indexes, every row of every
table against the seals that were kept when it was written, the sign-offs of the works,
every book against its hashes and what replaying it gives, and what rolls bore against
their pieces. The first difference of each part is named with
its table and rows. Nothing is made, changed or brought up to date; the daemon may be
running.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if _, err := resolve(cmd, flags); err != nil {
				return err
			}
			if err := embedded.VerifySigned(cmd.Context(), settings.Database, signed); err != nil {
				return err
			}
			fmt.Fprintln(cmd.OutOrStdout(), "everything is as the service wrote it")
			return nil
		},
	}
	verify.Flags().AddGoFlagSet(flags)
	verify.Flags().StringVar(&signed, "signed", "", "the hash of a sign-off, noted outside, which must be among those of the works")
	return verify
}
