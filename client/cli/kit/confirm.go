package kit

import (
	"errors"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/domain/doubt"
)

// Confirming is the flag that says that what looks like a slip is right.
type Confirming struct{ Typed []string }

// AddTo adds --confirm. Where a record can keep a reason, that answers all.
func (c *Confirming) AddTo(cmd *cobra.Command, reason bool) {
	usage := "`WHAT` looks like a slip and is right, by the name that the question has: " + strings.Join(questions(), ", ")
	if reason {
		usage += "; or the reason in words, which answers all that is asked"
	}
	cmd.Flags().StringArrayVar(&c.Typed, "confirm", nil, usage)
	must(cmd.RegisterFlagCompletionFunc("confirm", cobra.FixedCompletions(questions(), cobra.ShellCompDirectiveNoFileComp)))
}

func questions() []string {
	var names []string
	for _, n := range doubt.Names() {
		names = append(names, string(n))
	}
	return names
}

// Answers are the questions that are answered, and the reason where one was
// given: it has more than one word, a name has none.
func (c *Confirming) Answers() (confirmed *[]oapi.Question, reason *string, err error) {
	var names []oapi.Question
	for _, typed := range c.Typed {
		if strings.ContainsAny(strings.TrimSpace(typed), " \t") {
			reason = &typed
			continue
		}
		for name := range strings.SplitSeq(typed, ",") {
			name = strings.ReplaceAll(strings.ToLower(strings.TrimSpace(name)), "-", "_")
			if !slices.Contains(questions(), name) {
				return nil, nil, &Input{Err: errors.New("--confirm " + name + " is the name of no question; name one of: " + strings.Join(questions(), ", ") + DidYouMean(name, questions()))}
			}
			names = append(names, oapi.Question(name))
		}
	}
	if len(names) > 0 {
		confirmed = &names
	}
	return confirmed, reason, nil
}

// asking is how often one record is sent again with answers: a new question may
// come of the last answer, and no more than all.
const asking = 4

// Settled sends a record with the answers that were given. What the service asks
// beyond them is put to the person at the terminal, and the record is sent again
// under the same key; elsewhere the refusal stands, with the way on. Nothing is
// recorded before all is answered.
func Settled[T any](f *Factory, given *[]oapi.Question, send func(confirmed *[]oapi.Question) (conn.Answer[T], error)) (conn.Answer[T], error) {
	for range asking {
		a, err := send(given)
		open := openQuestions(err)
		if len(open) == 0 || !f.Term.CanAsk() {
			return a, err
		}
		names := slices.Clone(render.Opt(given))
		for _, q := range open {
			f.Term.Say("%s.", capital(q.Says))
			yes, err := f.Term.Confirm("Is it right?")
			if err != nil {
				return a, err
			}
			if !yes {
				return a, ErrStopped
			}
			names = append(names, q.Question)
		}
		given = &names
	}
	return send(given)
}

func openQuestions(err error) []oapi.AskedQuestion {
	var p *conn.Problem
	if !errors.As(err, &p) {
		return nil
	}
	return render.Opt(p.Questions)
}

// capital begins a sentence.
func capital(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[n:]
}
