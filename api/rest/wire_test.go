package rest

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/app/report"
	"barrelbook/api/oapi"
	"barrelbook/domain/chock"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/purchase"
	"barrelbook/domain/reading"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
	"barrelbook/domain/stockplan"
)

// mappings are all functions between the wire and the inside. What each leaves
// out stands here, with the reason, and nowhere else.
func mappings() []*mapping {
	return slices.Concat(ofTheWorks(), ofRolls(), ofEntries(), ofTheShop(), ofProgrammes(), ofReports(), ofEvents())
}

// A link is the contract's, and is there for steps that name an operation of it.
var links = []string{"Href", "Method"}

// A crack that is allowed is of the practice then in force.
const allowedInForce = "Tests.AllowedUM"

// verdictUnshown is of a verdict what only the next decision needs.
var verdictUnshown = []string{"Firm", "MissingReasons", "Concessions.Entry"}

// stayUnshown is what a stay does not say where it is shown as one of its roll.
var stayUnshown = []string{"ID", "Roll"}

func ofTheWorks() []*mapping {
	return []*mapping{
		carried("millFromWire", millFromWire),
		carried("millToWire", millToWire),
		carried("gradeFromWire", gradeFromWire),
		carried("gradeToWire", gradeToWire),
		// The version of a stand and of a practice comes in If-Match.
		tried("standFromWire", standFromWire).word("Orientation", "vertical", "horizontal").notRead("Version").notSet("Version"),
		carried("standToWire", standToWire),
		// A place that is taken is shown as its stay says; a stay there runs on.
		carried("standViewToWire", standViewToWire, func(v *plan.StandView) { v.Load.Gap = nil }).notRead("Load.Gap").notSet("Load.Gap").notRead("Positions.Position", "Positions.Mounting.ID", "Positions.Mounting.Stand", "Positions.Mounting.WithdrawnAt"),
		tried("practiceFromWire", practiceFromWire).notRead("Version").notSet("Version"),
		tried("practiceToWire", practiceToWire, func(p *practice.Practice) {
			p.Values = map[practice.Key]float64{}
			for i, s := range practice.Settings() {
				p.Values[s.Key] = float64(i + 1)
			}
		}),
		carried("signOffToWire", signOffToWire),
		carried("tokenFromWire", tokenFromWire),
		carried("tokenToWire", tokenToWire).notRead("Hash", "PreviousHash"), // of the secrets
	}
}

func ofRolls() []*mapping {
	return []*mapping{
		// The moment of a receipt is its entry's.
		tried("receiptFromWire", receiptFromWire).notRead("ReceivedAt").notSet(allowedInForce),
		tried("receiptChange", func(w oapi.ReceiptCorrection) (roll.Received, error) {
			var b roll.Received
			change, err := receiptChange(w)
			change(&b)
			return b, err
		}).notRead("ReceivedAt", "Clear").notSet(allowedInForce, "Roll.Number", "Confirmed"), // as of a regrind; a number is not changed, and it alone is asked about
		carried("rollToWire", rollToWire).word("Fitness.Word", release.Fit, release.NotReleased).notRead(under("Fitness", verdictUnshown...)...).
			// Of a stay, its roll is the one shown; of a limit, its figure.
			notRead(under("Mounting", stayUnshown...)...).notRead("Grooves.Limit.Set", "Grooves.Limit.Source", "Damage.Source").
			// Bookkeeping, for the next entry and for refusals.
			notRead("Hash", "State.Marks", "State.LastAt", "State.Top", "State.CampaignsSinceGrind", "State.Owed.Entry", "State.Defects.Entry", "State.Tested.Entry", "State.Tested.Campaigns", "State.LastRegrind").
			// Said in words by the fitness.
			notRead("State.Failed", "State.TaperUM", "State.RunoutUM", "State.Concession").
			// To come.
			notRead("State.Measured", "State.HardnessAlong", "State.NewHardness").
			notSet(under("State.Fit.Steps", links...)...).notSet("State.Grooves.Spare", "State.AsGroundBefore"), // a groove that bore nothing; what was not measured since
		tried("regrindChange", func(w oapi.RegrindCorrection) (in record.RegrindInput, err error) {
			change, err := regrindChange(w)
			change(&in)
			return in, err
		}).notRead("Clear").notSet(allowedInForce), // what it names is made empty: TestClearing
		tried("regrindFromWire", regrindFromWire).
			notSet(allowedInForce),
		carried("regrindAnswerToWire", regrindAnswerToWire).word("Fitness.Word", release.Fit, release.NotReleased).notRead(under("Fitness", verdictUnshown...)...).notRead("Fitness.CoolAt").notRead(under("Campaign", stayUnshown...)...).notRead("Owed.Entry").
			notSet("Campaign.Usage.WearProfile").notSet(under("Fit.Steps", links...)...).notSet(under("Steps", links...)...),
		tried("pastStayFromWire", pastStayFromWire).notSet("Regrind." + allowedInForce),
		carried("pastStaysAnswerToWire", pastStaysAnswerToWire),
		tried("adviceFromWire", adviceFromWire),
		carried("placeToWire", placeToWire).word("Course", reading.Grown, reading.Gone).notRead("Looks.Indication"), // that of the place
		carried("rollMapToWire", rollMapToWire).word("Places.Course", reading.Grown, reading.Gone).notRead("Places.Looks.Indication"),
		carried("adviceToWire", adviceToWire).notRead("Stays", "WearUM"), // shown as a part of the stock
	}
}

func ofEntries() []*mapping {
	reason := func(w oapi.ReasonInput) record.Happening { return reasonedFromWire(w, roll.Held{}) }
	// What changes a receipt or a regrind is a function: what it makes of one is compared.
	type done struct {
		record.Correction
		Received roll.Received
		Reground record.RegrindInput
	}
	applied := func(w oapi.CorrectionInput) (d done, err error) {
		if d.Correction, err = correctionFromWire(w); err == nil {
			d.Correction.Receipt(&d.Received)
			d.Correction.Regrind(&d.Reground)
			d.Correction.Receipt, d.Correction.Regrind = nil, nil
		}
		return d, err
	}
	list := []*mapping{
		// The number of the roll is in the path.
		carried("inspectionFromWire", inspectionFromWire).notSet("Number", "Reason").notSet("Body." + allowedInForce),
		carried("reasonedFromWire", reason).notSet("Number"),
		carried("regradingFromWire", regradingFromWire).notSet("Number"),
		carried("scrappingFromWire", scrappingFromWire).notSet("Number"),
		tried("correctionFromWire", applied).notRead("Receipt.Clear", "Regrind.Clear"). // what they name is made empty: TestClearing
												notSet("Number", "Receipt", "Regrind", "Received.Roll.Number", "Received.Confirmed", "Received."+allowedInForce, "Reground."+allowedInForce),
		carried("chockEntryToWire", chockEntryToWire, func(e *chock.Entry) { e.Body = filled[chock.Inspected]() }),
	}
	for _, b := range bodies() {
		m := tried("entryToWire", entryToWire, func(e *record.BookEntry) { e.Body = b.body() }).notRead(under("Body", b.unread...)...)
		if m.name += " of " + string(b.body().Kind()); b.bare {
			m.notSet("Body")
		}
		list = append(list, m)
	}
	return list
}

// shownBody makes a filled body, anew each time, and says what its entry does
// not show of it and whether the entry says all without a body.
type shownBody struct {
	body   func() roll.Body
	unread []string
	bare   bool
}

func bodies() []shownBody {
	return []shownBody{
		{body: body[roll.Received], unread: []string{"Measures.CrownUM", "Tests"}}, // new, it has the crown of its receipt
		{body: body[roll.Inspected], unread: []string{allowedInForce}},
		{body: body[roll.Reground], unread: []string{"MaxPlausible", allowedInForce}}, // in force when it was written
		{body: body[roll.Paired]},
		{body: body[roll.Unpaired]},
		{body: body[roll.Mounted]},
		{body: body[roll.Withdrawn]},
		{body: body[roll.PastStay]},
		{body: body[roll.Incident]},
		{body: body[roll.Held], bare: true},
		{body: body[roll.Released], bare: true},
		{body: body[roll.Conceded]},
		{body: body[roll.Regraded]},
		{body: body[roll.Scrapped]},
		{body: func() roll.Body {
			return roll.Corrected{Entry: 7, At: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), With: filled[roll.Scrapped]()}
		}},
	}
}

func body[B roll.Body]() roll.Body { return filled[B]() }

func ofTheShop() []*mapping {
	return []*mapping{
		carried("setFromWire", setFromWire),
		// Of both rolls, what makes them a set: their diameters and where they may go.
		carried("setToWire", setToWire).word("Fitness.Word", release.Fit, release.NotReleased).notRead(under("Fitness", verdictUnshown...)...).notRead("Fitness.CoolAt", "TopState", "BottomState").notSet(under("Fit.Steps", links...)...),
		carried("setForToWire", setForToWire).word("Fitness.Word", release.Fit, release.NotReleased).notRead(under("Fitness", verdictUnshown...)...).notRead("Fitness.CoolAt", "TopState", "BottomState").notSet("MayGoIn").notSet(under("Set.Fit.Steps", links...)...),
		carried("changeFromWire", changeFromWire).notRead("Empty"), // held against set_in before
		carried("changeToWire", changeToWire).notRead("In.ID", "In.Stand", "In.WithdrawnAt", "Out.ID", "Out.Stand", "Out.WithdrawnAt").
			notSet("In.Usage.WearProfile", "Out.Usage.WearProfile", "In.SinceGrind", "Out.SinceGrind"), // the length of the barrel is not at hand
		tried("orderFromWire", orderFromWire).notSet("Arrived", "ClosedAt", "ClosedWhy", "By"),    // as they come about
		carried("claimFromWire", claimFromWire).notSet("Supplier", "SettledAt", "Credited", "By"), // as they come about
		carried("claimToWire", claimToWire).word("Warranty", purchase.Covered, purchase.NotCovered),
		carried("warrantyFromWire", warrantyFromWire),
		carried("warrantyToWire", warrantyToWire),
		// Of a closed order nothing is to come.
		carried("orderToWire", orderToWire, func(v *record.OrderView) { v.NewDiameter = v.ScrapDiameter + 68_000 }).notSet("ToComeCount"),
		carried("incidentFromWire", incidentFromWire),
		carried("incidentToWire", incidentToWire).word("Before.Fitness.Word", release.Fit, release.NotReleased).word("After.Fitness.Word", release.Fit, release.NotReleased).
			notRead(under("Before.Fitness", verdictUnshown...)...).notRead(under("After.Fitness", verdictUnshown...)...).notRead("Before.Fitness.CoolAt", "After.Fitness.CoolAt", "Before.Owed.Entry", "After.Owed.Entry").
			notSet(under("Before.Fit.Steps", links...)...).notSet(under("After.Fit.Steps", links...)...),
		carried("chockFromWire", both2(chockFromWire)),
		carried("fittingFromWire", fittingFromWire),
		carried("chockInspectionFromWire", both2(chockInspectionFromWire)),
		carried("chockToWire", chockToWire).notRead("BearingSince", "Fits", "LastAt"). // its book shows them
												notRead("Inspection.Chock", "Inspection.Place", "Inspection.Failed", "Inspection.Overdue"), // shown as its place, its condition and by what is due
	}
}

func ofProgrammes() []*mapping {
	return []*mapping{
		// A block and a demand are of a programme, not of a piece that was rolled.
		carried("pieceFromWire", pieceFromWire).notSet("Block", "Demand"),
		carried("pieceToWire", pieceToWire).notRead("Block", "Demand"),
		carried("programmeFromWire", programmeFromWire).word("Pieces.Demand", mill.WarmUp, mill.Demanding).notSet("Pieces.RolledAt", "Pieces.Source"), // not rolled yet
		carried("campaignSummaryToWire", campaignSummaryToWire).notSet("Pieces"),
		carried("campaignToWire", campaignToWire).notRead("Pieces.RolledAt", "Pieces.Source", "Pieces.Mill"),
		carried("finishFromWire", finishFromWire).notSet("Campaign"), // of the path
		// What the model said before it was calibrated is kept for that alone.
		carried("finishToWire", finishToWire).notRead("Stands.Modelled"),
		carried("planFromWire", planFromWire),
		carried("planToWire", planToWire).notRead("Stops.Planned"), // shown by the name of the planned stop
	}
}

func ofReports() []*mapping {
	rates := func(m port.MillRates) oapi.LearnedRate { return learnedRateToWire(m, m.Cells[0], true) }
	return []*mapping{
		carried("rollForecastToWire", rollForecastToWire, func(f *plan.RollForecast) { f.Life.Beyond = false }).notSet("Remaining.MoreThanFiveYears").notRead("Change.Notes", "Life.Notes", "Life.SharedCV", "Delivery.Set", "Rate.Effect"), // the notes are gathered
		carried("learnedRateToWire", rates, func(m *port.MillRates) {
			m.Cells, m.Rolls[0].Cell, m.Rolls[1].Cell = m.Cells[:1], m.Cells[0].Cell, m.Cells[0].Cell
			m.Grades[0].Grade, m.Grades = m.Cells[0].Grade, m.Grades[:1]
		}).
			// Where the figures are counted from and what they fall back on. Effects are
			// those of Rolls.
			notRead("Grades.RateUMPerKM", "Grades.RateSD", "Grades.NoiseUM", "Grades.IncidentShare", "Grades.Cells", "Grades.Rolls", "Grades.Campaigns", "Grades.DiameterMM", "Grades.Force", "Grades.Freshness",
				"Defaults", "SetAside", "Effects", "Cells.IncidentShare", "Cells.DiameterMM", "Rolls.Incidents", "Rolls.DiameterMM", "Rolls.SharedSD"),
		// Of the cover, its months; the report of buying shows the rest.
		carried("stockGroupToWire", stockGroupToWire, func(g *report.StockGroup) {
			g.ByStage = map[roll.Stage]int{roll.StageNew: 1, roll.StageWorn: 2, roll.StageGround: 3, roll.StagePaired: 4, roll.StageMounted: 5}
		}).notSet("MoreThanFiveYears").notRead("Cover"),
		carried("consumptionRowToWire", consumptionRowToWire),
		carried("balanceToWire", balanceToWire),
		carried("buyingGroupToWire", buyingGroupToWire).notSet("MoreThanFiveYears").notRead("Orders"), // counted; listed on their own
		carried("scrapForecastToWire", scrapForecastToWire),
		carried("buyingOrderToWire", buyingOrderToWire),
		// Whether a rule is better follows from its figures.
		carried("scoreReportToWire", scoreReportToWire).word("Intervals.Kind", port.ForecastWear, port.ForecastScrap).notSet("Intervals.Rule.Loses", "Finish.Rule.Loses", "Parts.Rule.Loses"),
		carried("populationToWire", populationToWire, func(p *report.RollPopulation) {
			p.Failed = map[roll.ScrapWhy]int{roll.BySpall: 1, roll.ByCrack: 2, roll.ByNeck: 3}
		}).notRead("NoFit"), // told as a note
	}
}

func ofEvents() []*mapping {
	s := &Server{options: Options{EventSource: "/test"}}
	withEntry := func(d *port.EventData) {
		d.Entry = &roll.Entry{Roll: "R", Number: 3, At: time.Unix(1, 0), RecordedAt: time.Unix(2, 0), By: "b", Reason: "r", Body: roll.Scrapped{Why: roll.ByCrack}, Hash: "h"}
	}
	webhook := func(h port.Webhook) oapi.Webhook {
		return webhookToWire(h, port.EventPlace{Position: h.Place.Position + int64(len(h.Name))})
	}
	return []*mapping{
		tried("webhookFromWire", webhookFromWire, func(w *oapi.WebhookInput) { w.Types = &[]string{"entry", "set.built"} }),
		carried("webhookToWire", webhook).notRead("Secret", "Place.Position", "Place.At"),               // shown as how far it is behind
		carried("eventDataToWire", both2(eventDataToWire), withEntry).notSet("A.Entry.ReplacedBy", "B"), // an event of its own tells of it; no error
		carried("eventToWire", both2(s.eventToWire), func(e *port.Event) { withEntry(&e.EventData) }).notSet("A.Data.Entry.ReplacedBy", "B"),
	}
}

// under puts a path before each of several.
func under(path string, names ...string) []string {
	out := make([]string, len(names))
	for i, name := range names {
		out[i] = path + "." + name
	}
	return out
}

// both2 makes one value of two results.
func both2[W, A, B any](turn func(W) (A, B)) func(W) struct {
	A A
	B B
} {
	return func(w W) (out struct {
		A A
		B B
	}) {
		out.A, out.B = turn(w)
		return out
	}
}

// TestNothingIsLostOnTheWire changes every field of every mapping, in and out,
// one after the other, and wants it to arrive.
func TestNothingIsLostOnTheWire(t *testing.T) {
	for _, m := range mappings() {
		t.Run(m.name, func(t *testing.T) {
			for _, finding := range m.lost() {
				t.Error(finding)
			}
		})
	}
}

// TestACorrectionTakesWhatWasTaken: what can be written wrong can be put right.
func TestACorrectionTakesWhatWasTaken(t *testing.T) {
	for _, c := range []struct{ said, correction reflect.Type }{
		{reflect.TypeFor[oapi.RollReceipt](), reflect.TypeFor[oapi.ReceiptCorrection]()},
		{reflect.TypeFor[oapi.RegrindInput](), reflect.TypeFor[oapi.RegrindCorrection]()},
	} {
		for _, f := range reflect.VisibleFields(c.said) {
			if _, ok := c.correction.FieldByName(f.Name); !ok && f.Name != "Number" && (c.said != reflect.TypeFor[oapi.RollReceipt]() || f.Name != "Confirmed") { // a number is never used again, and it alone is asked about
				t.Errorf("%s takes %s and its correction does not", c.said.Name(), f.Name)
			}
		}
	}
}

// TestCoverPastTheReach: months are told up to five years, and beyond them that.
func TestCoverPastTheReach(t *testing.T) {
	for months, more := range map[float64]bool{12: false, 60: false, 61: true} {
		told, beyond := coverToWire(stockplan.Cover{HasCover: true, CoverMonths: months})
		if (beyond != nil && *beyond) != more || (told != nil) == more || told != nil && *told != months {
			t.Errorf("%g months: %v, more %v", months, told, beyond)
		}
	}
	if told, beyond := coverToWire(stockplan.Cover{}); told != nil || beyond != nil {
		t.Errorf("a cover that is not known: %v, %v", told, beyond)
	}
}
