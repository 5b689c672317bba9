package roll

import (
	"testing"

	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

func TestFatigueAgainstThePolicy(t *testing.T) {
	for want, d := range map[string]*oapi.RollDamage{
		"": nil,
		"0.25 of 1 that the policy allows, 0.9 mm deep, at -100 mm from the middle":                                        {Worst: 0.25, DepthMm: 0.9, XMm: -100, Limit: 1},
		"1.2 of 1 that the policy allows, 3.25 mm deep, at +412.5 mm from the middle; a grind takes it off, none heals it": {Worst: 1.2, DepthMm: 3.25, XMm: 412.5, Limit: 1},
	} {
		if got := fatigueLine(render.Units{}, d); got != want {
			t.Errorf("%+v: %q, want %q", d, got, want)
		}
	}
}
