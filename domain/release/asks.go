package release

import (
	"slices"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// Case is what common practice goes by where the mill's own practice is silent.
type Case struct {
	Kind      mill.Kind
	Role      mill.Role
	Family    string // of the grade, in the words of the contract
	Grooved   bool
	Composite bool // a shell cast or welded on a core
}

// compositeFamilies are cast as a shell on a core by common practice, no source.
var compositeFamilies = []string{"high_chromium_iron", "high_chromium_steel", "high_speed_steel", "semi_high_speed_steel", "indefinite_chill"}

// CaseOf is the case of a roll in a mill of a kind, of a grade of a family. A
// roll whose shell depth is known has a shell.
func CaseOf(kind mill.Kind, r roll.Roll, family string) Case {
	return Case{Kind: kind, Role: r.Role, Family: family, Grooved: r.Grooved(), Composite: r.Scrap.ShellDepth > 0 || slices.Contains(compositeFamilies, family)}
}

// AskedTest is a test asked of a roll. Every counts grinds, 0 for none.
type AskedTest struct {
	Kind      roll.TestKind
	Every     int
	Below     quantity.Micrometre
	AtReceipt bool
	Source    string
}

// Asked is all that is asked of a roll before it goes out.
type Asked struct {
	Tests       []AskedTest
	Measures    []roll.Measure
	Certificate bool
	Shell       bool // with the certificate: the shell depth
}

// AskedOf is what the practice asks of a roll, with common practice (handbook of
// this program, no source) where it is silent.
func AskedOf(p practice.InForce, c Case) Asked {
	var a Asked
	for _, name := range practice.TestNames {
		kind := roll.TestKind(name)
		every, source := asked(p, practice.EveryGrinds(name), c.every(kind))
		receipt, from := asked(p, practice.AtReceipt(name), oneIf(c.atReceipt(kind)))
		below := p.Millimetres(practice.BelowMM(name))
		if every == 0 && receipt == 0 && below == 0 {
			continue
		}
		if every == 0 && receipt > 0 {
			source = from
		}
		a.Tests = append(a.Tests, AskedTest{Kind: kind, Every: every, Below: below, AtReceipt: receipt > 0, Source: source})
	}
	for _, m := range roll.AllMeasures() {
		if n, _ := asked(p, practice.AskMeasure(string(m)), oneIf(c.measures(m))); n > 0 {
			a.Measures = append(a.Measures, m)
		}
	}
	n, _ := asked(p, practice.AskCertificate, 1)
	a.Certificate, a.Shell = n > 0, n > 0 && c.Composite
	return a
}

// asked is a number of the practice, or of common practice.
func asked(p practice.InForce, k practice.Key, common int) (int, string) {
	if v := p.Value(k); v.Set {
		return int(v.Number), v.Source
	}
	return common, "common practice"
}

func oneIf(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// every is how many grinds a test is good for by common practice.
func (c Case) every(kind roll.TestKind) int {
	backup := c.Role == mill.Backup
	switch {
	case kind == roll.Visual:
		return 1
	case kind == roll.EddyCurrent && !backup && (c.Kind == mill.HotStrip || c.Kind.Cold()):
		return 1
	case kind == roll.Ultrasonic && backup:
		return 1
	case kind == roll.Ultrasonic && c.Composite:
		return 10
	case kind == roll.HardnessTest && backup:
		return 1
	case kind == roll.HardnessTest:
		return 5
	}
	return 0
}

// atReceipt says which tests release a new roll by common practice.
func (c Case) atReceipt(kind roll.TestKind) bool {
	switch kind {
	case roll.Visual, roll.HardnessTest:
		return true
	case roll.Ultrasonic:
		return c.Role == mill.Backup || c.Composite
	}
	return false
}

// measures says what is measured after a grind by common practice: all on the
// barrels of flat mills, the run-out alone where grooves or blooms are rolled,
// as crown and roughness mean nothing there.
func (c Case) measures(m roll.Measure) bool {
	if c.Grooved || c.Kind == mill.Cogging || c.Kind == mill.Billet || c.Kind == mill.Bar {
		return m == roll.MeasureRunout
	}
	return true
}

// AfterIncident is what the practice asks after a mishap, nil for common
// practice alone.
func AfterIncident(p practice.InForce, what roll.What) []roll.AskedTest {
	name := string(what)
	if what == roll.Pinch {
		name = string(roll.Cobble)
	}
	if !slices.Contains(practice.IncidentNames, name) {
		return nil
	}
	asks, own := roll.AskedAfter(what), false
	for _, test := range practice.AfterIncidentNames {
		v := p.Value(practice.AfterIncident(test, name))
		if !v.Set {
			continue
		}
		own = true
		kind := roll.TestKind(test)
		asks = slices.DeleteFunc(asks, func(a roll.AskedTest) bool { return a.Kind == kind })
		if v.Number >= 1 {
			asks = append(asks, roll.AskedTest{Kind: kind, Campaigns: int(v.Number) - 1})
		}
	}
	if !own {
		return nil
	}
	return asks
}
