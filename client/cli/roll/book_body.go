package roll

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// recorded is what an entry holds beside its sentence, in words: what was measured,
// the tests, who ground it, the note.
func recorded(u render.Units, e oapi.Entry) []string {
	body := maps.Clone(e.Body)
	if with, is := body["with"].(map[string]any); is { // a correction: what stands now
		delete(body, "with")
		maps.Copy(body, with)
	}
	if body["found_as_read_mm"] == body["found_mm"] {
		delete(body, "found_as_read_mm")
	}
	for _, said := range []*string{e.Reason, e.Summary} {
		if note, is := body["note"].(string); is && strings.Contains(render.Opt(said), note) {
			delete(body, "note")
		}
	}
	for _, key := range inSentence[e.Kind] {
		delete(body, key)
	}
	var parts []string
	for _, key := range inOrder(body) {
		if text := bodyText(u, key, body[key]); text != "" {
			parts = append(parts, text)
		}
	}
	return parts
}

// ofPractice are what the service laid to an entry of what was in force then, and
// names that it gave.
var ofPractice = []string{"change", "cooling_h", "campaigns_between_grinds", "gauge_uncertainty_um", "max_plausible_mm", "asks"}

// inSentence are the fields that the sentence of an entry tells.
var inSentence = map[oapi.EntryKind][]string{
	oapi.EntryKindReceived: {"number", "diameter_mm", "mill"}, oapi.EntryKindReground: {"found_mm", "ground_mm", "purpose"},
	oapi.EntryKindPaired: {"set", "partner"}, oapi.EntryKindUnpaired: {"set"}, oapi.EntryKindMounted: {"stand", "position"}, oapi.EntryKindWithdrawn: {"stand", "position", "why"},
	oapi.EntryKindIncident: {"name", "stand", "what"}, oapi.EntryKindScrapped: {"why"}, oapi.EntryKindCorrected: {"entry", "kind"},
}

// first are the fields that are read first, in this order; the others follow by
// their names.
var first = []string{"found_mm", "ground_mm", "purpose", "found_as_read_mm", "crown_um", "roughness_um", "taper_um", "roundness_um", "runout_um", "stations", "tests", "grinder"}

func inOrder(body map[string]any) []string {
	keys := slices.Sorted(maps.Keys(body))
	place := func(key string) int {
		switch at := slices.Index(first, key); {
		case at >= 0:
			return at
		case key == "note" || key == "confirm":
			return len(first) + 1
		}
		return len(first)
	}
	slices.SortStableFunc(keys, func(a, b string) int { return place(a) - place(b) })
	return slices.DeleteFunc(keys, func(key string) bool { return slices.Contains(ofPractice, key) })
}

// bodyText is one field in words; nothing for what was not given.
func bodyText(u render.Units, key string, value any) string {
	switch v := value.(type) {
	case float64:
		if v == 0 {
			return ""
		}
		return figureText(u, key, v)
	case bool:
		if !v {
			return ""
		}
		return render.Words(key)
	case string:
		if v == "" {
			return ""
		}
		return render.Words(key) + " " + render.Words(v)
	case []any:
		return listText(u, key, v)
	case map[string]any:
		var parts []string
		for _, inner := range slices.Sorted(maps.Keys(v)) {
			if text := bodyText(u, inner, v[inner]); text != "" {
				parts = append(parts, text)
			}
		}
		return strings.TrimSpace(render.Words(key) + " " + strings.Join(parts, ", "))
	}
	return ""
}

func figureText(u render.Units, key string, v float64) string {
	switch name := render.Words(key); {
	case key == "roughness_um":
		return "roughness Ra " + render.Number(v, 2) + " µm"
	case strings.HasSuffix(key, "_mm"):
		return strings.TrimSuffix(name, " mm") + " " + u.Length(v)
	case strings.HasSuffix(key, "_um"):
		return strings.TrimSuffix(name, " um") + " " + u.Small(v)
	case key == "hardness_shore_c":
		return "hardness " + render.Number(v, 3) + " Shore C"
	case key == "price":
		return "price " + render.Number(v/100, 12)
	case strings.HasSuffix(key, "_k"):
		return strings.TrimSuffix(name, " k") + " " + render.Number(v, 3) + " K"
	default:
		return name + " " + render.Number(v, 6)
	}
}

// listText is a list: of stations, of tests, or of names.
func listText(u render.Units, key string, items []any) string {
	if len(items) == 0 {
		return ""
	}
	if key == "tests" {
		return testsText(items)
	}
	var parts []string
	for _, item := range items {
		if v, is := item.(map[string]any); is {
			at, ok := v["at_mm"].(float64)
			diameter, both := v["diameter_mm"].(float64)
			if ok && both {
				parts = append(parts, fmt.Sprintf("%s: %s", render.Bare(u.Dimension(at)), render.Bare(u.Length(diameter))))
				continue
			}
			parts = append(parts, bodyText(u, "", v))
			continue
		}
		parts = append(parts, fmt.Sprint(item))
	}
	return render.Words(key) + " " + strings.Join(parts, ", ")
}

// testsText is the tests of an entry as they were put down.
func testsText(items []any) string {
	raw, err := json.Marshal(items)
	var tests []oapi.TestResult
	if err != nil || json.Unmarshal(raw, &tests) != nil {
		return ""
	}
	lines := make([]string, len(tests))
	for i, t := range tests {
		lines[i] = strings.TrimSpace(render.Words(t.Test) + " " + render.Words(render.Opt(t.Outcome)))
		if n := len(render.Opt(t.Readings)); n > 0 {
			lines[i] += " (" + render.Count(int64(n), "reading") + ")"
		}
		if t.CrackDepthUm != nil {
			lines[i] += ", crack " + render.Number(*t.CrackDepthUm, 4) + " µm deep"
		}
		if t.Note != nil {
			lines[i] += ": " + *t.Note
		}
	}
	return strings.Join(lines, ", ")
}
