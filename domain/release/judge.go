package release

import (
	"fmt"
	"math"
	"slices"

	"barrelbook/domain/chock"
	"barrelbook/domain/contour"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// stage judges where the roll is in its round, and says whether that ends it.
func (v *Verdict) stage(subject Subject) (done bool) {
	s, p := subject.State, subject.Practice
	number := s.Roll.Number
	switch s.Stage {
	case roll.StageScrapped:
		v.no(fmt.Sprintf("it was scrapped on %s: %s", moment(s.ScrappedAt), s.ScrapWhy), "")
		return true
	case roll.StageMounted:
		v.say("it is in "+s.Stand, "")
	case roll.StageNew:
		v.no("it is new and has not been ground to profile", "grind it", next.RecordRegrind(number))
	case roll.StageWorn:
		if allowed := int(p.Number(practice.CampaignsBetweenGrind)); s.CampaignsSinceGrind >= allowed {
			v.no(fmt.Sprintf("it has not been ground since it came out on %s", moment(s.WithdrawnAt)), "grind it; the advice says what to take off", next.AdviseRegrind(number))
		}
	}
	if s.HeldFor != "" {
		v.no("it is held: "+s.HeldFor, "release it when the cause is settled", next.ReleaseRoll(number))
	}
	limit, name := s.ScrapLimit()
	if s.Diameter < limit {
		v.no(fmt.Sprintf("its diameter %s is below the scrap limit %s (%s)", s.Diameter, limit, name), "scrap it", next.ScrapRoll(number))
	}
	if ready := s.WithdrawnAt.Add(p.Hours(practice.CoolingH)); !s.WithdrawnAt.IsZero() && s.Stage != roll.StageMounted && subject.Now.Before(ready) {
		v.CoolAt = ready
		v.no(fmt.Sprintf("it came out on %s and is still warm by the practice", moment(s.WithdrawnAt)), "it may go in from "+moment(ready))
	}
	for _, past := range subject.Past {
		v.no(past, "take it out", next.RecordChange(s.Stand))
	}
	return false
}

// found judges what tests found and what mishaps left owed. A failed test is
// named with the depth that is left; a depth over what is allowed is found wrong
// even where the test was called passed.
func (v *Verdict) found(subject Subject) {
	s := subject.State
	allowed := subject.Practice.Value(practice.MaxCrackUM)
	for _, f := range s.Failed {
		reason := fmt.Sprintf("the %s test failed on %s", f.Kind.Words(), moment(f.At))
		if i := slices.IndexFunc(s.Defects, func(d roll.Defect) bool { return d.Kind == f.Kind }); i >= 0 {
			reason += fmt.Sprintf(": %.0f µm deep on radius below the surface as it is now", s.Defects[i].DepthUM)
		}
		v.no(reason, "grind the cause right out and test again; the advice says what to take off", next.AdviseRegrind(s.Roll.Number))
	}
	for _, d := range s.Defects {
		failed := slices.ContainsFunc(s.Failed, func(f roll.Failure) bool { return f.Kind == d.Kind })
		if !failed && d.DepthUM > allowed.Number {
			v.no(fmt.Sprintf("the %s test of %s found a defect of which %.0f µm on radius is left; %g µm is allowed (%s)", d.Kind.Words(), moment(d.At), d.DepthUM, allowed.Number, allowed.Source),
				"grind it right out and test again; the advice says what to take off", next.AdviseRegrind(s.Roll.Number))
		}
	}
	for _, o := range s.Owed {
		switch {
		case !o.Due:
		case o.Unknown:
			// An unknown result is no finding, and no concession covers it.
			v.Firm = true
			v.missing("test "+string(o.Kind), o.Sentence(), recordTest(o.Kind), next.RecordTest(s.Roll.Number, string(o.Kind)))
		default:
			v.no(o.Sentence(), recordTest(o.Kind), next.RecordTest(s.Roll.Number, string(o.Kind)))
		}
	}
}

func recordTest(kind roll.TestKind) string { return "record the " + kind.Words() + " test" }

// limits holds what the last grind left against the practice.
func (v *Verdict) limits(subject Subject) {
	s, p := subject.State, subject.Practice
	over := func(what string, figure *float64, k practice.Key) {
		if limit := p.Value(k); figure != nil && limit.Set && math.Abs(*figure) > limit.Number {
			v.no(fmt.Sprintf("%s %.4g µm is over its limit %g µm (%s)", what, math.Abs(*figure), limit.Number, limit.Source), "grind it again")
		}
	}
	m := s.Measured
	over("taper", m.TaperUM, practice.TaperToleranceUM)
	over("run-out", m.RunoutUM, practice.RunoutToleranceUM)
	over("roundness", m.RoundnessUM, practice.RoundnessToleranceUM)
	if m.CrownUM != nil {
		off := *m.CrownUM - p.Number(practice.CrownUM)
		over("crown error", &off, practice.CrownToleranceUM)
	}
	v.contour(s, p)
	if low := p.Value(practice.RoughnessMinUM); low.Set && s.RoughnessUM > 0 && s.RoughnessUM < low.Number {
		v.no(fmt.Sprintf("roughness Ra %g µm is under its limit %g µm (%s)", s.RoughnessUM, low.Number, low.Source), "dress it again")
	}
	if high := p.Value(practice.RoughnessMaxUM); high.Set && s.RoughnessUM > high.Number {
		v.no(fmt.Sprintf("roughness Ra %g µm is over its limit %g µm (%s)", s.RoughnessUM, high.Number, high.Source), "dress it again")
	}
	hardness := s.Hardness
	for _, r := range s.HardnessAlong {
		hardness = min(hardness, r.Value)
	}
	if low := p.Value(practice.HardnessMinShoreC); low.Set && hardness > 0 && hardness < low.Number {
		v.no(fmt.Sprintf("hardness %.4g Shore C is under its limit %g (%s)", hardness, low.Number, low.Source), "")
	}
}

// contour holds a measured contour against its target, where the practice has a
// tolerance.
func (v *Verdict) contour(s roll.State, p practice.InForce) {
	tolerance := p.Value(practice.ContourToleranceUM)
	if !tolerance.Set || !s.Measured.Has(roll.MeasureStations) {
		return
	}
	length := s.Roll.BarrelLength.MM()
	readings := make([]contour.Reading, len(s.Measured.Stations))
	for i, at := range s.Measured.Stations {
		readings[i] = contour.Reading{XMM: at.AtMM - length/2, DiameterUM: float64(at.Diameter)}
	}
	target := contour.Of(p, s.Set != "" && !s.Top)
	if d := contour.Compare(target, readings, length); math.Abs(d.GreatestUM) > tolerance.Number {
		v.no(fmt.Sprintf("the contour is %.1f µm off its target (%s) at %.0f mm from the drive side; its tolerance is %g µm (%s)", d.GreatestUM, target.Name(), d.AtMM+length/2, tolerance.Number, tolerance.Source), "grind it again")
	}
}

func (v *Verdict) pair(subject Subject) {
	s, partner, p := subject.State, subject.Partner, subject.Practice
	if s.Set == "" || partner == nil {
		if s.Stage == roll.StageGround {
			v.say("it has no partner yet", "build a set", next.BuildSet())
		}
		return
	}
	tolerance := p.Micrometres(practice.PairToleranceUM)
	if partner.CampaignsSinceGrind >= int(p.Number(practice.CampaignsBetweenGrind)) && s.CampaignsSinceGrind == 0 && s.Stage != roll.StageMounted {
		v.no(fmt.Sprintf("its partner %s has not been ground since it came out on %s", partner.Roll.Number, moment(partner.WithdrawnAt)),
			fmt.Sprintf("grind %s to within %s of %s", partner.Roll.Number, tolerance, s.Diameter))
		return
	}
	if m := roll.Mismatch(s, *partner); m > tolerance {
		v.no(fmt.Sprintf("it differs from its partner %s by %s; the tolerance is %s", partner.Roll.Number, m, tolerance),
			"grind the larger one, or break set "+s.Set+" and pair anew")
	}
}

// asked holds what is there against what the practice asks. A roll that still
// has to be ground is not asked for what comes after the grind.
func (v *Verdict) asked(subject Subject) {
	s := subject.State
	if s.Stage == roll.StageNew || s.Stage == roll.StageWorn && v.Word == NotFit {
		return
	}
	a := AskedOf(subject.Practice, subject.Case)
	for _, t := range a.Tests {
		v.test(s, t)
	}
	since := "the grind of " + moment(s.GroundAt)
	if s.LastRegrind == nil {
		since = "its receipt"
	}
	for _, m := range a.Measures {
		if !s.Measured.Has(m) {
			reason, do, step := fmt.Sprintf("not checked: %s since %s", m.Words(), since), "measure it and add it to the record", next.CorrectRegrind(s.Roll.Number)
			switch {
			case s.LastRegrind == nil:
				do, step = "measure it and add it to the receipt", next.CorrectReceipt(s.Roll.Number)
			case m == roll.MeasureCrown || m == roll.MeasureRoughness:
				reason += "; the figure shown is as ground before"
			}
			v.missing("measure "+string(m), reason, do, step)
		}
	}
	if a.Certificate && s.Campaigns == 0 {
		v.certificate(s, a)
	}
}

// test holds the last test of a kind against how often it is asked.
func (v *Verdict) test(s roll.State, t AskedTest) {
	every := t.Every
	if t.Below > 0 && s.Diameter < t.Below {
		every = 1
	}
	if every == 0 && (s.Campaigns > 0 || !t.AtReceipt) {
		return
	}
	if slices.ContainsFunc(s.Owed, func(o roll.Owed) bool { return o.Kind == t.Kind && o.Due }) ||
		slices.ContainsFunc(s.Failed, func(f roll.Failure) bool { return f.Kind == t.Kind }) {
		return // said already
	}
	do, step := recordTest(t.Kind), next.RecordTest(s.Roll.Number, string(t.Kind))
	last, ever := s.Last(t.Kind)
	switch since := s.Regrinds - last.Regrinds; {
	case !ever:
		v.missing("test "+string(t.Kind), fmt.Sprintf("not checked: the %s test is asked (%s), and there is none in the book", t.Kind.Words(), t.Source), do, step)
	case last.Outcome == roll.Unknown:
		v.Firm = true
		v.missing("test "+string(t.Kind), fmt.Sprintf("the %s test of %s has no known result", t.Kind.Words(), moment(last.At)), do, step)
	case every == 0:
	case since >= every && every == 1:
		v.missing("test "+string(t.Kind), fmt.Sprintf("not checked since the grind of %s: the %s test is asked after each grind (%s); the last was on %s", moment(s.GroundAt), t.Kind.Words(), t.Source, moment(last.At)), do, step)
	case since >= every:
		v.missing("test "+string(t.Kind), fmt.Sprintf("overdue: the %s test is asked every %d grinds (%s); the last was on %s, %d grinds ago", t.Kind.Words(), every, t.Source, moment(last.At), since), do, step)
	}
}

// leastPositions are the fewest places along the barrel that make a
// certificate's hardness one by position: common practice, no source.
const leastPositions = 3

// certificate asks a new roll for its papers.
func (v *Verdict) certificate(s roll.State, a Asked) {
	do, step := "add it to the receipt", next.CorrectReceipt(s.Roll.Number)
	if s.Roll.Certificate == "" {
		v.missing("certificate", "not checked: there is no certificate of this new roll", do, step)
	}
	if len(s.NewHardness) < leastPositions {
		v.missing("certificate hardness", fmt.Sprintf("not checked: hardness by position of this new roll: %d of %d places along the barrel", len(s.NewHardness), leastPositions),
			"record it with its places along the barrel", next.RecordTest(s.Roll.Number, string(roll.HardnessTest)))
	}
	if a.Shell && s.Roll.Scrap.ShellDepth == 0 {
		v.missing("certificate shell depth", "not checked: the shell depth of this new composite roll is not known", do, step)
	}
}

// chocks holds the bearings on the roll against their inspections.
func (v *Verdict) chocks(list []chock.Standing) {
	for _, c := range list {
		switch step := next.InspectChock(c.Chock); {
		case c.Failed:
			v.no(c.Why, "put it right and inspect it again", step)
		case c.Owed:
			v.missing("chock "+c.Chock, c.Why, "inspect it", step)
		}
	}
}
