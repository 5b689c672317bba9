package kit

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/conn"
)

// Revising is the flag of what changes or takes back something in the books.
type Revising struct{ Yes bool }

// AddTo adds --yes.
func (r *Revising) AddTo(cmd *cobra.Command) {
	cmd.Flags().BoolVarP(&r.Yes, "yes", "y", false, "do it without asking")
}

// Revise shows what a correction or withdrawal will do, by a dry run of it, asks,
// and does it. With --yes it is done and shown; where nobody can be asked it is
// shown and not done. show prints what an answer says to the factory it gets.
func Revise[T any](f *Factory, r *Recording, yes bool, question string, send func(dry bool) (conn.Answer[T], error), show func(*Factory, T) error) (a conn.Answer[T], done bool, err error) {
	if yes || r.DryRun {
		if a, err = send(r.DryRun); err != nil {
			return a, false, err
		}
		return a, !r.DryRun, Show(f, a, func(v T) error { return show(f, v) })
	}
	if a, err = send(true); err != nil {
		return a, false, err
	}
	// What is only asked about is talk.
	talk, streams := *f, *f.Term
	streams.Out, talk.Term = streams.Err, &streams
	if err = show(&talk, a.Value); err != nil {
		return a, false, err
	}
	ok, err := f.Term.Confirm(question)
	switch {
	case err != nil:
		return a, false, Usagef("nothing was changed: this is what it would do; add --yes to do it")
	case !ok:
		return a, false, ErrStopped
	}
	if a, err = send(false); err != nil || !f.JSON {
		return a, err == nil, err
	}
	return a, true, Raw(f, a.Raw)
}

// Cleared gives the fields of the contract behind flags whose figures are to be
// taken away.
func Cleared[Field ~string](typed []string, flags map[string]string, may []Field) (*[]Field, error) {
	if len(typed) == 0 {
		return nil, nil
	}
	byFlag := map[string]Field{}
	var names []string
	for _, field := range may {
		if flag := flags[string(field)]; flag != "" {
			name := strings.TrimPrefix(flag, "--")
			byFlag[name], names = field, append(names, name)
		}
	}
	var fields []Field
	for _, t := range typed {
		name := strings.TrimPrefix(strings.TrimSpace(t), "--")
		field, is := byFlag[name]
		if !is {
			return nil, &Input{Err: fmt.Errorf("--clear %s cannot be cleared; clear one of: %s%s", name, strings.Join(names, ", "), DidYouMean(name, names))}
		}
		fields = append(fields, field)
	}
	return &fields, nil
}
