package kit

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/domain/spelling"
)

// word is a flag that takes one of a few words.
type word struct {
	target  *string
	allowed []string
}

func (w *word) String() string { return *w.target }
func (w *word) Type() string   { return "WORD" }

func (w *word) Set(text string) error {
	text = strings.ToLower(strings.ReplaceAll(strings.TrimSpace(text), "-", "_"))
	if !slices.Contains(w.allowed, text) {
		return fmt.Errorf("must be one of: %s%s", strings.Join(w.allowed, ", "), DidYouMean(text, w.allowed))
	}
	*w.target = text
	return nil
}

// Word adds a flag that takes one of the words allowed, and completes them.
// Dashes may be typed for underscores.
func Word(cmd *cobra.Command, target *string, name, def, usage string, allowed []string) {
	*target = def
	cmd.Flags().Var(&word{target, allowed}, name, usage+": "+strings.Join(allowed, ", "))
	must(cmd.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(allowed, cobra.ShellCompDirectiveNoFileComp)))
}

func must(err error) {
	if err != nil {
		panic(err) // a flag that does not exist or is defined twice: our bug
	}
}

// OptNumber is a flag for a plain number that may be left out.
type OptNumber struct{ Value *float64 }

func (n *OptNumber) Type() string { return "NUMBER" }

func (n *OptNumber) String() string {
	if n.Value == nil {
		return ""
	}
	return strconv.FormatFloat(*n.Value, 'g', -1, 64)
}

// Set reads the number.
func (n *OptNumber) Set(text string) error {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return fmt.Errorf("%q is not a number", text)
	}
	n.Value = &v
	return nil
}

// OptCount is a flag for a whole number that may be left out.
type OptCount struct{ Value *int64 }

func (n *OptCount) Type() string { return "COUNT" }

func (n *OptCount) String() string {
	if n.Value == nil {
		return ""
	}
	return strconv.FormatInt(*n.Value, 10)
}

// Set reads the count.
func (n *OptCount) Set(text string) error {
	v, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return fmt.Errorf("%q is no whole number", text)
	}
	n.Value = &v
	return nil
}

// Recording is the flags of every command that writes into the books.
type Recording struct {
	DryRun bool
	Key    string
	At     string
}

// AddTo adds --dry-run and --key, and --at where the recording has a moment.
func (r *Recording) AddTo(cmd *cobra.Command, hasMoment bool) {
	cmd.Flags().BoolVarP(&r.DryRun, "dry-run", "n", false, "check and answer, record nothing")
	r.AddKeyTo(cmd)
	if hasMoment {
		cmd.Flags().StringVar(&r.At, "at", "", "when it was done (`TIME`: 14:05, \"yesterday 14:05\", \"2026-03-04 14:05\"); now when left out")
	}
}

// AddKeyTo adds --key alone, where the contract knows no dry run.
func (r *Recording) AddKeyTo(cmd *cobra.Command) {
	cmd.Flags().StringVar(&r.Key, "key", "", "`KEY` of this recording: sent again with the same key it is recorded once")
}

// Confirmed asks before what is not done lightly: question says what it is. With
// --yes it does not ask; with nobody to ask it refuses.
func Confirmed(f *Factory, yes bool, question string) error {
	if yes {
		return nil
	}
	ok, err := f.Term.Confirm(question)
	if errors.Is(err, context.Canceled) {
		return err
	}
	if err != nil {
		return Usagef("nobody can be asked: %s Add --yes to go on without a question", question)
	}
	if !ok {
		return ErrStopped
	}
	return nil
}

// DidYouMean suggests the nearest word, when one is near.
func DidYouMean(text string, words []string) string {
	if near := spelling.Nearest(text, words); near != "" {
		return fmt.Sprintf("; did you mean %q?", near)
	}
	return ""
}
