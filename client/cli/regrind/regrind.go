// Package regrind holds the first of the three questions: what came back, what
// was taken off, what is left, and is the roll fit to go out again.
package regrind

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/oapi"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	cmd := kit.Noun("regrind", "Record a regrind, ask what to take off, correct a record",
		NewCmdRecord(f, nil), NewCmdAdvise(f, nil), NewCmdQueue(f, nil), NewCmdCorrect(f, nil), NewCmdUndo(f, nil))
	return cmd
}

// Measures are the figures of one grind as typed; a correction has them too.
type Measures struct {
	Found, Ground, For           string
	Crown, Taper, Runout         string
	Roundness                    string
	Diameters, FoundDiameters    []string
	GrooveWorn                   string
	Grinder, Note                string
	Roughness, TemperatureAboveK kit.OptNumber
	Tests, Readings              []string
	kit.Instrument
	kit.Confirming
}

var measureFlags = map[string]string{
	"found_mm": "--found", "ground_mm": "--ground", "purpose": "--for", "crown_um": "--crown", "taper_um": "--taper",
	"runout_um": "--runout", "roundness_um": "--roundness", "stations": "--diameters", "found_stations": "--found-diameters", "groove_worn_um": "--groove-worn", "roughness_um": "--roughness", "temperature_above_shop_k": "--above-shop",
	"grinder": "--grinder", "tests": "--test", "tests/readings": "--reading", "confirm": "--confirm", "confirmed": "--confirm", "note": "--note", "at": "--at",
}

var purposes = []string{"wear", "crack", "incident", "profile", "retexture", "incoming", "redress"}

func (m *Measures) addTo(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringVar(&m.Found, "found", "", "diameter as found (`LENGTH`: 738.412, 29.07in)")
	fl.StringVar(&m.Ground, "ground", "", "diameter as ground (`LENGTH`)")
	kit.Word(cmd, &m.For, "for", "", "what it was ground for", purposes)
	fl.StringVar(&m.Crown, "crown", "", "crown on diameter (`SMALL`: 50, 50µm, 2thou)")
	fl.StringVar(&m.Taper, "taper", "", "taper over the barrel, on diameter (`SMALL`)")
	fl.StringVar(&m.Runout, "runout", "", "runout (`SMALL`)")
	fl.StringVar(&m.Roundness, "roundness", "", "largest less smallest diameter of one section (`SMALL`)")
	fl.StringSliceVar(&m.Diameters, "diameters", nil, "diameters along the barrel as ground, `PLACE:LENGTH` each with the place from the drive-side end (100:737.950,1000:738.010,1900:737.950); three give crown and taper")
	fl.StringSliceVar(&m.FoundDiameters, "found-diameters", nil, "diameters along the barrel as found, before the grind, `PLACE:LENGTH` each")
	fl.StringVar(&m.GrooveWorn, "groove-worn", "", "deepest wear of a groove as measured, on diameter (`SMALL`); computed when left out")
	fl.Var(&m.Roughness, "roughness", "roughness, µm Ra")
	fl.Var(&m.TemperatureAboveK, "above-shop", "kelvin that the roll was above the shop when it was found; 0 when left out")
	fl.StringVar(&m.Grinder, "grinder", "", "which grinder")
	kit.TestFlag(cmd, &m.Tests)
	kit.ReadingFlag(cmd, &m.Readings)
	m.Instrument.AddTo(cmd)
	m.Confirming.AddTo(cmd, true)
	fl.StringVar(&m.Note, "note", "", "a remark")
}

// input is the grind in the contract's terms.
func (m *Measures) input(f *kit.Factory, r *kit.Recording) (in oapi.RegrindInput, err error) {
	e, err := kit.NewEntry(f)
	if err != nil {
		return in, err
	}
	tests, err := e.Tests(m.Tests)
	if err != nil {
		return in, err
	}
	if tests, err = e.Readings(tests, m.Readings); err != nil {
		return in, err
	}
	if err := m.Instrument.Into(f, tests); err != nil {
		return in, err
	}
	confirmed, reason, err := m.Answers()
	if err != nil {
		return in, err
	}
	in = oapi.RegrindInput{
		FoundMm: e.Length("--found", m.Found), GroundMm: e.Length("--ground", m.Ground), Purpose: oapi.RegrindPurpose(m.For),
		CrownUm: e.OptSmall("--crown", m.Crown), TaperUm: e.OptSmall("--taper", m.Taper), RunoutUm: e.OptSmall("--runout", m.Runout),
		RoundnessUm: e.OptSmall("--roundness", m.Roundness), Stations: e.Stations("--diameters", m.Diameters), FoundStations: e.Stations("--found-diameters", m.FoundDiameters),
		RoughnessUm: m.Roughness.Value, GrooveWornUm: e.OptSmall("--groove-worn", m.GrooveWorn), TemperatureAboveShopK: m.TemperatureAboveK.Value,
		Grinder: kit.OptText(m.Grinder), Confirm: reason, Confirmed: confirmed, Note: kit.OptText(m.Note),
	}
	if len(tests) > 0 {
		in.Tests = &tests
	}
	if err := e.Err(); err != nil {
		return in, err
	}
	in.At, err = r.Moment(f)
	return in, err
}
