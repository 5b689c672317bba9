package practice

import "strings"

// What a practice asks of a roll before it is released. A setting that no
// practice gives falls back on common practice for the mill, role and grade of
// the roll (package release); 0 asks nothing.

// TestNames are the tests in the words of the book, and IncidentNames the
// mishaps after which a practice may ask for some of them.
var (
	TestNames     = []string{"visual", "eddy_current", "ultrasonic", "hardness", "magnetic_particle", "dye_penetrant"}
	IncidentNames = []string{"cobble", "spall", "fire_crack", "bearing"}
	// AfterIncidentNames are the tests that a mishap may ask for.
	AfterIncidentNames = []string{"visual", "eddy_current", "ultrasonic"}
	MeasureNames       = []string{"stations", "crown", "roughness", "taper", "roundness", "runout"}
)

// EveryGrinds asks a test after each so many grinds, 1 for each one.
func EveryGrinds(test string) Key { return Key(test + "_every_grinds") }

// BelowMM asks a test after each grind that leaves the roll below a diameter.
func BelowMM(test string) Key { return Key(test + "_below_mm") }

// AtReceipt asks a test of a roll before it first goes in.
func AtReceipt(test string) Key { return Key(test + "_at_receipt") }

// AfterIncident asks a test after a mishap: 1 then, n then and after each of
// the next n-1 campaigns.
func AfterIncident(test, incident string) Key { return Key(test + "_after_" + incident) }

// AskMeasure asks a measure after each grind.
func AskMeasure(measure string) Key { return Key("ask_" + measure) }

// AskCertificate asks a certificate of a roll before it first goes in: its
// name, hardness by position, and the shell depth of a composite roll.
const AskCertificate Key = "ask_certificate"

// Asks lists every setting that asks something of a roll at its receipt or after
// a grind.
func Asks() []Key {
	keys := []Key{AskCertificate}
	for _, test := range TestNames {
		keys = append(keys, EveryGrinds(test), BelowMM(test), AtReceipt(test))
	}
	for _, measure := range MeasureNames {
		keys = append(keys, AskMeasure(measure))
	}
	return keys
}

func init() {
	const byCase = "common practice for mill, role and grade unless given"
	plain := func(s string) string { return strings.ReplaceAll(s, "_", " ") }
	settings[AskCertificate] = Setting{0, 1, 0, 0, true, "1 to ask for the certificate of a new roll before it first goes in, 0 not to. " + capital(byCase)}
	for _, test := range TestNames {
		settings[EveryGrinds(test)] = Setting{0, 1000, 0, 0, true, "grinds after which the " + plain(test) + " test is asked again, 1 for each one, 0 for never. " + capital(byCase)}
		settings[BelowMM(test)] = Setting{0, 5000, 0, 0, true, "diameter below which the " + plain(test) + " test is asked after each grind, mm. Not asked so unless given"}
		settings[AtReceipt(test)] = Setting{0, 1, 0, 0, true, "1 to ask for the " + plain(test) + " test of a roll before it first goes in, 0 not to. " + capital(byCase)}
	}
	for _, test := range AfterIncidentNames {
		for _, incident := range IncidentNames {
			after := plain(incident)
			if incident == "bearing" {
				after = "bearing failure"
			}
			if incident == "cobble" {
				after = "cobble or a pinch"
			}
			settings[AfterIncident(test, incident)] = Setting{0, 20, 0, 0, true, "times the " + plain(test) + " test is asked after a " + after + ": then, and after each of the next campaigns; 0 for never. Common practice unless given"}
		}
	}
	for _, measure := range MeasureNames {
		settings[AskMeasure(measure)] = Setting{0, 1, 0, 0, true, "1 to ask for " + measureWords[measure] + " after each grind, 0 not to. " + capital(byCase)}
	}
}

var measureWords = map[string]string{"stations": "the diameter at three stations or more", "crown": "the crown", "roughness": "the roughness", "taper": "the taper",
	"roundness": "the roundness", "runout": "the run-out"}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
