// Package roll holds the commands on one roll and its book.
package roll

import (
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("roll", "Receive rolls, look at them and their books, hold, release and scrap them",
		NewCmdReceive(f, nil), NewCmdTakeOver(f, nil), NewCmdCarryOver(f, nil), NewCmdCorrect(f, nil), NewCmdList(f, nil), NewCmdWhere(f, nil), NewCmdShow(f, nil), NewCmdBook(f, nil), NewCmdMountings(f, nil), NewCmdForecast(f, nil),
		NewCmdInspect(f, nil), NewCmdReadings(f), NewCmdMap(f, nil), NewCmdHold(f, nil), NewCmdRelease(f, nil), NewCmdConcede(f, nil), NewCmdRegrade(f, nil), NewCmdScrap(f, nil))
}

var (
	roles = []string{"work", "backup", "intermediate"}
)

// failed explains an error about one roll.
func failed(what, number string, flags map[string]string, err error) error {
	return kit.Failure{What: what, Flag: flags, Next: []string{kit.Path("roll show %s", number)}}.Explain(err)
}

// place is where a roll is: "F3 top work", "set S12 with R7", or empty.
func place(s oapi.RollState) string {
	switch {
	case s.Stand != nil:
		return *s.Stand + " " + render.Words(render.Opt(s.Position))
	case s.Set != nil && s.Partner != nil:
		return "set " + *s.Set + " with " + *s.Partner
	}
	return ""
}

// stage is a roll's stage, with a hold made plain.
func stage(s oapi.RollState) string {
	if s.Held != nil {
		return string(s.Stage) + ", held"
	}
	return string(s.Stage)
}

// Due are the tests that a roll owes now, by name.
func Due(s oapi.RollState) string {
	var names []string
	for _, o := range render.Opt(s.Owed) {
		if o.Due {
			names = append(names, render.Words(o.Test))
		}
	}
	return strings.Join(names, ", ")
}
