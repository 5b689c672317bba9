package cli

import (
	"github.com/spf13/cobra"
)

// topics are the pages of help that belong to no one command.
func topics() []*cobra.Command {
	topic := func(name, short, text string) *cobra.Command {
		// A command that does nothing is listed by cobra as a topic.
		return &cobra.Command{Use: name, Short: short, Long: text}
	}
	return []*cobra.Command{
		topic("exit-codes", "What the exit codes mean", "What barrelbook ends with:\n\n"+exitCodeText()),
		topic("environment", "The variables and the settings file", `A flag wins over the environment, the environment over the settings file, and
the file over the default. barrelbook settings list shows what holds and why.

  BARRELBOOK_DATA        the data file
                         (default $XDG_DATA_HOME/barrelbook/barrelbook.db,
                         or ~/.local/share/barrelbook/barrelbook.db)
  BARRELBOOK_SERVER      the address of a daemon; without it, the data file
  BARRELBOOK_TOKEN       the token for the daemon
  BARRELBOOK_TOKEN_FILE  a file that holds the token
  BARRELBOOK_UNITS       metric, imperial-short or imperial-long
  BARRELBOOK_TIME_ZONE   the zone of times, like Europe/Vienna
                         (default TZ, or that of the machine)
  BARRELBOOK_PLAIN_HTTP  yes sends the token over plain http to another machine
  BARRELBOOK_PAGER       what a long answer is read with (default PAGER, or less)
  BARRELBOOK_TIMEOUT     how long to wait for an answer (default 2m)
  BARRELBOOK_CONFIG      the settings file
                         (default $XDG_CONFIG_HOME/barrelbook/config,
                         or ~/.config/barrelbook/config)
  NO_COLOR               no colour when it is set
  COLUMNS                the width of what is piped (default 80)

The settings file has a line "key = value" for each setting:

  server = https://rollshop.example:8443
  token_file = /home/me/.barrelbook-token
  units = imperial-short

Other processes of yours can read an environment variable; a token file that
only you can read is the better place for a token.`),
		topic("units", "How figures are typed and shown", `A bare number is in the unit of --units: mm for a diameter with metric, inches
with imperial. A unit may be named with any figure: 738.412mm, 29.07in,
"29 1/16 in", 462µm, 18thou, 34km, 4523t, "1000 long tonf".

One entry is in metric or in imperial; a mix of both is refused, because that
is how a wrong unit gets in. Diameters, stock, wear, crown and mismatch are on
diameter; a crack depth is on radius. Roughness is in µm Ra whatever the units.

A ton is 2000 lb in one country and 2240 lb in another, so there are two
imperial systems: imperial-short and imperial-long.

Every table names its units in its headings. --json is always in the units of
the contract (mm, µm, kN, MPa, t, km), which its field names carry.`),
		topic("times", "How times are typed and shown", `Times are those of the clock on the wall. They are shown with the name of their
zone, once in a heading where it is one for all: 2026-03-04 15:05 CET. The zone is
that of the machine or of TZ, or the one given with --time-zone. They are typed as
people say them:

  --at 14:00                       the last 14:00 that has been
  --at "yesterday 14:00"
  --at "2026-03-04 15:05"
  --at 2026-03-04                  its first minute
  --at 2026-03-04T15:05+01:00      with a zone of its own
  --at 2026-03-04T14:05Z           in UTC

On the night when the clocks go back an hour comes twice: there a time of that
hour needs its zone. One that the clocks jump over is refused. The books, --json
and --csv are in UTC whatever the zone.`),
	}
}
