package kit

import (
	"time"

	"barrelbook/client/conn"
)

// Params gives the two parameters of a recording as the generated client
// takes them.
func (r *Recording) Params() (dryRun *bool, key *string) {
	if r.DryRun {
		dryRun = &r.DryRun
	}
	return dryRun, r.KeyParam()
}

// KeyParam is the key that was given, or a fresh one.
func (r *Recording) KeyParam() *string {
	key := r.Key
	if key == "" {
		key = conn.NewKey()
	}
	return &key
}

// Moment reads --at.
func (r *Recording) Moment(f *Factory) (*time.Time, error) { return OptTime(f, "--at", r.At) }

// Noted says on the talk stream what was done, or that nothing was.
func (r *Recording) Noted(f *Factory, format string, args ...any) {
	if r.DryRun {
		f.Term.Say("Dry run: nothing was recorded.")
		return
	}
	f.Term.Say(format, args...)
}

// Show prints an answer: the service's own bytes for a program, or what
// people makes of it.
func Show[T any](f *Factory, a conn.Answer[T], people func(T) error) error {
	if f.JSON {
		return Raw(f, a.Raw)
	}
	return people(a.Value)
}

// Raw prints an answer as it came, ended by one newline.
func Raw(f *Factory, raw []byte) error {
	if len(raw) == 0 {
		return nil
	}
	if raw[len(raw)-1] != '\n' {
		raw = append(raw, '\n')
	}
	_, err := f.Term.Data().Write(raw)
	return err
}
