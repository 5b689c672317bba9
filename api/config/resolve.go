package config

import (
	"flag"
	"fmt"
	"strings"
)

// Origin says where the value of a setting came from.
type Origin struct{ Name, Value, From string }

// Variable is the environment variable of a setting.
func Variable(name string) string {
	return "BARRELBOOK_" + strings.ToUpper(strings.ReplaceAll(name, "-", "_"))
}

// Resolve fills in from the environment what was not given as a flag, and tells
// of every setting where it came from: flag before environment before default.
// A variable that is set but empty counts as not set.
func Resolve(flags *flag.FlagSet, given func(name string) bool, getenv func(string) string) ([]Origin, error) {
	var origins []Origin
	var failed error
	flags.VisitAll(func(f *flag.Flag) {
		from := "default"
		if given(f.Name) {
			from = "flag --" + f.Name
		} else if value := getenv(Variable(f.Name)); value != "" {
			from = "environment " + Variable(f.Name)
			if err := f.Value.Set(value); err != nil && failed == nil {
				failed = fmt.Errorf("%s=%q: %w", Variable(f.Name), value, err)
			}
		}
		origins = append(origins, Origin{Name: f.Name, Value: Shown(f.Name, f.Value.String()), From: from})
	})
	return origins, failed
}
