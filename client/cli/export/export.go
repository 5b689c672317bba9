// Package export writes the books out for other programs.
package export

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// Options choose the books.
type Options struct {
	Factory *kit.Factory
	Rolls   []string
}

// NewCmd writes the books.
func NewCmd(f *kit.Factory) *cobra.Command { return newCmd(f, nil) }

func newCmd(f *kit.Factory, runF func(context.Context, *Options) error) *cobra.Command {
	o := &Options{Factory: f}
	cmd := &cobra.Command{
		Use:   "export",
		Short: "Write every roll and its book, one JSON object a line",
		Long: `Write every roll and its book, one JSON object a line, for other programs and for
keeping where this one is not at hand:

  {"kind":"roll","roll":{…}}      a roll as it stands (schema Roll)
  {"kind":"entry","entry":{…}}    each entry of its book, oldest first (schema Entry)

A book is only ever added to: an entry recorded meanwhile is there whole or not
at all. To copy a data file with all there is in it use barrelbook backup.`,
		Example: kit.Example("barrelbook export > books.ndjson", "barrelbook export --rolls CW-109,CW-110"),
		Args:    kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return run(cmd.Context(), o)
		},
	}
	cmd.Flags().StringSliceVar(&o.Rolls, "rolls", nil, "only these `ROLLS`, with commas between")
	kit.CompleteFlag(f, cmd, "rolls", kit.Rolls)
	return cmd
}

func run(ctx context.Context, o *Options) (err error) {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(o.Factory.Term.Data())
	defer func() { err = errors.Join(err, out.Flush()) }()
	w := writer{ctx: ctx, api: c.API, out: out}
	for _, number := range o.Rolls {
		a, err := conn.Expect[oapi.Roll](c.API.GetRoll(ctx, number, nil))
		if err != nil {
			return kit.Failure{Next: []string{kit.Path("roll list")}}.Explain(err)
		}
		if err := w.roll(a.Raw); err != nil {
			return err
		}
	}
	if o.Rolls != nil {
		return nil
	}
	return pages(func(limit *int64, cursor *string) (*http.Response, error) {
		return c.API.ListRolls(ctx, &oapi.ListRollsParams{Limit: limit, Cursor: cursor})
	}, w.roll)
}

// writer writes lines as the service gave them; no more than a page of rolls and
// one of entries is held.
type writer struct {
	ctx context.Context
	api *oapi.Client
	out io.Writer
}

func (w writer) roll(raw json.RawMessage) error {
	var roll struct {
		Number string `json:"number"`
	}
	if err := json.Unmarshal(raw, &roll); err != nil {
		return err
	}
	if err := w.line(line{Kind: "roll", Roll: raw}); err != nil {
		return err
	}
	return pages(func(limit *int64, cursor *string) (*http.Response, error) {
		return w.api.ListEntries(w.ctx, roll.Number, &oapi.ListEntriesParams{Limit: limit, Cursor: cursor})
	}, func(entry json.RawMessage) error { return w.line(line{Kind: "entry", Entry: entry}) })
}

// line is one line of an export.
type line struct {
	Kind  string          `json:"kind"`
	Roll  json.RawMessage `json:"roll,omitempty"`
	Entry json.RawMessage `json:"entry,omitempty"`
}

func (w writer) line(l line) error {
	raw, err := json.Marshal(l)
	if err != nil {
		return err
	}
	_, err = w.out.Write(append(raw, '\n'))
	return err
}

// pages reads a list to its end and gives each item to use.
func pages(fetch func(limit *int64, cursor *string) (*http.Response, error), use func(json.RawMessage) error) error {
	limit := int64(500)
	for cursor := (*string)(nil); ; {
		a, err := conn.Expect[struct {
			Items []json.RawMessage `json:"items"`
			Next  *string           `json:"next"`
		}](fetch(&limit, cursor))
		if err != nil {
			return err
		}
		for _, item := range a.Value.Items {
			if err := use(item); err != nil {
				return err
			}
		}
		if cursor = a.Value.Next; cursor == nil {
			return nil
		}
	}
}
