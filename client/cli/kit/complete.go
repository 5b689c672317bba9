package kit

import (
	"context"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// A person who presses tab waits no longer than this, and hears of no error.
const completionLimit = 800 * time.Millisecond

// Names lists the names of one kind of thing.
type Names func(ctx context.Context, c *conn.Conn) ([]string, error)

// Complete completes the first argument from the names that the books hold.
func Complete(f *Factory, names Names) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return f.lookUp(cmd.Context(), names), cobra.ShellCompDirectiveNoFileComp
	}
}

// CompleteFlag completes a flag's value from the names that the books hold.
func CompleteFlag(f *Factory, cmd *cobra.Command, flag string, names Names) {
	must(cmd.RegisterFlagCompletionFunc(flag, func(cmd *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
		return f.lookUp(cmd.Context(), names), cobra.ShellCompDirectiveNoFileComp
	}))
}

func (f *Factory) lookUp(ctx context.Context, names Names) []string {
	if ctx == nil {
		ctx = context.Background()
	}
	ctx, cancel := context.WithTimeout(ctx, completionLimit)
	defer cancel()
	s, err := f.Settings()
	if err != nil {
		return nil
	}
	// Pressing tab must not make a data file.
	if place, err := s.Place(); err != nil || (place.Server == "" && !DataExists(place.Data)) {
		return nil
	}
	c, err := f.Conn(ctx)
	if err != nil {
		return nil
	}
	found, err := names(ctx, c)
	if err != nil {
		return nil
	}
	return found
}

// most is a full page; nobody picks from more by pressing tab.
var most = int64(1000)

// Rolls names the rolls that are not scrapped.
func Rolls(ctx context.Context, c *conn.Conn) ([]string, error) {
	a, err := conn.Expect[oapi.RollPage](c.API.ListRolls(ctx, &oapi.ListRollsParams{Limit: &most}))
	var names []string
	for _, r := range a.Value.Items {
		if r.State.Stage != oapi.StageScrapped {
			names = append(names, r.Number)
		}
	}
	return names, err
}

// Grindable names the rolls that wait for a grinder, the worn ones first.
func Grindable(ctx context.Context, c *conn.Conn) ([]string, error) {
	var names []string
	for _, stage := range []oapi.Stage{oapi.StageWorn, oapi.StageNew, oapi.StageGround} {
		a, err := conn.Expect[oapi.RollPage](c.API.ListRolls(ctx, &oapi.ListRollsParams{Limit: &most, Stage: &stage}))
		if err != nil {
			return nil, err
		}
		names = append(names, namesOf(a.Value.Items, func(r oapi.Roll) string { return r.Number })...)
	}
	return names, nil
}

// Held names the rolls that are held.
func Held(ctx context.Context, c *conn.Conn) ([]string, error) {
	held := true
	a, err := conn.Expect[oapi.RollPage](c.API.ListRolls(ctx, &oapi.ListRollsParams{Limit: &most, Held: &held}))
	return namesOf(a.Value.Items, func(r oapi.Roll) string { return r.Number }), err
}

// CompleteSetsFor completes a flag with the sets that may go into the stand that is
// the first argument.
func CompleteSetsFor(f *Factory, cmd *cobra.Command, flag string, role *string) {
	must(cmd.RegisterFlagCompletionFunc(flag, func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		if len(args) == 0 {
			return f.lookUp(cmd.Context(), Sets), cobra.ShellCompDirectiveNoFileComp
		}
		return f.lookUp(cmd.Context(), func(ctx context.Context, c *conn.Conn) (names []string, err error) {
			of := oapi.ListSetsForStandParamsRole(*role)
			a, err := conn.Expect[oapi.SetsForStand](c.API.ListSetsForStand(ctx, args[0], &oapi.ListSetsForStandParams{Role: &of}))
			for _, s := range a.Value.Items {
				if s.MayGoIn {
					names = append(names, s.Set.Name)
				}
			}
			return names, err
		}), cobra.ShellCompDirectiveNoFileComp
	}))
}

// NoFilesFor keeps a shell from offering files for flags that take none: all but
// those whose value is called FILE, and those that complete themselves.
func NoFilesFor(cmd *cobra.Command) {
	for _, c := range cmd.Commands() {
		NoFilesFor(c)
	}
	cmd.LocalFlags().VisitAll(func(flag *pflag.Flag) {
		if value, _ := pflag.UnquoteUsage(flag); value == "FILE" {
			return
		}
		if _, is := cmd.GetFlagCompletionFunc(flag.Name); !is {
			must(cmd.RegisterFlagCompletionFunc(flag.Name, cobra.NoFileCompletions))
		}
	})
}

// Sets names the standing sets.
func Sets(ctx context.Context, c *conn.Conn) ([]string, error) {
	a, err := conn.Expect[oapi.SetPage](c.API.ListSets(ctx, &oapi.ListSetsParams{Limit: &most}))
	return namesOf(a.Value.Items, func(s oapi.Set) string { return s.Name }), err
}

// Changes names the roll changes that stand, newest first.
func Changes(ctx context.Context, c *conn.Conn) ([]string, error) {
	a, err := conn.Expect[oapi.ChangePage](c.API.ListChanges(ctx, &oapi.ListChangesParams{Limit: &most}))
	var names []string
	for _, ch := range a.Value.Items {
		if ch.Undone == nil {
			names = append(names, ch.Name)
		}
	}
	return names, err
}

// Stands names the stands.
func Stands(ctx context.Context, c *conn.Conn) ([]string, error) {
	a, err := conn.Expect[oapi.StandPage](c.API.ListStands(ctx, &oapi.ListStandsParams{Limit: &most}))
	return namesOf(a.Value.Items, func(s oapi.Stand) string { return s.Name }), err
}

// Campaigns names the campaigns, newest first.
func Campaigns(ctx context.Context, c *conn.Conn) ([]string, error) {
	a, err := conn.Expect[oapi.CampaignPage](c.API.ListCampaigns(ctx, &oapi.ListCampaignsParams{Limit: &most}))
	return namesOf(a.Value.Items, func(x oapi.Campaign) string { return x.Name }), err
}

// Mills names the mills.
func Mills(ctx context.Context, c *conn.Conn) ([]string, error) {
	a, err := conn.Expect[oapi.MillPage](c.API.ListMills(ctx, &oapi.ListMillsParams{Limit: &most}))
	return namesOf(a.Value.Items, func(m oapi.Mill) string { return m.Name }), err
}

// Grades names the grades.
func Grades(ctx context.Context, c *conn.Conn) ([]string, error) {
	a, err := conn.Expect[oapi.GradePage](c.API.ListGrades(ctx, &oapi.ListGradesParams{Limit: &most}))
	return namesOf(a.Value.Items, func(g oapi.Grade) string { return g.Name }), err
}

// Practices names the practices.
func Practices(ctx context.Context, c *conn.Conn) ([]string, error) {
	a, err := conn.Expect[oapi.PracticePage](c.API.ListPractices(ctx, &oapi.ListPracticesParams{Limit: &most}))
	return namesOf(a.Value.Items, func(p oapi.Practice) string { return p.Name }), err
}

func namesOf[T any](items []T, name func(T) string) []string {
	names := make([]string, len(items))
	for i, item := range items {
		names[i] = name(item)
	}
	return names
}
