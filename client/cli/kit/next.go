package kit

import (
	"cmp"
	"regexp"
	"strings"

	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// commands says for each operation that a refusal may name which command does
// it. A word in braces is an argument of the step, by the contract's name; what
// follows a colon stands where the step does not give it.
var commands = map[string]string{
	"listRolls": "roll list", "receiveRoll": "roll receive {number:NUMBER}", "getRoll": "roll show {roll}", "listEntries": "roll book {roll}", "listMountings": "roll mountings {roll}",
	"recordRegrind": "regrind record {roll}", "adviseRegrind": "regrind advise {roll}", "recordInspection": "roll inspect {roll} --test {tests.test}:OUTCOME",
	"releaseRoll": "roll release {roll}", "concedeRoll": "roll concede {roll}", "regradeRoll": "roll regrade {roll}", "scrapRoll": "roll scrap {roll}",
	"listSets": "set list", "getSet": "set show {set}", "buildSet": "set build {top:TOP} {bottom:BOTTOM}", "breakSet": "set break {set}",
	"listStands": "stand list", "getStand": "stand show {stand}", "listChanges": "change list", "recordChange": "change record {stand} --in {set_in:SET}", "undoChange": "change undo {change:CHANGE}", "correctChange": "change correct {change:CHANGE}",
	"listChocks": "chock list", "listOrders": "order list", "listClaims": "claim list", "addChock": "chock add {name:NAME}", "getChock": "chock show {chock}", "fitChock": "chock fit {chock} --off", "inspectChock": "chock inspect {chock} OUTCOME",
	"listMills": "mill list", "createMill": "mill add {name:NAME}", "listGrades": "grade list", "createGrade": "grade add {name:NAME}",
	"listPractices": "practice list", "getPractice": "practice show {practice}", "listIncidents": "incident list", "undoIncident": "incident undo {incident:INCIDENT}", "listCampaigns": "campaign list",
	"listWearRates": "wear-rate list", "listTokens": "token list", "createToken": "token create {name:NAME}", "listWebhooks": "webhook list",
}

// plainWord is what a shell takes as it stands, as every name of the contract.
var plainWord = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]*$`)

var argument = regexp.MustCompile(`\{([a-z_.]+)(?::([A-Z]+))?\}`)

// Command is the command line of a step; empty where no command does it.
func Command(step oapi.NextStep) string {
	given := render.Opt(step.Arguments)
	line, known := commands[render.Opt(step.Operation)]
	switch operation := render.Opt(step.Operation); {
	case operation == "" && given["confirm"] != "":
		return "the same command with --confirm REASON"
	case operation == "" && given["confirmed"] != "":
		return "the same command with --confirm " + given["confirmed"]
	case operation == "" && given["empty"] != "":
		return "the same command with --empty"
	case operation == "correctEntry":
		line, known = correction(given), true
	case operation == "listSets" && given["ready"] == "true":
		line += " --ready"
	case operation == "listChanges" && given["stand"] != "":
		line += " --stand {stand}"
	}
	if !known {
		return "" // of a later service
	}
	return Path("%s", argument.ReplaceAllStringFunc(line, func(word string) string {
		m := argument.FindStringSubmatch(word)
		if v := given[m[1]]; plainWord.MatchString(v) {
			return v
		}
		return strings.ToUpper(cmp.Or(m[2], m[1])) // to be typed in its place
	}))
}

// correction is the command behind a correction: one operation does what has
// three commands here.
func correction(given map[string]string) string {
	switch {
	case given["regrind"] != "":
		return "regrind correct {roll}"
	case given["receipt"] != "":
		return "roll correct {roll}"
	case given["entry"] != "":
		return "regrind undo {roll} --entry {entry}"
	}
	return "regrind undo {roll}"
}

// Commands are the command lines of several steps, each once.
func Commands(steps *[]oapi.NextStep) []string {
	var lines []string
	seen := map[string]bool{}
	for _, step := range render.Opt(steps) {
		if line := Command(step); line != "" && !seen[line] {
			seen[line] = true
			lines = append(lines, line)
		}
	}
	return lines
}

// WaysOn says each step in words with its command: "release it: barrelbook roll
// release R1".
func WaysOn(steps *[]oapi.NextStep) []string {
	var lines []string
	for _, step := range render.Opt(steps) {
		line := render.Opt(step.Do)
		if command := Command(step); command != "" {
			line = strings.TrimPrefix(line+": "+command, ": ")
		}
		lines = append(lines, line)
	}
	return lines
}
