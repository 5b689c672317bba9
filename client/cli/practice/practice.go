// Package practice holds the commands on practices: the limits and settings
// of the mill's own, for a mill, a stand, a role or a grade.
package practice

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("practice", "Show and set the mill's own limits and settings",
		NewCmdList(f, nil), NewCmdShow(f, nil), NewCmdPut(f, nil), NewCmdSettings(f, nil))
}

// settingNames are the settings of the contract this client was built with.
func settingNames() []string {
	var names []string
	t := reflect.TypeFor[oapi.PracticeValues]()
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		names = append(names, name)
	}
	return names
}

// given are the settings that a practice gives, in the contract's order.
func given(v oapi.PracticeValues) (pairs [][2]string) {
	raw, err := json.Marshal(v)
	if err != nil {
		return nil // a finite struct of numbers always marshals
	}
	var values map[string]json.Number
	if json.Unmarshal(raw, &values) != nil {
		return nil
	}
	for _, name := range settingNames() {
		if value, ok := values[name]; ok {
			pairs = append(pairs, [2]string{name, value.String()})
		}
	}
	return pairs
}

// scope is what a practice is for, in words.
func scope(s oapi.PracticeScope) string {
	var parts []string
	add := func(name, value string) {
		if value != "" {
			parts = append(parts, name+" "+value)
		}
	}
	add("mill", render.Opt(s.Mill))
	add("stand", render.Opt(s.Stand))
	add("role", string(render.Opt(s.Role)))
	add("grade", render.Opt(s.Grade))
	add("material", render.Opt(s.Material))
	if len(parts) == 0 {
		return "everything"
	}
	return strings.Join(parts, ", ")
}

// Print shows a practice to people.
func Print(t *term.Streams, p oapi.Practice) {
	version := ""
	if p.Version != nil {
		version = fmt.Sprintf(", version %d", *p.Version)
	}
	t.Print("%s", t.Bold(fmt.Sprintf("Practice %s for %s%s", p.Name, scope(p.Scope), version)))
	table := render.Table{Columns: []render.Column{{Head: "setting, its unit at the end"}, {Head: "value", Right: true}}}
	for _, pair := range given(p.Values) {
		table.Add(pair[0], pair[1])
	}
	table.Write(t)
}
