package rest

import (
	"fmt"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

func receiptFromWire(w oapi.RollReceipt) (roll.Received, error) {
	var l lengths
	diameter := l.mm("diameter_mm", w.DiameterMm)
	b := roll.Received{
		Roll: roll.Roll{
			Number: w.Number, Role: mill.Role(w.Role), Grade: w.Grade, Supplier: given(w.Supplier), Certificate: given(w.Certificate),
			NewDiameter: originalDiameter(&l, w, diameter), BarrelLength: l.mm("barrel_length_mm", w.BarrelLengthMm),
			BearingSpan: l.mmOr("bearing_span_mm", w.BearingSpanMm), NeckDiameter: l.mmOr("neck_diameter_mm", w.NeckDiameterMm),
			NeckRadius: l.mmOr("neck_fillet_radius_mm", w.NeckFilletRadiusMm),
			Scrap:      scrapFromWire(&l, "", w.Scrap), Price: given(w.Price),
		},
		Mill: w.Mill, Stands: given(w.Stands), Diameter: diameter, CrownUM: given(w.CrownUm), Hardness: given(w.HardnessShoreC),
		Ground: given(w.Ground), Tests: testsFromWire(w.Tests), Confirmed: confirmedFromWire(w.Confirmed), Note: given(w.Note),
		Measures: roll.Measures{CrownUM: w.CrownUm, TaperUM: w.TaperUm, RunoutUM: w.RunoutUm, RoundnessUM: w.RoundnessUm, RoughnessUM: w.RoughnessUm, Stations: stationsFromWire(&l, "", "stations", w.Stations)},
	}
	b.Roll.Grooves = groovesFromWire(&l, "", w.Grooves)
	return b, l.err()
}

// originalDiameter is that of the receipt where none is told: the roll comes new.
func originalDiameter(l *lengths, w oapi.RollReceipt, received quantity.Micrometre) quantity.Micrometre {
	if w.NewDiameterMm == nil {
		return received
	}
	return l.mm("new_diameter_mm", *w.NewDiameterMm)
}

func groovesFromWire(l *lengths, prefix string, w *[]oapi.Groove) (grooves []roll.Groove) {
	for i, g := range given(w) {
		grooves = append(grooves, roll.Groove{Number: int(g.Number), Depth: l.mm(fmt.Sprintf("%sgrooves/%d/depth_mm", prefix, i), g.DepthMm), Title: given(g.Title)})
	}
	return grooves
}

// receiptChange puts what is given of a corrected receipt into one.
func receiptChange(w oapi.ReceiptCorrection) (func(*roll.Received), error) {
	var l lengths
	var changes []func(*roll.Received)
	change := func(given bool, f func(*roll.Received)) {
		if given {
			changes = append(changes, f)
		}
	}
	for _, field := range given(w.Clear) {
		change(clearOfReceipt[field] != nil, clearOfReceipt[field])
	}
	length := func(field string, mm *float64, f func(*roll.Received, quantity.Micrometre)) {
		if mm != nil {
			um := l.mm("receipt/"+field, *mm)
			changes = append(changes, func(b *roll.Received) { f(b, um) })
		}
	}
	length("diameter_mm", w.DiameterMm, func(b *roll.Received, um quantity.Micrometre) {
		if b.Roll.NewDiameter == b.Diameter { // it came new
			b.Roll.NewDiameter = um
		}
		b.Diameter = um
	})
	length("new_diameter_mm", w.NewDiameterMm, func(b *roll.Received, um quantity.Micrometre) { b.Roll.NewDiameter = um })
	length("barrel_length_mm", w.BarrelLengthMm, func(b *roll.Received, um quantity.Micrometre) { b.Roll.BarrelLength = um })
	length("bearing_span_mm", w.BearingSpanMm, func(b *roll.Received, um quantity.Micrometre) { b.Roll.BearingSpan = um })
	length("neck_diameter_mm", w.NeckDiameterMm, func(b *roll.Received, um quantity.Micrometre) { b.Roll.NeckDiameter = um })
	length("neck_fillet_radius_mm", w.NeckFilletRadiusMm, func(b *roll.Received, um quantity.Micrometre) { b.Roll.NeckRadius = um })
	if w.Scrap != nil {
		scrap := scrapFromWire(&l, "receipt/", *w.Scrap)
		changes = append(changes, func(b *roll.Received) { b.Roll.Scrap = scrap })
	}
	if w.Grooves != nil {
		grooves := groovesFromWire(&l, "receipt/", w.Grooves)
		changes = append(changes, func(b *roll.Received) { b.Roll.Grooves = grooves })
	}
	change(w.Role != nil, func(b *roll.Received) { b.Roll.Role = mill.Role(*w.Role) })
	change(w.Grade != nil, func(b *roll.Received) { b.Roll.Grade = *w.Grade })
	change(w.Mill != nil, func(b *roll.Received) { b.Mill = *w.Mill })
	change(w.Stands != nil, func(b *roll.Received) { b.Stands = *w.Stands })
	change(w.Supplier != nil, func(b *roll.Received) { b.Roll.Supplier = *w.Supplier })
	change(w.Certificate != nil, func(b *roll.Received) { b.Roll.Certificate = *w.Certificate })
	change(w.CrownUm != nil, func(b *roll.Received) { b.CrownUM, b.Measures.CrownUM = *w.CrownUm, w.CrownUm })
	change(w.TaperUm != nil, func(b *roll.Received) { b.Measures.TaperUM = w.TaperUm })
	change(w.RunoutUm != nil, func(b *roll.Received) { b.Measures.RunoutUM = w.RunoutUm })
	change(w.RoundnessUm != nil, func(b *roll.Received) { b.Measures.RoundnessUM = w.RoundnessUm })
	change(w.RoughnessUm != nil, func(b *roll.Received) { b.Measures.RoughnessUM = w.RoughnessUm })
	if w.Stations != nil {
		stations := stationsFromWire(&l, "receipt/", "stations", w.Stations)
		changes = append(changes, func(b *roll.Received) { b.Measures.Stations = stations })
	}
	change(w.Tests != nil, func(b *roll.Received) { b.Tests = testsFromWire(w.Tests) })
	change(w.HardnessShoreC != nil, func(b *roll.Received) { b.Hardness = *w.HardnessShoreC })
	change(w.Ground != nil, func(b *roll.Received) { b.Ground = *w.Ground })
	change(w.Price != nil, func(b *roll.Received) { b.Roll.Price = *w.Price })
	change(w.Note != nil, func(b *roll.Received) { b.Note = *w.Note })
	return func(b *roll.Received) {
		for _, f := range changes {
			f(b)
		}
	}, l.err()
}

func groovesToWire(grooves []roll.Groove) *[]oapi.Groove {
	return some(each(grooves, func(g roll.Groove) oapi.Groove {
		return oapi.Groove{Number: int64(g.Number), DepthMm: g.Depth.MM(), Title: optional(g.Title)}
	}))
}

func grooveStateToWire(g gather.GrooveState) oapi.GrooveState {
	return oapi.GrooveState{Number: int64(g.Number), DepthMm: g.Depth.MM(), Title: optional(g.Title), TonnageT: g.Borne.Tonnes, WornUm: g.Borne.WornUM,
		LimitT: optional(g.Limit.Number), Spare: g.Borne.Tonnes == 0}
}

func scrapFromWire(l *lengths, prefix string, w oapi.ScrapLimits) roll.ScrapLimits {
	return roll.ScrapLimits{
		Nominal: l.mm(prefix+"scrap/nominal_mm", w.NominalMm), ShellDepth: l.mmOr(prefix+"scrap/shell_depth_mm", w.ShellDepthMm),
		HardenedDepth: l.mmOr(prefix+"scrap/hardened_depth_mm", w.HardenedDepthMm), StackHeight: l.mmOr(prefix+"scrap/stack_height_mm", w.StackHeightMm),
		NeckFillet: l.mmOr(prefix+"scrap/neck_fillet_mm", w.NeckFilletMm), DriveAngle: l.mmOr(prefix+"scrap/drive_angle_mm", w.DriveAngleMm),
		SpeedRange: l.mmOr(prefix+"scrap/speed_range_mm", w.SpeedRangeMm),
	}
}

func scrapToWire(s roll.ScrapLimits) oapi.ScrapLimits {
	return oapi.ScrapLimits{NominalMm: s.Nominal.MM(), ShellDepthMm: mmOrNone(s.ShellDepth), HardenedDepthMm: mmOrNone(s.HardenedDepth), StackHeightMm: mmOrNone(s.StackHeight),
		NeckFilletMm: mmOrNone(s.NeckFillet), DriveAngleMm: mmOrNone(s.DriveAngle), SpeedRangeMm: mmOrNone(s.SpeedRange)}
}

func rollToWire(v record.RollView) oapi.Roll {
	r := v.State.Roll
	w := oapi.Roll{
		Number: r.Number, Role: oapi.Role(r.Role), Grade: r.Grade, Mill: v.State.Mill, Stands: list(v.State.Stands), Supplier: optional(r.Supplier), Certificate: optional(r.Certificate),
		NewDiameterMm: r.NewDiameter.MM(), BarrelLengthMm: r.BarrelLength.MM(), BearingSpanMm: mmOrNone(r.BearingSpan), NeckDiameterMm: mmOrNone(r.NeckDiameter), NeckFilletRadiusMm: mmOrNone(r.NeckRadius),
		Scrap: scrapToWire(r.Scrap), Price: optional(r.Price), Grooves: groovesToWire(r.Grooves), State: stateToWire(v.State, v.Fitness), Totals: usageToWire(v.Totals, r.BarrelLength),
		Version: v.Version(), Cautions: some(v.Cautions),
	}
	if r.Grooved() {
		w.State.Grooves, w.State.RedressedAt = some(each(v.Grooves, grooveStateToWire)), when(v.State.GroundAt)
	}
	w.Damage, w.SinceGrind = damageToWire(v.Damage), borneToWire(v.Borne, r.BarrelLength)
	w.State.Contour = contourToWire(v.Contour, r.BarrelLength)
	if v.Mounting != nil {
		m := mountingToWire(*v.Mounting, r.BarrelLength)
		w.Mounting = &m
	}
	return w
}

func damageToWire(d *gather.RollDamage) *oapi.RollDamage {
	if d == nil {
		return nil
	}
	w := &oapi.RollDamage{Worst: d.Worst, DepthMm: d.DepthMM, XMm: d.XMM, Limit: d.Limit}
	w.Along.XMm, w.Along.Damage = d.AlongXMM, d.Along
	return w
}

func stateToWire(s roll.State, f release.Verdict) oapi.RollState {
	limit, name := s.ScrapLimit()
	crown := s.CrownUM
	return oapi.RollState{
		Stage: oapi.Stage(s.Stage), Held: optional(s.HeldFor), DiameterMm: s.Diameter.MM(), ScrapMm: limit.MM(), ScrapLimit: name, StockLeftMm: s.StockLeft().MM(),
		CrownUm: &crown, RoughnessUm: optional(s.RoughnessUM), HardnessShoreC: optional(s.Hardness),
		ReceivedAt: when(s.ReceivedAt), ScrappedAt: when(s.ScrappedAt), ScrappedFor: word[oapi.RollStateScrappedFor](s.ScrapWhy), GroundAt: when(s.GroundAt), WithdrawnAt: when(s.WithdrawnAt), MountedAt: when(s.MountedAt), CoolAt: when(f.CoolAt),
		Set: optional(s.Set), Partner: optional(s.Partner), Stand: optional(s.Stand), Position: word[oapi.Position](s.Position), Owed: some(each(s.Owed, owedToWire)),
		RegrindCount: int64(s.Regrinds), CampaignCount: int64(s.Campaigns), StockRemovedMm: mmOrNone(s.StockRemoved), IncidentStockRemovedMm: mmOrNone(s.IncidentStock),
		Fit: fitnessToWire(f), LastEntry: optional(s.Entries),
		AsGroundBefore: some(asGroundBefore(s)), Tested: some(testedToWire(s)), Defects: some(each(s.Defects, func(d roll.Defect) oapi.Defect {
			return oapi.Defect{Test: oapi.TestKind(d.Kind), DepthUm: d.DepthUM, At: d.At.UTC()}
		})), FireCracks: fireCracksToWire(s.FireCracks), LastStocksMm: some(each(s.Taken, func(um quantity.Micrometre) float64 { return um.MM() })),
	}
}

func owedToWire(o roll.Owed) oapi.OwedTest {
	return oapi.OwedTest{Test: oapi.TestKind(o.Kind), Due: o.Due, Why: o.Why, CampaignsToCome: optional(int64(o.CampaignsToCome)), ResultUnknown: optional(o.Unknown)}
}

// mountingToWire shows one stay in a stand; barrel is 0 where the roll's
// length is not at hand.
func mountingToWire(m port.Stay, barrel quantity.Micrometre) oapi.Mounting {
	return oapi.Mounting{Stand: m.Stand, Position: oapi.Position(m.Position), Set: optional(m.Set), MountedAt: m.MountedAt.UTC(), WithdrawnAt: when(m.WithdrawnAt),
		DiameterMm: mmOrNone(m.Diameter), Usage: usageToWire(m.Usage, barrel)}
}
