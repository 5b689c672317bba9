package cli

import (
	"context"
	"errors"
	"fmt"

	"barrelbook/client/cli/kit"
	"barrelbook/client/config"
	"barrelbook/client/conn"
)

// report tells a person what failed, why, and what to type next, which comes
// last because that is where the eye is.
func report(f *kit.Factory, err error) {
	if err == nil {
		return
	}
	if errors.Is(err, context.Canceled) {
		interrupted(f, err)
		return
	}
	var failure *kit.Failure
	if !errors.As(err, &failure) {
		failure = &kit.Failure{Err: err}
	}
	lines := failure.Lines()
	switch {
	case failure.What == "" && len(lines) == 1:
		say(f, lines[0])
	case failure.What == "":
		say(f, "refused:")
		indent(f, lines)
	case len(lines) == 1 && len(failure.What)+len(lines[0]) < 90:
		say(f, failure.What+": "+lines[0])
	default:
		say(f, failure.What+":")
		indent(f, lines)
	}
	for _, line := range advice(f, err, failure) {
		f.Term.Tell("%s", line)
	}
}

// interrupted says what was kept when a command was ended before its time.
func interrupted(f *kit.Factory, err error) {
	var half *kit.Interrupted
	var cut *conn.CutOff
	switch {
	case errors.As(err, &half):
		f.Term.Tell("Interrupted: %s", half.Kept)
	case errors.As(err, &cut):
		f.Term.Tell("Interrupted before the answer came: whether it was recorded is not known. Look before you send it again.")
	default:
		f.Term.Tell("Interrupted.")
	}
}

func say(f *kit.Factory, line string) { f.Term.Tell("%s %s", f.Term.Bad("barrelbook:"), line) }

func indent(f *kit.Factory, lines []string) {
	for _, line := range lines {
		f.Term.Tell("  %s", line)
	}
}

// advice is what to do next.
func advice(f *kit.Factory, err error, failure *kit.Failure) []string {
	var (
		usage   *kit.UsageError
		problem *conn.Problem
		silent  *conn.Unreachable
		next    []string
	)
	switch {
	case errors.As(err, &usage):
		if usage.Help != "" {
			return []string{"Help: " + usage.Help + " --help"}
		}
		return nil
	case errors.As(err, &silent):
		return []string{"Next: " + reach(f)}
	case errors.As(err, &problem):
		switch {
		case problem.Status == 401:
			return []string{"Next: give a valid token in BARRELBOOK_TOKEN or with --token-file FILE"}
		case problem.Status == 403:
			return []string{"Next: ask somebody whose role may do this; barrelbook works show tells yours"}
		case problem.Status >= 500 && problem.RequestId != nil:
			next = append(next, "Request id: "+*problem.RequestId)
		}
	}
	// Where the reason itself says what to do next, it knows better than the
	// command that was refused, and a second way on would only lead away from it.
	commands := failure.Next
	if problem != nil {
		if known := kit.Commands(problem.Next); len(known) > 0 {
			commands = known
		}
	}
	for _, command := range commands {
		next = append(next, "Next: "+command)
	}
	return next
}

// reach says where the service was looked for and who said so.
func reach(f *kit.Factory) string {
	s, err := f.Settings()
	if err != nil {
		return "barrelbook help environment"
	}
	server := s.Get(config.Server)
	if server.Value == "" {
		return "try again"
	}
	how := map[config.Origin]string{
		config.FromFlag: "--server", config.FromEnvironment: server.Env, config.FromFile: s.File,
	}[server.Origin]
	return fmt.Sprintf("see that the daemon runs at %s (from %s), or leave that out to use the data file here", server.Value, how)
}
