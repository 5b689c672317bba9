// Package next holds the ways on from a refusal, as data: an operation of the
// contract and what to ask it for. A refusal says in plain words what to do; the
// step beside it says who does it. The edge makes a link of it, the client a
// command; nothing in here knows of either.
package next

import (
	"errors"
	"maps"
	"slices"
	"strings"
)

// Step is one way on.
type Step struct {
	// Do is what it does, in plain words, where they do not stand elsewhere.
	Do string
	// Operation is the operationId of the contract. Empty where no operation does
	// it; with arguments, it stands for the same request with those added.
	Operation string
	// Arguments are named as the contract names them: parameters, and members of
	// the body, with their levels parted by dots.
	Arguments map[string]string
}

// String is the step in one line, for logs and tests.
func (s Step) String() string {
	words := []string{s.Do, s.Operation}
	for _, name := range slices.Sorted(maps.Keys(s.Arguments)) {
		words = append(words, name+"="+s.Arguments[name])
	}
	return strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "" }), " ")
}

// Of gives the steps that an error carries.
func Of(err error) []Step {
	var carrier interface{ Steps() []Step }
	if errors.As(err, &carrier) {
		return carrier.Steps()
	}
	return nil
}

func to(operation string, arguments ...string) Step {
	s := Step{Operation: operation}
	for i := 0; i+1 < len(arguments); i += 2 {
		if s.Arguments == nil {
			s.Arguments = map[string]string{}
		}
		s.Arguments[arguments[i]] = arguments[i+1]
	}
	return s
}

// Confirm is the same once more, with a reason why the figure is right.
func Confirm() Step { return to("", "confirm", "why it is right") }

// Confirmed is the same once more, with the names of the questions that it
// answers, parted by commas.
func Confirmed(names string) Step { return to("", "confirmed", names) }

// EmptyStand is the same once more, saying that no set goes in.
func EmptyStand() Step { return to("", "empty", "true") }

// The rolls and their books.

func ListRolls() Step                { return to("listRolls") }
func ReceiveRoll() Step              { return to("receiveRoll") }
func ShowRoll(roll string) Step      { return to("getRoll", "roll", roll) }
func ShowBook(roll string) Step      { return to("listEntries", "roll", roll) }
func ListStays(roll string) Step     { return to("listMountings", "roll", roll) }
func RecordRegrind(roll string) Step { return to("recordRegrind", "roll", roll) }
func AdviseRegrind(roll string) Step { return to("adviseRegrind", "roll", roll) }
func ReleaseRoll(roll string) Step   { return to("releaseRoll", "roll", roll) }
func ConcedeRoll(roll string) Step   { return to("concedeRoll", "roll", roll) }
func RegradeRoll(roll string) Step   { return to("regradeRoll", "roll", roll) }
func ScrapRoll(roll string) Step     { return to("scrapRoll", "roll", roll) }
func CorrectRegrind(roll string) Step {
	return to("correctEntry", "roll", roll, "regrind", "what it should have said")
}
func CorrectReceipt(roll string) Step {
	return to("correctEntry", "roll", roll, "receipt", "what it should have said")
}

// RecordTest names the test whose outcome is to be recorded, and no outcome: a
// pass is not to be copied from a message.
func RecordTest(roll, kind string) Step {
	return to("recordInspection", "roll", roll, "tests.test", kind)
}

// WithdrawEntry takes an entry out of a book; 0 leaves open which.
func WithdrawEntry(roll, entry string) Step {
	if entry == "" {
		return to("correctEntry", "roll", roll)
	}
	return to("correctEntry", "roll", roll, "entry", entry)
}

// Sets, changes and stands.

func ListSets() Step                 { return to("listSets") }
func ListReadySets() Step            { return to("listSets", "ready", "true") }
func ShowSet(set string) Step        { return to("getSet", "set", set) }
func BuildSet() Step                 { return to("buildSet") }
func BreakSet(set string) Step       { return to("breakSet", "set", set) }
func RecordChange(stand string) Step { return to("recordChange", "stand", stand) }
func UndoChange(change string) Step  { return to("undoChange", "change", change) }
func CorrectChange(change string) Step {
	return to("correctChange", "change", change, "at", "when it really was")
}

// ListChanges lists those of one stand, or of all.
func ListChanges(stand string) Step {
	if stand == "" {
		return to("listChanges")
	}
	return to("listChanges", "stand", stand)
}

func ListStands() Step            { return to("listStands") }
func ShowStand(stand string) Step { return to("getStand", "stand", stand) }

// Chocks.

func ListChocks() Step               { return to("listChocks") }
func ListOrders() Step               { return to("listOrders") }
func ListClaims() Step               { return to("listClaims") }
func AddChock() Step                 { return to("addChock") }
func ShowChock(chock string) Step    { return to("getChock", "chock", chock) }
func TakeChockOff(chock string) Step { return to("fitChock", "chock", chock) }
func InspectChock(chock string) Step { return to("inspectChock", "chock", chock) }

// The works.

func ListMills() Step                   { return to("listMills") }
func AddMill() Step                     { return to("createMill") }
func ListGrades() Step                  { return to("listGrades") }
func AddGrade() Step                    { return to("createGrade") }
func ListPractices() Step               { return to("listPractices") }
func ShowPractice(practice string) Step { return to("getPractice", "practice", practice) }
func UndoIncident(incident string) Step { return to("undoIncident", "incident", incident) }
func ListIncidents() Step               { return to("listIncidents") }
func ListCampaigns() Step               { return to("listCampaigns") }
func ListWearRates() Step               { return to("listWearRates") }
func ListTokens() Step                  { return to("listTokens") }
func CreateToken() Step                 { return to("createToken") }
func ListWebhooks() Step                { return to("listWebhooks") }

// Every gives one step of each sort, for the tests that hold the contract and
// the commands against them.
func Every() []Step {
	return []Step{
		Confirm(), Confirmed("wear,stock"), EmptyStand(), ListRolls(), ReceiveRoll(), ShowRoll("R-1"), ShowBook("R-1"), ListStays("R-1"), RecordRegrind("R-1"), AdviseRegrind("R-1"), ReleaseRoll("R-1"), ConcedeRoll("R-1"), RegradeRoll("R-1"),
		ScrapRoll("R-1"), CorrectRegrind("R-1"), CorrectReceipt("R-1"), RecordTest("R-1", "eddy_current"), WithdrawEntry("R-1", "58"), WithdrawEntry("R-1", ""),
		ListSets(), ListReadySets(), ShowSet("S-1"), BuildSet(), BreakSet("S-1"), RecordChange("F5"), UndoChange("change-1"), CorrectChange("change-1"), ListChanges("F5"), ListChanges(""),
		ListStands(), ShowStand("F5"), ListChocks(), ListOrders(), ListClaims(), AddChock(), ShowChock("C-1"), TakeChockOff("C-1"), InspectChock("C-1"),
		ListMills(), AddMill(), ListGrades(), AddGrade(), ListPractices(), ShowPractice("P-1"), ListIncidents(), UndoIncident("incident-1"), ListCampaigns(), ListWearRates(), ListTokens(), CreateToken(), ListWebhooks(),
	}
}
