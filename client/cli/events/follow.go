package events

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

const (
	// longestWait is how long one request waits for an event; pause is how long
	// one waits for a service that does not answer.
	longestWait = 30 * time.Second
	pause       = 2 * time.Second
	perRequest  = 500
)

// FollowOptions choose the events.
type FollowOptions struct {
	Factory                             *kit.Factory
	After, From, Type, Mill, CursorFile string
	Once                                bool
}

// NewCmdFollow follows events until it is interrupted.
func NewCmdFollow(f *kit.Factory, runF func(context.Context, *FollowOptions) error) *cobra.Command {
	o := &FollowOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "follow",
		Short: "Print what is recorded as it is recorded, until interrupted",
		Long: `Print what is recorded as it is recorded, one line each, in the order in which it
was kept; with --json each as the service gives it (a CloudEvent).

With --cursor-file it goes on after the last event printed when it is started
again. An event may be printed again then when it was stopped hard: its id says
so. It waits for a service that does not answer.`,
		Example: kit.Example("barrelbook events follow", "barrelbook events follow --type entry,change --json --cursor-file mirror.cursor",
			"barrelbook events follow --from oldest --once"),
		Args: kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return follow(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.After, "after", "", "go on after the event with this `CURSOR`")
	kit.Word(cmd, &o.From, "from", "now", "where to begin otherwise", []string{"now", "oldest"})
	cmd.Flags().StringVar(&o.Type, "type", "", "only these `TYPES`, with commas between: entry,change.recorded")
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only what is of this `MILL` or of none")
	cmd.Flags().StringVar(&o.CursorFile, "cursor-file", "", "keep in this `FILE` how far it has read, and go on from there")
	cmd.Flags().BoolVar(&o.Once, "once", false, "print what there is and end")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func follow(ctx context.Context, o *FollowOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	p, err := o.params()
	if err != nil {
		return err
	}
	for lost := false; ; {
		a, err := conn.Expect[oapi.EventPage](c.API.ListEvents(ctx, p))
		if ctx.Err() != nil {
			return ctx.Err() // before the answer was printed: it is asked for again
		}
		if passing(err) && !o.Once {
			if !lost {
				o.Factory.Term.Say("%s: %s. Waiting for it.", c.Address, err)
			}
			lost = true
			select {
			case <-time.After(pause):
			case <-ctx.Done():
				return ctx.Err()
			}
			continue
		}
		if err != nil {
			return kit.Failure{What: "the events cannot be followed", Flag: map[string]string{"after": "--after", "type": "--type", "mill": "--mill"}}.Explain(err)
		}
		lost = false
		if err := o.print(a); err != nil {
			return err
		}
		p.After, p.From = &a.Value.Next, nil
		if err := o.keep(a.Value.Next); err != nil {
			return err
		}
		if o.Once && len(a.Value.Items) < perRequest {
			return nil
		}
	}
}

// params asks for the first page.
func (o *FollowOptions) params() (*oapi.ListEventsParams, error) {
	limit, from := int64(perRequest), oapi.ListEventsParamsFrom(o.From)
	p := &oapi.ListEventsParams{Limit: &limit, After: kit.OptText(o.After), Type: kit.OptText(o.Type), Mill: kit.OptText(o.Mill), From: &from}
	if !o.Once {
		s, err := o.Factory.Settings()
		if err != nil {
			return nil, err
		}
		most, err := s.TimeoutValue()
		if err != nil {
			return nil, &kit.UsageError{Err: err}
		}
		wait := longestWait
		if most > 0 {
			wait = min(wait, most/2)
		}
		seconds := int64(wait / time.Second)
		p.WaitS = &seconds
	}
	if o.CursorFile == "" || o.After != "" {
		return p, nil
	}
	kept, err := os.ReadFile(o.CursorFile)
	if errors.Is(err, fs.ErrNotExist) {
		return p, nil
	}
	p.After = kit.OptText(strings.TrimSpace(string(kept)))
	return p, err
}

// passing is a service that does not answer for now.
func passing(err error) bool {
	var silent *conn.Unreachable
	var problem *conn.Problem
	return errors.As(err, &silent) || errors.As(err, &problem) && problem.Status == 503
}

func (o *FollowOptions) print(a conn.Answer[oapi.EventPage]) error {
	if !o.Factory.JSON {
		for _, e := range a.Value.Items {
			o.Factory.Term.Print("%s", line(e))
		}
		return nil
	}
	var page struct{ Items []json.RawMessage }
	if err := json.Unmarshal(a.Raw, &page); err != nil {
		return err
	}
	for _, text := range page.Items {
		if err := kit.Raw(o.Factory, text); err != nil {
			return err
		}
	}
	return nil
}

// line is an event for a person.
func line(e oapi.Event) string {
	parts := []string{render.Time(e.Time), strings.TrimPrefix(e.Type, "barrelbook."), e.Subject}
	d := e.Data
	if d.Entry != nil {
		parts = append(parts, fmt.Sprintf("entry %d by %s: %s", d.Entry.Number, d.Entry.By, render.Opt(d.Entry.Summary)))
	}
	for _, one := range []struct {
		word  string
		value *string
	}{{"in", d.Stand}, {"", d.Role}, {"out", d.SetOut}, {"in", d.SetIn}, {"", d.What}} {
		if one.value != nil {
			parts = append(parts, strings.TrimSpace(one.word+" "+*one.value))
		}
	}
	if d.Rolls != nil {
		const most = 6
		some := (*d.Rolls)[:min(most, len(*d.Rolls))]
		more := ""
		if n := len(*d.Rolls) - most; n > 0 {
			more = fmt.Sprintf(" and %d more", n)
		}
		parts = append(parts, strings.Join(some, " ")+more)
	} else if d.Count != nil {
		parts = append(parts, fmt.Sprint(*d.Count))
	}
	return strings.Join(parts, "  ")
}

// keep writes how far was read, whole or not at all.
func (o *FollowOptions) keep(cursor string) error {
	if o.CursorFile == "" {
		return nil
	}
	f, err := os.CreateTemp(filepath.Dir(o.CursorFile), ".cursor-*")
	if err != nil {
		return err
	}
	_, err = f.WriteString(cursor + "\n")
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), o.CursorFile)
	}
	if err != nil {
		_ = os.Remove(f.Name())
	}
	return err
}
